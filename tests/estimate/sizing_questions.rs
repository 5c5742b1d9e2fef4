//! The questions of the sizing report one by one: what of the job makes their facts and findings change.

use rust_decimal::Decimal;
use serde_json::{Value, json};

use crate::sizing_jobs::{Sized, catalogue_with, degrees, float, ft, inches, seed, sized, spec};

/// The height of the discharge was not measured beside the legs.
const UNMEASURED: (&str, Value) = ("/drain/discharge_below_outlet", Value::Null);

fn riser(length: &str) -> Value {
    json!([
        {"direction": "level", "length": ft("8"), "space": "finished", "bends": 2},
        {"direction": "rise", "length": ft(length), "space": "finished", "bends": 1},
        {"direction": "level", "length": ft("10"), "space": "outdoors", "bends": 2},
    ])
}

/// A riser of 5 ft and more gets traps, 1 + ⌊(riser − 1) / 20⌋ (common practice), and gas that carries the
/// oil: where it would rise too slowly its tube is one size smaller.
#[test]
fn a_long_riser_changes_the_line_set() {
    let short = sized("osierby-long-riser", &[("/line_set/legs", riser("3"))]);
    let long = sized("osierby-long-riser", &[]);
    assert_eq!(short.text("line_set.traps"), "0");
    assert_eq!(long.text("line_set.traps"), "2");
    assert_eq!(
        (short.text("line_set.elevation"), long.text("line_set.elevation")),
        ("3".into(), "24".into())
    );
    assert!(!short.flag("line_set.riser_reduced"));
    assert_eq!(
        short.word("line_set.riser_size"),
        short.word("line_set.suction_size")
    );
    assert!(long.flag("line_set.riser_reduced"));
    assert_eq!(
        (
            long.word("line_set.suction_size"),
            long.word("line_set.riser_size")
        ),
        ("5/8", "1/2")
    );
    assert!(long.number("line_set.riser_velocity") >= Decimal::ONE_THOUSAND);
    assert_eq!(short.text("line_set.riser_velocity"), "0");
    for name in [
        "line_set.equivalent_length",
        "line_set.extra_charge",
        "line_set.joints",
    ] {
        assert!(long.number(name) > short.number(name), "{name}");
    }
    assert!(long.cautions().contains(&"line_set.riser_reduced"));
}

#[test]
fn a_riser_beyond_the_units_own_limit_stops() {
    let sized = sized("osierby-long-riser", &[("/line_set/legs", riser("33"))]);
    assert_eq!(sized.stops(), ["line_set.too_high_above_evaporator"]);
    assert!(
        sized
            .says("line_set.too_high_above_evaporator")
            .contains("3.0 ft over the 30.0 ft")
    );
}

/// The factory charge covers 25 ft, and a foot beyond holds what the bore holds. By hand, 1/4 in coil of 0.19 in
/// bore: π/4 · 0.19² · 12 = 0.3402 in³, of R-513A at 108 °F, whose liquid lies between 1.0525 g/cm³ at 45 °C and
/// 1.0743 at 40 °C (CoolProp 8.0.0); 1 g/cm³ is 0.036127 lb/in³.
#[test]
fn extra_charge_is_the_bore_beyond_the_covered_length() {
    let sized = sized("alderwick-closet", &[]);
    let per_ft = float(sized.number("line_set.charge_per_length"));
    let [low, high] = [1.0525, 1.0743].map(|density| 0.3402 * 0.036_127 * 16.0 * density);
    assert!((low..=high).contains(&per_ft), "{low} {per_ft} {high}");
    assert_eq!(sized.text("line_set.extra_charge"), "0.2");
    assert_eq!(sized.text("line_set.total_charge"), "30.2");
    assert!(!sized.flag("line_set.receiver_needed"));
}

#[test]
fn a_receiver_that_does_not_hold_the_charge_is_told() {
    let catalogue = catalogue_with(|e| e.receiver_holds = None);
    let sized = Sized::of(&spec(&seed("alderwick-closet")), &catalogue);
    assert!(sized.flag("line_set.receiver_needed"));
    assert!(sized.cautions().contains(&"line_set.receiver_too_small"));
}

