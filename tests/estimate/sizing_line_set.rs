//! The line set against the tube standard, a published friction solver, trade figures and good sense.

use estimate::sizing::finding::{Level, stops};
use estimate::sizing::line_set::charge::{Receiver, UnitCharge};
use estimate::sizing::line_set::fitting::{Fitting, oil_traps};
use estimate::sizing::line_set::flow::RefrigerantFlow;
use estimate::sizing::line_set::limits::UnitLimits;
use estimate::sizing::line_set::tube::{Tube, TubeKind, TubeSize, b280};
use estimate::sizing::line_set::{LineSetFault, LineSetInput, LineSetReport, Targets, size};
use estimate::sizing::pipe_flow::friction_factor;
use estimate::sizing::refrigerant::Refrigerant;
use estimate::sizing::route::{Direction, Leg};
use proptest::prelude::*;

use crate::reference_rows::{near, rows, within};

/// The working point of `line_pressure_drop.csv`: dew 2 °C, 8 K superheat, bubble 45 °C, 5 K subcooling.
fn flow(refrigerant: Refrigerant, capacity_w: f64) -> RefrigerantFlow {
    let gas = refrigerant.suction_gas(2.0, 8.0).unwrap();
    let liquid = refrigerant.liquid(45.0, 5.0).unwrap();
    RefrigerantFlow {
        greatest_capacity_w: capacity_w,
        least_capacity_w: capacity_w,
        suction_pressure_pa: gas.pressure_pa.get(),
        suction_density_kg_m3: gas.density_kg_m3.get(),
        suction_viscosity_pa_s: gas.viscosity_pa_s.get(),
        suction_enthalpy_j_kg: gas.enthalpy_j_kg.get(),
        dew_slope_k_per_pa: refrigerant.saturation(2.0).unwrap().dew_dt_dp_k_pa.get(),
        liquid_density_kg_m3: liquid.density_kg_m3.get(),
        liquid_viscosity_pa_s: liquid.viscosity_pa_s.get(),
        liquid_enthalpy_j_kg: liquid.enthalpy_j_kg.get(),
        bubble_slope_k_per_pa: refrigerant.saturation(45.0).unwrap().bubble_dt_dp_k_pa.get(),
        subcooling_k: 5.0,
    }
}

fn level(length_ft: f64, bends: u32) -> Leg {
    Leg {
        direction: Direction::Level,
        length_ft,
        bends,
    }
}

fn rise(length_ft: f64, bends: u32) -> Leg {
    Leg {
        direction: Direction::Rise,
        length_ft,
        bends,
    }
}

fn fall(length_ft: f64, bends: u32) -> Leg {
    Leg {
        direction: Direction::Drop,
        length_ft,
        bends,
    }
}

fn job<'a>(legs: &'a [Leg], capacity_w: f64, suction: TubeSize, liquid: TubeSize) -> LineSetInput<'a> {
    LineSetInput {
        legs,
        kind: TubeKind::CoilAnnealed,
        tubes: b280(TubeKind::CoilAnnealed),
        piece_length_ft: 50.0,
        suction_stub: suction,
        liquid_stub: liquid,
        flow: flow(Refrigerant::R134a, capacity_w),
        limits: UnitLimits {
            longest_ft: 100.0,
            longest_equivalent_ft: Some(125.0),
            highest_above_evaporator_ft: 35.0,
            highest_above_condenser_ft: 35.0,
        },
        charge: UnitCharge {
            factory_oz: 64.0,
            covered_ft: 25.0,
            accessories_oz: 0.0,
            pump_down: false,
            receiver: None,
        },
        targets: Targets::default(),
    }
}

fn found(report: &LineSetReport, code: &str) -> Option<Level> {
    report
        .findings
        .iter()
        .find(|finding| finding.code == code)
        .map(|finding| finding.level)
}

fn message<'a>(report: &'a LineSetReport, code: &str) -> &'a str {
    &report
        .findings
        .iter()
        .find(|finding| finding.code == code)
        .unwrap()
        .message
}

