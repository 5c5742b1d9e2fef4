//! Ranges of numbers.

use super::super::formula::Compare;
use crate::quantity::fact::Bounds;
use rust_decimal::Decimal;

/// An end of a range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::rules) struct End {
    pub(super) at: Decimal,
    /// Whether the end itself belongs to the range.
    pub(super) with: bool,
}

/// All numbers between two ends; without an end, without limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(in crate::rules) struct Range {
    pub(super) low: Option<End>,
    pub(super) high: Option<End>,
}

pub(super) fn end(at: Decimal, with: bool) -> Option<End> {
    Some(End { at, with })
}

impl Range {
    pub(super) const ALL: Self = Self {
        low: None,
        high: None,
    };

    pub(super) fn point(value: Decimal) -> Self {
        Self {
            low: end(value, true),
            high: end(value, true),
        }
    }

    pub(super) fn closed(least: Decimal, greatest: Decimal) -> Self {
        Self {
            low: end(least, true),
            high: end(greatest, true),
        }
    }

    pub(super) fn of(bounds: Bounds) -> Self {
        let closed = |at| End { at, with: true };
        Self {
            low: bounds.least.map(closed),
            high: bounds.greatest.map(closed),
        }
    }

    /// The band of a table's key between two ends: above the lower, up to the upper.
    pub(super) fn band(above: Option<Decimal>, up_to: Option<Decimal>) -> Self {
        Self {
            low: above.map(|at| End { at, with: false }),
            high: up_to.map(|at| End { at, with: true }),
        }
    }

    /// What a number must be for the comparison with one of `others` to come out.
    pub(super) fn that(compare: Compare, others: Range) -> Self {
        let beside = |end: Option<End>, with: bool| {
            end.map(|end| End {
                with: with && end.with,
                ..end
            })
        };
        match compare {
            Compare::Less => Self {
                low: None,
                high: beside(others.high, false),
            },
            Compare::AtMost => Self {
                low: None,
                high: beside(others.high, true),
            },
            Compare::More => Self {
                low: beside(others.low, false),
                high: None,
            },
            Compare::AtLeast => Self {
                low: beside(others.low, true),
                high: None,
            },
            Compare::Equal => others,
            Compare::Unequal => Self::ALL,
        }
    }

    pub(super) fn is_empty(&self) -> bool {
        match (self.low, self.high) {
            (Some(low), Some(high)) => low.at > high.at || (low.at == high.at && !(low.with && high.with)),
            _ => false,
        }
    }

    /// The one number of the range, where it has no other.
    pub(in crate::rules) fn only(&self) -> Option<Decimal> {
        match (self.low, self.high) {
            (Some(low), Some(high)) if low.at == high.at && low.with && high.with => Some(low.at),
            _ => None,
        }
    }

    pub(super) fn holds(&self, value: Decimal) -> bool {
        !self.both(&Self::point(value)).is_empty()
    }

    /// Whether every number of the range is one from `least` to `greatest`.
    pub(super) fn lies_within(&self, least: Decimal, greatest: Decimal) -> bool {
        self.low.is_some_and(|low| low.at >= least) && self.high.is_some_and(|high| high.at <= greatest)
    }

    /// Whether every number of the range is zero or more.
    pub(super) fn is_not_negative(&self) -> bool {
        self.low.is_some_and(|low| low.at >= Decimal::ZERO)
    }

    /// Whether every number of the range is above zero.
    pub(super) fn is_positive(&self) -> bool {
        self.low
            .is_some_and(|low| low.at > Decimal::ZERO || (low.at.is_zero() && !low.with))
    }

    pub(super) fn positive() -> Self {
        Self {
            low: end(Decimal::ZERO, false),
            high: None,
        }
    }

    /// What belongs to both.
    pub(super) fn both(&self, other: &Self) -> Self {
        let low = match (self.low, other.low) {
            (Some(one), Some(two)) if one.at == two.at => end(one.at, one.with && two.with),
            (Some(one), Some(two)) => Some(if one.at > two.at { one } else { two }),
            (one, two) => one.or(two),
        };
        let high = match (self.high, other.high) {
            (Some(one), Some(two)) if one.at == two.at => end(one.at, one.with && two.with),
            (Some(one), Some(two)) => Some(if one.at < two.at { one } else { two }),
            (one, two) => one.or(two),
        };
        Self { low, high }
    }

    /// The smallest range that holds both.
    pub(super) fn hull(&self, other: &Self) -> Self {
        let low = self.low.zip(other.low).map(|(one, two)| match one.at == two.at {
            true => End {
                with: one.with || two.with,
                ..one
            },
            false if one.at < two.at => one,
            false => two,
        });
        let high = self
            .high
            .zip(other.high)
            .map(|(one, two)| match one.at == two.at {
                true => End {
                    with: one.with || two.with,
                    ..one
                },
                false if one.at > two.at => one,
                false => two,
            });
        Self { low, high }
    }

    /// Zero and everything above.
    pub(super) fn not_negative() -> Self {
        Self {
            low: end(Decimal::ZERO, true),
            high: None,
        }
    }

    /// Whether both ends are known.
    pub(super) fn is_bounded(&self) -> bool {
        self.low.is_some() && self.high.is_some()
    }

    /// Whether every number of the range is below this.
    pub(in crate::rules) fn is_below(&self, limit: Decimal) -> bool {
        self.high
            .is_some_and(|high| high.at < limit || (high.at == limit && !high.with))
    }

    /// Whether every number of the range is this or less.
    pub(in crate::rules) fn is_at_most(&self, most: Decimal) -> bool {
        self.high.is_some_and(|high| high.at <= most)
    }

    /// Whether every number of the range is above this.
    pub(in crate::rules) fn is_above(&self, limit: Decimal) -> bool {
        self.low
            .is_some_and(|low| low.at > limit || (low.at == limit && !low.with))
    }

    /// Whether every number of the range is this or more.
    pub(in crate::rules) fn is_at_least(&self, least: Decimal) -> bool {
        self.low.is_some_and(|low| low.at >= least)
    }
}
