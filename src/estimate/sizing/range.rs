//! The range of a method, and the error for an input outside it.

/// An input lies outside the range in which the method is known to hold. Nothing is extrapolated.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{what} is {value} {unit}; the method holds from {low} to {high} {unit}")]
pub struct OutOfRange {
    /// The input, in plain words.
    pub what: &'static str,
    /// What came; may be NaN.
    pub value: f64,
    /// Lowest value that the method takes.
    pub low: f64,
    /// Highest value that the method takes.
    pub high: f64,
    /// Unit of the three numbers.
    pub unit: &'static str,
}

/// Closed range of an input, named once, so that the check and the message cannot part.
#[derive(Clone, Copy, Debug)]
pub(super) struct Range {
    pub what: &'static str,
    pub low: f64,
    pub high: f64,
    pub unit: &'static str,
}

/// Slack at both ends, relative to the wider end: a unit conversion may move a value that stands on
/// the edge by a few units in the last place.
const SLACK: f64 = 1e-9;

impl Range {
    pub const fn new(what: &'static str, low: f64, high: f64, unit: &'static str) -> Self {
        Range {
            what,
            low,
            high,
            unit,
        }
    }

    /// The value, pulled onto the edge if it is beyond it by no more than a conversion's last digits.
    pub fn check(&self, value: f64) -> Result<f64, OutOfRange> {
        let slack = SLACK * self.low.abs().max(self.high.abs());
        if value >= self.low - slack && value <= self.high + slack {
            Ok(value.clamp(self.low, self.high))
        } else {
            let Range {
                what,
                low,
                high,
                unit,
            } = *self;
            Err(OutOfRange {
                what,
                value,
                low,
                high,
                unit,
            })
        }
    }
}