/// ASTM B280 as reprinted, see the head of the file. Weights as published agree within 3 %.
#[test]
fn tubes_are_those_of_the_standard() {
    let rows = rows(include_str!("../reference/acr_tube.csv"));
    assert_eq!(rows.len(), 18);
    for row in rows {
        let kind = match row.text("kind") {
            "coil_annealed" => TubeKind::CoilAnnealed,
            "straight_drawn" => TubeKind::StraightDrawn,
            other => panic!("unknown kind {other}"),
        };
        let size = TubeSize::parse(row.text("nominal_in")).unwrap();
        let tube = b280(kind).iter().find(|tube| tube.size() == size).unwrap();
        near("outside", tube.outer_in(), row.number("od_in"), 1e-12);
        near("wall", tube.wall_in(), row.number("wall_in"), 1e-12);
        near("bore", tube.inner_m(), row.number("id_m"), 1e-9);
        within("bore area", tube.bore_m2(), row.number("bore_m2"), 1e-5);
        within(
            "weight",
            tube.weight_lb_per_ft(),
            row.number("lb_per_ft_calc"),
            1e-3,
        );
        if !row.text("lb_per_ft_published").is_empty() {
            within(
                "weight",
                tube.weight_lb_per_ft(),
                row.number("lb_per_ft_published"),
                0.03,
            );
        }
        if !row.text("kg_per_m_published").is_empty() {
            let kg_per_m = tube.weight_lb_per_ft() * 0.453_592_37 / 0.3048;
            within("weight", kg_per_m, row.number("kg_per_m_published"), 0.03);
        }
    }
}

/// fluids 1.3.1 (MIT), exact Colebrook–White, roughness 1.5e-6 m; the file allows 0.2 %.
#[test]
fn friction_agrees_with_an_exact_colebrook_solver() {
    for row in rows(include_str!("../reference/line_pressure_drop.csv")) {
        let relative = 1.5e-6 / row.number("id_m");
        within(
            row.text("id"),
            friction_factor(row.number("re"), relative),
            row.number("f_darcy"),
            1e-5,
        );
    }
}

/// The whole chain from refrigerant to pressure drop against fluids 1.3.1 and CoolProp 8.0.0: 3 %.
#[test]
fn pressure_drop_agrees_from_refrigerant_to_loss() {
    for row in rows(include_str!("../reference/line_pressure_drop.csv")) {
        let id = row.text("id");
        let refrigerant = match row.text("fluid") {
            "R134a" => Refrigerant::R134a,
            "R513A.mix" => Refrigerant::R513a,
            "R404A" => Refrigerant::R404a,
            other => panic!("unknown fluid {other}"),
        };
        let stub = TubeSize::parse(row.text("nominal_in")).unwrap();
        let tube = *b280(TubeKind::CoilAnnealed)
            .iter()
            .find(|tube| tube.size() == stub)
            .unwrap();
        let legs = [level(row.number("l_eq_m") / 0.3048, 0)];
        let mut input = job(&legs, row.number("q_kw") * 1_000.0, stub, stub);
        let only = [tube];
        input.tubes = &only;
        input.flow = flow(refrigerant, row.number("q_kw") * 1_000.0);
        let report = size(&input).unwrap();
        within(id, report.mass_flow_kg_s.get(), row.number("mdot_kg_s"), 0.03);
        match row.text("line") {
            "suction" => {
                let line = &report.suction.chosen;
                within(id, line.friction_pa.get(), row.number("dp_pa"), 0.03);
                within(id, line.loss_k.get(), row.number("dt_sat_k"), 0.03);
                within(id, line.level_velocity_fpm.get(), row.number("v_fpm"), 0.03);
            }
            "liquid" => {
                let line = &report.liquid.chosen;
                within(id, line.friction_pa.get(), row.number("dp_pa"), 0.03);
                within(id, line.velocity_fpm.get(), row.number("v_fpm"), 0.03);
                // All of the line's liquid: the charge of a foot by its length.
                let charge_kg = report.charge.per_foot_oz.get() * report.length_ft.get() * 0.028_349_523_125;
                within(id, charge_kg, row.number("charge_kg"), 0.03);
            }
            other => panic!("unknown line {other}"),
        }
    }
}

