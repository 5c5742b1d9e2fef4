//! Conversion between two units of one dimension, as constants worked out beforehand.

use crate::quantity::unit::{Ratio, Unit};
use rust_decimal::Decimal;

/// Takes a value from one unit to another of the same dimension.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Scale {
    Multiply(Decimal),
    Divide(Decimal),
    /// Multiply by the first, divide by the second: a ratio without an end, such as 5/9.
    Ratio(Decimal, Decimal),
    /// Between two scales of temperature: add, multiply, divide, add.
    Shifted(Decimal, Decimal, Decimal, Decimal),
}

/// Numerators and denominators up to this are kept as a ratio: a value times one of them still fits.
const SMALL: i64 = 1_000_000_000_000;

impl Scale {
    /// From a unit to another of the same dimension; nothing when the ratio does not fit a Decimal.
    pub(crate) fn between(from: &Unit, to: &Unit) -> Option<Self> {
        let ratio = from.scale().over(&to.scale());
        if from.dimension().is_point() {
            let (multiply, divide) = ratio.parts()?;
            // Either the shift before or the shift after has an end, for every pair of scales.
            let before = from.zero().minus(&to.zero().over(&ratio));
            if let Some(before) = before.exact_decimal() {
                return Some(Scale::Shifted(before, multiply, divide, Decimal::ZERO));
            }
            let after = from.zero().times(&ratio).minus(&to.zero()).nearest_decimal()?;
            return Some(Scale::Shifted(Decimal::ZERO, multiply, divide, after));
        }
        if let Some(exact) = ratio.exact_decimal() {
            return Some(Scale::Multiply(exact));
        }
        if let Some(exact) = Ratio::one().over(&ratio).exact_decimal() {
            return Some(Scale::Divide(exact));
        }
        match ratio.parts() {
            Some((num, den)) if num < SMALL.into() && den < SMALL.into() => Some(Scale::Ratio(num, den)),
            _ => ratio
                .nearest_decimal()
                .filter(|scale| !scale.is_zero())
                .map(Scale::Multiply),
        }
    }

    /// The converted value; nothing when it is too large.
    pub(crate) fn apply(self, value: Decimal) -> Option<Decimal> {
        match self {
            Scale::Multiply(by) => value.checked_mul(by),
            Scale::Divide(by) => value.checked_div(by),
            Scale::Ratio(num, den) => value.checked_mul(num)?.checked_div(den),
            Scale::Shifted(before, num, den, after) => value
                .checked_add(before)?
                .checked_mul(num)?
                .checked_div(den)?
                .checked_add(after),
        }
    }
}
