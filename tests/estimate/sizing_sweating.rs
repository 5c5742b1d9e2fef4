//! Sweating of pipes and faces against published calculations and the sense of the thing.

use estimate::sizing::air::{MoistAir, SEA_LEVEL_PA};
use estimate::sizing::range::InputFault;
use estimate::sizing::sweating::{
    BarrierInput, BarrierSide, FaceVerdict, Film, PipeInput, WarmFaceInput, insulate_pipe, pipe_surface,
    vapour_barrier, warm_face,
};
use proptest::prelude::*;

use crate::reference_rows::{Row, near, rows, within};

fn celsius(t_f: f64) -> f64 {
    (t_f - 32.0) / 1.8
}

fn pipe(row: &Row) -> PipeInput {
    let film = match row.text("h_out") {
        "C680" => Film::StillAir { emittance: 0.90 },
        _ => Film::Fixed {
            w_m2k: row.number("h_out"),
        },
    };
    PipeInput {
        tube_od_in: row.number("od_m") / 0.0254,
        line_c: row.number("t_line_c"),
        air_c: row.number("t_amb_c"),
        air_rh: row.number("rh"),
        conductivity_w_mk: row.number("k_w_mk"),
        film,
        margin_k: 0.0,
    }
}

/// ht 1.2.0 and PsychroLib 2.5.0, see the head of the file: 0.01 K with a fixed coefficient; 0.3 K and 8 % of the
/// thickness with free convection.
#[test]
fn pipe_insulation_agrees_with_the_heat_transfer_library() {
    for row in rows(include_str!("../reference/pipe_insulation.csv")) {
        let id = row.text("id");
        let fixed = row.text("h_out") != "C680";
        let (kelvin, share) = if fixed { (0.01, 0.002) } else { (0.3, 0.08) };
        let found = insulate_pipe(&pipe(&row)).unwrap();
        near(id, found.dew_point_c.get(), row.number("t_dew_c"), 0.02);
        within(
            id,
            found.least_thickness_m.unwrap().get() * 1000.0,
            row.number("t_min_mm"),
            share,
        );
        let thickness_in = found.standard.unwrap();
        let surface = pipe_surface(&pipe(&row), thickness_in.get()).unwrap();
        near(id, thickness_in.get(), row.number("std_in"), 1e-12);
        near(id, surface.surface_c.get(), row.number("ts_std_c"), kelvin);
        within(id, surface.heat_w_m.get(), row.number("q_std_w_m"), 0.03);
        let half_inch = pipe_surface(&pipe(&row), 0.5).unwrap();
        near(id, half_inch.surface_c.get(), row.number("ts05_c"), kelvin);
        within(
            id,
            half_inch.heat_w_m.get(),
            row.number("q05_w_m"),
            if fixed { 0.0005 } else { 0.03 },
        );
        within(id, half_inch.film_w_m2k.get(), row.number("h05_w_m2k"), 0.04);
    }
}

/// A published ASTM C680 table (read): 1/2 in NPS pipe (0.840 in) at 40 °F in 100 °F air, 90 % rh, wind 7.5 mph,
/// emittance 0.4, k 0.200 Btu·in/(h·ft²·°F) needs 1 in for no condensation and at most 8 Btu/(h·ft²). Worked apart with
/// Churchill and Bernstein: 0.5 in 36.25 °C against a dew point of 35.85; 0.75 in 9.70 and 1 in 6.78 Btu/(h·ft²).
#[test]
fn published_thickness_table_in_wind() {
    let case = PipeInput {
        tube_od_in: 0.840,
        line_c: celsius(40.0),
        air_c: celsius(100.0),
        air_rh: 0.90,
        conductivity_w_mk: 0.200 * 0.144_227_889,
        film: Film::Wind {
            emittance: 0.4,
            speed_m_s: 7.5 * 0.447_04,
        },
        margin_k: 0.0,
    };
    near(
        "dew point",
        insulate_pipe(&case).unwrap().dew_point_c.get(),
        35.85,
        0.05,
    );
    near(
        "0.5 in",
        pipe_surface(&case, 0.5).unwrap().surface_c.get(),
        36.25,
        0.05,
    );
    let btu_h_ft2 = |inches| pipe_surface(&case, inches).unwrap().heat_w_m2.get() / 3.154_590_745;
    within("0.75 in", btu_h_ft2(0.75), 9.70, 0.02);
    within("1 in", btu_h_ft2(1.0), 6.78, 0.02);
    assert!(btu_h_ft2(0.75) > 8.0 && btu_h_ft2(1.0) < 8.0);
}

