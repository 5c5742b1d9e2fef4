//! Answers that exclude each other: common sense of the trade, no source.

use serde_json::json;

use crate::job_samples::{check_cases, faults_of, form, rules, sample, set};

#[test]
fn contradictions_are_told_with_their_places() {
    let form = form();
    check_cases(include_str!("data/job_contradictions.json"), |job| {
        faults_of(form.read(job, &rules()))
    });
}

#[test]
fn a_faulty_answer_is_not_judged_a_second_time() {
    let mut job = sample("medium");
    set(&mut job, "/cellar/surfaces", json!("all"));
    set(&mut job, "/cellar/height", json!({"value": "900", "unit": "ft"}));
    set(
        &mut job,
        "/drain/legs/0/length",
        json!({"value": "-3", "unit": "ft"}),
    );
    let places: Vec<String> = faults_of(form().read(&job, &rules()))
        .into_iter()
        .map(|f| f.pointer)
        .collect();
    assert_eq!(
        places,
        ["/cellar/height", "/cellar/surfaces", "/drain/legs/0/length"]
    );
}
