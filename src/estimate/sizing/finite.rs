//! The number type at the border of `sizing`: an `f64` that cannot be NaN or infinite.

use std::cmp::Ordering;
use std::fmt;

/// A result number that is neither NaN nor infinite, and never negative zero.
///
/// Every number in a sizing result is one of these, so whoever turns a result into a fact needs no
/// check of his own. The unit is in the name of the field that holds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finite(f64);

/// A calculation gave NaN or infinity; `what` names the result that was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{what} has no finite value")]
pub struct NotFinite {
    /// The name of the result, in plain words.
    pub what: &'static str,
}

impl Finite {
    /// Zero, in any unit.
    pub const ZERO: Finite = Finite(0.0);

    /// Takes a calculated value; `what` is the name that an error carries.
    ///
    /// # Errors
    /// [`NotFinite`] for NaN and for either infinity.
    pub fn new(value: f64, what: &'static str) -> Result<Self, NotFinite> {
        if value.is_finite() {
            // Adding zero turns -0.0 into 0.0, so that equal values are equal in print too.
            Ok(Finite(value + 0.0))
        } else {
            Err(NotFinite { what })
        }
    }

    /// The number itself.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl TryFrom<f64> for Finite {
    type Error = NotFinite;

    fn try_from(value: f64) -> Result<Self, NotFinite> {
        Finite::new(value, "a calculated value")
    }
}

impl From<Finite> for f64 {
    fn from(value: Finite) -> f64 {
        value.0
    }
}

impl Eq for Finite {}

impl PartialOrd for Finite {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Finite {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.total_cmp(&other.0)
    }
}

impl fmt::Display for Finite {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}
