//! Properties of reading: nothing panics, what lies within the form is read, and what was read is read
//! again as the same.

use std::collections::HashSet;

use estimate::job::form::{Need, Shape};
use estimate::job::{FaultCode, Form, JobFault, Names, facts};
use estimate::quantity::Decimal;
use estimate::quantity::decimal::plain;
use proptest::prelude::*;
use proptest::sample::{Index, select};
use serde_json::{Map, Value, json};

use crate::job_samples::{extra_inputs, form, kept, read_request, rules, sample};

/// Names that the form knows, so that arbitrary JSON gets past the first level.
fn names(form: &Form) -> Vec<String> {
    let tokens = form
        .answers()
        .into_iter()
        .flat_map(|pointer| pointer.split('/').map(str::to_owned).collect::<Vec<_>>());
    let own = [
        "title", "basis", "answer", "known", "value", "unit", "amount", "currency", "job", "~", "a/b", "",
    ];
    tokens
        .chain(own.map(str::to_owned))
        .collect::<HashSet<_>>()
        .into_iter()
        .collect()
}

fn texts() -> impl Strategy<Value = String> {
    const LIKELY: &[&str] = &[
        "ft",
        "m",
        "degC",
        "unknown",
        "exposed",
        "/electrical/panel_length",
        "12.5",
        "-0",
        "1e9",
        "auto",
        "60",
    ];
    prop_oneof![
        select(LIKELY).prop_map(str::to_owned),
        any::<String>(),
        "[0-9]{1,30}(\\.[0-9]{1,30})?"
    ]
}

fn numbers() -> impl Strategy<Value = Value> {
    const ODD: &[&str] = &[
        "1e400",
        "-1E-400",
        "0.1000000000000000055511151231257827",
        "123456789012345678901234567890",
        "-0",
        "12.5",
    ];
    prop_oneof![
        select(ODD).prop_map(|digits| serde_json::from_str(digits).expect("a JSON number")),
        any::<i64>().prop_map(Value::from),
        (0_u32..40).prop_map(Value::from),
    ]
}

fn json_values() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        numbers(),
        texts().prop_map(Value::from)
    ];
    let names = names(&form());
    leaf.prop_recursive(6, 60, 8, move |inner| {
        let name = prop_oneof![9 => select(names.clone()), 1 => any::<String>()];
        let members = prop::collection::vec((name, inner.clone()), 0..8);
        prop_oneof![
            prop::collection::vec(inner, 0..6).prop_map(Value::Array),
            members.prop_map(|members| Value::Object(members.into_iter().collect::<Map<_, _>>())),
        ]
    })
}

/// Every pointer into a value.
fn pointers(value: &Value, at: &str, found: &mut Vec<String>) {
    found.push(at.to_owned());
    match value {
        Value::Object(members) => members
            .iter()
            .for_each(|(name, v)| pointers(v, &format!("{at}/{name}"), found)),
        Value::Array(entries) => entries
            .iter()
            .enumerate()
            .for_each(|(i, v)| pointers(v, &format!("{at}/{i}"), found)),
        _ => {}
    }
}

