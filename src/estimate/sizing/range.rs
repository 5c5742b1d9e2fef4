//! The door of every question of this room: an input is a number within the range for which the
//! method holds, or it is refused by name.

use super::finite::NotFinite;
use super::heat_rate::fahrenheit;

/// An input that a method cannot take, or a result that it could not form.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum InputFault {
    /// A number outside the range for which the method holds.
    #[error("{field} is {came} {unit}; the method holds from {least} to {most} {unit}")]
    OutOfRange {
        /// The input, in plain words.
        field: &'static str,
        /// What came; a number that is not finite comes as text too.
        came: String,
        /// The least value taken.
        least: f64,
        /// The greatest value taken.
        most: f64,
        /// Unit of the three numbers.
        unit: &'static str,
    },
    /// A list or a choice that the method cannot work with.
    #[error("{field}: {why}")]
    Unusable {
        /// The input, in plain words.
        field: &'static str,
        /// What is wrong with it.
        why: &'static str,
    },
    /// The arithmetic left the numbers that an `f64` can hold.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
}

/// Gives `value` back when it lies from `least` to `most`, both included.
///
/// # Errors
/// [`InputFault::OutOfRange`] otherwise, also for NaN.
pub fn within(
    field: &'static str,
    value: f64,
    (least, most): (f64, f64),
    unit: &'static str,
) -> Result<f64, InputFault> {
    if value >= least && value <= most {
        return Ok(value);
    }
    // Physics counts in °C, and the sizing report tells every temperature in °F.
    let (as_told, unit): (fn(f64) -> f64, _) = match unit {
        "°C" => (fahrenheit, "°F"),
        other => (|value| value, other),
    };
    Err(InputFault::OutOfRange {
        field,
        came: shown(as_told(value)),
        least: as_told(least),
        most: as_told(most),
        unit,
    })
}

/// A number as a person reads it: four decimals at most, unless that would hide it.
fn shown(value: f64) -> String {
    if value.abs() < 0.001 || !value.is_finite() {
        return value.to_string();
    }
    let short = format!("{value:.4}");
    short.trim_end_matches('0').trim_end_matches('.').to_owned()
}
