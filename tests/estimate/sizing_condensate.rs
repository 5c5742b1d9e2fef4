//! The drain against psychrometric figures, plumbing-code figures, laminar theory and trade facts.

use estimate::sizing::condensate::discharge::Discharge;
use estimate::sizing::condensate::gravity::Obstacle;
use estimate::sizing::condensate::pump::{Pump, Pumped, curve_flow};
use estimate::sizing::condensate::{
    CondensateInput, CondensateReport, DrainLeg, FanPosition, Trap, Way, drain,
};
use estimate::sizing::finding::{Level, stops};
use estimate::sizing::route::Direction;
use proptest::prelude::*;

use crate::reference_rows::{near, rows, within};

fn level(length_ft: f64, fall_in: Option<f64>) -> DrainLeg {
    DrainLeg {
        direction: Direction::Level,
        length_ft,
        fall_in,
        bends: 0,
    }
}

fn rise(length_ft: f64) -> DrainLeg {
    DrainLeg {
        direction: Direction::Rise,
        length_ft,
        fall_in: None,
        bends: 1,
    }
}

fn fall(length_ft: f64) -> DrainLeg {
    DrainLeg {
        direction: Direction::Drop,
        length_ft,
        fall_in: None,
        bends: 1,
    }
}

/// Invented: 12 gal/h at no lift, nothing at 15 ft.
fn pump(name: &str, highest_ft: f64) -> Pump {
    Pump {
        name: name.to_owned(),
        curve: vec![(0.0, 12.0), (highest_ft, 0.0)],
        tube_inner_in: 0.25,
    }
}

fn job<'a>(legs: &'a [DrainLeg], pumps: &'a [Pump]) -> CondensateInput<'a> {
    CondensateInput {
        latent_load_w: 100.0,
        run_hours_per_day: 18.0,
        capacity_w: 1_000.0,
        legs,
        discharge: Discharge::LaundryStandpipe,
        pan_outlet_in: 0.75,
        fan: FanPosition::DrawThrough,
        pan_suction_in_water: 0.2,
        maker_wants_trap: None,
        damage_below: false,
        passes_freezing_space: false,
        pumps,
    }
}

fn pumped(report: &CondensateReport) -> &Pumped {
    match &report.way {
        Way::Pumped(pumped) => pumped,
        Way::Gravity { .. } => panic!("runs by itself"),
    }
}

fn found(report: &CondensateReport, code: &str) -> Option<Level> {
    report
        .findings
        .iter()
        .find(|finding| finding.code == code)
        .map(|finding| finding.level)
}

/// PsychroLib 2.5.0 (MIT) and 2,501 kJ/kg, see the head of the file.
#[test]
fn the_rate_is_the_latent_load_over_the_latent_heat() {
    for row in rows(include_str!("../reference/condensate.csv")) {
        let id = row.text("id");
        let legs = [level(10.0, Some(5.0))];
        let mut input = job(&legs, &[]);
        input.latent_load_w = row.number("q_latent_w");
        input.run_hours_per_day = 24.0;
        let report = drain(&input).unwrap();
        within(id, report.rate_l_per_day.get(), row.number("l_per_day"), 1e-5);
        within(
            id,
            report.rate_running_gal_per_h.get(),
            row.number("gal_per_h"),
            1e-4,
        );
        within(
            id,
            report.rate_gal_per_day.get(),
            24.0 * row.number("gal_per_h"),
            1e-4,
        );
        input.run_hours_per_day = 18.0;
        let running = drain(&input).unwrap().rate_running_gal_per_h.get();
        within(id, running, row.number("gal_per_h") * 24.0 / 18.0, 1e-4);
    }
}

/// IMC 307.2.1: 1/8 in in 12 in, so a run of 20 ft falls 2.5 in.
#[test]
fn a_run_of_20_ft_needs_two_and_a_half_inches() {
    for (fall_in, by_itself) in [(2.5, true), (2.49, false), (7.0, true), (0.0, false)] {
        let legs = [level(20.0, Some(fall_in))];
        let report = drain(&job(&legs, &[pump("own", 15.0)])).unwrap();
        near("needed", report.fall.needed_in.get(), 2.5, 1e-12);
        assert_eq!(
            matches!(report.way, Way::Gravity { .. }),
            by_itself,
            "{fall_in} in"
        );
        assert_eq!(report.fall.suffices(), by_itself);
    }
}

