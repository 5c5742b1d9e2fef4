//! Branch circuits against figures of the electrical code and exact voltage drops.

use estimate::sizing::finding::{Level, stops};
use estimate::sizing::wiring::conductor::{Column, WireSize, ambient_factor, bundling_factor};
use estimate::sizing::wiring::voltage::{
    EndLoad, Impedance, Raceway, Strand, dc_resistance_ohm_per_kft, longest_ft, voltage_drop,
};
use estimate::sizing::wiring::{CircuitInput, Conductors, SmallConductorRule, circuit, standard_not_over};
use proptest::prelude::*;

use crate::reference_rows::{near, rows, within};

const SOLID: Impedance = Impedance::DirectCurrent {
    strand: Strand::Solid,
};

fn nameplate(volts: f64, minimum_a: f64, maximum_a: f64, length_ft: f64) -> CircuitInput {
    CircuitInput {
        unit_v: volts,
        supply_v: volts,
        minimum_ampacity_a: minimum_a,
        maximum_device_a: maximum_a,
        running_a: minimum_a,
        length_ft,
        terminals: Column::C60,
        insulation: Column::C90,
        ambient_c: 30.0,
        current_carrying: 2,
        impedance: SOLID,
        small_conductor: SmallConductorRule::Applies,
        drop_limit: 0.03,
    }
}

fn conductors(input: &CircuitInput) -> Conductors {
    circuit(input).unwrap().conductors.unwrap()
}

/// Exact decimal arithmetic on NEC chapter 9, Tables 8 and 9; see the head of the file.
#[test]
fn voltage_drop_agrees_with_exact_arithmetic() {
    for row in rows(include_str!("../reference/voltage_drop.csv")) {
        let id = row.text("id");
        let size = WireSize::parse(row.text("awg")).unwrap();
        let impedance = match (row.text("method"), row.text("strand")) {
            ("T8", "solid") => SOLID,
            ("T8", "stranded") => Impedance::DirectCurrent {
                strand: Strand::Stranded,
            },
            ("T9", "stranded") => Impedance::AlternatingCurrent {
                raceway: Raceway::Pvc,
                power_factor: row.number("pf"),
            },
            other => panic!("unknown method {other:?}"),
        };
        let load = EndLoad {
            supply_v: row.number("v"),
            current_a: row.number("i_a"),
            length_ft: row.number("l_ft"),
        };
        let ohm_per_kft = impedance.ohm_per_kft(size).unwrap();
        near(id, ohm_per_kft, row.number("z_ohm_kft"), 1e-9);
        let drop = voltage_drop(&load, ohm_per_kft).unwrap();
        near(id, drop.drop_v.get(), row.number("vd_v"), 1e-9);
        near(id, drop.share.get() * 100.0, row.number("pct"), 5.1e-5);
        near(id, drop.at_load_v.get(), row.number("v_at_load"), 1e-9);
        assert_eq!(drop.share.get() <= 0.03, row.text("ok3") == "Y", "{id}");
        let longest = longest_ft(&load, ohm_per_kft, 0.03).unwrap().unwrap();
        near(id, longest.get().floor(), row.number("l_max_ft"), 1e-9);
    }
}

/// Physics of Table 8: 10.371 Ω·cmil/ft × (1 + 0.00393 × 55 K) / circular mils, 2 % more when stranded.
#[test]
fn resistances_follow_from_copper_and_area() {
    for size in WireSize::ALL {
        let solid = 10.371 * (1.0 + 0.003_93 * 55.0) / size.circular_mils() * 1_000.0;
        if let Some(table) = dc_resistance_ohm_per_kft(size, Strand::Solid) {
            within(size.gauge(), table, solid, 0.006);
        }
        let stranded = dc_resistance_ohm_per_kft(size, Strand::Stranded).unwrap();
        within(size.gauge(), stranded, 1.02 * solid, 0.006);
    }
}

