//! Whatever is done to a job, it is priced or its faults are told; nothing else happens.

use std::fs;
use std::sync::OnceLock;

use estimate::quantity::Decimal;
use proptest::prelude::*;
use proptest::sample::Index;
use serde_json::{Value, json};
use tallyrule::desk::{DeskFault, Office};

use crate::harness::{project, seed};

fn office() -> &'static Office {
    static OFFICE: OnceLock<Office> = OnceLock::new();
    OFFICE.get_or_init(|| Office::of_seed(seed()).unwrap())
}

fn jobs() -> &'static [Value] {
    static JOBS: OnceLock<Vec<Value>> = OnceLock::new();
    JOBS.get_or_init(|| {
        let entries = fs::read_dir(project().join("seed-data/jobs")).unwrap();
        entries
            .map(|entry| serde_json::from_str(&fs::read_to_string(entry.unwrap().path()).unwrap()).unwrap())
            .collect()
    })
}

/// Every place of a value, as JSON Pointers.
fn places(value: &Value, at: &str, found: &mut Vec<String>) {
    found.push(at.to_owned());
    match value {
        Value::Object(members) => {
            members.iter().for_each(|(name, inner)| {
                places(
                    inner,
                    &format!("{at}/{}", name.replace('~', "~0").replace('/', "~1")),
                    found,
                )
            });
        }
        Value::Array(entries) => {
            entries
                .iter()
                .enumerate()
                .for_each(|(index, inner)| places(inner, &format!("{at}/{index}"), found));
        }
        _ => {}
    }
}

/// What is put in the place of something: other types, odd numbers, units of every dimension, words of the form.
fn odd() -> impl Strategy<Value = Value> {
    let numbers = prop_oneof![
        Just("0"),
        Just("-1"),
        Just("0.000001"),
        Just("999999999999999"),
        Just("0.0000001"),
        Just("1e9"),
        Just("7"),
        Just("120"),
    ];
    let units = prop_oneof![
        Just("ft"),
        Just("m"),
        Just("in"),
        Just("degC"),
        Just("degF"),
        Just("lb"),
        Just("h"),
        Just("ft3"),
        Just("W"),
        Just("x")
    ];
    let words = prop_oneof![
        Just("flush"),
        Just("unknown"),
        Just("c30"),
        Just("rise"),
        Just("drop"),
        Just("roof"),
        Just("contractor_pays"),
        Just("exempt"),
        Just(""),
    ];
    prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        (-2i64..4000).prop_map(Value::from),
        words.prop_map(Value::from),
        numbers.clone().prop_map(|digits| json!(digits)),
        (numbers, units).prop_map(|(value, unit)| json!({"value": value, "unit": unit})),
        Just(json!([])),
        Just(json!({})),
    ]
}

fn change(request: &mut Value, place: Index, odd: Option<Value>) {
    let mut all = Vec::new();
    places(request, "", &mut all);
    let place = all.swap_remove(place.index(all.len()));
    match (odd, place.rsplit_once('/')) {
        (Some(odd), _) => *request.pointer_mut(&place).unwrap() = odd,
        (None, Some((parent, name))) => {
            if let Some(Value::Object(members)) = request.pointer_mut(parent) {
                members.remove(name);
            }
        }
        (None, None) => *request = Value::Null,
    }
}

/// Another number of the same unit: most of these are still jobs that can be priced.
fn another_number(request: &mut Value, place: Index, number: &str) {
    let mut all = Vec::new();
    places(request, "", &mut all);
    all.retain(|place| place.ends_with("/value"));
    if let Some(value) = all
        .get(place.index(all.len().max(1)))
        .and_then(|place| request.pointer_mut(place))
    {
        *value = json!(number);
    }
}

/// Twice a whole: a list of legs, penetrations or manual lines that is longer than anybody surveyed.
fn doubled(request: &mut Value, place: Index) {
    let mut all = Vec::new();
    places(request, "", &mut all);
    all.retain(|place| matches!(request.pointer(place), Some(Value::Array(entries)) if !entries.is_empty()));
    if all.is_empty() {
        return;
    }
    let place = all.swap_remove(place.index(all.len()));
    if let Some(Value::Array(entries)) = request.pointer_mut(&place) {
        let again = entries.clone();
        entries.extend(again);
    }
}

/// A priced estimate adds up; anything else is a fault of the input, or of the job.
fn priced_or_told(request: &Value) -> Result<(), TestCaseError> {
    match office().estimate_job(request, true, |estimate| serde_json::to_value(estimate).unwrap()) {
        Ok(estimate) => {
            let amount = |money: &Value| money["amount"].as_str().unwrap().parse::<Decimal>().unwrap();
            let sum = |rows: &Value, of: &str| -> Decimal {
                rows.as_array().unwrap().iter().map(|row| amount(&row[of])).sum()
            };
            let totals = &estimate["totals"];
            prop_assert_eq!(
                sum(&estimate["lines"], "price") - amount(&totals["discount"]),
                amount(&totals["net"])
            );
            prop_assert_eq!(
                amount(&totals["net"]) + amount(&totals["tax"]),
                amount(&totals["total"])
            );
            prop_assert_eq!(
                sum(&estimate["payment_schedule"], "amount"),
                amount(&totals["total"])
            );
        }
        Err(DeskFault::Input(faults)) => prop_assert!(!faults.list.is_empty()),
        Err(DeskFault::Named { .. } | DeskFault::Estimate(_)) => {}
        Err(other) => prop_assert!(false, "{other:?}"),
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(250))]

    #[test]
    fn a_job_with_other_numbers_is_priced_or_its_faults_are_told(
        job in any::<Index>(),
        numbers in prop::collection::vec((any::<Index>(), "0|1|2.5|[3-9]|[1-9][0-9]|[1-9][0-9]{2}(\\.5)?"), 1..6),
        twice in prop::option::of(any::<Index>()),
    ) {
        let mut request = job.get(jobs()).clone();
        for (place, number) in numbers {
            another_number(&mut request, place, &number);
        }
        if let Some(place) = twice {
            doubled(&mut request, place);
        }
        priced_or_told(&request)?;
    }

    #[test]
    fn a_changed_job_is_priced_or_its_faults_are_told(
        job in any::<Index>(),
        changes in prop::collection::vec((any::<Index>(), prop::option::weighted(0.8, odd())), 1..4),
        twice in prop::option::of(any::<Index>()),
    ) {
        let mut request = job.get(jobs()).clone();
        for (place, odd) in changes {
            change(&mut request, place, odd);
        }
        if let Some(place) = twice {
            doubled(&mut request, place);
        }
        priced_or_told(&request)?;
    }
}