/// Published equivalent-length constants; a trade digest works them out for the outside diameters
/// 3/8 0.8, 1/2 1.1, 5/8 1.4, 7/8 2.0 ft.
#[test]
fn an_elbow_is_worth_what_the_trade_takes_it_for() {
    let expected = [
        (TubeSize::ThreeEighths, 0.8),
        (TubeSize::Half, 1.1),
        (TubeSize::FiveEighths, 1.4),
        (TubeSize::SevenEighths, 2.0),
    ];
    for (size, feet) in expected {
        let tube = b280(TubeKind::CoilAnnealed)
            .iter()
            .find(|tube| tube.size() == size)
            .unwrap();
        near(size.nominal(), Fitting::Elbow90.equivalent_ft(tube), feet, 0.05);
        assert!(Fitting::FieldBend.equivalent_ft(tube) < Fitting::Elbow90.equivalent_ft(tube));
        near(
            "trap",
            Fitting::OilTrap.equivalent_ft(tube),
            3.0 * Fitting::Elbow90.equivalent_ft(tube),
            1e-12,
        );
    }
}

/// Common practice, no source: none under 5 ft, one at the foot, one more for every 20 ft.
#[test]
fn oil_traps_follow_the_height_of_the_riser() {
    for (riser_ft, traps) in [
        (1.0, 0),
        (4.9, 0),
        (5.0, 1),
        (9.0, 1),
        (20.9, 1),
        (21.0, 2),
        (31.0, 2),
        (41.0, 3),
    ] {
        assert_eq!(oil_traps(riser_ft, 20.0), traps, "{riser_ft} ft");
    }
}

/// By hand. 11,200 Btu/h = 3,282 W. Row LPD-05: 2,500 W give 1,409.8 ft/min in 5/8 in (bore 0.555 in).
/// In 7/8 (0.785): 1,409.8 × 3,282/2,500 × (0.555/0.785)² = 925 ft/min: too slow for a riser.
/// In 3/4 (0.680): 1,409.8 × 3,282/2,500 × (0.555/0.680)² = 1,233 ft/min: enough.
#[test]
fn a_slow_riser_is_reduced_by_one_size() {
    let legs = [level(20.0, 2), rise(31.0, 1), level(20.0, 2)];
    let report = size(&job(
        &legs,
        3_282.0,
        TubeSize::SevenEighths,
        TubeSize::ThreeEighths,
    ))
    .unwrap();
    let line = &report.suction.chosen;
    assert_eq!(line.main.size(), TubeSize::SevenEighths);
    assert_eq!(line.riser.size(), TubeSize::ThreeQuarters);
    assert!(line.fits() && line.riser_reduced());
    within("level", line.level_velocity_fpm.get(), 925.0, 0.01);
    within("riser", line.riser_velocity_fpm.unwrap().get(), 1_233.0, 0.01);
    assert_eq!((report.risers, report.oil_traps), (1, 2));
    assert_eq!(report.suction_joints.reducers, 2);
    assert!(message(&report, "line_set.riser_reduced").contains("925 ft/min, under 1000 ft/min"));
    // 4 level bends of 0.65 × 30 × 0.785/12 = 1.2756 ft, 1 riser bend of 0.65 × 30 × 0.680/12 = 1.1050 ft,
    // 2 traps of 90 × 0.680/12 = 5.1000 ft: 71 + 5.1025 + 1.1050 + 10.2000 = 87.4075 ft.
    near("equivalent", line.equivalent_length_ft.get(), 87.4075, 1e-9);
}

