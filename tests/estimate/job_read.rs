//! Reading a job spec: what is understood, and what is told when it is not.

use estimate::job::choices::{Known, Mounting};
use estimate::job::spec::{CellarSize, Envelope, Transmission, UnitClass};
use estimate::job::{FaultCode, Form, Treat};
use estimate::quantity::Decimal;
use estimate::quantity::decimal::{QUANTITY_SCALE, parse};
use serde_json::{Value, json};

use crate::job_samples::{check_cases, extra_inputs, faults_of, form, kept, remove, rules, sample, set};

fn decimal(text: &str) -> Decimal {
    parse(text, QUANTITY_SCALE).expect("a decimal")
}

#[test]
fn faults_are_told_all_at_once_with_their_places() {
    let form = form();
    check_cases(include_str!("data/job_faults.json"), |job| {
        faults_of(form.read(job, &rules()))
    });
}

#[test]
fn the_samples_are_understood_as_they_were_surveyed() {
    let form = form();
    let simple = form.read(&sample("simple"), &rules()).expect("no faults").spec;
    assert_eq!(simple.cellar.volume().value(), decimal("384"));
    assert_eq!(simple.cellar.wall_area().value(), decimal("224"));
    assert_eq!(simple.cellar.air_temperature.value(), decimal("55"), "a default");
    assert_eq!(simple.unit.class, UnitClass::Auto);
    assert_eq!(simple.line_set.sums().length, decimal("26"));
    assert_eq!(simple.line_set.sums().bends, 5);
    assert_eq!(simple.known(Known::Assumed), 1);

    let medium = form.read(&sample("medium"), &rules()).expect("no faults").spec;
    let Envelope::Surfaces(surfaces) = &medium.cellar.envelope else {
        panic!("surfaces are listed");
    };
    assert!(
        matches!(surfaces[4].transmission, Transmission::Transmittance(u) if u.value() == decimal("0.48"))
    );
    assert_eq!(medium.cellar.door_area().value(), decimal("21"));
    assert_eq!(medium.cellar.glazing_area().value(), decimal("28"));
    let heights: Vec<Decimal> = medium.drain.elevations().collect();
    assert_eq!(heights, ["1.5", "1.5", "-3.5"].map(decimal));
    // 14 gr/gal = 14 * 64.79891 mg / 3.785411784 L = 239.6529 mg/L. Sizes: NIST SP 811, appendix B.
    assert_eq!(
        medium.humidity.water_hardness.expect("given").value(),
        decimal("239.6529")
    );

    let hard = form.read(&sample("hard"), &rules()).expect("no faults").spec;
    assert_eq!(hard.unit.mounting, Mounting::Flush);
    assert!(
        matches!(hard.cellar.size, CellarSize::Rectangular { length, .. } if length.value() == decimal("20"))
    );
    assert_eq!(hard.cellar.air_temperature.value(), decimal("55.4"), "13 degC");
    assert_eq!(hard.cellar.humidity.fraction(), decimal("0.625"));
    assert_eq!(hard.cellar.lights.power.value(), decimal("300"));
}

#[test]
fn metric_answers_are_understood_as_inch_pound_ones() {
    // 1 ft = 0.3048 m, 1 in = 25.4 mm, degF = 1.8 degC + 32, exactly. Source: NIST SP 811, appendix B.
    let metric = [
        ("/cellar/length", json!({"value": "2.4384", "unit": "m"})),
        ("/cellar/width", json!({"value": 182.88, "unit": "cm"})),
        ("/cellar/height", json!({"value": 2438.4, "unit": "mm"})),
        (
            "/cellar/construction/floor_beyond",
            json!({"value": "16.666666", "unit": "degC"}),
        ),
        ("/line_set/legs/1/length", json!({"value": "4.572", "unit": "m"})),
        ("/drain/legs/0/fall", json!({"value": "177.8", "unit": "mm"})),
        ("/site/travel_time", json!({"value": "1500", "unit": "s"})),
        ("/site/distance", json!({"value": "19.312128", "unit": "km"})),
    ];
    let mut job = sample("simple");
    for (pointer, value) in metric {
        set(&mut job, pointer, value);
    }
    let form = form();
    let understood = form.read(&job, &rules()).expect("no faults");
    assert_eq!(
        understood.spec,
        form.read(&sample("simple"), &rules()).expect("no faults").spec
    );
}