#[test]
fn a_line_above_the_dew_point_needs_no_insulation() {
    let case = PipeInput {
        tube_od_in: 0.375,
        line_c: 20.0,
        air_c: 24.0,
        air_rh: 0.5,
        conductivity_w_mk: 0.036,
        film: Film::Fixed { w_m2k: 8.0 },
        margin_k: 1.0,
    };
    let found = insulate_pipe(&case).unwrap();
    assert_eq!(found.least_thickness_m.unwrap().get(), 0.0);
    assert!(found.standard.is_none() && found.findings.is_empty());
}

#[test]
fn air_too_humid_for_any_insulation_stops() {
    let case = PipeInput {
        tube_od_in: 0.875,
        line_c: 2.0,
        air_c: 30.0,
        air_rh: 0.98,
        conductivity_w_mk: 0.04,
        film: Film::StillAir { emittance: 0.9 },
        margin_k: 1.0,
    };
    let found = insulate_pipe(&case).unwrap();
    assert!(found.least_thickness_m.is_none() && found.standard.is_none());
    assert_eq!(found.findings[0].code, "sweating.line_too_cold");
    assert!(
        found.findings[0].message.contains("86 °F"),
        "{}",
        found.findings[0].message
    );
    let thick = insulate_pipe(&PipeInput { air_rh: 0.93, ..case }).unwrap();
    assert!(thick.least_thickness_m.unwrap().get() > 0.0508 && thick.standard.is_none());
    assert!(
        thick.findings[0].message.contains("2 in is the thickest sold"),
        "{}",
        thick.findings[0].message
    );
}

fn glass(u: f64, air_f: f64, rh: f64) -> WarmFaceInput<'static> {
    WarmFaceInput {
        name: "pane",
        u_btu_hft2f: u,
        warm_film_ft2hf_btu: 0.68,
        air_c: celsius(air_f),
        air_rh: rh,
        cellar_c: celsius(55.0),
        added_conductivity_w_mk: 0.030,
    }
}

/// By hand, T − U × 0.68 × (T − 55): a room of 75, 80 and 85 °F with single (1.04), double clear (0.48) and double
/// low-e glass (0.30), e.g. 75 − 1.04 × 0.68 × 20 = 60.9.
#[test]
fn warm_side_of_glass_by_hand() {
    for (u, surfaces) in [
        (1.04, [60.9, 62.3, 63.8]),
        (0.48, [68.5, 71.8, 75.2]),
        (0.30, [70.9, 74.9, 78.9]),
    ] {
        for (air_f, surface_f) in [75.0, 80.0, 85.0].into_iter().zip(surfaces) {
            let found = warm_face(&glass(u, air_f, 0.5)).unwrap();
            near("surface", found.surface_c.get() * 1.8 + 32.0, surface_f, 0.06);
        }
    }
}

/// Single glass at 80 °F 60 % sweats (62.3 against a dew point of 64.9 °F); at 75 °F 60 % it is within 3 °F; a double
/// pane of U 0.48 at 75 °F 60 % has 8.3 °F to spare (worked by hand).
#[test]
fn verdict_on_glass() {
    let sweating = warm_face(&glass(1.04, 80.0, 0.6)).unwrap();
    assert_eq!(sweating.verdict, FaceVerdict::Sweats);
    assert!(
        sweating.findings[0].message.contains("2.6 °F below"),
        "{}",
        sweating.findings[0].message
    );
    let marginal = warm_face(&glass(1.04, 75.0, 0.6)).unwrap();
    assert_eq!(marginal.verdict, FaceVerdict::AtRisk);
    let double = warm_face(&glass(0.48, 75.0, 0.6)).unwrap();
    assert_eq!(double.verdict, FaceVerdict::Dry);
    near("margin", double.above_dew_point_k.get() * 1.8, 8.3, 0.06);
    assert_eq!(double.insulation_to_add_in.unwrap().get(), 0.0);
}

