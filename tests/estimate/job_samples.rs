//! Job specs to test with, the form that reads them, and edits of them. All of it is invented.

use std::sync::Arc;

use estimate::job::{
    ExtraInput, ExtraKind, Fault, Form, JobFault, Names, Request, RequestReader, Treat, Understood,
    UnknownRule,
};
use estimate::quantity::Decimal;
use estimate::quantity::fact::{Domain, WordNumber};
use estimate::quantity::unit::Unit;
use serde::Deserialize;
use serde_json::{Value, json};

pub const SIMPLE: &str = include_str!("data/jobs/thornwick_closet.json");
pub const MEDIUM: &str = include_str!("data/jobs/quillon_basement.json");
pub const HARD: &str = include_str!("data/jobs/larkspur_dining_room.json");

pub fn sample(name: &str) -> Value {
    let text = match name {
        "simple" => SIMPLE,
        "medium" => MEDIUM,
        "hard" => HARD,
        other => panic!("no sample {other}"),
    };
    serde_json::from_str(text).expect("a sample is JSON")
}

/// Extra inputs as a rulebook may declare them, one of each kind.
pub fn extra_inputs() -> Vec<ExtraInput> {
    let input = |name: &str, title: &str, kind| ExtraInput {
        name: name.into(),
        title: title.into(),
        kind,
        when: None,
    };
    let words = Domain::new("rack_wood", ["oak", "redwood", "metal"]);
    vec![
        input(
            "rack_height",
            "Height of the racks",
            ExtraKind::Number {
                unit: Unit::FT,
                min: Decimal::ZERO,
                max: Decimal::from(20),
                default: Some(Decimal::from(6)),
            },
        ),
        input(
            "rack_bays",
            "Bays of racks",
            ExtraKind::Number {
                unit: Unit::ONE,
                min: Decimal::ZERO,
                max: Decimal::from(100),
                default: Some(Decimal::ZERO),
            },
        ),
        input(
            "racks_fixed",
            "The racks are fixed",
            ExtraKind::Flag { default: Some(false) },
        ),
        input(
            "rack_wood",
            "Wood of the racks",
            ExtraKind::Choice {
                domain: words,
                default: Some(WordNumber::at(1)),
            },
        ),
    ]
}

pub fn classes() -> Vec<Arc<str>> {
    ["C30", "C60", "C90"].map(Arc::from).to_vec()
}

pub fn form() -> Form {
    Form::new(&classes(), &extra_inputs())
}

/// Reads a request by the form, with the names judged that are given.
pub fn read_request(request: &Value, names: Names<'_>) -> Result<Request, JobFault> {
    let (form, rules) = (form(), rules());
    RequestReader {
        form: &form,
        rules: &rules,
        names,
        today: None,
        settled: false,
    }
    .read(request)
}

/// What stays when the job as understood is read again: its defaults are answers then.
pub fn kept(understood: Understood) -> Understood {
    Understood {
        usual_answers: Vec::new(),
        ..understood
    }
}

/// Rules for unknown answers, one of each treatment.
pub fn rules() -> Vec<UnknownRule> {
    let rule = |answer: &str, treat, value: Option<Value>| UnknownRule {
        answer: answer.into(),
        treat,
        value,
        wording: format!("{answer} was not known"),
    };
    vec![
        rule(
            "/electrical/panel_length",
            Treat::Assume,
            Some(json!({"value": "12.192", "unit": "m"})),
        ),
        rule("/electrical/panel_space", Treat::Allowance, Some(json!(false))),
        rule(
            "/line_set/legs/*/length",
            Treat::Assume,
            Some(json!({"value": 25, "unit": "ft"})),
        ),
        rule("/site/ceiling_construction", Treat::Stop, Some(json!("plaster"))),
        rule("/site/built_year", Treat::Stop, None),
        rule("/condenser/winter_temperature", Treat::Assume, None),
        rule("/electrical/by", Treat::Assume, None),
        rule("/site/hours", Treat::Assume, None),
        rule("/unit/framing", Treat::Assume, Some(json!("steel"))),
        rule(
            "/extra/rack_height",
            Treat::Assume,
            Some(json!({"value": "8", "unit": "ft"})),
        ),
    ]
}

/// One fault that a case expects.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expected {
    pub pointer: String,
    pub code: String,
    /// A part of the message.
    #[serde(default)]
    pub says: String,
}

/// A sample, edited, and the faults of the result.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    pub name: String,
    pub sample: String,
    #[serde(default)]
    pub set: serde_json::Map<String, Value>,
    #[serde(default)]
    pub remove: Vec<String>,
    #[serde(default)]
    pub faults: Vec<Expected>,
}

/// Sets what is at `pointer`; a last token `-` appends to a list.
pub fn set(tree: &mut Value, pointer: &str, value: Value) {
    let (parent, last) = pointer.rsplit_once('/').expect("a pointer to a member");
    let place = tree.pointer_mut(parent).unwrap_or_else(|| panic!("no {parent}"));
    match place {
        Value::Object(members) => {
            members.insert(last.to_owned(), value);
        }
        Value::Array(entries) if last == "-" => entries.push(value),
        Value::Array(entries) => entries[last.parse::<usize>().expect("an index")] = value,
        other => panic!("{parent} is {other}"),
    }
}

pub fn remove(tree: &mut Value, pointer: &str) {
    let (parent, last) = pointer.rsplit_once('/').expect("a pointer to a member");
    match tree.pointer_mut(parent) {
        Some(Value::Object(members)) => {
            members.remove(last).unwrap_or_else(|| panic!("no {pointer}"));
        }
        other => panic!("{parent} is {other:?}"),
    }
}

pub fn edited(case: &Case) -> Value {
    let mut job = sample(&case.sample);
    for pointer in &case.remove {
        remove(&mut job, pointer);
    }
    for (pointer, value) in &case.set {
        set(&mut job, pointer, value.clone());
    }
    job
}

pub fn code(fault: &Fault) -> String {
    serde_json::to_value(fault.code)
        .expect("a code")
        .as_str()
        .expect("a word")
        .to_owned()
}

pub fn faults_of(result: Result<impl Sized, JobFault>) -> Vec<Fault> {
    match result {
        Ok(_) => Vec::new(),
        Err(JobFault::Faults(faults)) => faults.list,
        Err(other) => panic!("{other}"),
    }
}

/// Checks that exactly the expected faults come, in any order.
pub fn check_cases(text: &str, read: impl Fn(&Value) -> Vec<Fault>) {
    let cases: Vec<Case> = serde_json::from_str(text).expect("cases are JSON");
    assert!(!cases.is_empty());
    for case in &cases {
        let faults = read(&edited(case));
        let mut came: Vec<(String, String)> = faults.iter().map(|f| (f.pointer.clone(), code(f))).collect();
        let mut wanted: Vec<(String, String)> = case
            .faults
            .iter()
            .map(|e| (e.pointer.clone(), e.code.clone()))
            .collect();
        came.sort();
        wanted.sort();
        assert_eq!(came, wanted, "{}: {faults:#?}", case.name);
        for expected in &case.faults {
            let says = |fault: &&Fault| {
                fault.pointer == expected.pointer
                    && code(fault) == expected.code
                    && fault.message.contains(&expected.says)
            };
            assert!(
                faults.iter().any(|f| says(&f)),
                "{}: wanted {expected:?} in {faults:#?}",
                case.name
            );
        }
        for fault in &faults {
            let parts = [&fault.came, &fault.allowed, &fault.message];
            assert!(
                parts.iter().all(|part| !part.is_empty()),
                "{}: {fault:?}",
                case.name
            );
        }
    }
}
