//! Answers that were left out and answers that nobody measured are told with the result.

use estimate::handoff::words::Language;
use estimate::job::Understood;
use estimate::job::choices::Known;
use estimate::job::form::Form;
use serde_json::{Value, json};

use crate::demo::{Demo, job_files};
use crate::job_samples::{faults_of, form, remove, rules, sample, set};

fn read(job: &Value) -> Understood {
    form().read(job, &rules()).expect("no faults")
}

fn usual(job: &Value) -> Vec<(String, String)> {
    let told = read(job).usual_answers.into_iter();
    told.map(|one| (one.answer, one.in_words)).collect()
}

fn is_told(job: &Value, answer: &str) -> bool {
    usual(job).iter().any(|(told, _)| told == answer)
}

#[test]
fn answers_that_were_left_out_are_told_with_what_is_taken() {
    let told = usual(&sample("simple"));
    let told: Vec<(&str, &str)> = told.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
    assert_eq!(
        told,
        [
            ("/cellar/construction/door/beyond", "as beyond the walls"),
            ("/cellar/construction/glazing", "none"),
            ("/cellar/air_temperature", "55 °F"),
            ("/cellar/humidity", "60"),
            ("/cellar/infiltration_air/temperature", "75 °F"),
            ("/cellar/infiltration_air/humidity", "50"),
            ("/cellar/intake_temperature", "75 °F"),
            ("/unit/count", "1"),
            ("/condenser/winter_temperature", "not known"),
            ("/line_set/tube", "Soft coils, bent by hand"),
            ("/line_set/penetrations/0/fire_rated", "no"),
            ("/controller/finished_walls", "no"),
            ("/humidity/wanted", "no"),
            ("/finishes/trim_colour", "A stock colour"),
            ("/finishes/painting", "none"),
            ("/site/hours", "The whole working day"),
            ("/site/altitude", "0 ft"),
            ("/site/attic_temperature", "no warmer than the rooms"),
            ("/site/carry_distance", "50 ft"),
            ("/site/replaces_old_unit", "no"),
            ("/tax/treatment", "as the pricing policy says"),
            ("/extra/rack_height", "6 ft"),
            ("/extra/rack_bays", "0"),
            ("/extra/racks_fixed", "no"),
            ("/extra/rack_wood", "redwood"),
        ]
    );
}

/// What is said to be taken is what stands in the job as understood.
#[test]
fn the_value_that_is_told_is_the_one_that_is_used() {
    for name in ["simple", "medium", "hard"] {
        let understood = read(&sample(name));
        assert!(!understood.usual_answers.is_empty());
        for told in &understood.usual_answers {
            assert!(!told.in_words.is_empty() && !told.group.is_empty(), "{told:?}");
            if told.answer != "/unit/joist_spacing" {
                assert_eq!(
                    told.value.as_ref(),
                    understood.tree.pointer(&told.answer),
                    "{name}"
                );
            }
        }
    }
}

/// The office reckons with joists at 16 in; the form says so.
#[test]
fn the_joist_spacing_that_is_told_is_the_one_that_the_screws_are_taken_for() {
    let demo = Demo::load();
    let mut request = Demo::job("pinfold-basement.json");
    remove(&mut request, "/job/unit/joist_spacing");
    let request = demo.read(&request);
    let prices = demo.prices(&request);
    let estimate = demo.estimate(&request, &prices, false).unwrap();
    let estimate = serde_json::to_value(estimate).unwrap();
    let entry = |list: &Value, member: &str, name: &str| -> Value {
        let mut entries = list.as_array().unwrap().iter();
        let found = entries.find(|entry| entry[member] == name);
        found.unwrap_or_else(|| panic!("no {name}")).clone()
    };
    let told = entry(&estimate["usual_answers"], "answer", "/unit/joist_spacing");
    let hanging = entry(&estimate["sizing"]["questions"], "name", "hanging");
    let used = entry(&hanging["inputs"], "name", "spacing");
    assert_eq!(told["value"], used["value"]);
}