#[test]
fn a_short_rise_is_not_taken_for_a_riser() {
    let legs = [rise(1.0, 1), level(15.0, 2), fall(9.0, 1), level(1.0, 1)];
    let report = size(&job(&legs, 879.0, TubeSize::ThreeEighths, TubeSize::Quarter)).unwrap();
    assert_eq!((report.risers, report.oil_traps), (0, 0));
    assert_eq!(report.suction.chosen.riser_velocity_fpm, None);
    assert_eq!(report.highest.after_leg, 1);
    near("highest", report.highest.height_ft.get(), 1.0, 1e-12);
    near("condenser", report.condenser_above_ft.get(), -8.0, 1e-12);
    near("climb", report.limits.above_condenser.value_ft.get(), 9.0, 1e-12);
    assert!(report.findings.is_empty(), "{:?}", report.findings);
}

/// A stub that is too small for the run gives way to the smallest size that is not.
#[test]
fn a_size_that_loses_too_much_is_not_taken() {
    let legs = [level(70.0, 6)];
    let report = size(&job(&legs, 2_500.0, TubeSize::Half, TubeSize::ThreeEighths)).unwrap();
    assert_eq!(report.suction.chosen.main.size(), TubeSize::FiveEighths);
    assert!(report.suction.loss_margin_k.get() > 0.0);
    assert_eq!(
        found(&report, "line_set.suction_not_stub_size"),
        Some(Level::Caution)
    );
    assert!(message(&report, "line_set.suction_not_stub_size").contains("over the 2.0 °F allowed"));
    for smaller in [TubeSize::Quarter, TubeSize::ThreeEighths] {
        let report = size(&job(&legs, 2_500.0, smaller, TubeSize::ThreeEighths)).unwrap();
        assert_eq!(report.suction.chosen.main.size(), TubeSize::FiveEighths);
    }
}

/// R-134a at 40 °C: ρ g = 11.26 kPa per m (handbook density 1,148 kg/m³), so 20 ft = 6.096 m take
/// 68.6 kPa; the trade says about 10 psi and 4 °F of subcooling.
#[test]
fn liquid_that_climbs_loses_subcooling() {
    let legs = [level(2.0, 0), fall(20.0, 0), level(2.0, 0)];
    let report = size(&job(&legs, 1_000.0, TubeSize::Half, TubeSize::ThreeEighths)).unwrap();
    let line = &report.liquid;
    near("climb", line.climb_to_worst_ft.get(), 20.0, 1e-12);
    let height_pa = line.pressure_loss_pa.get() - line.chosen.friction_pa.get();
    within("height", height_pa, 11_260.0 * 6.096, 0.002);
    within("10 psi", height_pa, 10.0 * 6_894.757, 0.02);
    let lost_f = (5.0 - line.subcooling_left_k.get()) * 1.8;
    near("4 °F", lost_f, 4.0, 0.5);
}

#[test]
fn liquid_that_climbs_too_far_stops_the_job() {
    let legs = [level(2.0, 0), fall(60.0, 0)];
    let mut input = job(&legs, 1_000.0, TubeSize::Half, TubeSize::ThreeEighths);
    input.limits.highest_above_condenser_ft = 100.0;
    let report = size(&input).unwrap();
    assert!(report.liquid.subcooling_left_k.get() < 0.0);
    assert_eq!(found(&report, "line_set.liquid_flashes"), Some(Level::Stop));
    // The same height the other way costs nothing.
    let legs = [level(2.0, 0), rise(60.0, 0)];
    let mut input = job(&legs, 1_000.0, TubeSize::Half, TubeSize::ThreeEighths);
    input.limits.highest_above_evaporator_ft = 100.0;
    let report = size(&input).unwrap();
    assert_eq!(found(&report, "line_set.liquid_flashes"), None);
    near("left", report.liquid.subcooling_left_k.get(), 5.0, 0.3);
}

