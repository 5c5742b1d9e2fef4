//! Refrigerant properties against CoolProp's figures and the sense of the thing.

use estimate::sizing::range::InputFault;
use estimate::sizing::refrigerant::{PropertyError, Refrigerant};
use proptest::prelude::*;

use crate::reference_rows::{near, rows, within};

const TABULATED: [Refrigerant; 6] = [
    Refrigerant::R134a,
    Refrigerant::R513a,
    Refrigerant::R448a,
    Refrigerant::R449a,
    Refrigerant::R404a,
    Refrigerant::R290,
];

#[expect(
    clippy::panic,
    reason = "an unknown name in the reference file fails the test"
)]
fn named(fluid: &str) -> Refrigerant {
    match fluid {
        "R134a" => Refrigerant::R134a,
        "R513A.mix" => Refrigerant::R513a,
        "R448A.mix" => Refrigerant::R448a,
        "R449A.mix" => Refrigerant::R449a,
        "R404A" => Refrigerant::R404a,
        other => panic!("unknown fluid {other}"),
    }
}

/// CoolProp 8.0.0 (MIT) with viscosity mixing rules, see the head of the file: 0.5 %, viscosity 1 %.
#[test]
fn saturation_agrees_with_coolprop() {
    for row in rows(include_str!("../reference/refrigerant_saturation.csv")) {
        let fluid = named(row.text("fluid"));
        let at = format!("{fluid} at {} °C", row.text("t_c"));
        let s = fluid.saturation(row.number("t_c")).unwrap();
        for (found, column, share) in [
            (s.bubble_pressure_pa, "p_bubble_pa", 0.005),
            (s.dew_pressure_pa, "p_dew_pa", 0.005),
            (s.liquid_density_kg_m3, "rho_l_kg_m3", 0.005),
            (s.vapour_density_kg_m3, "rho_v_kg_m3", 0.005),
            (s.liquid_viscosity_pa_s, "mu_l_pa_s", 0.01),
            (s.vapour_viscosity_pa_s, "mu_v_pa_s", 0.01),
        ] {
            within(&format!("{at} {column}"), found.get(), row.number(column), share);
        }
        let latent = row.number("h_v_j_kg") - row.number("h_l_j_kg");
        within(
            &format!("{at} latent heat"),
            s.latent_heat_j_kg.get(),
            latent,
            0.005,
        );
    }
}

/// Published R-134a table at 0 °C (reference state of the International Institute of Refrigeration, h =
/// 200 kJ/kg; the rest from memory): 292.8 kPa, 1294.8 kg/m³, 398.6 kJ/kg.
#[test]
fn anchor_of_the_published_r134a_table() {
    let s = Refrigerant::R134a.saturation(0.0).unwrap();
    within("pressure", s.bubble_pressure_pa.get(), 292_800.0, 0.001);
    within("liquid density", s.liquid_density_kg_m3.get(), 1294.8, 0.001);
    within("liquid enthalpy", s.liquid_enthalpy_j_kg.get(), 200_000.0, 0.001);
    within("vapour enthalpy", s.vapour_enthalpy_j_kg.get(), 398_600.0, 0.001);
}

/// Propane (from memory, NIST Chemistry WebBook): 4.745 bar at 0 °C; normal boiling point -42.1 °C lies
/// outside the table; 13.69 bar at 40 °C; 528.6 kg/m³ liquid at 0 °C.
#[test]
fn anchors_of_propane() {
    let s = Refrigerant::R290.saturation(0.0).unwrap();
    within("pressure at 0 °C", s.dew_pressure_pa.get(), 474_500.0, 0.005);
    within(
        "liquid density at 0 °C",
        s.liquid_density_kg_m3.get(),
        528.6,
        0.005,
    );
    let s = Refrigerant::R290.saturation(40.0).unwrap();
    within("pressure at 40 °C", s.dew_pressure_pa.get(), 1_369_000.0, 0.005);
}

