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
        if let Some(decimal) = self.decimal_off_ties(value) {
            return Ok(decimal);
        }
        let exact = Decimal::from_f64_retain(value).ok_or(NotFinite {
            what: "a result in decimal digits",
        })?;
        Ok(to_scale(exact, self.places, Mode::HalfUp).normalize())
    }

    /// The same by floats alone: none for a number so large, or so near to the middle between two steps, that
    /// the float's own error could decide.
    fn decimal_off_ties(self, value: f64) -> Option<Decimal> {
        let scaled = value * POWERS_OF_TEN.get(self.places as usize)?;
        let steps = scaled.round();
        if scaled.abs() > 1e9 || (scaled - steps).abs() > 0.499_999 {
            return None;
        }
        let (mut digits, mut places) = (steps.to_i64()?, self.places);
        while places > 0 && digits % 10 == 0 {
            digits /= 10;
            places -= 1;
        }
        Some(Decimal::new(digits, places))
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

/// Powers of ten that a float holds exactly.
const POWERS_OF_TEN: [f64; 9] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8];

/// A decimal of the survey or the catalogue as physics reads it. What does not fit becomes NaN, which
/// every question refuses by name.
pub(super) fn float(value: Decimal) -> f64 {
    // Both are exact in a float, so that the one division rounds once.
    let digits = i32::try_from(value.mantissa()).ok().map(f64::from);
    match (digits, POWERS_OF_TEN.get(value.scale() as usize)) {
        (Some(digits), Some(power)) => digits / power,
        _ => value.to_f64().unwrap_or(f64::NAN),
    }
}

/// A float in a sentence, in wholes; a tie goes to the even one. Whole numbers are what the formatter of floats is
/// slow with.
pub(super) fn in_wholes(value: f64) -> i64 {
    value.round_ties_even() as i64
}

/// A temperature in °F as °C.
pub(super) fn celsius(degrees_f: f64) -> f64 {
    (degrees_f - 32.0) / 1.8
}

/// A temperature in °C as °F.
pub(super) fn degrees_f(celsius: f64) -> f64 {
    celsius * 1.8 + 32.0
}