/// A hump between two units of one height: the worst place is its top, not its end.
#[test]
fn the_worst_place_of_the_liquid_may_lie_on_the_way() {
    let legs = [rise(20.0, 0), level(2.0, 0), fall(20.0, 0)];
    let report = size(&job(
        &legs,
        1_000.0,
        TubeSize::ThreeEighths,
        TubeSize::ThreeEighths,
    ))
    .unwrap();
    near("climb", report.liquid.climb_to_worst_ft.get(), 20.0, 1e-12);
    near("end", report.condenser_above_ft.get(), 0.0, 1e-12);
}

/// By hand. 3/8 coil: bore 4.90093e-5 m² × 0.3048 m × 1,147.94 kg/m³ = 0.017148 kg = 0.6049 oz a foot
/// (the trade's table says 0.51 to 0.60). 62 ft less 25 ft covered: 37 × 0.6049 = 22.38 oz = 634.5 g.
#[test]
fn extra_charge_is_the_volume_beyond_what_the_factory_covers() {
    let legs = [level(62.0, 0)];
    let report = size(&job(
        &legs,
        2_500.0,
        TubeSize::FiveEighths,
        TubeSize::ThreeEighths,
    ))
    .unwrap();
    within("a foot", report.charge.per_foot_oz.get(), 0.6049, 0.002);
    within("extra", report.charge.extra_oz.get(), 22.38, 0.002);
    within("extra", report.charge.extra_g.get(), 634.5, 0.002);
    within("total", report.charge.total_oz.get(), 86.38, 0.001);
    let legs = [level(25.0, 0)];
    let report = size(&job(
        &legs,
        2_500.0,
        TubeSize::FiveEighths,
        TubeSize::ThreeEighths,
    ))
    .unwrap();
    near("covered", report.charge.extra_oz.get(), 0.0, 1e-9);
}

/// 100 in³ × 1.6387064e-5 m³ × 0.8 × 1,100 kg/m³ = 1.44206 kg = 50.87 oz, less than 64 oz.
#[test]
fn a_receiver_must_hold_the_charge_of_a_pump_down_system() {
    let legs = [level(20.0, 0)];
    let mut input = job(&legs, 2_500.0, TubeSize::FiveEighths, TubeSize::ThreeEighths);
    input.charge.pump_down = true;
    assert!(size(&input).unwrap().charge.receiver_needed);
    input.charge.receiver = Some(Receiver::Volume {
        inner_volume_in3: 100.0,
        liquid_density_kg_m3: 1_100.0,
    });
    let report = size(&input).unwrap();
    within(
        "holds",
        report.charge.receiver_holds_oz.unwrap().get(),
        50.87,
        1e-3,
    );
    assert!(report.charge.receiver_needed);
    assert!(message(&report, "line_set.receiver_too_small").contains("13.1 oz less"));
    input.charge.receiver = Some(Receiver::Volume {
        inner_volume_in3: 130.0,
        liquid_density_kg_m3: 1_100.0,
    });
    assert!(!size(&input).unwrap().charge.receiver_needed);
    input.charge.receiver = Some(Receiver::Rated { holds_oz: 64.0 });
    let report = size(&input).unwrap();
    near(
        "just enough",
        report.charge.receiver_margin_oz.unwrap().get(),
        0.0,
        1e-9,
    );
    assert!(!report.charge.receiver_needed);
}

#[test]
fn the_units_limits_warn_from_four_fifths_and_stop_beyond() {
    for (length_ft, expected) in [
        (79.0, None),
        (80.0, Some(Level::Caution)),
        (100.0, Some(Level::Caution)),
        (104.0, Some(Level::Stop)),
    ] {
        let legs = [level(length_ft, 0)];
        let report = size(&job(
            &legs,
            2_500.0,
            TubeSize::FiveEighths,
            TubeSize::ThreeEighths,
        ))
        .unwrap();
        assert_eq!(found(&report, "line_set.too_long"), expected, "{length_ft} ft");
        assert_eq!(stops(&report.findings), expected == Some(Level::Stop));
    }
    let legs = [level(104.0, 0)];
    let report = size(&job(
        &legs,
        2_500.0,
        TubeSize::FiveEighths,
        TubeSize::ThreeEighths,
    ))
    .unwrap();
    assert!(message(&report, "line_set.too_long").contains("104.0 ft, 4.0 ft over the 100.0 ft"));
    near("margin", report.limits.length.margin_ft.get(), -4.0, 1e-9);
}

