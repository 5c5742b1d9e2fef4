//! The border between physics and the rest: a binary float becomes a decimal at its declared step.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::quantity::Quantity;
use crate::quantity::rounding::{Mode, to_scale};
use crate::quantity::unit::Unit;
use crate::sizing::finite::NotFinite;

/// A unit and the decimals that are kept in it; what lies between two steps goes to the nearer one.
#[derive(Clone, Copy, Debug)]
pub(in crate::sizing) struct Step {
    unit: Unit,
    places: u32,
}

const fn step(unit: Unit, places: u32) -> Step {
    Step { unit, places }
}

pub(super) const HEAT: Step = step(Unit::BTU_PER_H, 0);
pub(super) const POWER: Step = step(Unit::W, 0);
pub(super) const LENGTH: Step = step(Unit::FT, 2);
pub(super) const INCH: Step = step(Unit::IN, 2);
/// Inches of tube and screw diameters: sixteenths end within four places.
pub(super) const DIAMETER: Step = step(Unit::IN, 4);
pub(super) const VOLUME: Step = step(Unit::FT3, 1);
pub(super) const CHARGE: Step = step(Unit::OZ, 1);
pub(super) const CHARGE_PER_LENGTH: Step = step(Unit::OZ_PER_FT, 3);
pub(super) const WEIGHT: Step = step(Unit::LB, 1);
pub(super) const TEMPERATURE: Step = step(Unit::DEG_F, 1);
pub(super) const DIFFERENCE: Step = step(Unit::F_DIFF, 1);
pub(super) const CURRENT: Step = step(Unit::A, 1);
pub(super) const VOLTAGE: Step = step(Unit::V, 0);
pub(super) const SPEED: Step = step(Unit::FT_PER_MIN, 0);
pub(super) const WATER_A_DAY: Step = step(Unit::GAL_PER_DAY, 2);
pub(super) const WATER_AN_HOUR: Step = step(Unit::GAL_PER_H, 2);
pub(super) const HOURS: Step = step(Unit::H, 1);
pub(super) const COUNT: Step = step(Unit::EACH, 0);
/// Ratios that a person reads as times or as a percentage.
pub(super) const RATIO: Step = step(Unit::ONE, 2);
/// Ratios that are compared with a small limit, such as a voltage drop.
pub(super) const SHARE: Step = step(Unit::ONE, 4);

impl Step {
    /// The decimal of a float in this step's unit.
    ///
    /// # Errors
    /// NaN, an infinity, or more digits than a decimal has.
    pub(super) fn decimal(self, value: f64) -> Result<Decimal, NotFinite> {
        let exact = Decimal::from_f64_retain(value).ok_or(NotFinite {
            what: "a result in decimal digits",
        })?;
        Ok(to_scale(exact, self.places, Mode::HalfUp).normalize())
    }

    /// A ratio of decimals at this step's places, in a plain number.
    pub(super) fn exact(self, ratio: Decimal) -> Quantity {
        Quantity {
            value: to_scale(ratio, self.places, Mode::HalfUp).normalize(),
            unit: self.unit,
        }
    }

    /// The quantity of a float in this step's unit.
    ///
    /// # Errors
    /// As [`Step::decimal`].
    pub(super) fn quantity(self, value: f64) -> Result<Quantity, NotFinite> {
        Ok(Quantity {
            value: self.decimal(value)?,
            unit: self.unit,
        })
    }
}

/// A decimal of the survey or the catalogue as physics reads it. What does not fit becomes NaN, which
/// every question refuses by name.
pub(super) fn float(value: Decimal) -> f64 {
    value.to_f64().unwrap_or(f64::NAN)
}

/// A temperature in °F as °C.
pub(super) fn celsius(degrees_f: f64) -> f64 {
    (degrees_f - 32.0) / 1.8
}

/// A temperature in °C as °F.
pub(super) fn degrees_f(celsius: f64) -> f64 {
    celsius * 1.8 + 32.0
}
