//! What a sweep tells of a jump: another working day, and stops before all else.

use super::sweep::{Trial, ft};
use estimate::sweep::{Break, Jump, Outcome, What};
use serde_json::json;

const LEG: &str = "/line_set/legs/1/length";

#[test]
fn another_working_day_is_a_break() {
    let trial = Trial::of("alderwick-closet.json");
    let made = trial.sweep(json!([{"answer": LEG, "from": ft("21"), "to": ft("23"), "step": ft("0.1")}]));
    let [found] = made.breaks.as_slice() else {
        panic!("{:?}", made.breaks)
    };
    assert!(found.exact);
    let [jump] = found.jumps.as_slice() else {
        panic!("{:?}", found.jumps)
    };
    assert_eq!((jump.what, &*jump.name), (What::Count, "crew_days"));
    assert_eq!(jump.description, "Visits of the crew on whole days");
    // Every day has 0.6 hours of setting up by the lead mechanic.
    let set_up = |at: &serde_json::Value| {
        let alone = trial.alone(LEG, at.clone());
        let lines = alone["lines"].as_array().unwrap().iter();
        let mut lines = lines.filter(|line| line["key"].as_str().unwrap().ends_with("/set_up"));
        let hours = lines.next().unwrap()["clock_hours"]["value"].clone();
        let hours: rust_decimal::Decimal = hours.as_str().unwrap().parse().unwrap();
        (hours / rust_decimal::Decimal::new(6, 1)).normalize().to_string()
    };
    assert_eq!(jump.before, Some(set_up(&found.from)));
    assert_eq!(jump.after, Some(set_up(&found.to)));
    let net = found.net.as_ref().unwrap();
    assert!(net.to.decimal() - net.from.decimal() > rust_decimal::Decimal::from(200));
}

#[test]
fn a_point_without_a_class_says_so_and_stops_come_first() {
    let trial = Trial::of("pinfold-basement.json");
    let u_value = |value: &str| json!({"value": value, "unit": "Btu/h/ft2/F_diff"});
    let answer = "/cellar/surfaces/3/u_value";
    let made = trial.sweep(json!([{"answer": answer, "values": [u_value("0.30"), u_value("4")]}]));
    let figuring: Vec<bool> = made
        .points
        .iter()
        .map(|point| match &point.outcome {
            Outcome::Priced { unit, .. } => unit.for_figuring_only,
            Outcome::Faulty { fault } => panic!("{fault:?}"),
        })
        .collect();
    assert_eq!(figuring, [false, true]);
    let told = serde_json::to_value(&made.points).unwrap();
    assert_eq!(told[0]["unit"].get("for_figuring_only"), None);
    assert_eq!(told[1]["unit"]["for_figuring_only"], json!(true));
    let stops = |found: &Break| {
        let stop = |jump: &&Jump| jump.what == What::Stop;
        let first = found.jumps.iter().take_while(stop).count();
        (first, found.jumps.iter().filter(stop).count())
    };
    assert!(made.breaks.iter().any(|found| stops(found).1 > 0));
    for found in &made.breaks {
        let (first, all) = stops(found);
        assert_eq!(first, all, "{:?}", found.jumps);
    }
    let mut units = made.breaks.iter().flat_map(|found| &found.jumps);
    let last = units.rfind(|jump| jump.name == "unit.class").unwrap();
    assert!(
        last.after.as_ref().unwrap().ends_with(" (for figuring only)"),
        "{last:?}"
    );
}
