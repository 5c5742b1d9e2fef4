//! Laws of the sizing report: no answer within the form ends it, and more of what costs never costs less.

use estimate::job::Form;
use estimate::job::form::Shape;
use estimate::quantity::decimal::plain;
use estimate::rules::{RunInput, RunReason};
use estimate::sizing::{facts, size};
use proptest::prelude::*;
use proptest::sample::{Index, select};
use rust_decimal::Decimal;
use serde_json::{Value, json};

use crate::sizing_jobs::{OFFICE, SEEDS, Sized, catalogue_with, ft, seed, sized, spec};

/// Pointers of the answers of a job that stand alone: measures, numbers, counts, flags and choices.
fn leaves(form: &Form, job: &Value, at: &str, found: &mut Vec<String>) {
    match form.answer(at) {
        Some(Shape::Group(_) | Shape::List { .. }) | None => {}
        Some(_) => return found.push(at.to_owned()),
    }
    match job.pointer(at) {
        Some(Value::Object(members)) => {
            members
                .keys()
                .for_each(|name| leaves(form, job, &format!("{at}/{name}"), found));
        }
        Some(Value::Array(list)) => {
            (0..list.len()).for_each(|place| leaves(form, job, &format!("{at}/{place}"), found));
        }
        _ => {}
    }
}

/// An answer within the form, `share` of the way from its least to its greatest value.
fn within(shape: &Shape, share: Decimal) -> Option<Value> {
    let between = |min: Decimal, max: Decimal, places: u32| {
        plain(
            (min + (max - min) * share)
                .trunc_with_scale(places)
                .clamp(min, max),
        )
    };
    Some(match shape {
        Shape::Measure { unit, min, max } => json!({"value": between(*min, *max, 6), "unit": unit.symbol()}),
        Shape::Number { min, max, scale } => json!(between(*min, *max, *scale)),
        Shape::Count { min, max } => {
            serde_json::from_str(&between((*min).into(), (*max).into(), 0)).expect("a whole number")
        }
        Shape::Flag => json!(share > Decimal::new(5, 1)),
        Shape::Choice(words) => {
            let words: Vec<&str> = words.iter().collect();
            let last = Decimal::from(words.len() - 1);
            let place: usize = (last * share).trunc().try_into().expect("a place");
            json!(words[place])
        }
        _ => return None,
    })
}

/// Sizes what the form takes, and finds whether it took it. There is no error to come: every class is known.
fn holds(request: &Value) -> bool {
    let Ok(read) = OFFICE.workbook.read(request) else {
        return false;
    };
    let report = size(&read.job.spec, &OFFICE.catalogue).expect("a report");
    let values = facts::values(&report);
    for (definition, value) in facts::definitions(&OFFICE.catalogue).iter().zip(&values) {
        assert!(
            definition.admits(value) && definition.is_within(value),
            "{} is {value:?}",
            definition.name
        );
    }
    let all = estimate::estimate::facts(&read.job.spec, &report, &OFFICE.catalogue);
    for (definition, value) in OFFICE.workbook.facts().iter().zip(&all) {
        assert!(definition.is_within(value), "{} is {value:?}", definition.name);
    }
    // What passed the check fails on no type, unit or look-up, whatever the job.
    let run = OFFICE.workbook.program().run(RunInput {
        facts: &all,
        unknown: &[],
        explain: false,
    });
    if let Err(fault) = run {
        let of_numbers = matches!(
            fault.reason,
            RunReason::Overflow | RunReason::DivisionByZero | RunReason::Negative { .. }
        );
        assert!(of_numbers, "{fault}");
    }
    for question in &report.questions {
        assert_eq!(
            question.answered,
            !question.results.is_empty(),
            "{}",
            question.name
        );
    }
    serde_json::to_vec(&report).expect("it is JSON");
    true
}

/// Jobs that between them answer every question of the form.
const BREADTH: [&str; 4] = [
    "alderwick-closet",
    "osierby-long-riser",
    "pinfold-basement",
    "wickerlamp-first-scheme",
];