/// The states of `line_pressure_drop.csv` (CoolProp 8.0.0): suction 2 °C dew and 8 K superheat, liquid
/// 45 °C bubble and 5 K subcooling, mass flow from the enthalpies, dew-line slope by central difference.
/// The file takes the gas viscosity of the blend saturated at 2 °C, so that is what it is compared with.
#[test]
fn line_states_agree_with_coolprop() {
    for row in rows(include_str!("../reference/line_pressure_drop.csv")) {
        let fluid = named(row.text("fluid"));
        let id = row.text("id");
        let gas = fluid.suction_gas(2.0, 8.0).unwrap();
        let saturation = fluid.saturation(2.0).unwrap();
        let liquid = fluid.liquid(45.0, 5.0).unwrap();
        let flow = row.number("q_kw") * 1000.0 / (gas.enthalpy_j_kg.get() - liquid.enthalpy_j_kg.get());
        within(&format!("{id} mass flow"), flow, row.number("mdot_kg_s"), 0.005);
        let (density, viscosity) = match row.text("line") {
            "suction" => {
                let loss_k = row.number("dp_pa") * saturation.dew_dt_dp_k_pa.get();
                within(
                    &format!("{id} saturation loss"),
                    loss_k,
                    row.number("dt_sat_k"),
                    0.005,
                );
                match fluid {
                    Refrigerant::R513a => (gas.density_kg_m3, saturation.vapour_viscosity_pa_s),
                    _ => (gas.density_kg_m3, gas.viscosity_pa_s),
                }
            }
            _ => (liquid.density_kg_m3, liquid.viscosity_pa_s),
        };
        within(
            &format!("{id} density"),
            density.get(),
            row.number("rho_kg_m3"),
            0.005,
        );
        within(
            &format!("{id} viscosity"),
            viscosity.get(),
            row.number("mu_pa_s"),
            0.03,
        );
    }
}

/// Glide of R-448A at 5 °C: 729 kPa on the bubble line, 603 kPa on the dew line (CoolProp 8.0.0).
#[test]
fn bubble_and_dew_temperature_of_a_blend_differ_by_its_glide() {
    near(
        "bubble",
        Refrigerant::R448a
            .saturation_temperature_bubble(729_092.6)
            .unwrap()
            .get(),
        5.0,
        0.01,
    );
    near(
        "dew",
        Refrigerant::R448a
            .saturation_temperature_dew(603_423.3)
            .unwrap()
            .get(),
        5.0,
        0.01,
    );
}

#[test]
fn what_lies_outside_the_tables_is_refused_by_name() {
    let r134a = Refrigerant::R134a;
    for (fault, what) in [
        (r134a.saturation(70.5).unwrap_err(), "saturation temperature"),
        (r134a.saturation(f64::NAN).unwrap_err(), "saturation temperature"),
        (
            r134a.suction_gas(31.0, 5.0).unwrap_err(),
            "dew temperature of suction gas",
        ),
        (r134a.suction_gas(2.0, 31.0).unwrap_err(), "suction superheat"),
        (r134a.liquid(45.0, -1.0).unwrap_err(), "liquid subcooling"),
        (r134a.liquid(-25.0, 10.0).unwrap_err(), "liquid temperature"),
        (
            r134a.saturation_temperature_dew(5.0e6).unwrap_err(),
            "dew pressure",
        ),
    ] {
        match fault {
            PropertyError::OutsideTable {
                refrigerant,
                fault: InputFault::OutOfRange { field, .. },
            } => {
                assert_eq!((refrigerant, field), (Refrigerant::R134a, what));
            }
            other => panic!("{what}: {other}"),
        }
    }
    assert_eq!(
        Refrigerant::R454c.saturation(0.0),
        Err(PropertyError::NotTabulated(Refrigerant::R454c))
    );
}