/// A separate pump is chosen for 1.25 times the lift and a twentieth of the level run (common practice).
/// By hand: 1.25 · (13 + 20/20) = 17.5 ft, and 1.25 · (8 + 1) = 11.25 ft against the own pump's 11 ft.
#[test]
fn a_weak_pump_asks_for_a_separate_one() {
    let weak = sized("thornfold-weak-pump", &[]);
    assert!(weak.flag("drain.pumped") && weak.flag("drain.pump_short"));
    assert_eq!(
        (weak.text("drain.lift"), weak.text("drain.pump_head")),
        ("13".into(), "17.5".into())
    );
    assert!(weak.says("condensate.separate_pump").contains("6.5 ft short"));
    assert!(weak.stops().is_empty(), "{:?}", weak.stops());
    let tight = sized(
        "thornfold-weak-pump",
        &[("/drain/legs/0/length", ft("8")), UNMEASURED],
    );
    assert!(tight.flag("drain.pump_short"));
    assert!(tight.says("condensate.separate_pump").contains("0.2 ft short"));
    let strong = sized(
        "thornfold-weak-pump",
        &[("/drain/legs/0/length", ft("6")), UNMEASURED],
    );
    assert!(strong.flag("drain.pumped") && !strong.flag("drain.pump_short"));
    assert!(!strong.cautions().contains(&"condensate.separate_pump"));
    let none = Sized::of(
        &spec(&seed("thornfold-weak-pump")),
        &catalogue_with(|e| e.pump = None),
    );
    assert!(none.flag("drain.pump_short"));
    assert!(none.says("condensate.separate_pump").contains("has no pump"));
}

/// An anti-siphon device sits at the highest point of a pumped drain (common practice, no source).
#[test]
fn the_anti_siphon_device_sits_at_the_highest_point() {
    let pumped = sized("thornfold-weak-pump", &[]);
    assert!(pumped.flag("drain.antisiphon_needed"));
    assert_eq!(pumped.text("drain.antisiphon_height"), "13");
    assert_eq!(pumped.text("drain.antisiphon_distance"), "13");
    let two_climbs = json!([
        {"direction": "rise", "length": ft("3"), "space": "finished"},
        {"direction": "level", "length": ft("10"), "space": "finished"},
        {"direction": "rise", "length": ft("2.5"), "space": "finished"},
        {"direction": "drop", "length": ft("4"), "space": "open"},
    ]);
    let later = sized("thornfold-weak-pump", &[("/drain/legs", two_climbs), UNMEASURED]);
    assert_eq!(later.text("drain.antisiphon_height"), "5.5");
    assert_eq!(later.text("drain.antisiphon_distance"), "15.5");
    let upward = json!([{"direction": "rise", "length": ft("4"), "space": "finished"}]);
    let to_its_top = sized("thornfold-weak-pump", &[("/drain/legs", upward), UNMEASURED]);
    assert!(to_its_top.flag("drain.pumped") && !to_its_top.flag("drain.antisiphon_needed"));
    let gravity = sized("alderwick-closet", &[]);
    assert!(!gravity.flag("drain.pumped") && !gravity.flag("drain.antisiphon_needed"));
    assert_eq!(gravity.text("drain.pump_head"), "0");
}

/// 1/8 in a ft over 16 ft are 2 in of fall (IMC 307.2.1): 2 in do, 1.9 in do not, none given is none.
#[test]
fn gravity_needs_an_eighth_of_an_inch_a_foot() {
    for (fall, pumped) in [(Some("2"), false), (Some("1.9"), true), (None, true)] {
        let fall = fall.map_or(Value::Null, inches);
        let sized = sized("alderwick-closet", &[("/drain/legs/1/fall", fall), UNMEASURED]);
        assert_eq!(sized.flag("drain.pumped"), pumped);
        assert_eq!(sized.text("drain.fall_needed"), "2");
    }
}

/// A 50 ft control cable comes with the unit: a 62 ft route buys 12 ft or more, a 48 ft route none (common
/// practice, no source).
#[test]
fn a_cable_that_is_too_short_is_extended() {
    let long = sized("osierby-long-riser", &[]);
    assert_eq!(long.text("controller.cable_needed"), "62");
    assert_eq!(long.text("controller.cable_included"), "50");
    assert_eq!(long.text("controller.extension"), "12");
    let short = sized("thornfold-weak-pump", &[]);
    assert_eq!(short.text("controller.cable_needed"), "48");
    assert_eq!(short.text("controller.extension"), "0");
    assert!(short.cautions().contains(&"controls.little_slack"));
    let too_long = sized("osierby-long-riser", &[("/controller/cable_route", ft("151"))]);
    assert_eq!(too_long.stops(), ["controls.too_long"]);
    let probe = sized("osierby-long-riser", &[("/controller/probe/route", ft("24"))]);
    assert_eq!(probe.text("probe.extension"), "9");
    assert_eq!(short.text("probe.needed"), "0");
}

#[test]
fn a_supply_of_another_voltage_stops() {
    let sized = sized(
        "alderwick-closet",
        &[("/electrical/supply_voltage", json!("v230"))],
    );
    assert_eq!(sized.stops(), ["wiring.voltage_differs"]);
    let wiring = sized.report.question("wiring").unwrap();
    assert!(
        wiring.notes.iter().any(|note| note.contains("c60")),
        "{:?}",
        wiring.notes
    );
}