#[test]
fn only_what_matters_on_the_job_is_told() {
    let mut job = sample("simple");
    for (place, value, answer) in [
        ("/finishes/trim", json!("none"), "/finishes/trim_colour"),
        ("/cellar/weekly_intake", json!(0), "/cellar/intake_temperature"),
        (
            "/condenser/winter_temperature",
            json!({"value": "20", "unit": "degF"}),
            "/condenser/winter_temperature",
        ),
        ("/line_set/legs/1/space", json!("open"), "/site/attic_temperature"),
    ] {
        assert!(is_told(&job, answer), "{answer}");
        set(&mut job, place, value);
        assert!(!is_told(&job, answer), "{answer}");
    }
    assert!(!is_told(&job, "/finishes/ceiling_patch"), "the ceiling is open");
    set(&mut job, "/site/ceiling_open", json!(false));
    assert!(is_told(&job, "/finishes/ceiling_patch"));
    assert!(!is_told(&job, "/humidity/water_hardness"));
    set(
        &mut job,
        "/humidity",
        json!({"wanted": true, "supply_length": {"value": "9", "unit": "ft"}}),
    );
    assert!(is_told(&job, "/humidity/water_hardness"));
    assert!(
        !is_told(&job, "/drain/legs/0/bends"),
        "it is given on the only leg"
    );
    remove(&mut job, "/drain/legs/0/bends");
    assert!(is_told(&job, "/drain/legs/0/bends"));
    remove(&mut job, "/unit/joist_spacing");
    assert!(is_told(&job, "/unit/joist_spacing"));
    remove(&mut job, "/unit/framing_species");
    set(&mut job, "/unit/framing", json!("concrete"));
    set(&mut job, "/site/ceiling_construction", json!("concrete"));
    set(&mut job, "/basis", json!([]));
    assert!(!is_told(&job, "/unit/joist_spacing"));
}

#[test]
fn what_is_known_otherwise_than_by_measure_is_listed_once() {
    let mut job = sample("medium");
    set(
        &mut job,
        "/basis",
        json!([
            {"answer": "/line_set/legs", "known": "measured"},
            {"answer": "/site/parking", "known": "told", "note": "by the porter"},
            {"answer": "/site/hours", "known": "unknown"},
            {"answer": "/condenser/support", "known": "assumed"},
        ]),
    );
    set(
        &mut job,
        "/electrical/panel_length",
        json!({"value": "30", "unit": "ft"}),
    );
    let understood = read(&job);
    let told: Vec<_> = understood
        .not_measured
        .iter()
        .map(|one| {
            (
                one.answer.as_str(),
                one.known,
                one.in_words.as_str(),
                one.note.as_deref(),
            )
        })
        .collect();
    let support = sample("medium")["condenser"]["support"].clone();
    assert_eq!(support, "wall");
    assert_eq!(
        told,
        [
            (
                "/site/parking",
                Known::Told,
                "In the street",
                Some("by the porter")
            ),
            ("/site/hours", Known::Unknown, "The whole working day", None),
            ("/condenser/support", Known::Assumed, "Brackets on a wall", None),
        ]
    );
    assert!(!is_told(&job, "/site/hours"), "the rule speaks of it");
}

/// What is said to be measured, told or assumed is given; a default that stands in for it is usual, and in that list alone.
#[test]
fn what_is_known_is_given() {
    let with = |answer: &str, known: &str| {
        let mut job = sample("simple");
        set(&mut job, "/basis", json!([{"answer": answer, "known": known}]));
        job
    };
    for known in ["measured", "told", "assumed"] {
        let faults = faults_of(form().read(&with("/condenser/winter_temperature", known), &rules()));
        let [fault] = faults.as_slice() else {
            panic!("{faults:?}")
        };
        assert_eq!(fault.pointer, "/basis/0/answer");
        let message = format!(
            "/condenser/winter_temperature is marked {known}, but no answer is given: give it, or mark it unknown"
        );
        assert_eq!(fault.message, message);
        let job = with("/unit/count", known);
        assert!(read(&job).not_measured.is_empty(), "{known}");
        assert!(is_told(&job, "/unit/count"), "{known}");
    }
}