/// Every answer of these jobs at its least, its greatest and half way, one at a time.
#[test]
fn every_answer_may_take_its_ends() {
    let form = OFFICE.workbook.form();
    let (mut taken, mut refused) = (0, 0);
    for name in BREADTH {
        let request = seed(name);
        let mut answers = Vec::new();
        leaves(form, &request["job"], "", &mut answers);
        assert!(answers.len() > 60, "{name} has {} answers", answers.len());
        for answer in answers {
            for half in 0..=2 {
                let share = Decimal::new(half * 5, 1);
                let Some(value) = form.answer(&answer).and_then(|shape| within(shape, share)) else {
                    continue;
                };
                let mut changed = request.clone();
                *changed["job"].pointer_mut(&answer).expect("it is there") = value;
                if holds(&changed) { taken += 1 } else { refused += 1 }
            }
        }
    }
    // Contradictions refuse some; most must get through, or this test shows nothing.
    assert!(taken > 3 * refused, "{taken} taken, {refused} refused");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn many_answers_at_once_give_a_report(
        name in select(&SEEDS[..]),
        edits in prop::collection::vec((any::<Index>(), 0_i64..=100), 1..8),
    ) {
        let form = OFFICE.workbook.form();
        let mut request = seed(name);
        let mut answers = Vec::new();
        leaves(form, &request["job"], "", &mut answers);
        for (place, percent) in edits {
            let answer: &String = place.get(&answers);
            if let Some(value) = form.answer(answer).and_then(|shape| within(shape, Decimal::new(percent, 2))) {
                *request["job"].pointer_mut(answer).expect("it is there") = value;
            }
        }
        holds(&request);
    }

    #[test]
    fn more_resistance_never_raises_the_load(r in 2_i64..60, more in 0_i64..40) {
        let load = |r: i64| {
            let r = json!({"value": r.to_string(), "unit": "h*ft2*F_diff/Btu"});
            sized("osierby-long-riser", &[("/cellar/construction/wall_r", r)]).number("load.average")
        };
        prop_assert!(load(r + more) <= load(r));
    }

    #[test]
    fn a_longer_line_never_needs_less(feet in 1_i64..60, more in 0_i64..40) {
        let with = |feet: i64| sized("alderwick-closet", &[("/line_set/legs/1/length", ft(&feet.to_string()))]);
        let (short, long) = (with(feet), with(feet + more));
        for name in ["line_set.equivalent_length", "line_set.extra_charge", "line_set.total_charge", "line_set.joints"] {
            prop_assert!(long.number(name) >= short.number(name), "{}", name);
        }
        prop_assert!(long.number("line_set.subcooling_left") <= short.number("line_set.subcooling_left"));
    }

    #[test]
    fn a_longer_circuit_never_has_a_thinner_wire(feet in 0_i64..400, more in 0_i64..400) {
        let gauge = |feet: i64| {
            let sized = sized("alderwick-closet", &[("/electrical/panel_length", ft(&feet.to_string()))]);
            let gauge = |name| sized.word(name).parse::<u32>().expect("a gauge");
            (gauge("wiring.conductor"), gauge("wiring.ground"))
        };
        let (near, far) = (gauge(feet), gauge(feet + more));
        prop_assert!(far.0 <= near.0 && far.1 <= near.1);
    }

    /// The extension is exactly what the included cable lacks.
    #[test]
    fn the_extension_is_what_the_cable_lacks(hundredths in 0_i64..20_000) {
        let route = Decimal::new(hundredths, 2);
        let sized = sized("thornfold-weak-pump", &[("/controller/cable_route", ft(&plain(route)))]);
        let lacks = (route - Decimal::from(50)).max(Decimal::ZERO);
        prop_assert_eq!(sized.number("controller.extension"), lacks);
    }

    /// No heat without a difference and without gains: all that is left are the unit's own fans.
    #[test]
    fn a_cellar_as_warm_as_its_surroundings_asks_for_its_fans_alone(f in 45_i64..66, rh in 40_i64..80) {
        let mut request = seed("osierby-long-riser");
        let same = json!({"value": f.to_string(), "unit": "degF"});
        let cellar = &mut request["job"]["cellar"];
        for side in ["wall_beyond", "ceiling_beyond", "floor_beyond"] {
            cellar["construction"][side] = same.clone();
        }
        cellar["construction"]["glazing"]["beyond"] = same.clone();
        cellar["air_temperature"] = same.clone();
        cellar["humidity"] = json!(rh.to_string());
        cellar["infiltration_air"] = json!({"temperature": same, "humidity": rh.to_string()});
        cellar["lights"] = json!({"power": {"value": "0", "unit": "W"}, "hours_a_day": {"value": "0", "unit": "h"}});
        cellar["people"] = json!({"count": 0, "hours_a_day": {"value": "0", "unit": "h"}});
        cellar["weekly_intake"] = json!(0);
        // 55 W of fans are 187.7 Btu/h.
        let catalogue = catalogue_with(|e| e.fan_power.0 = Decimal::from(55));
        let sized = Sized::of(&spec(&request), &catalogue);
        prop_assert_eq!(sized.text("load.average"), "188");
        prop_assert_eq!(sized.text("load.latent"), "0");
    }
}
