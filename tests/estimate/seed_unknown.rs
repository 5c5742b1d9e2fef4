//! Every answer of the survey may be unknown: the demonstration company's rules say what becomes of each, and what a job
//! does not need costs nothing and stops nothing.

use estimate::job::form::Shape;
use estimate::job::{FaultCode, JobFault, Request, Treat};
use estimate::quantity::Decimal;
use serde_json::{Value, json};

use crate::demo::{Demo, job_files};

/// A job that leaves `answer` out and says that nobody knows it; none where it was not given, unless `left_out` is meant.
fn unknown(job: &Value, answer: &str, left_out: bool) -> Option<(Value, String)> {
    let mut request = job.clone();
    let spec = &mut request["job"];
    let pointer = answer.replace('*', "0");
    let (holder, name) = pointer.rsplit_once('/')?;
    let given = match spec.pointer_mut(holder) {
        Some(Value::Object(members)) => members.remove(name).is_some(),
        None if answer == pointer => false,
        _ => return None,
    };
    if given == left_out {
        return None;
    }
    let basis = spec.as_object_mut()?.entry("basis").or_insert(json!([]));
    basis.as_array_mut()?.retain(|entry| entry["answer"] != pointer);
    basis
        .as_array_mut()?
        .push(json!({"answer": pointer, "known": "unknown"}));
    Some((request, pointer))
}

/// A seed job of which nobody knows `answer`, whether it was given or left out.
fn without(demo: &Demo, file: &str, answer: &str) -> Request {
    let job = Demo::job(file);
    let request = unknown(&job, answer, false).or_else(|| unknown(&job, answer, true));
    demo.read(&request.unwrap().0)
}

/// Answers that somebody may not know: all but names and whole groups, which have no answer of their own.
fn slots(demo: &Demo) -> Vec<String> {
    let form = demo.workbook.form();
    let answers = form.answers().into_iter();
    let known = answers.filter(|answer| match form.answer(answer) {
        Some(Shape::Text { .. }) => answer == "/tax/exemption_certificate",
        Some(Shape::Group(_)) => form.may_be_left_out(answer),
        Some(_) => true,
        None => false,
    });
    known.collect()
}

fn jobs() -> Vec<(String, Value)> {
    let mut jobs: Vec<(String, Value)> = job_files()
        .into_iter()
        .map(|file| (file.clone(), Demo::job(&file)))
        .collect();
    let mut exempt = jobs[0].1.clone();
    exempt["job"]["tax"] = json!({"treatment": "exempt", "exemption_certificate": "HV-114"});
    jobs.push(("a sale that is exempt".to_owned(), exempt));
    jobs
}

