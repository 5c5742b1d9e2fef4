//! Moist air: from temperature, humidity and pressure to dew point, wet bulb, enthalpy and volume.
//!
//! In: °C, relative humidity as a fraction, Pa. Out: SI per kg of *dry* air. Ideal-gas formulation of the
//! ASHRAE Handbook of Fundamentals (2017), chapter 1: equations 3 (altitude), 5 and 6 (saturation over ice
//! and water), 20 (humidity ratio), 26 (volume), 30 (enthalpy), 33 and 35 (wet bulb). A real-gas model
//! differs by up to 0.6 % in humidity ratio. Deliberately absent: fog, and air above 80 °C.

use super::crossing::crossing;
use super::finite::{Finite, NotFinite};
use super::range::{InputFault, within};

/// How the numbers were made.
pub const METHOD: &str = "ideal-gas psychrometrics with saturation over ice and water";
/// Where the method comes from.
pub const SOURCE: &str = "ASHRAE Handbook of Fundamentals 2017, chapter 1";

/// Range of the dry-bulb temperature, °C.
const TEMPERATURE_C: (f64, f64) = (-40.0, 80.0);
/// Range of the pressure, Pa.
const PRESSURE_PA: (f64, f64) = (50_000.0, 120_000.0);
/// Range of the saturation formulas, °C.
const SATURATION_C: (f64, f64) = (-100.0, 200.0);

/// Pressure of the standard atmosphere at sea level, Pa.
pub const SEA_LEVEL_PA: f64 = 101_325.0;
/// Heat of vaporisation of water at 0 °C in the enthalpy formula, J/kg.
pub const VAPORISATION_J_KG: f64 = 2_501_000.0;

const ZERO_C_IN_K: f64 = 273.15;
/// Molar mass of water over that of dry air.
const WATER_TO_AIR: f64 = 0.621_945;
/// Gas constant of dry air, J/(kg·K).
const R_DRY_AIR: f64 = 287.042;
/// To which dew point and wet bulb are found, K.
const STEP_K: f64 = 1e-9;
/// Above the triple point of water the water branch of the saturation formula holds.
const TRIPLE_POINT_C: f64 = 0.01;

/// Pressure of the standard atmosphere (Pa) at an altitude of −500 to 5,000 m.
///
/// # Errors
/// Outside that range.
pub fn standard_pressure_pa(altitude_m: f64) -> Result<Finite, InputFault> {
    let z = within("altitude", altitude_m, (-500.0, 5_000.0), "m")?;
    let p = SEA_LEVEL_PA * (1.0 - 2.255_77e-5 * z).powf(5.2559);
    Ok(Finite::new(p, "standard pressure")?)
}

/// Saturation pressure of water vapour (Pa) over water, below 0.01 °C over ice; −100 to 200 °C.
///
/// # Errors
/// Outside that range.
pub fn saturation_pressure_pa(t_c: f64) -> Result<Finite, InputFault> {
    let t_c = within("saturation temperature", t_c, SATURATION_C, "°C")?;
    Ok(Finite::new(ln_saturation(t_c).exp(), "saturation pressure")?)
}

/// Moist air of one temperature, humidity and pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoistAir {
    t_c: Finite,
    vapour_pa: Finite,
    p_pa: Finite,
    ratio: Finite,
}

impl MoistAir {
    /// From dry-bulb temperature (−40 to 80 °C), relative humidity (0.01 to 1) and pressure (50 to 120 kPa).
    ///
    /// # Errors
    /// An input outside its range.
    pub fn from_relative_humidity(t_c: f64, relative_humidity: f64, p_pa: f64) -> Result<Self, InputFault> {
        let t_c = within("air temperature", t_c, TEMPERATURE_C, "°C")?;
        let rh = within("relative humidity", relative_humidity, (0.01, 1.0), "(fraction)")?;
        Self::from_vapour_pressure(t_c, rh * ln_saturation(t_c).exp(), p_pa)
    }

    /// From dry-bulb and dew-point temperature (°C) and pressure (Pa).
    ///
    /// # Errors
    /// An input outside its range, or a dew point above the dry bulb.
    pub fn from_dew_point(t_c: f64, dew_point_c: f64, p_pa: f64) -> Result<Self, InputFault> {
        let t_c = within("air temperature", t_c, TEMPERATURE_C, "°C")?;
        let dew_c = within("dew point", dew_point_c, (-60.0, t_c), "°C")?;
        Self::from_vapour_pressure(t_c, ln_saturation(dew_c).exp(), p_pa)
    }