/// NEC: 8.5 A on 14 AWG at 115 V reach 3 % after 66 ft (2 · L · I · 3.07 Ω / 1,000 ft; 3.45 V); beyond that the
/// conductors are thicker, and the ground with them.
#[test]
fn a_long_circuit_is_thicker_and_its_ground_too() {
    let near = sized("alderwick-closet", &[("/electrical/panel_length", ft("66"))]);
    assert_eq!(
        (near.word("wiring.conductor"), near.word("wiring.ground")),
        ("14", "14")
    );
    assert!(!near.flag("wiring.upsized"));
    let far = sized("alderwick-closet", &[("/electrical/panel_length", ft("67"))]);
    assert_eq!(
        (far.word("wiring.conductor"), far.word("wiring.ground")),
        ("12", "12")
    );
    assert!(far.flag("wiring.upsized"));
    assert!(far.number("wiring.voltage_drop") <= Decimal::new(3, 2));
    assert_eq!(far.text("wiring.breaker"), "15");
}

#[test]
fn a_void_that_is_too_small_stops() {
    let short = sized("osierby-long-riser", &[("/unit/ceiling_void", inches("13"))]);
    assert_eq!(short.stops(), ["mounting.void_short"]);
    assert!(short.flag("mounting.void_short"));
    assert!(short.says("mounting.void_short").contains("1.0 in short"));
    let enough = sized("osierby-long-riser", &[("/unit/ceiling_void", inches("14"))]);
    assert!(enough.stops().is_empty() && !enough.flag("mounting.void_short"));
    assert_eq!(enough.text("mounting.void_needed"), "14");
}

/// Joists at 16 in leave 14 1/2 in clear, at 24 in 22 1/2 in (common practice); a body of 20 in needs 21 in.
#[test]
fn no_framing_is_cut_for_a_body_that_is_too_wide() {
    let recessed = |spacing: &str, framing: &str| {
        sized(
            "alderwick-closet",
            &[
                ("/unit/mounting", json!("partly_recessed")),
                ("/unit/ceiling_void", inches("9")),
                ("/unit/joist_spacing", inches(spacing)),
                ("/unit/framing", json!(framing)),
            ],
        )
    };
    let narrow = recessed("16", "joist");
    assert_eq!(narrow.text("mounting.clear_bay"), "14.5");
    assert!(!narrow.flag("hanging.within_one_bay"));
    assert!(
        narrow
            .says("mounting.wider_than_bay")
            .contains("6.5 in too narrow")
    );
    assert!(narrow.stops().is_empty());
    assert!(recessed("24", "joist").flag("hanging.within_one_bay"));
    assert_eq!(recessed("16", "truss").stops(), ["mounting.wider_than_bay"]);
    assert_eq!(recessed("16", "i_joist").stops(), ["mounting.wider_than_bay"]);
    let between = recessed("24", "truss");
    assert!(between.stops().is_empty() && between.cautions().contains(&"mounting.made_framing"));
    let exposed = sized("alderwick-closet", &[("/unit/framing", json!("truss"))]);
    assert!(exposed.stops().is_empty() && exposed.cautions().contains(&"hanging.framing"));
}

#[test]
fn a_mounting_that_the_class_does_not_allow_stops() {
    let catalogue = catalogue_with(|e| e.void_needed.flush = None);
    let sized = Sized::of(&spec(&seed("osierby-long-riser")), &catalogue);
    assert_eq!(sized.stops(), ["mounting.not_possible"]);
}

#[test]
fn air_outside_the_condensing_units_range_is_told() {
    let hot = sized(
        "alderwick-closet",
        &[
            ("/unit/class", json!("c30")),
            ("/condenser/design_temperature", degrees("123")),
        ],
    );
    assert_eq!(hot.stops(), ["class.outside_rating", "condenser.too_hot"]);
    assert!(hot.says("condenser.too_hot").contains("3.0 °F over the 120.0 °F"));
    for (winter, needed) in [("19.9", true), ("20", false)] {
        let sized = sized(
            "alderwick-closet",
            &[("/condenser/winter_temperature", degrees(winter))],
        );
        assert_eq!(sized.flag("condenser.low_ambient_needed"), needed, "{winter}");
    }
    let unknown = sized(
        "alderwick-closet",
        &[
            ("/condenser/winter_temperature", Value::Null),
            ("/basis", json!([])),
        ],
    );
    assert!(!unknown.flag("condenser.low_ambient_needed"));
    assert!(unknown.cautions().contains(&"condenser.winter_not_known"));
}