/// Each on its own, in every job that has a place for it.
#[test]
fn no_answer_is_without_a_rule() {
    let demo = Demo::load();
    let jobs = jobs();
    let (mut broken, mut asked) = (Vec::new(), 0);
    let slots = slots(&demo);
    for answer in &slots {
        let given = |left_out| {
            let cases = jobs
                .iter()
                .filter_map(move |(file, job)| Some((file, unknown(job, answer, left_out)?)));
            cases.collect::<Vec<_>>()
        };
        let mut cases = given(false);
        if cases.is_empty() {
            cases = given(true);
            cases.truncate(1);
        }
        if cases.is_empty() {
            broken.push(format!("{answer}: no job has a place for it"));
        }
        for (file, (request, pointer)) in cases {
            match demo.workbook.read(&request) {
                Ok(request) => {
                    let prices = demo.prices(&request);
                    let estimate = demo.estimate(&request, &prices, false).unwrap();
                    let mut told = estimate.assumptions.iter();
                    let rule = told.find(|assumed| assumed.answer == pointer);
                    let mut listed = estimate.not_measured.iter();
                    let listed = listed.find(|one| one.answer == pointer).unwrap();
                    let spared = listed.in_words == "not needed on this job";
                    assert_eq!(spared, rule.is_none(), "{file} {pointer}");
                    assert!(
                        rule.is_none_or(|rule| !rule.wording.is_empty()),
                        "{file} {pointer}"
                    );
                    let mut usual = estimate.usual_answers.iter();
                    assert!(usual.all(|one| one.answer != pointer), "{file} {pointer}");
                }
                Err(JobFault::Faults(faults)) => {
                    let refused = faults
                        .list
                        .iter()
                        .all(|fault| fault.code == FaultCode::UnknownRefused);
                    asked += usize::from(refused);
                    if !refused {
                        broken.push(format!("{file} {pointer}: {faults}"));
                    }
                }
                Err(other) => panic!("{other}"),
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
    assert!(slots.len() > 110, "{} answers", slots.len());
    assert!(
        asked < 60,
        "{asked} jobs are refused for one answer that nobody knows"
    );
}

/// The seven that an office asked for first, and what becomes of each.
#[test]
fn what_is_not_decided_stops_the_offer_and_the_rest_is_assumed() {
    let demo = Demo::load();
    for (file, answer, may_be_issued) in [
        ("pinfold-basement.json", "/finishes/ceiling_patch", true),
        ("alderwick-closet.json", "/humidity/wanted", true),
        ("alderwick-closet.json", "/site/occupied", true),
        ("osierby-long-riser.json", "/condenser/design_temperature", true),
        ("alderwick-closet.json", "/unit/mounting", false),
        ("alderwick-closet.json", "/electrical/supply_voltage", false),
        ("osierby-long-riser.json", "/drain/legs", false),
    ] {
        let request = without(&demo, file, answer);
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, false).unwrap();
        assert_eq!(estimate.may_be_issued, may_be_issued, "{file} {answer}");
    }
}

/// Answers that could be given: every word, both flags, figures around those that are known.
fn others(demo: &Demo, answer: &str, known: &[&Value]) -> Vec<Value> {
    let scaled = |value: &Value| -> Vec<Value> {
        let Some(number) = value["value"]
            .as_str()
            .and_then(|text| text.parse::<Decimal>().ok())
        else {
            return Vec::new();
        };
        let by = ["0.2", "0.9", "3"].map(|by| number * by.parse::<Decimal>().unwrap());
        by.map(|figure| json!({"value": figure.round_dp(2).to_string(), "unit": value["unit"]}))
            .to_vec()
    };
    let mut others: Vec<Value> = known.iter().map(|value| (*value).clone()).collect();
    match demo.workbook.form().answer(answer) {
        Some(Shape::Choice(words)) => others.extend(words.iter().map(|word| json!(word))),
        Some(Shape::Flag) => others.extend([json!(true), json!(false)]),
        Some(Shape::Count { .. }) => others.extend([1, 3, 40, 1900, 2020].map(Value::from)),
        Some(Shape::Measure { .. }) => known.iter().for_each(|value| others.extend(scaled(value))),
        _ => {}
    }
    others.sort_by_key(Value::to_string);
    others.dedup();
    others
}

/// An offer is not held back, and no money is set aside, for an answer that could not be given at all, or on which nothing
/// hangs whatever it is. What is spared moves no price.
#[test]
fn what_a_job_does_not_need_costs_nothing_and_stops_nothing() {
    let demo = Demo::load();
    let (mut broken, mut spared) = (Vec::new(), 0);
    let rules = demo.workbook.unknown_rules();
    // The number of a certificate moves no figure; it belongs on the offer.
    let slots = slots(&demo)
        .into_iter()
        .filter(|answer| answer != "/tax/exemption_certificate");
    for answer in slots {
        let value = rules.iter().find(|rule| rule.answer == answer);
        let value = value.and_then(|rule| rule.value.as_ref());
        for (file, job) in &jobs() {
            let Some((request, pointer)) =
                unknown(job, &answer, false).or_else(|| unknown(job, &answer, true))
            else {
                continue;
            };
            let Ok(read) = demo.workbook.read(&request) else {
                continue;
            };
            let prices = demo.prices(&read);
            let estimate = demo.estimate(&read, &prices, false).unwrap();
            let rule = estimate.assumptions.iter().find(|one| one.answer == pointer);
            if rule.is_some_and(|rule| rule.treat == Treat::Assume) {
                continue;
            }
            spared += usize::from(rule.is_none());
            let mut known = Vec::from_iter(value);
            known.extend(job["job"].pointer(&pointer));
            let others = others(&demo, &answer, &known);
            let given = others.iter().filter_map(|other| {
                let mut request = request.clone();
                let basis = request["job"]["basis"].as_array_mut().unwrap();
                basis.retain(|entry| entry["answer"] != pointer);
                put(&mut request["job"], &pointer, other.clone());
                demo.offered(&request)
            });
            let given: Vec<Value> = given.collect();
            let differ = |of: fn(&Value) -> &Value| given.windows(2).any(|two| of(&two[0]) != of(&two[1]));
            let idle =
                (given.is_empty() && !others.is_empty()) || (given.len() > 1 && !differ(|offer| offer));
            match rule {
                Some(rule) if idle => broken.push(format!("{file} {pointer}: {:?}, in vain", rule.treat)),
                None if differ(|offer| &offer["totals"]) => broken.push(format!("{file} {pointer}: spared")),
                _ => {}
            }
        }
    }
    assert!(broken.is_empty(), "{}", broken.join("\n"));
    assert!(spared > 60, "{spared}");
}

fn put(job: &mut Value, pointer: &str, value: Value) {
    let mut at = job;
    for token in pointer.split('/').skip(1) {
        at = match token.parse::<usize>() {
            Ok(index) => &mut at[index],
            Err(_) => &mut at[token],
        };
    }
    *at = value;
}

/// The form knows some of them by the answers beside, the office's rules others.
#[test]
fn what_is_spared_says_so() {
    let demo = Demo::load();
    for (file, answer) in [
        ("saltgate-replacement.json", "/electrical/panel_space"),
        ("alderwick-closet.json", "/finishes/ceiling_patch"),
        ("alderwick-closet.json", "/site/ceiling_construction"),
        ("alderwick-closet.json", "/site/built_year"),
        ("pinfold-basement.json", "/condenser/winter_temperature"),
        ("quarrow-metric.json", "/condenser/winter_temperature"),
        ("pinfold-basement.json", "/humidity/water_hardness"),
        ("thornfold-weak-pump.json", "/unit/ceiling_void"),
        ("marlcombe-unknowns.json", "/unit/ceiling_void"),
        ("marlcombe-unknowns.json", "/condenser/room_volume"),
        ("pinfold-basement.json", "/finishes/painting/1/area"),
        ("alderwick-closet.json", "/tax/exemption_certificate"),
        ("quarrow-metric.json", "/unit/joist_spacing"),
        ("quarrow-metric.json", "/unit/framing_species"),
        ("pinfold-basement.json", "/drain/legs/0/fall"),
        ("thornfold-weak-pump.json", "/controller/probe/route"),
        ("alderwick-closet.json", "/extra/old_charge"),
        ("alderwick-closet.json", "/extra/parking_cost"),
        ("thornfold-weak-pump.json", "/drain/legs/0/bends"),
        ("quarrow-metric.json", "/site/ceiling_open"),
        ("pinfold-basement.json", "/site/ceiling_open"),
        ("pinfold-basement.json", "/drain/legs/1/fall"),
        ("quarrow-metric.json", "/site/winter_temperature"),
        ("marlcombe-unknowns.json", "/site/winter_temperature"),
    ] {
        let request = without(&demo, file, answer);
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, false).unwrap();
        assert!(
            estimate.may_be_issued,
            "{file} {answer}: {:#?}",
            estimate.cautions
        );
        assert!(
            estimate.assumptions.iter().all(|one| one.answer != answer),
            "{file} {answer}"
        );
        let told = estimate
            .not_measured
            .iter()
            .find(|one| one.answer == answer)
            .unwrap();
        assert_eq!(
            (told.in_words.as_str(), &told.value),
            ("not needed on this job", &None),
            "{file} {answer}"
        );
        let kit = estimate
            .cautions
            .iter()
            .any(|caution| caution.code == "condenser.low_ambient_needed");
        assert!(
            !kit || file != "pinfold-basement.json" && file != "quarrow-metric.json",
            "{file} {answer}"
        );
    }
}

/// What an allowance is set aside for is not told as priced by nothing.
#[test]
fn what_an_allowance_is_for_is_not_missing() {
    let demo = Demo::load();
    for (file, answer, code) in [
        ("alderwick-closet.json", "/controller/probe/wanted", "probe"),
        ("osierby-long-riser.json", "/finishes/ceiling_patch", "patch"),
    ] {
        let missing = |request: &Request| {
            let prices = demo.prices(request);
            let estimate = demo.estimate(request, &prices, false).unwrap();
            let set_aside = estimate
                .assumptions
                .iter()
                .any(|one| one.treat == Treat::Allowance);
            (estimate.not_priced.iter().any(|one| one.code == code), set_aside)
        };
        assert_eq!(
            missing(&without(&demo, file, answer)),
            (false, true),
            "{file} {answer}"
        );
        let mut left_out = Demo::job(file);
        let (group, name) = answer.rsplit_once('/').unwrap();
        let group = left_out["job"].pointer_mut(group).unwrap();
        group.as_object_mut().unwrap().shift_remove(name);
        if code == "probe" {
            group["wanted"] = json!(false);
            group.as_object_mut().unwrap().shift_remove("route");
        }
        assert_eq!(missing(&demo.read(&left_out)), (true, false), "{file} {answer}");
    }
}

/// A drain that ends outdoors is kept from freezing unless the coldest air there is known to be mild, wherever the condensing
/// unit stands. What stands indoors says nothing of it.
#[test]
fn a_drain_outdoors_is_heated_unless_the_winter_is_known_to_be_mild() {
    let demo = Demo::load();
    let mut job = Demo::job("quarrow-metric.json");
    let legs = job["job"]["drain"]["legs"].as_array_mut().unwrap();
    legs.last_mut().unwrap()["space"] = json!("outdoors");
    job["job"]["drain"]["discharge"] = json!("outdoors");
    let priced = |changes: &[(&str, Value)], unknown: &[&str]| {
        let mut job = job.clone();
        for (pointer, value) in changes {
            put(&mut job["job"], pointer, value.clone());
        }
        for answer in unknown {
            let entry = json!({"answer": answer, "known": "unknown"});
            match job["job"]["basis"].as_array_mut() {
                Some(basis) => basis.push(entry),
                None => job["job"]["basis"] = json!([entry]),
            }
        }
        let request = demo.read(&job);
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, false).unwrap();
        serde_json::to_value(&estimate).unwrap()
    };
    let listed = |estimate: &Value, list: &str| {
        let entries = estimate[list].as_array().unwrap();
        entries
            .iter()
            .any(|entry| entry["answer"] == "/site/winter_temperature")
    };
    let has = |estimate: &Value, key: &str| {
        let lines = estimate["lines"].as_array().unwrap();
        lines.iter().any(|line| line["key"] == key)
    };
    let degrees = |value: &str| json!({"value": value, "unit": "degF"});
    let (site, condenser) = ("/site/winter_temperature", "/condenser/winter_temperature");
    let silent = priced(&[], &[]);
    let unknown = priced(&[], &[site]);
    let of_condenser = priced(&[], &[condenser]);
    let cold = priced(&[(site, degrees("20"))], &[]);
    let warm_room = priced(&[(condenser, degrees("50"))], &[]);
    for (what, estimate) in [
        ("silent", &silent),
        ("unknown", &unknown),
        ("unknown at the condenser", &of_condenser),
        ("cold", &cold),
        ("warm room", &warm_room),
    ] {
        assert!(has(estimate, "material:DR-HEAT"), "{what}");
        let told = estimate["cautions"].as_array().unwrap();
        assert!(
            told.iter().any(|one| one["code"] == "condensate.may_freeze"),
            "{what}"
        );
        // The cold of outdoors is not that of the condensing unit, which stands in the basement.
        assert!(
            !told
                .iter()
                .any(|one| one["code"] == "condenser.low_ambient_needed"),
            "{what}"
        );
    }
    assert!(listed(&silent, "usual_answers") && listed(&of_condenser, "usual_answers"));
    assert!(listed(&unknown, "assumptions") && !listed(&unknown, "usual_answers"));
    let mild = priced(&[(site, degrees("40"))], &[]);
    assert!(!has(&mild, "material:DR-HEAT"));
    assert!(!listed(&mild, "usual_answers") && !listed(&mild, "assumptions"));
}

/// What was left out and does not matter on a job is not told as usual there.
#[test]
fn an_extra_input_is_told_where_it_matters() {
    let demo = Demo::load();
    let told = |file: &str, answer: &str| {
        let request = demo.read(&Demo::job(file));
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, false).unwrap();
        estimate.usual_answers.iter().any(|one| one.answer == answer)
    };
    for (answer, there, not_there) in [
        (
            "/extra/parking_cost",
            "wickerlamp-restaurant.json",
            "osierby-long-riser.json",
        ),
        (
            "/extra/ceiling_sample",
            "marlcombe-unknowns.json",
            "alderwick-closet.json",
        ),
        (
            "/extra/indoor_supply",
            "pinfold-basement.json",
            "saltgate-replacement.json",
        ),
    ] {
        assert!(told(there, answer), "{answer} on {there}");
        assert!(!told(not_there, answer), "{answer} on {not_there}");
    }
    assert!(!told("alderwick-closet.json", "/extra/old_charge"));
    assert!(
        !told("quarrow-metric.json", "/site/ceiling_open"),
        "a concrete ceiling is not open"
    );
    assert!(told("marlcombe-unknowns.json", "/site/ceiling_open"));
}