    fn from_vapour_pressure(t_c: f64, vapour_pa: f64, p_pa: f64) -> Result<Self, InputFault> {
        let p_pa = within("air pressure", p_pa, PRESSURE_PA, "Pa")?;
        let ratio = WATER_TO_AIR * vapour_pa / (p_pa - vapour_pa);
        Ok(MoistAir {
            t_c: Finite::new(t_c, "air temperature")?,
            vapour_pa: Finite::new(vapour_pa, "vapour pressure")?,
            p_pa: Finite::new(p_pa, "air pressure")?,
            ratio: Finite::new(ratio, "humidity ratio")?,
        })
    }

    /// Dry-bulb temperature, °C.
    #[must_use]
    pub fn dry_bulb_c(&self) -> Finite {
        self.t_c
    }

    /// Partial pressure of the water vapour, Pa.
    #[must_use]
    pub fn vapour_pressure_pa(&self) -> Finite {
        self.vapour_pa
    }

    /// Humidity ratio, kg of water per kg of dry air.
    #[must_use]
    pub fn humidity_ratio(&self) -> Finite {
        self.ratio
    }

    /// Enthalpy, J per kg of dry air, zero for dry air at 0 °C.
    ///
    /// # Errors
    /// None for a state that could be made; the type asks.
    pub fn enthalpy_j_kg(&self) -> Result<Finite, NotFinite> {
        let (t, w) = (self.t_c.get(), self.ratio.get());
        Finite::new(
            1_006.0 * t + w * (VAPORISATION_J_KG + 1_860.0 * t),
            "enthalpy of air",
        )
    }

    /// Volume of the mixture per kg of dry air, m³/kg.
    ///
    /// # Errors
    /// None for a state that could be made; the type asks.
    pub fn specific_volume_m3_kg(&self) -> Result<Finite, NotFinite> {
        let v = R_DRY_AIR * (self.t_c.get() + ZERO_C_IN_K) * (1.0 + 1.607_858 * self.ratio.get());
        Finite::new(v / self.p_pa.get(), "specific volume of air")
    }

    /// Dew point (frost point below 0 °C), °C: the temperature at which this vapour is saturated.
    ///
    /// # Errors
    /// None for a state that could be made; the type asks.
    pub fn dew_point_c(&self) -> Result<Finite, NotFinite> {
        let target = self.vapour_pa.get().ln();
        let height = |t: f64| ln_saturation(t) - target;
        let dew_c = crossing(SATURATION_C.0, self.t_c.get() + STEP_K, STEP_K, height);
        Finite::new(dew_c, "dew point")
    }

    /// Thermodynamic wet-bulb temperature, °C.
    ///
    /// # Errors
    /// None for a state that could be made; the type asks.
    pub fn wet_bulb_c(&self) -> Result<Finite, NotFinite> {
        let (t, w, p) = (self.t_c.get(), self.ratio.get(), self.p_pa.get());
        let height = |wet: f64| {
            let vapour = ln_saturation(wet).exp();
            let saturated = WATER_TO_AIR * vapour / (p - vapour);
            let at_wet_bulb = if wet >= 0.0 {
                ((2501.0 - 2.326 * wet) * saturated - 1.006 * (t - wet)) / (2501.0 + 1.86 * t - 4.186 * wet)
            } else {
                ((2830.0 - 0.24 * wet) * saturated - 1.006 * (t - wet)) / (2830.0 + 1.86 * t - 2.1 * wet)
            };
            at_wet_bulb - w
        };
        Finite::new(crossing(SATURATION_C.0, t, STEP_K, height), "wet bulb")
    }
}

/// Natural logarithm of the saturation pressure in Pa.
fn ln_saturation(t_c: f64) -> f64 {
    let t = t_c + ZERO_C_IN_K;
    if t_c <= TRIPLE_POINT_C {
        -5.674_535_9e3 / t + 6.392_524_7 - 9.677_843e-3 * t
            + 6.221_570_1e-7 * t * t
            + 2.074_782_5e-9 * t.powi(3)
            - 9.484_024e-13 * t.powi(4)
            + 4.163_501_9 * t.ln()
    } else {
        -5.800_220_6e3 / t + 1.391_499_3 - 4.864_023_9e-2 * t + 4.176_476_8e-5 * t * t
            - 1.445_209_3e-8 * t.powi(3)
            + 6.545_967_3 * t.ln()
    }
}
