//! Moist air against PsychroLib's figures, a handbook example and the sense of the thing.

use estimate::sizing::air::{MoistAir, SEA_LEVEL_PA, saturation_pressure_pa, standard_pressure_pa};
use estimate::sizing::range::InputFault;
use proptest::prelude::*;

use crate::reference_rows::{near, rows, within};

/// PsychroLib 2.5.0 (MIT), see the head of the file. 0.1 %, dew point 0.02 K, wet bulb 0.02 K.
#[test]
fn agrees_with_psychrolib() {
    for row in rows(include_str!("../reference/psychrometrics.csv")) {
        let id = row.text("id");
        let air = MoistAir::from_relative_humidity(row.number("tdb_c"), row.number("rh"), row.number("p_pa"))
            .unwrap();
        within(id, air.humidity_ratio().get(), row.number("w_kg_kg"), 0.001);
        within(id, air.vapour_pressure_pa().get(), row.number("pv_pa"), 0.001);
        within(
            id,
            air.enthalpy_j_kg().unwrap().get(),
            row.number("h_j_kgda"),
            0.001,
        );
        within(
            id,
            air.specific_volume_m3_kg().unwrap().get(),
            row.number("v_m3_kgda"),
            0.001,
        );
        near(id, air.dew_point_c().unwrap().get(), row.number("tdp_c"), 0.02);
        near(id, air.wet_bulb_c().unwrap().get(), row.number("twb_c"), 0.02);
    }
}

/// Standard atmosphere: rows 28 to 30 of the same file use 84,555.932 Pa at 1,500 m.
#[test]
fn altitude_lowers_the_pressure_as_the_standard_atmosphere() {
    near(
        "sea level",
        standard_pressure_pa(0.0).unwrap().get(),
        SEA_LEVEL_PA,
        1e-9,
    );
    within(
        "1500 m",
        standard_pressure_pa(1500.0).unwrap().get(),
        84_555.932,
        1e-6,
    );
}

/// Saturation pressure in the steam tables (IAPWS R7-97 region 4, from memory): 611.2 Pa at 0.01 °C,
/// 2,339 Pa at 20 °C, 12,352 Pa at 50 °C; over ice 259.9 Pa at -10 °C (from memory, WMO tables).
#[test]
fn saturation_agrees_with_the_steam_tables() {
    for (t_c, p_pa) in [(0.01, 611.2), (20.0, 2339.0), (50.0, 12_352.0), (-10.0, 259.9)] {
        within(
            "saturation",
            saturation_pressure_pa(t_c).unwrap().get(),
            p_pa,
            0.001,
        );
    }
}

/// The handbook's chart example (from memory), 40 °C dry and 20 °C wet bulb at sea level: 6.5 g/kg,
/// 56.7 kJ/kg, 7 °C dew point, 0.896 m³/kg, read off a chart. Worked back from its dew point by formula
/// (7.43 °C, PsychroLib 2.5.0).
#[test]
fn handbook_chart_example() {
    let air = MoistAir::from_dew_point(40.0, 7.43, SEA_LEVEL_PA).unwrap();
    near("wet bulb", air.wet_bulb_c().unwrap().get(), 20.0, 0.02);
    near("humidity ratio", air.humidity_ratio().get(), 0.0065, 0.0002);
    near("enthalpy", air.enthalpy_j_kg().unwrap().get(), 56_700.0, 300.0);
    near("volume", air.specific_volume_m3_kg().unwrap().get(), 0.896, 0.001);
}

/// Dew points of room air in °F (ASHRAE formulas, computed apart): the trade's own check values.
#[test]
fn dew_points_in_fahrenheit() {
    for (t_f, rh, dew_f) in [
        (70.0, 0.40, 44.6),
        (70.0, 0.50, 50.5),
        (75.0, 0.60, 60.2),
        (80.0, 0.60, 64.9),
        (95.0, 0.50, 73.4),
    ] {
        let air = MoistAir::from_relative_humidity((t_f - 32.0) / 1.8, rh, SEA_LEVEL_PA).unwrap();
        near(
            "dew point",
            air.dew_point_c().unwrap().get() * 1.8 + 32.0,
            dew_f,
            0.06,
        );
    }
}

#[test]
fn air_outside_the_range_is_refused_by_name() {
    let cases: [(f64, f64, f64, &str); 6] = [
        (95.0, 0.5, SEA_LEVEL_PA, "air temperature"),
        (f64::NAN, 0.5, SEA_LEVEL_PA, "air temperature"),
        (20.0, 0.0, SEA_LEVEL_PA, "relative humidity"),
        (20.0, 1.2, SEA_LEVEL_PA, "relative humidity"),
        (20.0, 0.5, 1.0, "air pressure"),
        (20.0, 0.5, f64::INFINITY, "air pressure"),
    ];
    for (t_c, rh, p_pa, what) in cases {
        match MoistAir::from_relative_humidity(t_c, rh, p_pa) {
            Err(InputFault::OutOfRange { field, .. }) => assert_eq!(field, what),
            other => panic!("{what}: {other:?}"),
        }
    }
    assert!(MoistAir::from_dew_point(20.0, 21.0, SEA_LEVEL_PA).is_err());
    assert!(standard_pressure_pa(9_000.0).is_err());
    assert!(saturation_pressure_pa(-101.0).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn wet_bulb_lies_between_dew_point_and_dry_bulb(
        t in -40.0..80.0f64, rh in 0.01..1.0f64, p in 50_000.0..110_000.0f64
    ) {
        let air = MoistAir::from_relative_humidity(t, rh, p).unwrap();
        let (dew, wet) = (air.dew_point_c().unwrap().get(), air.wet_bulb_c().unwrap().get());
        prop_assert!(dew <= wet + 0.02, "dew point {dew} above wet bulb {wet}");
        prop_assert!(wet <= t + 1e-6, "wet bulb {wet} above dry bulb {t}");
    }

    #[test]
    fn dew_point_leads_back_to_the_same_air(t in -30.0..60.0f64, rh in 0.05..1.0f64) {
        let air = MoistAir::from_relative_humidity(t, rh, SEA_LEVEL_PA).unwrap();
        let dew = air.dew_point_c().unwrap().get().min(t);
        let again = MoistAir::from_dew_point(t, dew, SEA_LEVEL_PA).unwrap();
        let (a, b) = (air.humidity_ratio().get(), again.humidity_ratio().get());
        prop_assert!((a - b).abs() <= 1e-6 * a);
    }

    #[test]
    fn warmer_or_wetter_air_holds_more_heat(t in -20.0..60.0f64, rh in 0.05..0.9f64) {
        let h = |t, rh| MoistAir::from_relative_humidity(t, rh, SEA_LEVEL_PA).unwrap().enthalpy_j_kg().unwrap();
        prop_assert!(h(t + 1.0, rh) > h(t, rh));
        prop_assert!(h(t, rh + 0.05) > h(t, rh));
    }

    #[test]
    fn no_input_panics_or_gives_a_number_that_is_none(t in any::<f64>(), rh in any::<f64>(), p in any::<f64>()) {
        if let Ok(air) = MoistAir::from_relative_humidity(t, rh, p) {
            prop_assert!(air.dew_point_c().unwrap().get().is_finite());
            prop_assert!(air.wet_bulb_c().unwrap().get().is_finite());
        }
    }
}