/// NEC 310.16, copper, read in reprints.
#[test]
fn ampacities_are_those_of_the_table() {
    for (size, amperes) in WireSize::ALL.into_iter().zip([
        [15.0, 20.0, 25.0],
        [20.0, 25.0, 30.0],
        [30.0, 35.0, 40.0],
        [40.0, 50.0, 55.0],
        [55.0, 65.0, 75.0],
    ]) {
        let found = [Column::C60, Column::C75, Column::C90].map(|column| size.table_ampacity_a(column));
        assert_eq!(found, amperes, "{size}");
    }
}

/// NEC 310.15(B)(1): the table is √((Tc − Ta) / (Tc − 30)) at the warm end of each band, to two places.
#[test]
fn ambient_factors_follow_the_equation_of_the_code() {
    for (column, rated_c, to_c) in [
        (Column::C60, 60.0, 55.0),
        (Column::C75, 75.0, 70.0),
        (Column::C90, 90.0, 70.0),
    ] {
        let mut warm_c = 30.0;
        while warm_c <= to_c {
            let equation = f64::sqrt((rated_c - warm_c) / (rated_c - 30.0));
            near(
                "factor",
                ambient_factor(column, warm_c).unwrap(),
                equation,
                0.0051,
            );
            assert_eq!(
                ambient_factor(column, warm_c - 4.0),
                ambient_factor(column, warm_c)
            );
            warm_c += 5.0;
        }
        assert!(ambient_factor(column, to_c + 0.1).is_err());
    }
    // Read in a reprint: 75 °C column 0.94, 0.88, 0.82, 0.75; four to six conductors 0.80.
    let read = [33.0, 38.0, 43.0, 48.0].map(|ambient_c| ambient_factor(Column::C75, ambient_c).unwrap());
    assert_eq!(read, [0.94, 0.88, 0.82, 0.75]);
    assert_eq!(
        [3, 4, 6].map(|count| bundling_factor(count).unwrap()),
        [1.0, 0.8, 0.8]
    );
    assert!(bundling_factor(0).is_err() && bundling_factor(41).is_err());
}

/// Published worked figures: compressor 20 A with fan 2.5 A: 37.5 A gives 35 A, and 47.5 A gives 45 A.
#[test]
fn the_breaker_is_the_largest_standard_size_not_over_the_maximum() {
    for (maximum_a, breaker_a) in [(37.5, 35.0), (47.5, 45.0), (15.0, 15.0), (99.0, 90.0)] {
        assert_eq!(standard_not_over(maximum_a), Some(breaker_a));
    }
    assert_eq!(standard_not_over(14.9), None);
    let report = circuit(&nameplate(230.0, 16.2, 17.0, 40.0)).unwrap();
    assert_eq!(report.findings[0].code, "wiring.no_breaker");
    assert!(stops(&report.findings));
}

/// NEC 240.4(D): 15, 20 and 30 A for 14, 12 and 10 AWG. 16.2 A behind 25 A takes 10 AWG, and 12 AWG where
/// 240.4(G) excepts the motor-compressor.
#[test]
fn the_breaker_protects_small_conductors() {
    for (minimum_a, maximum_a, size) in [
        (8.5, 15.0, WireSize::Awg14),
        (11.8, 20.0, WireSize::Awg12),
        (16.2, 25.0, WireSize::Awg10),
        (27.5, 35.0, WireSize::Awg8),
        (45.0, 60.0, WireSize::Awg6),
    ] {
        assert_eq!(
            conductors(&nameplate(230.0, minimum_a, maximum_a, 5.0)).size_by_ampacity,
            size
        );
    }
    let mut excepted = nameplate(230.0, 16.2, 25.0, 5.0);
    excepted.small_conductor = SmallConductorRule::Excepted;
    assert_eq!(conductors(&excepted).size_by_ampacity, WireSize::Awg12);
}

