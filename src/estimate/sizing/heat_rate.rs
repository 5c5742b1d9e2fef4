//! Heat flow in watts and in Btu/h, and the exact factors between the trade's units and SI.

use super::finite::{Finite, NotFinite};

/// One square foot in m².
pub const FT2_M2: f64 = 0.092_903_04;
/// One cubic foot in m³.
pub const FT3_M3: f64 = 0.028_316_846_592;
/// One foot in m.
pub const FT_M: f64 = 0.3048;
/// One inch in m.
pub const IN_M: f64 = 0.0254;
/// One Btu (International Table) per hour in W.
pub const BTU_H_W: f64 = 1_055.055_852_62 / 3_600.0;
/// One ft²·h·°F/Btu in m²·K/W.
pub const R_M2K_W: f64 = FT2_M2 / 1.8 / BTU_H_W;

/// A temperature in °C as °F.
#[must_use]
pub fn fahrenheit(t_c: f64) -> f64 {
    t_c * 1.8 + 32.0
}

/// A heat flow, known in both units.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct HeatRate {
    btu_h: Finite,
    watts: Finite,
}

impl HeatRate {
    /// No heat.
    pub const ZERO: HeatRate = HeatRate {
        btu_h: Finite::ZERO,
        watts: Finite::ZERO,
    };

    /// From watts; `what` is the name that an error carries.
    ///
    /// # Errors
    /// [`NotFinite`] when either unit has no finite value.
    pub fn from_watts(watts: f64, what: &'static str) -> Result<Self, NotFinite> {
        Ok(HeatRate {
            btu_h: Finite::new(watts / BTU_H_W, what)?,
            watts: Finite::new(watts, what)?,
        })
    }

    /// The heat flow in Btu/h.
    #[must_use]
    pub const fn btu_h(self) -> Finite {
        self.btu_h
    }

    /// The heat flow in W.
    #[must_use]
    pub const fn watts(self) -> Finite {
        self.watts
    }
}