#[test]
fn json_numbers_are_read_by_their_digits() {
    let form = form();
    let length_of = |number: &str| {
        let text = format!(r#"{{"value": {number}, "unit": "ft"}}"#);
        let mut job = sample("simple");
        set(
            &mut job,
            "/controller/cable_route",
            serde_json::from_str(&text).expect("JSON"),
        );
        form.read(&job, &rules())
    };
    let as_number = length_of("12.5").expect("no faults");
    assert_eq!(as_number.spec.controller.cable_route.value(), decimal("12.5"));
    assert_eq!(as_number, length_of("\"12.5\"").expect("no faults"));
    assert_eq!(as_number, length_of("12.50").expect("no faults"));
    // The double nearest 0.1, written out: it must be refused, and not become 0.1.
    let faults = faults_of(length_of("0.1000000000000000055511151231257827"));
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].code, FaultCode::TooManyDigits);
    assert_eq!(faults[0].pointer, "/controller/cable_route/value");
    for not_digits in [
        "1e1",
        "\"1e1\"",
        "\"+1\"",
        "\"1_000\"",
        "\".5\"",
        "\"5.\"",
        "\" 5\"",
        "\"0x10\"",
        "\"NaN\"",
        "\"\"",
    ] {
        let faults = faults_of(length_of(not_digits));
        assert_eq!(
            faults.iter().map(|f| f.code).collect::<Vec<_>>(),
            [FaultCode::BadNumber],
            "{not_digits}"
        );
    }
}

#[test]
fn unknown_answers_become_what_the_rules_say() {
    let form = form();
    let mut job = sample("medium");
    remove(&mut job, "/line_set/legs/1/length");
    remove(&mut job, "/site/ceiling_construction");
    for answer in [
        "/line_set/legs/1/length",
        "/site/ceiling_construction",
        "/condenser/winter_temperature",
        "/extra/rack_height",
    ] {
        set(
            &mut job,
            "/basis/-",
            json!({"answer": answer, "known": "unknown"}),
        );
    }
    remove(&mut job, "/condenser/winter_temperature");
    let understood = form.read(&job, &rules()).expect("no faults");
    let told: Vec<(&str, Treat, Option<Value>)> = understood
        .assumptions
        .iter()
        .map(|a| (a.answer.as_str(), a.treat, a.value.clone()))
        .collect();
    assert_eq!(
        told,
        [
            (
                "/electrical/panel_length",
                Treat::Assume,
                Some(json!({"value": "40", "unit": "ft"}))
            ),
            (
                "/line_set/legs/1/length",
                Treat::Assume,
                Some(json!({"value": "25", "unit": "ft"}))
            ),
            ("/site/ceiling_construction", Treat::Stop, Some(json!("plaster"))),
            ("/condenser/winter_temperature", Treat::Assume, None),
            (
                "/extra/rack_height",
                Treat::Assume,
                Some(json!({"value": "8", "unit": "ft"}))
            ),
        ]
    );
    assert_eq!(
        understood.assumptions[0].note.as_deref(),
        Some("panel is behind the shelving")
    );
    assert_eq!(understood.assumptions[1].rule, "/line_set/legs/*/length");
    assert_eq!(understood.spec.electrical.panel_length.value(), decimal("40"));
    assert_eq!(understood.spec.line_set.sums().length, decimal("62"));
    assert_eq!(understood.spec.condenser.winter_temperature, None);
    // What is unknown never looks as if it had been given, and defaults do not creep in for it.
    for answer in told.iter().map(|(answer, ..)| answer) {
        assert_eq!(understood.tree.pointer(answer), None, "{answer}");
    }
    assert_eq!(
        kept(form.read(&understood.tree, &rules()).expect("no faults")),
        kept(understood)
    );
}