/// 18 ft need 2.25 in and have 7 in over the route (trade example): by gravity, 3/4 in pipe, standpipe with
/// an air gap of twice the pipe.
#[test]
fn a_route_that_falls_runs_by_itself() {
    let legs = [level(18.0, Some(7.0)), fall(3.0)];
    let report = drain(&job(&legs, &[])).unwrap();
    assert_eq!(report.way, Way::Gravity { pipe: "3/4" });
    near("needed", report.fall.needed_in.get(), 2.25, 1e-12);
    near("there is", report.fall.available_in.get(), 43.0, 1e-12);
    near("air gap", report.discharge.air_gap_in.unwrap().get(), 1.5, 1e-12);
    near(
        "end",
        report.places.last().unwrap().height_ft.get(),
        -3.0 - 7.0 / 12.0,
        1e-12,
    );
    assert!(!report.overflow_switch);
    assert!(report.findings.is_empty(), "{:?}", report.findings);
}

#[test]
fn a_fall_that_was_not_measured_is_taken_from_the_drops_and_told() {
    let legs = [level(16.0, None), fall(0.5)];
    let report = drain(&job(&legs, &[])).unwrap();
    assert!(matches!(report.way, Way::Gravity { .. }));
    near("borrowed", report.fall.borrowed_in.get(), 2.0, 1e-12);
    assert_eq!(
        found(&report, "condensate.fall_not_measured"),
        Some(Level::Caution)
    );
    let legs = [level(16.0, None), fall(0.1)];
    let report = drain(&job(&legs, &[pump("own", 15.0)])).unwrap();
    let Some(Obstacle::NotEnoughDrop { short_in }) = report.fall.obstacle else {
        panic!("runs by itself")
    };
    near("short", short_in.get(), 0.8, 1e-9);
}

/// IMC Table 307.2.2: 3/4 in to 20 tons, 1 in to 40; never smaller than the pan's outlet.
#[test]
fn the_pipe_follows_the_table_and_the_pan() {
    let ton_w = 3_516.853;
    for (tons, outlet_in, pipe) in [
        (0.3, 0.5, "3/4"),
        (19.9, 0.75, "3/4"),
        (20.1, 0.75, "1"),
        (0.3, 1.25, "1-1/4"),
    ] {
        let legs = [fall(3.0)];
        let mut input = job(&legs, &[]);
        input.capacity_w = tons * ton_w;
        input.pan_outlet_in = outlet_in;
        assert_eq!(
            drain(&input).unwrap().way,
            Way::Gravity { pipe },
            "{tons} tons, {outlet_in} in"
        );
    }
    let legs = [fall(3.0)];
    let mut input = job(&legs, &[]);
    input.pan_outlet_in = 3.0;
    assert!(stops(&drain(&input).unwrap().findings));
}

/// Common practice, no source: the anti-siphon device of a pumped drain sits at its highest point.
#[test]
fn the_anti_siphon_device_sits_at_the_highest_point() {
    let legs = [
        rise(4.0),
        level(24.0, None),
        rise(1.0),
        level(3.0, None),
        fall(9.0),
    ];
    let report = drain(&job(&legs, &[pump("own", 15.0)])).unwrap();
    let pumped = pumped(&report);
    let place = pumped.anti_siphon_at.unwrap();
    assert_eq!(place.after_leg, 3);
    near("along", place.distance_ft.get(), 29.0, 1e-12);
    near("height", place.height_ft.get(), 5.0, 1e-12);
    near("lift", pumped.lift_ft.get(), 5.0, 1e-12);
    assert!(report.overflow_switch);
    let leg = match report.fall.obstacle {
        Some(Obstacle::Rises { leg }) => leg,
        other => panic!("{other:?}"),
    };
    assert_eq!(leg, 0);
}

#[test]
fn an_outlet_at_the_highest_point_needs_no_anti_siphon_device() {
    let legs = [rise(4.0), level(6.0, None)];
    let report = drain(&job(&legs, &[pump("own", 15.0)])).unwrap();
    assert_eq!(pumped(&report).anti_siphon_at, None);
    let legs = [rise(4.0), fall(1.0), rise(0.5), fall(3.0)];
    let report = drain(&job(&legs, &[pump("own", 15.0)])).unwrap();
    assert_eq!(
        found(&report, "condensate.rises_behind_break"),
        Some(Level::Caution)
    );
}

/// By Hagen and Poiseuille, independently: 6 gal/h = 6.309e-6 m³/s of water (1.138e-3 Pa s, 999.1 kg/m³)
/// through 33 ft = 10.0584 m of 1/4 in = 6.35 mm tube: Δp = 128 μ L Q / (π d⁴) = 1,810 Pa = 0.606 ft;
/// with the turn of 30 diameters = 0.19 m 0.617 ft. A pump of 12 − 0.8 h gal/h with 9 ft of lift gives
/// 4.8 − 0.8 × friction, and friction = 0.617/6 × flow: flow = 4.8 / (1 + 0.8 × 0.1029) = 4.435 gal/h.
#[test]
fn the_working_point_is_where_curve_and_friction_meet() {
    let legs = [rise(9.0), level(24.0, None)];
    let report = drain(&job(&legs, &[pump("own", 15.0)])).unwrap();
    let chosen = pumped(&report).chosen.unwrap();
    within("flow", chosen.flow_gal_per_h.get(), 4.435, 0.002);
    within("friction", chosen.friction_ft.get(), 4.435 * 0.617 / 6.0, 0.003);
    near("head", chosen.head_ft.get(), 9.0 + chosen.friction_ft.get(), 1e-9);
    near("margin", chosen.lift_margin_ft.get(), 6.0, 1e-12);
    // 100 W: 0.1439 kg/h, 3.455 L a day, 0.9127 gal a day, 0.0507 gal/h over 18 h.
    within("ratio", chosen.flow_ratio.unwrap().get(), 4.435 / 0.0507, 0.003);
}