/// R-454C, lower flammability limit 0.291 kg/m³ (published table of charge limits): a quarter of it in 384 ft³
/// is 1.74 lb, 27.9 oz; 30 oz are over (worked example). R-513A in the same closet is not flagged.
#[test]
fn a_mildly_flammable_charge_in_a_closet_is_flagged() {
    let calm = sized("alderwick-closet", &[]);
    assert!(!calm.flag("charge_limit.flag") && !calm.flag("equipment.flammable"));
    let catalogue = catalogue_with(|e| e.refrigerant = "R-454C".to_owned());
    let sized = Sized::of(&spec(&seed("alderwick-closet")), &catalogue);
    assert!(sized.flag("charge_limit.flag") && sized.flag("equipment.flammable"));
    assert_eq!(sized.text("charge_limit.limit"), "27.9");
    // It has no property tables, so that its lines cannot be worked out: told, with the stub sizes instead.
    assert_eq!(sized.stops(), ["line_set.not_worked_out", "charge_limit.over"]);
    assert_eq!(sized.word("line_set.suction_size"), "3/8");
    assert_eq!(sized.text("line_set.total_charge"), "30");
}

#[test]
fn an_unknown_refrigerant_is_flagged_and_told() {
    let catalogue = catalogue_with(|e| e.refrigerant = "R-none".to_owned());
    let sized = Sized::of(&spec(&seed("alderwick-closet")), &catalogue);
    assert!(sized.flag("charge_limit.flag"));
    assert_eq!(
        sized.stops(),
        ["line_set.not_worked_out", "charge_limit.not_worked_out"]
    );
}

/// Worked example: at 78 °F and 55 % single glass is at 61.7 °F, 1.2 °F above the dew point of 60.5 °F.
#[test]
fn single_glass_comes_near_its_dew_point() {
    let u = |value: &str| json!({"value": value, "unit": "Btu/h/ft2/F_diff"});
    let coated = sized("wickerlamp-first-scheme", &[]);
    assert!(!coated.flag("insulation.envelope_sweats"));
    let single = sized(
        "wickerlamp-first-scheme",
        &[("/cellar/surfaces/0/u_value", u("1.04"))],
    );
    assert!(single.flag("insulation.envelope_sweats"));
    assert!((float(single.number("insulation.envelope_margin")) - 1.2).abs() < 0.15);
    assert!(single.says("sweating.face_at_risk").contains("east glass"));
}

#[test]
fn the_vapour_barrier_belongs_on_the_warm_side() {
    assert!(
        !sized("alderwick-closet", &[])
            .cautions()
            .contains(&"sweating.barrier_wrong_side")
    );
    for barrier in ["cold_side", "none"] {
        let sized = sized("alderwick-closet", &[("/cellar/vapour_barrier", json!(barrier))]);
        assert!(
            sized.cautions().contains(&"sweating.barrier_wrong_side"),
            "{barrier}"
        );
    }
}

/// Insulation grows with the dew point around the line, and is never under 1/2 in.
#[test]
fn a_line_in_humid_air_is_insulated_more() {
    let indoors =
        |space: &str| json!([{"direction": "level", "length": ft("20"), "space": space, "bends": 2}]);
    let large = || ("/unit/class", json!("c90"));
    let dry = sized(
        "saltgate-replacement",
        &[large(), ("/line_set/legs", indoors("open"))],
    );
    let humid = sized(
        "saltgate-replacement",
        &[large(), ("/line_set/legs", indoors("crawl"))],
    );
    assert!(humid.number("insulation.least_thickness") > dry.number("insulation.least_thickness"));
    assert_eq!(dry.word("insulation.suction_thickness"), "1/2");
    assert_eq!(humid.word("insulation.suction_thickness"), "3/4");
}

#[test]
fn concrete_takes_no_lag_screws_and_no_blocking() {
    let concrete = sized("quarrow-metric", &[]);
    assert!(!concrete.flag("hanging.blocking_needed"));
    assert_eq!(concrete.text("hanging.screw_holds"), "0");
    let wood = sized("alderwick-closet", &[]);
    assert!(wood.flag("hanging.blocking_needed"));
    assert_eq!(wood.text("hanging.fasteners"), "4");
    assert_eq!(wood.word("hanging.screw_size"), "1/4");
    // Unit 48, bracket 9, water 4 and trim 10 lb; the bracket's maker asks for a factor of 4.
    assert_eq!(
        (wood.text("hanging.load"), wood.text("hanging.design_load")),
        ("71".into(), "284".into())
    );
}

#[test]
fn screws_that_pull_out_stop() {
    let catalogue = catalogue_with(|e| e.bracket.thread_penetration.0 = Decimal::new(25, 2));
    let sized = Sized::of(&spec(&seed("alderwick-closet")), &catalogue);
    assert_eq!(sized.stops(), ["hanging.screws_pull_out"]);
    let odd = catalogue_with(|e| e.bracket.lag_screw = "7/16".to_owned());
    let sized = Sized::of(&spec(&seed("alderwick-closet")), &odd);
    assert_eq!(sized.stops(), ["hanging.not_worked_out"]);
}