#[test]
fn an_unknown_answer_may_stand_in_a_group_that_was_left_out() {
    let form = form();
    let mut job = sample("simple");
    remove(&mut job, "/electrical");
    for answer in ["panel_length", "panel_space"] {
        let entry = json!({"answer": format!("/electrical/{answer}"), "known": "unknown"});
        set(&mut job, "/basis/-", entry);
    }
    let missing: Vec<String> = faults_of(form.read(&job, &rules()))
        .into_iter()
        .map(|f| f.pointer)
        .collect();
    assert_eq!(
        missing,
        [
            "supply_voltage",
            "connection",
            "method",
            "service_receptacle",
            "by"
        ]
        .map(|name| format!("/electrical/{name}"))
    );
}

#[test]
fn extra_inputs_take_their_defaults_and_their_bounds() {
    let form = form();
    let understood = form.read(&sample("simple"), &rules()).expect("no faults");
    assert_eq!(
        understood.tree["extra"],
        json!({"rack_height": {"value": "6", "unit": "ft"}, "rack_bays": "0", "racks_fixed": false, "rack_wood": "redwood"})
    );
    let mut job = sample("simple");
    set(
        &mut job,
        "/extra",
        json!({"rack_height": {"value": 30, "unit": "ft"}, "rack_bays": true, "rack_wood": "oack", "shelves": 3}),
    );
    let faults = faults_of(form.read(&job, &rules()));
    let places: Vec<&str> = faults.iter().map(|f| f.pointer.as_str()).collect();
    assert_eq!(
        places,
        [
            "/extra/rack_height",
            "/extra/rack_bays",
            "/extra/rack_wood",
            "/extra/shelves"
        ]
    );
    assert!(
        faults[2].message.contains("did you mean oak?"),
        "{}",
        faults[2].message
    );
    let plain = Form::new(&[], &[]);
    assert_eq!(
        faults_of(plain.read(&understood.tree, &rules())).len(),
        extra_inputs().len()
    );
}

#[test]
fn a_rules_value_is_checked_by_the_form() {
    let form = form();
    let check = |answer: &str, value: Value| form.check_answer(answer, &value);
    assert_eq!(
        check("/electrical/panel_length", json!({"value": "40", "unit": "ft"})),
        Ok(())
    );
    assert_eq!(check("/line_set/legs/*/space", json!("attic")), Ok(()));
    assert_eq!(check("/extra/racks_fixed", json!(true)), Ok(()));
    let faults =
        check("/electrical/panel_length", json!({"value": "40", "unit": "lb"})).expect_err("not a length");
    assert_eq!(faults.list[0].pointer, "/electrical/panel_length/unit");
    let whole = json!({"direction": "level", "length": {"value": "5", "unit": "ft"}});
    let faults = check("/drain/legs/*", whole).expect_err("no space");
    assert_eq!(faults.list[0].pointer, "/drain/legs/*/space");
    for no_answer in [
        "",
        "/",
        "/title",
        "/basis",
        "/basis/0/known",
        "/electrical/panel",
        "/line_set/legs/first/length",
    ] {
        let faults = check(no_answer, json!(1)).expect_err("no answer");
        assert_eq!(faults.list[0].code, FaultCode::NotAnAnswer, "{no_answer}");
    }
}

#[test]
fn every_answer_of_the_list_is_one() {
    let form = form();
    let answers = form.answers();
    for expected in [
        "/cellar/length",
        "/line_set/legs",
        "/line_set/legs/*/length",
        "/unit/class",
        "/extra/rack_wood",
    ] {
        assert!(answers.iter().any(|answer| answer == expected), "{expected}");
    }
    assert!(answers.iter().all(|answer| form.answer(answer).is_some()));
    assert!(
        !answers
            .iter()
            .any(|answer| answer.starts_with("/basis") || answer == "/title")
    );
}

#[test]
fn a_flood_of_faults_is_bounded() {
    let form = form();
    let mut job = sample("simple");
    for index in 0..1000 {
        set(&mut job, &format!("/x{index}"), json!(index));
    }
    let faults = faults_of(form.read(&job, &rules()));
    assert_eq!(faults.len(), 201);
    assert_eq!(faults[200].code, FaultCode::MoreFaults);
    assert_eq!(faults[200].message, "and 800 more faults");
}
