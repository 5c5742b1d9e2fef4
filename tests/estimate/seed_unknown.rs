//! Every answer of the survey may be unknown: the demonstration company's rules say what becomes of each.

use estimate::job::form::Shape;
use estimate::job::{FaultCode, JobFault};
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
                    assert!(
                        rule.is_some_and(|rule| !rule.wording.is_empty()),
                        "{file} {pointer}"
                    );
                    let mut listed = estimate.not_measured.iter();
                    assert!(listed.any(|one| one.answer == pointer), "{file} {pointer}");
                    let usual = |one: &&estimate::job::UsualAnswer| one.answer == pointer;
                    assert!(
                        estimate.usual_answers.iter().find(usual).is_none(),
                        "{file} {pointer}"
                    );
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
        let job = Demo::job(file);
        let (request, _) = unknown(&job, answer, false)
            .or_else(|| unknown(&job, answer, true))
            .unwrap();
        let request = demo.read(&request);
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, false).unwrap();
        assert_eq!(estimate.may_be_issued, may_be_issued, "{file} {answer}");
    }
}
