//! Physics drives the bill: the same rulebook asks for other things when the sizing says so.

use std::collections::BTreeMap;

use estimate::catalogue::facts as equipment_facts;
use estimate::job::facts as job_facts;
use estimate::rules::RunInput;
use estimate::sizing::{facts, size};
use rust_decimal::Decimal;
use serde_json::{Value, json};

use crate::sizing_jobs::{OFFICE, changed, ft, spec};

/// What the seeded rulebook asks for on a job, by item, summed over its lines.
fn needs(name: &str, changes: &[(&str, Value)]) -> BTreeMap<String, Decimal> {
    let spec = spec(&changed(name, changes));
    let report = size(&spec, &OFFICE.catalogue).unwrap();
    let mut values = job_facts::values(&spec);
    values.extend(facts::values(&report));
    let equipment = &OFFICE.catalogue.equipment()[report.equipment_place()];
    values.extend(equipment_facts::values(equipment));
    let run = RunInput {
        facts: &values,
        unknown: &[],
        explain: false,
    };
    let outcome = OFFICE.workbook.program().run(run).unwrap();
    let mut needs = BTreeMap::new();
    for need in &outcome.needs {
        *needs.entry(need.item.to_owned()).or_insert(Decimal::ZERO) += need.quantity;
    }
    needs
}

fn only_in(left: &BTreeMap<String, Decimal>, right: &BTreeMap<String, Decimal>) -> Vec<String> {
    left.keys()
        .filter(|item| !right.contains_key(*item))
        .cloned()
        .collect()
}

#[test]
fn a_long_riser_buys_its_own_tube_and_traps() {
    let level = json!([
        {"direction": "level", "length": ft("32"), "space": "finished", "bends": 3},
        {"direction": "level", "length": ft("10"), "space": "outdoors", "bends": 2},
    ]);
    let long = needs("osierby-long-riser", &[]);
    let flat = needs("osierby-long-riser", &[("/line_set/legs", level)]);
    let more = only_in(&long, &flat);
    assert!(!more.is_empty(), "{long:#?}");
    let tube = |needs: &BTreeMap<String, Decimal>, code: &str| needs.get(code).copied().unwrap_or_default();
    // 24 ft rise in 1/2 in, 18 ft run in 5/8 in; on the level all 42 ft are of one size.
    let (half, five_eighths) = ("TS-12", "TS-58");
    assert_eq!(tube(&long, half), Decimal::from(24), "{long:#?}");
    assert_eq!(tube(&long, five_eighths), Decimal::from(18));
    assert_eq!(tube(&flat, half) + tube(&flat, five_eighths), Decimal::from(42));
}

#[test]
fn a_weak_pump_buys_a_separate_one_for_its_head() {
    let weak = needs("thornfold-weak-pump", &[]);
    let strong = needs(
        "thornfold-weak-pump",
        &[
            ("/drain/legs/0/length", ft("6")),
            ("/drain/discharge_below_outlet", Value::Null),
        ],
    );
    // 17.5 ft of head lie between the pumps for 15 and for 25 ft.
    assert_eq!(weak.get("PU-25"), Some(&Decimal::ONE), "{weak:#?}");
    assert!(!strong.keys().any(|item| item.starts_with("PU-")), "{strong:#?}");
}