/// 104 ft of coils of 50 ft: three pieces, two couplings, 2 + 2 × 2 = 6 joints a line. In straight
/// lengths of 20 ft the legs of 38, 31 and 35 ft take one coupling each, and 12 elbows:
/// 2 + 2 × (3 + 12) = 32, and in the suction line two traps more.
#[test]
fn joints_come_from_pieces_and_turns() {
    let legs = [level(38.0, 6), rise(31.0, 2), level(35.0, 4)];
    let mut input = job(&legs, 2_700.0, TubeSize::ThreeQuarters, TubeSize::ThreeEighths);
    let report = size(&input).unwrap();
    assert_eq!(report.liquid_joints.brazed(), 6);
    input.kind = TubeKind::StraightDrawn;
    input.tubes = b280(TubeKind::StraightDrawn);
    input.piece_length_ft = 20.0;
    let report = size(&input).unwrap();
    assert_eq!(report.liquid_joints.brazed(), 32);
    assert!(!report.suction.chosen.riser_reduced());
    assert_eq!(report.suction_joints.brazed(), 36);
}

#[test]
fn what_the_method_cannot_take_is_refused_by_name() {
    let legs = [level(20.0, 0)];
    let good = job(&legs, 1_000.0, TubeSize::Half, TubeSize::Quarter);
    let refused = |change: &dyn Fn(&mut LineSetInput<'_>)| {
        let mut input = good.clone();
        change(&mut input);
        size(&input).unwrap_err().to_string()
    };
    assert_eq!(refused(&|i| i.legs = &[]), "route: it has no legs");
    assert!(refused(&|i| i.flow.subcooling_k = f64::NAN).starts_with("subcooling is NaN K"));
    assert!(refused(&|i| i.flow.greatest_capacity_w = 1e9).starts_with("greatest capacity is 1000000000 W"));
    assert!(refused(&|i| i.flow.suction_enthalpy_j_kg = 0.0).starts_with("heat taken up by a kilogram"));
    assert!(refused(&|i| i.tubes = &[]).starts_with("no suction tube of 1/2 in"));
    let missing = LineSetFault::NoStubTube {
        line: "suction",
        size: TubeSize::OneAndFiveEighths,
    };
    let mut input = good.clone();
    input.suction_stub = TubeSize::OneAndFiveEighths;
    assert_eq!(size(&input), Err(missing));
    let twice = [b280(TubeKind::CoilAnnealed)[0]; 2];
    let mut input = good.clone();
    input.tubes = &twice;
    assert!(size(&input).unwrap_err().to_string().starts_with("tubes: "));
    assert!(Tube::new(TubeSize::Half, 0.5, 0.2).is_err());
}

fn direction() -> impl Strategy<Value = Direction> {
    prop_oneof![
        Just(Direction::Level),
        Just(Direction::Rise),
        Just(Direction::Drop)
    ]
}

/// The lines with stubs of each size, whatever the velocity of the gas, where only that size and the next smaller one,
/// for risers, are at hand.
fn in_each_size(legs: &[Leg], capacity_w: f64) -> Vec<LineSetReport> {
    let tubes = job(legs, capacity_w, TubeSize::Half, TubeSize::Half).tubes;
    let of_stub = |place: usize| {
        let stub = tubes[place].size();
        let mut input = job(legs, capacity_w, stub, stub);
        input.tubes = &tubes[place.saturating_sub(1)..=place];
        input.targets.level_velocity_fpm = 0.0;
        size(&input).unwrap()
    };
    (0..tubes.len()).map(of_stub).collect()
}