#[test]
fn a_curve_is_read_between_its_points_and_not_beyond() {
    let pump = Pump {
        name: "invented".to_owned(),
        curve: vec![(0.0, 10.0), (5.0, 8.0), (15.0, 0.0)],
        tube_inner_in: 0.25,
    };
    for (head_ft, flow) in [
        (0.0, Some(10.0)),
        (2.5, Some(9.0)),
        (5.0, Some(8.0)),
        (10.0, Some(4.0)),
        (15.0, Some(0.0)),
        (15.1, None),
    ] {
        assert_eq!(curve_flow(&pump, head_ft), flow, "{head_ft} ft");
    }
    let from_two_feet = Pump {
        curve: vec![(2.0, 9.0), (8.0, 3.0)],
        ..pump
    };
    assert_eq!(curve_flow(&from_two_feet, 1.0), Some(9.0));
}

#[test]
fn a_weak_pump_gives_way_to_the_next_and_none_stops_the_job() {
    let legs = [rise(12.0), level(24.0, None), fall(6.0)];
    let pumps = [pump("own pump", 10.0), pump("strong pump", 20.0)];
    let report = drain(&job(&legs, &pumps)).unwrap();
    let way = pumped(&report);
    assert_eq!(way.chosen.unwrap().pump, 1);
    assert_eq!(way.refused.len(), 1);
    assert_eq!(
        way.refused[0].reason,
        "own pump lifts 10.0 ft at most, 2.0 ft less than the 12.0 ft here"
    );
    assert_eq!(found(&report, "condensate.pump_replaced"), Some(Level::Caution));
    assert!(!stops(&report.findings));
    let report = drain(&job(&legs, &pumps[..1])).unwrap();
    assert_eq!(found(&report, "condensate.no_pump_does"), Some(Level::Stop));
    let report = drain(&job(&legs, &[])).unwrap();
    assert_eq!(found(&report, "condensate.no_pump_does"), Some(Level::Stop));
}

#[test]
fn a_pump_that_moves_less_than_falls_is_refused() {
    let legs = [rise(14.9)];
    let mut input = job(&legs, &[]);
    input.latent_load_w = 400.0;
    let pumps = [pump("own pump", 15.0)];
    input.pumps = &pumps;
    let report = drain(&input).unwrap();
    assert!(
        pumped(&report).refused[0]
            .reason
            .contains("no more than the 0.20 gal/h that fall")
    );
    input.latent_load_w = 100.0;
    let report = drain(&input).unwrap();
    assert_eq!(found(&report, "condensate.pump_flow_tight"), Some(Level::Caution));
    assert_eq!(found(&report, "condensate.pump_lift_tight"), Some(Level::Caution));
}

/// IPC, indirect waste: an air gap at receptors; a sink's tailpiece and the outdoors have their own rules.
#[test]
fn the_discharge_says_whether_it_asks_for_an_air_gap() {
    let legs = [fall(3.0)];
    for (place, gap, caution) in [
        (Discharge::FloorDrain, true, None),
        (Discharge::LaundryStandpipe, true, None),
        (Discharge::CondensateReceptor, true, None),
        (
            Discharge::SinkTail,
            false,
            Some("condensate.sink_tail_by_local_code"),
        ),
        (Discharge::Outdoors, false, Some("condensate.outdoors")),
    ] {
        let mut input = job(&legs, &[]);
        input.discharge = place;
        let report = drain(&input).unwrap();
        assert_eq!(report.discharge.air_gap_in.is_some(), gap, "{place:?}");
        assert_eq!(
            report.findings.first().map(|finding| finding.code),
            caution,
            "{place:?}"
        );
    }
}