/// By hand: 90 °C insulation at 49 °C (a 120 °F attic) keeps 0.82: 14 AWG 25 × 0.82 = 20.5, at 60 °C
/// terminals 15 A. Six conductors more: × 0.80 = 16.4 A, still 15 A. 60 °C insulation keeps 15 × 0.58 =
/// 8.7 A, under 11 A: 12 AWG 20 × 0.58 = 11.6 A.
#[test]
fn heat_takes_from_the_insulation_and_the_terminals_limit() {
    let mut input = nameplate(115.0, 11.0, 15.0, 5.0);
    input.ambient_c = 49.0;
    near("15 A", conductors(&input).ampacity_a.get(), 15.0, 1e-9);
    input.current_carrying = 6;
    near("15 A", conductors(&input).ampacity_a.get(), 15.0, 1e-9);
    input.current_carrying = 2;
    input.insulation = Column::C60;
    let found = conductors(&input);
    assert_eq!(found.size, WireSize::Awg12);
    near("11.6 A", found.ampacity_a.get(), 11.6, 1e-9);
    near("margin", found.ampacity_margin_a.get(), 0.6, 1e-9);
}

/// By hand: 115 V, 12 A, 60 ft: 14 AWG 2 × 60 × 12 × 3.07 / 1,000 = 4.42 V = 3.84 %; 12 AWG 2.78 V = 2.42 %.
/// A 15 A breaker asks for a 14 AWG ground; × 6,530 / 4,110 it becomes 12 AWG (NEC 250.122(B)).
#[test]
fn a_long_run_is_thickened_and_its_ground_with_it() {
    let report = circuit(&nameplate(115.0, 12.0, 15.0, 60.0)).unwrap();
    let found = report.conductors.unwrap();
    assert_eq!(
        (found.size_by_ampacity, found.size, found.ground),
        (WireSize::Awg14, WireSize::Awg12, WireSize::Awg12)
    );
    near("2.42 %", found.drop.share.get(), 0.024_167, 1e-6);
    assert_eq!(report.findings[0].code, "wiring.thickened_for_voltage");
    let found = conductors(&nameplate(115.0, 12.0, 15.0, 46.0));
    assert_eq!((found.size, found.ground), (WireSize::Awg14, WireSize::Awg14));
}

/// NEC 250.122: 15 A 14, 20 A 12, 60 A 10 AWG, and never thicker than the conductors. 10 AWG behind 30 A
/// thickened to 8: 10,380 × 16,510 / 10,380 = 16,510: 8 AWG. 6 AWG behind 60 A keeps its 10 AWG ground.
#[test]
fn the_ground_follows_the_breaker() {
    for (minimum_a, maximum_a, length_ft, size, ground) in [
        (8.5, 15.0, 5.0, WireSize::Awg14, WireSize::Awg14),
        (16.2, 25.0, 5.0, WireSize::Awg10, WireSize::Awg10),
        (28.0, 30.0, 110.0, WireSize::Awg8, WireSize::Awg8),
        (45.0, 60.0, 5.0, WireSize::Awg6, WireSize::Awg10),
    ] {
        let found = conductors(&nameplate(230.0, minimum_a, maximum_a, length_ft));
        assert_eq!((found.size, found.ground), (size, ground), "{minimum_a} A");
    }
    let mut excepted = nameplate(230.0, 16.2, 25.0, 5.0);
    excepted.small_conductor = SmallConductorRule::Excepted;
    assert_eq!(conductors(&excepted).ground, WireSize::Awg12);
}

/// V = 2 × 12.9 × I × ft / CM, a rule of the trade: farthest at 3 %, 14 AWG 115 V 8.5/12/16 A 65/46/34 ft,
/// 230 V 129/92/69; 12 AWG 103/73/55 and 205/146/109; 10 AWG 115 V 163/116/87. Table 8 lets 3 % farther.
#[test]
fn the_rule_of_the_trade_is_near_and_on_the_safe_side() {
    for (size, volts, feet) in [
        (WireSize::Awg14, 115.0, [65.0, 46.0, 34.0]),
        (WireSize::Awg14, 230.0, [129.0, 92.0, 69.0]),
        (WireSize::Awg12, 115.0, [103.0, 73.0, 55.0]),
        (WireSize::Awg12, 230.0, [205.0, 146.0, 109.0]),
        (WireSize::Awg10, 115.0, [163.0, 116.0, 87.0]),
    ] {
        for (current_a, rule_ft) in [8.5, 12.0, 16.0].into_iter().zip(feet) {
            let load = EndLoad {
                supply_v: volts,
                current_a,
                length_ft: 1.0,
            };
            let ohm = SOLID.ohm_per_kft(size).unwrap();
            let ours_ft = longest_ft(&load, ohm, 0.03).unwrap().unwrap().get();
            assert!(ours_ft >= rule_ft, "{size}: {ours_ft} ft, rule {rule_ft} ft");
            within(size.gauge(), ours_ft, rule_ft, 0.05);
        }
    }
}