#[test]
fn the_ends_of_the_tables_belong_to_them() {
    for fluid in TABULATED {
        let (low, high) = fluid.saturation_range_c().unwrap();
        for t_c in [low, high] {
            let s = fluid.saturation(t_c).unwrap();
            let dew = fluid.saturation_temperature_dew(s.dew_pressure_pa.get()).unwrap();
            let bubble = fluid
                .saturation_temperature_bubble(s.bubble_pressure_pa.get())
                .unwrap();
            near("dew", dew.get(), t_c, 1e-9);
            near("bubble", bubble.get(), t_c, 1e-9);
        }
    }
}

#[test]
fn a_refrigerant_is_written_by_its_designation() {
    for fluid in Refrigerant::ALL {
        let text = serde_json::to_string(&fluid).unwrap();
        assert_eq!(text, format!("\"{}\"", fluid.designation()));
        assert_eq!(serde_json::from_str::<Refrigerant>(&text).unwrap(), fluid);
        assert_eq!(fluid.to_string().parse::<Refrigerant>().unwrap(), fluid);
    }
    let unknown = "R-999X".parse::<Refrigerant>().unwrap_err();
    assert!(unknown.to_string().contains("R-999X"));
}

fn tabulated() -> impl Strategy<Value = Refrigerant> {
    prop::sample::select(TABULATED.to_vec())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn hotter_means_higher_pressure_thinner_liquid_denser_vapour(
        fluid in tabulated(), t in -30.0..61.0f64
    ) {
        let (cold, hot) = (fluid.saturation(t).unwrap(), fluid.saturation(t + 1.0).unwrap());
        prop_assert!(hot.bubble_pressure_pa > cold.bubble_pressure_pa);
        prop_assert!(hot.dew_pressure_pa > cold.dew_pressure_pa);
        prop_assert!(hot.liquid_density_kg_m3 < cold.liquid_density_kg_m3);
        prop_assert!(hot.vapour_density_kg_m3 > cold.vapour_density_kg_m3);
        prop_assert!(hot.liquid_viscosity_pa_s < cold.liquid_viscosity_pa_s);
        prop_assert!(hot.latent_heat_j_kg < cold.latent_heat_j_kg);
        prop_assert!(cold.bubble_pressure_pa.get() >= cold.dew_pressure_pa.get() * 0.9999);
    }

    #[test]
    fn pressure_and_temperature_lead_back_to_each_other(fluid in tabulated(), t in -30.0..62.0f64) {
        let s = fluid.saturation(t).unwrap();
        let dew = fluid.saturation_temperature_dew(s.dew_pressure_pa.get()).unwrap().get();
        let bubble = fluid.saturation_temperature_bubble(s.bubble_pressure_pa.get()).unwrap().get();
        prop_assert!((dew - t).abs() < 1e-6);
        prop_assert!((bubble - t).abs() < 1e-6);
    }

    #[test]
    fn superheat_thins_the_gas_and_adds_heat(
        fluid in tabulated(), dew in -30.0..30.0f64, superheat in 0.0..29.0f64
    ) {
        let gas = fluid.suction_gas(dew, superheat).unwrap();
        let warmer = fluid.suction_gas(dew, superheat + 1.0).unwrap();
        prop_assert!(warmer.density_kg_m3 < gas.density_kg_m3);
        prop_assert!(warmer.enthalpy_j_kg > gas.enthalpy_j_kg);
        prop_assert!(warmer.viscosity_pa_s > gas.viscosity_pa_s);
        prop_assert_eq!(warmer.pressure_pa, gas.pressure_pa);
    }

    #[test]
    fn no_input_panics(fluid in tabulated(), a in any::<f64>(), b in any::<f64>()) {
        let _ = (fluid.saturation(a), fluid.suction_gas(a, b), fluid.liquid(a, b));
        let _ = (fluid.saturation_temperature_dew(a), fluid.saturation_temperature_bubble(b));
        if let Ok(t) = fluid.saturation_temperature_dew(a) {
            prop_assert!(t.get().is_finite());
        }
    }
}