#[test]
fn a_pointer_that_leads_nowhere_is_told_where_it_ends() {
    let told = |answer: &str| {
        let mut job = sample("medium");
        if job.pointer(answer).is_some() {
            remove(&mut job, answer);
        }
        set(
            &mut job,
            "/basis",
            json!([{"answer": answer, "known": "unknown"}]),
        );
        let faults = faults_of(form().read(&job, &rules()));
        let mut faults = faults.into_iter();
        let fault = faults.find(|fault| fault.pointer == "/basis/0/answer");
        fault.unwrap().message
    };
    let legs = sample("medium")["line_set"]["legs"].as_array().unwrap().len();
    assert_eq!(
        told("/line_set/legs/77/length"),
        format!(
            "/line_set/legs/77/length is no answer of this job spec; /line_set/legs has {legs} entries, /line_set/legs/0 to \
             /line_set/legs/{}",
            legs - 1
        )
    );
    assert!(told("/line_set/legs/*/length").contains("entries, /line_set/legs/0 to"));
    assert!(told("/electrical/panel_lenght").ends_with("did you mean /electrical/panel_length?"));
    assert!(told("/customer").ends_with("leave it out, it need not be given"));
}

/// Forty minutes are no round number of hours; thirty are.
#[test]
fn a_time_is_told_as_it_came_where_hours_would_not_be_round() {
    let travel = |value: &str, unit: &str| {
        let mut job = sample("simple");
        set(
            &mut job,
            "/site/travel_time",
            json!({"value": value, "unit": unit}),
        );
        let understood = read(&job);
        let hours = understood.spec.site.travel_time.value().to_string();
        let again = form().read(&understood.tree, &rules()).expect("no faults");
        assert_eq!(again.spec, understood.spec);
        (understood.tree["site"]["travel_time"].clone(), hours)
    };
    assert_eq!(
        travel("40", "min"),
        (json!({"value": "40", "unit": "min"}), "0.6667".to_owned())
    );
    assert_eq!(
        travel("30", "min"),
        (json!({"value": "0.5", "unit": "h"}), "0.5".to_owned())
    );
    assert_eq!(
        travel("0.7", "h"),
        (json!({"value": "0.7", "unit": "h"}), "0.7".to_owned())
    );
}

/// A question at the wrong level is found where it belongs, if only one has that name.
#[test]
fn a_name_that_exists_deeper_is_suggested_with_its_groups() {
    let mut job = sample("simple");
    job["mounting"] = json!("exposed");
    job["site"]["panel_length"] = json!({"value": "3", "unit": "ft"});
    job["length"] = json!(3);
    job["humidty"] = json!({});
    let told: Vec<String> = faults_of(form().read(&job, &rules()))
        .into_iter()
        .map(|fault| fault.message)
        .collect();
    assert_eq!(
        told,
        [
            "there is no panel_length here; did you mean electrical.panel_length?",
            "there is no mounting here; did you mean unit.mounting?",
            "there is no length here; did you mean cellar.length?",
            "there is no humidty here; did you mean humidity?",
        ]
    );
}

/// Papers in Spanish have every question in Spanish.
#[test]
fn every_question_has_its_spanish() {
    let questions = |form: &Form| -> Vec<String> {
        let answers = form.answers().into_iter();
        let own = answers.filter(|answer| !answer.starts_with("/extra/"));
        own.filter_map(|answer| Some(form.titled(&answer)?.0.to_owned()))
            .collect()
    };
    for title in questions(&form()) {
        assert_ne!(Language::Es.question(&title), title);
        assert_eq!(Language::En.question(&title), title);
    }
}

/// What is said of an answer that was left out has its Spanish too.
#[test]
fn what_is_taken_as_usual_has_its_spanish() {
    let demo = Demo::load();
    for file in job_files() {
        let request = demo.read(&Demo::job(&file));
        for told in &request.job.usual_answers {
            let word = told.value.as_ref().and_then(Value::as_str).unwrap_or_default();
            let spanish = Language::Es.said(&told.title, word, &told.in_words);
            let is_figure = told.in_words.starts_with(|sign: char| sign.is_ascii_digit());
            let is_own = told.answer.starts_with("/extra/");
            assert!(
                is_figure || is_own || spanish != told.in_words || spanish == "no",
                "{told:?}"
            );
        }
    }
}
