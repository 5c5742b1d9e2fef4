//! What a person reads of faulty requests is plain English: every sentence of every faulty case that the tests know,
//! and of every question answered in the wrong way, keeps a few rules.

use std::collections::BTreeMap;

use estimate::job::{Fault, Names, RequestReader};
use serde_json::{Value, json};

use crate::demo::Demo;
use crate::job_samples::{Case, edited, faults_of, form, rules};

/// What is wrong with a sentence.
fn flaws(sentence: &str) -> Vec<&'static str> {
    let has = |part: &str| sentence.contains(part);
    let words: Vec<&str> = sentence
        .split([' ', ',', ';', ':', '?'])
        .filter(|word| !word.is_empty())
        .collect();
    let pair = |of: fn(&str, &str) -> bool| words.windows(2).any(|pair| of(pair[0], pair[1]));
    let rules = [
        ("it is empty", sentence.trim().is_empty()),
        ("two spaces", has("  ")),
        (
            "a space before a mark",
            has(" ,") || has(" ;") || has(" :") || has(" ?"),
        ),
        ("a space at an end", sentence.trim() != sentence),
        (
            "an empty name",
            has("``") || has("there is no ;") || sentence.ends_with(" no") || has(": :"),
        ),
        (
            "the unit of a plain number",
            sentence.ends_with(" 1 1") || pair(|a, b| a.parse::<f64>().is_ok() && b == "1"),
        ),
        ("both is", has("both of") || (has("both") && has(" is given"))),
        ("neither are", has("neither") && has(" are given")),
        (
            "one of many",
            pair(|a, b| a == "1" && b.ends_with('s') && !b.ends_with("ss") && b != "is" && b != "has"),
        ),
        (
            "many of one",
            pair(|a, b| {
                a.parse::<u32>().is_ok_and(|count| count > 1)
                    && matches!(b, "entry" | "fault" | "bottle" | "unit")
            }),
        ),
        (
            "no decimals",
            has("more than 0 decimals") || has("at most 0 decimals"),
        ),
        (
            "a plural that is",
            has("egs of the route is") || has("urfaces one by one is") || has("enetrations is"),
        ),
        (
            "words of the program",
            has("Some(") || has("None") || has("expected `") || has("deserialize") || has("invalid type"),
        ),
        (
            "a before a vowel",
            pair(|a, b| a == "a" && b.starts_with(['a', 'e', 'i', 'o']) && !b.starts_with("one")),
        ),
    ];
    rules
        .into_iter()
        .filter(|(_, broken)| *broken)
        .map(|(rule, _)| rule)
        .collect()
}

/// Sentences that break a rule, each kind once.
#[derive(Default)]
struct Broken(BTreeMap<String, String>);

impl Broken {
    fn hold(&mut self, case: &str, faults: &[Fault]) {
        for fault in faults {
            for (what, text) in [("message", &fault.message), ("allowed", &fault.allowed)] {
                for flaw in flaws(text) {
                    let kind = format!("{:?} {what}: {flaw}", fault.code);
                    let told = format!("{case}, {}: {text:?}", fault.pointer);
                    self.0.entry(kind).or_insert(told);
                }
            }
        }
    }

    fn none(self) {
        assert!(self.0.is_empty(), "{:#?}", self.0);
    }
}

#[test]
fn the_rules_find_what_is_wrong() {
    for bad in [
        "Legs of the route is needed",
        "both of R-value and U-value is given",
        "5 entry of the audits",
        "1974.5 has more than 0 decimals",
        "site.built_year is 1500 to 2200 1",
        "there is no policy ",
        "1 faults",
        "an error  here",
    ] {
        assert!(!flaws(bad).is_empty(), "{bad}");
    }
    assert_eq!(flaws("there is no policy nobody; did you mean home?"), [""; 0]);
}

#[test]
fn faults_of_the_known_cases_are_plain_english() {
    let form = form();
    let mut broken = Broken::default();
    for cases in [
        include_str!("data/job_faults.json"),
        include_str!("data/job_contradictions.json"),
    ] {
        let cases: Vec<Case> = serde_json::from_str(cases).unwrap();
        for case in &cases {
            broken.hold(&case.name, &faults_of(form.read(&edited(case), &rules())));
        }
    }
    broken.none();
}

/// Puts every wrong answer in the place of every answer of a request, and takes each answer away.
fn spoiled(request: &Value, check: &mut impl FnMut(&str, &Value)) {
    fn places(value: &Value, at: &str, found: &mut Vec<String>) {
        match value {
            Value::Object(members) => {
                for (name, member) in members {
                    let place = format!("{at}/{name}");
                    found.push(place.clone());
                    places(member, &place, found);
                }
            }
            Value::Array(entries) => {
                for (index, entry) in entries.iter().enumerate() {
                    places(entry, &format!("{at}/{index}"), found);
                }
            }
            _ => {}
        }
    }
    let mut found = Vec::new();
    places(request, "", &mut found);
    let wrong = [
        json!(null),
        json!(""),
        json!("nothing such"),
        json!(-1),
        json!(1974.5),
        json!([]),
        json!({}),
        json!({"value": "1", "unit": "F"}),
        json!({"value": "0", "unit": "ft"}),
        json!({"value": "100000000", "unit": "1"}),
        json!({"amount": "-1", "currency": "USD"}),
        json!(true),
    ];
    for place in &found {
        for value in &wrong {
            let mut spoiled = request.clone();
            *spoiled.pointer_mut(place).unwrap() = value.clone();
            check(&format!("{place} = {value}"), &spoiled);
        }
        let mut lacking = request.clone();
        let (parent, name) = place.rsplit_once('/').unwrap();
        if let Some(Value::Object(members)) = lacking.pointer_mut(parent) {
            members.shift_remove(name);
            check(&format!("without {place}"), &lacking);
        }
    }
}

#[test]
fn faults_of_every_spoiled_answer_are_plain_english() {
    let demo = Demo::load();
    let names = Names {
        lines: Some(&[]),
        ..demo.workbook.reader(demo.policies.first()).names
    };
    let reader = RequestReader {
        names,
        ..demo.workbook.reader(None)
    };
    let mut told = 0;
    let mut broken = Broken::default();
    for file in ["alderwick-closet.json", "wickerlamp-restaurant.json"] {
        spoiled(&Demo::job(file), &mut |case, request| {
            let faults = faults_of(reader.read(request));
            told += faults.len();
            broken.hold(&format!("{file} {case}"), &faults);
        });
    }
    broken.none();
    assert!(told > 2_000, "{told} sentences");
}