#[test]
fn what_the_tables_do_not_hold_is_told() {
    let report = circuit(&nameplate(230.0, 70.0, 80.0, 20.0)).unwrap();
    assert_eq!(report.conductors, None);
    assert_eq!(report.findings[0].code, "wiring.beyond_table");
    let report = circuit(&nameplate(115.0, 16.0, 20.0, 600.0)).unwrap();
    assert_eq!(report.conductors.unwrap().size, WireSize::Awg6);
    let told: Vec<_> = report
        .findings
        .iter()
        .map(|finding| (finding.code, finding.level))
        .collect();
    assert_eq!(told, [("wiring.voltage_drop", Level::Caution)]);
    let mut other = nameplate(230.0, 8.5, 15.0, 20.0);
    other.supply_v = 115.0;
    assert_eq!(
        circuit(&other).unwrap().findings[0].code,
        "wiring.voltage_differs"
    );
    other.supply_v = 240.0;
    assert!(circuit(&other).unwrap().findings.is_empty());
    let mut wrong = nameplate(230.0, 8.5, 15.0, f64::NAN);
    assert!(
        circuit(&wrong)
            .unwrap_err()
            .to_string()
            .starts_with("one-way length is NaN ft")
    );
    wrong = nameplate(230.0, 8.5, 10.0, 20.0);
    assert!(
        circuit(&wrong)
            .unwrap_err()
            .to_string()
            .starts_with("maximum overcurrent device is 10 A")
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// More load, more length, more heat or more neighbours never give a thinner conductor or ground.
    #[test]
    fn a_harder_circuit_never_gets_thinner_copper(
        amperes in 1.0..40.0_f64, more in 0.0..10.0_f64, feet in 1.0..200.0_f64, farther in 0.0..100.0_f64,
        ambient_c in 20.0..50.0_f64, warmer in 0.0..5.0_f64, count in 2..20_u32,
    ) {
        let mut easy = nameplate(230.0, amperes, 60.0, feet);
        easy.ambient_c = ambient_c;
        easy.small_conductor = SmallConductorRule::Excepted;
        let mut hard = easy;
        hard.minimum_ampacity_a += more;
        hard.running_a += more;
        hard.length_ft += farther;
        hard.ambient_c += warmer;
        hard.current_carrying = count;
        let (easy, hard) = (circuit(&easy).unwrap(), circuit(&hard).unwrap());
        if let (Some(easy), Some(hard)) = (easy.conductors, hard.conductors) {
            prop_assert!(hard.size >= easy.size);
            prop_assert!(hard.size_by_ampacity >= easy.size_by_ampacity);
            prop_assert!(hard.ground <= hard.size && easy.ground <= easy.size);
        } else {
            prop_assert!(hard.conductors.is_none());
        }
    }

    /// What is installed carries the load behind its breaker, and its run is within the longest one or told.
    #[test]
    fn what_is_installed_suffices(amperes in 1.0..50.0_f64, device in 15.0..70.0_f64, feet in 1.0..400.0_f64) {
        prop_assume!(amperes <= device);
        let input = nameplate(230.0, amperes, device, feet);
        let report = circuit(&input).unwrap();
        if let Some(found) = report.conductors {
            prop_assert!(found.ampacity_a.get() >= amperes);
            if let Some(limit_a) = found.size.small_conductor_limit_a() {
                prop_assert!(report.breaker_a.get() <= limit_a);
            }
            let within = found.drop.share.get() <= 0.03;
            let told = report.findings.iter().any(|finding| finding.code == "wiring.voltage_drop");
            prop_assert_eq!(within, !told);
            prop_assert_eq!(within, found.longest_ft.unwrap().get() >= feet);
        }
    }
}
