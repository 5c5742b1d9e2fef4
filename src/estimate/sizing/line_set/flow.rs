//! What the refrigerant does in the lines: properties in, mass flow out.

use crate::sizing::pipe_flow::TubeFlow;
use crate::sizing::range::{InputFault, within};

use super::tube::Tube;

/// One foot a minute, m/s.
pub(super) const FPM_M_S: f64 = 0.00508;
/// One foot, m.
pub(super) const FOOT_M: f64 = 0.3048;

/// The refrigerant at the unit's working point. The caller takes it from property tables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RefrigerantFlow {
    /// Heat taken up in the evaporator at the greatest output: it sets the friction. W.
    pub greatest_capacity_w: f64,
    /// Heat taken up at the least output (hottest condenser, lowest speed): it sets the oil return. W.
    pub least_capacity_w: f64,
    /// Pressure of the suction gas, Pa absolute.
    pub suction_pressure_pa: f64,
    /// Density of the suction gas, superheated as it leaves the evaporator, kg/m³.
    pub suction_density_kg_m3: f64,
    /// Viscosity of the suction gas, Pa s.
    pub suction_viscosity_pa_s: f64,
    /// Specific enthalpy of the suction gas, J/kg.
    pub suction_enthalpy_j_kg: f64,
    /// Slope of the dew line at the evaporating pressure, K/Pa.
    pub dew_slope_k_per_pa: f64,
    /// Density of the liquid, kg/m³.
    pub liquid_density_kg_m3: f64,
    /// Viscosity of the liquid, Pa s.
    pub liquid_viscosity_pa_s: f64,
    /// Specific enthalpy of the liquid, J/kg, from the same zero as that of the gas.
    pub liquid_enthalpy_j_kg: f64,
    /// Slope of the bubble line at the condensing pressure, K/Pa.
    pub bubble_slope_k_per_pa: f64,
    /// Subcooling of the liquid where it leaves the condensing unit, K.
    pub subcooling_k: f64,
}

impl RefrigerantFlow {
    pub(super) fn check(&self) -> Result<(), InputFault> {
        within(
            "greatest capacity",
            self.greatest_capacity_w,
            (50.0, 100_000.0),
            "W",
        )?;
        within(
            "least capacity",
            self.least_capacity_w,
            (50.0, self.greatest_capacity_w),
            "W",
        )?;
        within("suction pressure", self.suction_pressure_pa, (1e4, 3e6), "Pa")?;
        within(
            "density of the suction gas",
            self.suction_density_kg_m3,
            (0.5, 150.0),
            "kg/m3",
        )?;
        within(
            "viscosity of the suction gas",
            self.suction_viscosity_pa_s,
            (1e-6, 1e-4),
            "Pa s",
        )?;
        within(
            "enthalpy of the suction gas",
            self.suction_enthalpy_j_kg,
            (-2e6, 2e6),
            "J/kg",
        )?;
        within(
            "slope of the dew line",
            self.dew_slope_k_per_pa,
            (1e-6, 1e-2),
            "K/Pa",
        )?;
        within(
            "density of the liquid",
            self.liquid_density_kg_m3,
            (300.0, 2_000.0),
            "kg/m3",
        )?;
        within(
            "viscosity of the liquid",
            self.liquid_viscosity_pa_s,
            (1e-5, 5e-3),
            "Pa s",
        )?;
        within(
            "enthalpy of the liquid",
            self.liquid_enthalpy_j_kg,
            (-2e6, 2e6),
            "J/kg",
        )?;
        within(
            "slope of the bubble line",
            self.bubble_slope_k_per_pa,
            (1e-6, 1e-2),
            "K/Pa",
        )?;
        within("subcooling", self.subcooling_k, (0.0, 50.0), "K")?;
        within(
            "heat taken up by a kilogram",
            self.heat_j_kg(),
            (1e4, 1e6),
            "J/kg",
        )?;
        Ok(())
    }

    fn heat_j_kg(&self) -> f64 {
        self.suction_enthalpy_j_kg - self.liquid_enthalpy_j_kg
    }

    pub(super) fn greatest_mass_flow_kg_s(&self) -> f64 {
        self.greatest_capacity_w / self.heat_j_kg()
    }

    pub(super) fn suction(&self, tube: &Tube, capacity_w: f64) -> TubeFlow {
        TubeFlow {
            inner_diameter_m: tube.inner_m(),
            mass_flow_kg_s: capacity_w / self.heat_j_kg(),
            density_kg_m3: self.suction_density_kg_m3,
            viscosity_pa_s: self.suction_viscosity_pa_s,
        }
    }

    pub(super) fn liquid(&self, tube: &Tube) -> TubeFlow {
        TubeFlow {
            inner_diameter_m: tube.inner_m(),
            mass_flow_kg_s: self.greatest_mass_flow_kg_s(),
            density_kg_m3: self.liquid_density_kg_m3,
            viscosity_pa_s: self.liquid_viscosity_pa_s,
        }
    }
}