fn route() -> impl Strategy<Value = Vec<Leg>> {
    let leg = (direction(), 0.5..60.0_f64, 0..6_u32).prop_map(|(direction, length_ft, bends)| Leg {
        direction,
        length_ft,
        bends,
    });
    proptest::collection::vec(leg, 1..8)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// The formula of Colebrook holds for what is given as its solution.
    #[test]
    fn the_friction_factor_solves_colebrooks_formula(log_re in 3.61..8.0_f64, log_rough in -6.0..-1.5_f64) {
        let (re, rough) = (10_f64.powf(log_re), 10_f64.powf(log_rough));
        let root = friction_factor(re, rough).sqrt();
        let right = -2.0 * (rough / 3.7 + 2.51 / (re * root)).log10();
        prop_assert!((right * root - 1.0).abs() < 1e-6);
    }

    /// A longer leg never lowers a loss, the charge or the joints of any size.
    #[test]
    fn a_longer_line_never_costs_less(legs in route(), longer_ft in 0.0..40.0_f64, capacity_w in 500.0..4_000.0_f64) {
        let mut long = legs.clone();
        long[0].length_ft += longer_ft;
        let [short, long] = [&legs, &long].map(|legs| in_each_size(legs, capacity_w));
        for (short, long) in short.iter().zip(&long) {
            let (a, b) = (&short.suction.chosen, &long.suction.chosen);
            // A rise may grow into a riser in a smaller tube, or get a trap: never less.
            if a.main == b.main {
                prop_assert!(b.friction_pa.get() >= a.friction_pa.get() * (1.0 - 1e-12));
            }
            let (a, b) = (&short.liquid.chosen, &long.liquid.chosen);
            prop_assert_eq!(a.tube, b.tube);
            prop_assert!(b.friction_pa.get() >= a.friction_pa.get() * (1.0 - 1e-12));
            prop_assert!(long.oil_traps >= short.oil_traps);
            prop_assert!(long.liquid_joints.brazed() >= short.liquid_joints.brazed());
        }
    }

    /// More output never lowers the friction of a size, and a larger size never has more.
    #[test]
    fn more_output_never_loses_less_and_a_larger_tube_never_more(
        legs in route(), capacity_w in 500.0..4_000.0_f64, more in 1.0..2.0_f64,
    ) {
        let level_only: Vec<Leg> = legs.iter().map(|leg| level(leg.length_ft, 0)).collect();
        let [low, high] = [1.0, more].map(|times| in_each_size(&level_only, capacity_w * times));
        for (low, high) in low.iter().zip(&high) {
            let (a, b) = (&low.suction.chosen, &high.suction.chosen);
            prop_assert_eq!(a.main, b.main);
            prop_assert!(b.loss_k >= a.loss_k);
        }
        for pair in low.windows(2) {
            prop_assert!(pair[1].suction.chosen.loss_k <= pair[0].suction.chosen.loss_k);
            prop_assert!(pair[1].liquid.chosen.loss_k <= pair[0].liquid.chosen.loss_k);
        }
    }

    /// Whatever comes in, the answer is a report or a refusal.
    #[test]
    fn any_numbers_are_answered(
        legs in route(), a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), pick in 0..8_u8,
    ) {
        let mut input = job(&legs, 1_500.0, TubeSize::Half, TubeSize::Quarter);
        match pick {
            0 => input.flow.suction_density_kg_m3 = a,
            1 => input.flow.liquid_viscosity_pa_s = b,
            2 => input.flow.dew_slope_k_per_pa = c,
            3 => input.piece_length_ft = a,
            4 => input.charge.factory_oz = b,
            5 => input.limits.longest_ft = c,
            6 => input.targets.trap_every_ft = a,
            _ => input.flow.liquid_enthalpy_j_kg = b,
        }
        if let Err(fault) = size(&input) {
            prop_assert!(!fault.to_string().is_empty());
        }
    }
}