/// ISO 6946 arithmetic, see the head of the file: 1e-4 K of the printed digits.
#[test]
fn surface_temperatures_agree_with_iso_6946() {
    for row in rows(include_str!("../reference/conduction.csv")) {
        let found = warm_face(&WarmFaceInput {
            name: row.text("case"),
            u_btu_hft2f: row.number("u_w_m2k") / 5.678_263_34,
            warm_film_ft2hf_btu: row.number("rs_warm") * 5.678_263_34,
            air_c: row.number("t_warm_c"),
            air_rh: 0.5,
            cellar_c: row.number("t_cold_c"),
            added_conductivity_w_mk: 0.03,
        })
        .unwrap();
        near(
            row.text("id"),
            found.surface_c.get(),
            row.number("t_surf_warm_c"),
            1e-4,
        );
    }
}

#[test]
fn added_insulation_reaches_the_usual_margin() {
    let wall = glass(0.9, 80.0, 0.65);
    let before = warm_face(&wall).unwrap();
    assert_ne!(before.verdict, FaceVerdict::Dry);
    let added_r = before.insulation_to_add_in.unwrap().get() * 0.0254 / 0.030 * 5.678_263_34;
    let after = warm_face(&WarmFaceInput {
        u_btu_hft2f: 1.0 / (1.0 / 0.9 + added_r),
        ..wall
    })
    .unwrap();
    near("margin", after.above_dew_point_k.get() * 1.8, 3.0, 1e-6);
}

#[test]
fn no_insulation_helps_in_air_at_its_dew_point() {
    let found = warm_face(&glass(0.3, 80.0, 0.95)).unwrap();
    assert!(found.largest_u_btu_hft2f.is_none() && found.insulation_to_add_in.is_none());
    assert!(
        found.findings[0].message.contains("no insulation helps"),
        "{}",
        found.findings[0].message
    );
}

/// Which side is a fact of the trade ('common practice'): the warm, moist side. A dry cold winter turns it round.
#[test]
fn side_of_the_vapour_barrier() {
    let humid = (celsius(80.0), 0.6);
    let input = BarrierInput {
        cellar_c: 13.0,
        cellar_rh: 0.6,
        cooling_season: humid,
        cold_season: None,
    };
    assert_eq!(vapour_barrier(&input).unwrap().side, BarrierSide::FarSide);
    let cold = BarrierInput {
        cold_season: Some((-10.0, 0.7)),
        ..input
    };
    let advice = vapour_barrier(&cold).unwrap();
    assert_eq!(advice.side, BarrierSide::SeasonsDisagree);
    assert!(advice.findings[0].message.contains("both sides"));
    let desert = BarrierInput {
        cooling_season: (35.0, 0.1),
        ..input
    };
    assert_eq!(vapour_barrier(&desert).unwrap().side, BarrierSide::CellarSide);
    let same = BarrierInput {
        cooling_season: (13.0, 0.6),
        ..input
    };
    assert_eq!(vapour_barrier(&same).unwrap().side, BarrierSide::NoMatter);
}