/// An answer within its shape, made from a stream of chances.
fn answer_within(shape: &Shape, chance: &mut dyn FnMut(usize) -> usize) -> Value {
    let mut between = |min: Decimal, max: Decimal, decimals: u32| {
        let step = (max - min) / Decimal::from(64);
        let value = min + step * Decimal::from(chance(65));
        plain(value.trunc_with_scale(decimals).clamp(min, max))
    };
    match shape {
        Shape::Text { .. } => json!("as found"),
        Shape::Code { .. } => json!("CODE-1"),
        Shape::Date => json!("2031-03-04"),
        Shape::Measure { unit, min, max } => json!({"value": between(*min, *max, 6), "unit": unit.symbol()}),
        Shape::AnyQuantity { min, max } => json!({"value": between(*min, *max, 6), "unit": "each"}),
        Shape::Number { min, max, scale } => json!(between(*min, *max, *scale)),
        Shape::UnitCost { min, max } => json!({"amount": between(*min, *max, 6), "currency": "USD"}),
        Shape::Money { .. } => json!({"amount": "12.50", "currency": "USD"}),
        Shape::Count { min, max } => {
            let digits = between((*min).into(), (*max).into(), 0);
            serde_json::from_str(&digits).expect("a whole number")
        }
        Shape::Flag => json!(chance(2) == 1),
        Shape::Choice(words) => {
            let words: Vec<&str> = words.iter().collect();
            json!(words[chance(words.len())])
        }
        Shape::Group(fields) => {
            let mut members = Map::new();
            for field in fields {
                let may_be_left_out = matches!(field.need, Need::Optional | Need::Default(_));
                if !may_be_left_out || chance(2) == 1 {
                    members.insert(field.name.to_string(), answer_within(&field.shape, chance));
                }
            }
            Value::Object(members)
        }
        Shape::List { item, min, max } => {
            let count = (*min + chance(3)).min(*max);
            (0..count).map(|_| answer_within(item, chance)).collect()
        }
        Shape::Job | Shape::Open => Value::Null,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn arbitrary_json_gives_faults_and_never_a_panic(value in json_values()) {
        let form = form();
        let wrapped = json!({"job": value.clone()});
        prop_assert!(matches!(form.read(&value, &rules()), Err(JobFault::Faults(_))));
        prop_assert!(matches!(read_request(&value, Names::default()), Err(JobFault::Faults(_))));
        prop_assert!(matches!(read_request(&wrapped, Names::default()), Err(JobFault::Faults(_))));
        let _ = form.check_answer("/line_set/legs", &value);
    }

    #[test]
    fn a_broken_sample_is_faulty_or_reads_the_same_again(
        which in select(&["simple", "medium", "hard"][..]),
        place in any::<Index>(),
        with in json_values(),
    ) {
        let mut job = sample(which);
        let mut places = Vec::new();
        pointers(&job, "", &mut places);
        let place: &String = place.get(&places);
        *job.pointer_mut(place).expect("it is there") = with;
        let form = form();
        match form.read(&job, &rules()) {
            Ok(understood) => prop_assert_eq!(kept(form.read(&understood.tree, &rules()).expect("no faults")), kept(understood)),
            Err(JobFault::Faults(faults)) => prop_assert!(!faults.list.is_empty()),
            Err(JobFault::Mismatch(mismatch)) => prop_assert!(false, "{mismatch}"),
        }
    }

    /// What lies within the form's shapes has no faults but contradictions; without those it is a spec
    /// with all of its facts, and reads the same again.
    #[test]
    fn answers_within_the_form_are_read(chances in prop::collection::vec(any::<usize>(), 400)) {
        let form = form();
        let mut at = 0;
        let mut chance = |of: usize| {
            at += 1;
            chances[at % chances.len()].wrapping_add(at / chances.len()) % of
        };
        let mut job = json!({"title": "made up"});
        for group in ["cellar", "unit", "condenser", "line_set", "drain", "controller", "humidity", "electrical", "finishes", "site", "tax", "extra"] {
            job[group] = answer_within(form.answer(&format!("/{group}")).expect("a group"), &mut chance);
        }
        match form.read(&job, &[]) {
            Ok(understood) => {
                prop_assert_eq!(facts::values(&understood.spec).len(), facts::definitions(&extra_inputs()).len());
                prop_assert_eq!(kept(form.read(&understood.tree, &[]).expect("no faults")), kept(understood));
            }
            Err(JobFault::Faults(faults)) => {
                for fault in faults.list {
                    prop_assert_eq!(fault.code, FaultCode::Contradiction, "{}: {}", fault.pointer, fault.message);
                }
            }
            Err(JobFault::Mismatch(mismatch)) => prop_assert!(false, "{mismatch}"),
        }
    }

    /// Answers of the samples varied where nothing else depends on them.
    #[test]
    fn a_valid_spec_reads_without_faults(
        which in select(&["simple", "medium", "hard"][..]),
        lengths in prop::collection::vec(1_i64..99_999, 6),
        temperature in 41_i64..=68,
        counts in prop::collection::vec(1_u32..50, 3),
        words in (select(&["v115", "v230"][..]), select(&["cable", "conduit"][..]), select(&["day", "limited", "night"][..])),
        flags in any::<[bool; 4]>(),
        in_metres in any::<bool>(),
    ) {
        let mut job = sample(which);
        // A bare 300 m, the longest that may come, is 984.252 ft.
        let length = |hundredths: i64| {
            let value = Decimal::new(if in_metres { hundredths * 3 / 10 } else { hundredths }, 2);
            json!({"value": plain(value), "unit": if in_metres { "m" } else { "ft" }})
        };
        job["controller"]["cable_route"] = length(lengths[0]);
        job["controller"]["probe"] = json!({"route": length(lengths[1] / 2)});
        job["humidity"] = json!({"wanted": flags[0], "supply_length": length(lengths[2])});
        job["line_set"]["legs"][0]["length"] = length(lengths[3].clamp(50, 2_000));
        job["line_set"]["legs"][0]["bends"] = json!(counts[0]);
        job["site"]["carry_distance"] = length(lengths[4]);
        job["cellar"]["air_temperature"] = json!({"value": temperature, "unit": "degF"});
        job["cellar"]["people"]["count"] = json!(counts[1]);
        job["site"]["storeys"] = json!(counts[2]);
        job["site"]["hours"] = json!(words.2);
        job["site"]["occupied"] = json!(flags[1]);
        job["electrical"]["supply_voltage"] = json!(words.0);
        job["electrical"]["method"] = json!(words.1);
        job["electrical"]["service_receptacle"] = json!(flags[2]);
        job["extra"] = json!({"racks_fixed": flags[3]});
        let form = form();
        let understood = form.read(&job, &rules());
        prop_assert!(understood.is_ok(), "{}", understood.expect_err("faults"));
        let understood = understood.expect("no faults");
        prop_assert_eq!(kept(form.read(&understood.tree, &rules()).expect("no faults")), kept(understood));
    }
}