#[test]
fn the_maker_decides_on_the_trap_and_else_the_fan() {
    let legs = [fall(3.0)];
    let trap = |fan, maker, suction_in| {
        let mut input = job(&legs, &[]);
        (input.fan, input.maker_wants_trap, input.pan_suction_in_water) = (fan, maker, suction_in);
        match drain(&input).unwrap().trap {
            Trap::NotNeeded => None,
            Trap::Needed { seal_in } => Some(seal_in.get()),
        }
    };
    assert_eq!(trap(FanPosition::DrawThrough, None, 0.2), Some(2.0));
    assert_eq!(trap(FanPosition::Unknown, None, 0.2), Some(2.0));
    assert_eq!(trap(FanPosition::DrawThrough, None, 1.5), Some(2.5));
    assert_eq!(trap(FanPosition::BlowThrough, None, 0.2), None);
    assert_eq!(trap(FanPosition::BlowThrough, Some(true), 0.2), Some(2.0));
    assert_eq!(trap(FanPosition::DrawThrough, Some(false), 0.2), None);
}

#[test]
fn what_the_method_cannot_take_is_refused_by_name() {
    let legs = [fall(3.0)];
    let refused = |change: &dyn Fn(&mut CondensateInput<'_>)| {
        let mut input = job(&legs, &[]);
        change(&mut input);
        drain(&input).unwrap_err().to_string()
    };
    assert_eq!(refused(&|i| i.legs = &[]), "route: it has no legs");
    assert!(refused(&|i| i.latent_load_w = f64::NAN).starts_with("latent load is NaN W"));
    assert!(refused(&|i| i.run_hours_per_day = 0.0).starts_with("hours of running a day is 0 h"));
    let sloping_drop = [DrainLeg {
        fall_in: Some(1.0),
        ..fall(3.0)
    }];
    assert!(
        drain(&job(&sloping_drop, &[]))
            .unwrap_err()
            .to_string()
            .starts_with("fall: ")
    );
    let up = [rise(3.0)];
    let backwards = [Pump {
        name: "p".to_owned(),
        curve: vec![(0.0, 1.0), (5.0, 2.0)],
        tube_inner_in: 0.25,
    }];
    assert!(
        drain(&job(&up, &backwards))
            .unwrap_err()
            .to_string()
            .starts_with("pump curve: ")
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A drain that runs by itself never has a place above its outlet, and a longer rise never asks for less.
    #[test]
    fn more_lift_never_gives_more_flow(lift_ft in 0.5..14.0_f64, more_ft in 0.0..5.0_f64, run_ft in 0.5..80.0_f64) {
        let flow = |lift_ft: f64| {
            let legs = [rise(lift_ft), level(run_ft, None)];
            let report = drain(&job(&legs, &[pump("own", 15.0)])).unwrap();
            pumped(&report).chosen.map_or(0.0, |chosen| chosen.flow_gal_per_h.get())
        };
        prop_assert!(flow(lift_ft + more_ft) <= flow(lift_ft) + 1e-6);
    }

    /// More fall never turns gravity into a pump.
    #[test]
    fn more_fall_never_needs_a_pump(run_ft in 0.5..80.0_f64, fall_in in 0.0..6.0_f64, more_in in 0.0..0.5_f64) {
        prop_assume!(fall_in + more_in <= run_ft * 12.0);
        let runs = |fall_in: f64| drain(&job(&[level(run_ft, Some(fall_in))], &[])).unwrap().fall.suffices();
        prop_assert!(!runs(fall_in) || runs(fall_in + more_in));
    }

    /// The highest place is where the anti-siphon device goes, whatever the route.
    #[test]
    fn no_place_lies_above_the_anti_siphon_device(steps in proptest::collection::vec((0..3_u8, 0.5..20.0_f64), 1..10)) {
        let legs: Vec<DrainLeg> = steps
            .iter()
            .map(|(way, length_ft)| match way {
                0 => level(*length_ft, None),
                1 => rise(*length_ft),
                _ => fall(*length_ft),
            })
            .collect();
        let report = drain(&job(&legs, &[pump("own", 400.0)])).unwrap();
        if let Way::Pumped(way) = &report.way {
            let top = report.places.iter().map(|place| place.height_ft).max().unwrap();
            prop_assert_eq!(way.lift_ft, top);
            let end = report.places.last().unwrap().height_ft;
            prop_assert_eq!(way.anti_siphon_at.map(|place| place.height_ft), (end < top).then_some(top));
        }
    }

    /// Whatever comes in, the answer is a report or a refusal.
    #[test]
    fn any_numbers_are_answered(a in any::<f64>(), b in any::<f64>(), pick in 0..6_u8) {
        let mut legs = [rise(5.0), level(4.0, None)];
        let mut pumps = [pump("own", 15.0)];
        match pick {
            0 => legs[0].length_ft = a,
            1 => legs[1].fall_in = Some(b),
            2 => pumps[0].curve[1].0 = a,
            3 => pumps[0].tube_inner_in = b,
            _ => pumps[0].curve[0].1 = a,
        }
        let mut input = job(&legs, &pumps);
        if pick == 5 {
            input.latent_load_w = b;
        }
        if let Err(fault) = drain(&input) {
            prop_assert!(!fault.to_string().is_empty());
        }
    }
}