#[test]
fn an_input_outside_its_range_is_named() {
    let row = &rows(include_str!("../reference/pipe_insulation.csv"))[0];
    type Spoil = fn(&mut PipeInput);
    let cases: [(Spoil, &str); 5] = [
        (|p| p.tube_od_in = 0.0, "diameter of the tube"),
        (|p| p.line_c = f64::NAN, "temperature of the line"),
        (|p| p.conductivity_w_mk = 5.0, "conductivity of the insulation"),
        (|p| p.film = Film::StillAir { emittance: 2.0 }, "emittance"),
        (
            |p| {
                p.film = Film::Wind {
                    emittance: 0.9,
                    speed_m_s: 0.0,
                }
            },
            "wind speed",
        ),
    ];
    for (spoil, expected) in cases {
        let mut input = pipe(row);
        spoil(&mut input);
        match insulate_pipe(&input) {
            Err(InputFault::OutOfRange { field, .. }) => assert_eq!(field, expected),
            other => panic!("{expected}: {other:?}"),
        }
    }
    assert!(
        warm_face(&glass(1.9, 75.0, 0.5)).is_err(),
        "the film alone resists more than the whole face"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn thicker_insulation_never_makes_a_colder_surface(
        od in 0.25..2.0f64, line in -10.0..10.0f64, air in 20.0..45.0f64, k in 0.025..0.05f64, still in any::<bool>(),
        thickness in 0.1..3.0f64, more in 0.0..2.0f64
    ) {
        let film = if still { Film::StillAir { emittance: 0.9 } } else { Film::Fixed { w_m2k: 8.0 } };
        let case = PipeInput {
            tube_od_in: od, line_c: line, air_c: air, air_rh: 0.6, conductivity_w_mk: k, film, margin_k: 0.0,
        };
        let thin = pipe_surface(&case, thickness).unwrap();
        let thick = pipe_surface(&case, thickness + more).unwrap();
        prop_assert!(thick.surface_c.get() >= thin.surface_c.get() - 1e-4);
        prop_assert!(thin.surface_c.get() >= line - 1e-6 && thin.surface_c.get() <= air + 1e-6);
        // Balance: the same heat crosses the insulation.
        let r1 = od * 0.0254 / 2.0;
        let r2 = r1 + thickness * 0.0254;
        let through = std::f64::consts::TAU * k * (thin.surface_c.get() - line) / (r2 / r1).ln();
        prop_assert!((through - thin.heat_w_m.get()).abs() < 1e-3 * through.abs().max(0.1));
    }

    #[test]
    fn the_least_thickness_holds_the_dew_point(
        od in 0.25..2.0f64, line in -5.0..8.0f64, air in 20.0..40.0f64, rh in 0.4..0.85f64, margin in 0.0..2.0f64
    ) {
        let case = PipeInput {
            tube_od_in: od, line_c: line, air_c: air, air_rh: rh, conductivity_w_mk: 0.036,
            film: Film::StillAir { emittance: 0.9 }, margin_k: margin,
        };
        let found = insulate_pipe(&case).unwrap();
        let dew = MoistAir::from_relative_humidity(air, rh, SEA_LEVEL_PA).unwrap().dew_point_c().unwrap();
        prop_assert_eq!(found.dew_point_c, dew);
        match found.least_thickness_m {
            Some(least) if least.get() > 0.002 && least.get() < 0.3 => {
                let surface = pipe_surface(&case, least.get() / 0.0254).unwrap();
                prop_assert!((surface.above_dew_point_k.get() - margin).abs() < 0.01);
            }
            Some(least) if least.get() == 0.0 => prop_assert!(line >= dew.get() + margin),
            _ => {}
        }
        if let Some(thickness) = found.standard {
            let surface = pipe_surface(&case, thickness.get()).unwrap();
            prop_assert!(surface.above_dew_point_k.get() >= margin - 1e-3);
        }
    }

    #[test]
    fn no_input_panics(a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), d in any::<f64>()) {
        let case = PipeInput {
            tube_od_in: a, line_c: b, air_c: c, air_rh: 0.5, conductivity_w_mk: 0.04,
            film: Film::StillAir { emittance: 0.9 }, margin_k: d,
        };
        let _ = (insulate_pipe(&case), pipe_surface(&case, d));
        let face = WarmFaceInput { u_btu_hft2f: a, air_c: b, cellar_c: c, ..glass(0.3, 75.0, 0.5) };
        let _ = warm_face(&face);
        let barrier = BarrierInput { cellar_c: a, cellar_rh: b, cooling_season: (c, d), cold_season: Some((b, a)) };
        prop_assert!(vapour_barrier(&barrier).is_err() || a.is_finite());
    }

    #[test]
    fn any_sane_pipe_gets_an_answer(
        od in 0.1..5.0f64, line in -40.0..80.0f64, air in -40.0..80.0f64, rh in 0.01..1.0f64, margin in 0.0..10.0f64
    ) {
        let case = PipeInput {
            tube_od_in: od, line_c: line, air_c: air, air_rh: rh, conductivity_w_mk: 0.04,
            film: Film::StillAir { emittance: 0.9 }, margin_k: margin,
        };
        prop_assert!(insulate_pipe(&case).is_ok());
        prop_assert!(pipe_surface(&case, 0.5).is_ok());
    }
}
