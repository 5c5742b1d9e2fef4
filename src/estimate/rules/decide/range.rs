//! Ranges of numbers, and arithmetic on them that never leaves out a value that could come.

use super::super::formula::{Compare, Sum};
use super::super::program::Scale;
use crate::quantity::fact::Bounds;
use crate::quantity::rounding::{Towards, to_step};
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

/// The smallest number that a comparison tells from zero: it looks at so many decimals.
const SMALLEST: Decimal = Decimal::from_parts(5, 0, 0, false, 21);

/// By so much an end is moved outward where it could not be computed without rounding.
const SLACK: Decimal = Decimal::from_parts(1, 0, 0, false, 12);

fn end(at: Decimal, with: bool) -> Option<End> {
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

    pub(super) fn negated(&self) -> Self {
        let turn = |end: Option<End>| end.map(|end| End { at: -end.at, ..end });
        Self {
            low: turn(self.high),
            high: turn(self.low),
        }
    }

    pub(super) fn absolute(&self) -> Self {
        if self.is_not_negative() {
            return *self;
        }
        let turned = self.negated();
        if turned.is_not_negative() {
            return turned;
        }
        Self {
            low: end(Decimal::ZERO, true),
            ..self.hull(&turned)
        }
    }

    pub(super) fn plus(&self, other: &Self) -> Self {
        let sum = |one: Option<End>, two: Option<End>| {
            let (one, two) = one.zip(two)?;
            end(one.at.checked_add(two.at)?, one.with && two.with)
        };
        Self {
            low: sum(self.low, other.low),
            high: sum(self.high, other.high),
        }
    }

    pub(super) fn minus(&self, other: &Self) -> Self {
        self.plus(&other.negated())
    }

    /// The range of a sum, a difference, a product or a quotient.
    pub(super) fn combined(&self, sum: Sum, other: &Self) -> Self {
        match sum {
            Sum::Add => self.plus(other),
            Sum::Subtract => self.minus(other),
            Sum::Multiply => self.times(other),
            Sum::Divide => self.over(other),
        }
    }

    fn over(&self, other: &Self) -> Self {
        match other.only() {
            Some(by) if !by.is_zero() => {
                return self.scaled(|value| value.checked_div(by), by.is_sign_negative());
            }
            _ if other.holds(Decimal::ZERO) => return Self::ALL,
            _ => {}
        }
        let divisor = other.apart_from_zero(SMALLEST);
        if let Some(range) = self.corners(&divisor, Decimal::checked_div) {
            return range;
        }
        let same_sign = self.is_not_negative() && other.is_positive();
        if same_sign {
            Self::not_negative()
        } else {
            Self::ALL
        }
    }

    /// An end that is zero and does not belong to the range moved away from it by so much.
    pub(super) fn apart_from_zero(&self, by: Decimal) -> Self {
        let apart = |found: Option<End>, to: Decimal| match found {
            Some(End { at, with: false }) if at.is_zero() => end(to, true),
            other => other,
        };
        Self {
            low: apart(self.low, by),
            high: apart(self.high, -by),
        }
    }

    /// The least and the greatest of what an operation that rises or falls all the way makes of the ends; nothing
    /// where an end is lacking or a result does not fit.
    fn corners(&self, other: &Self, by: fn(Decimal, Decimal) -> Option<Decimal>) -> Option<Self> {
        let mut found: Option<(Decimal, Decimal)> = None;
        for one in [self.low?, self.high?] {
            for two in [other.low?, other.high?] {
                let value = by(one.at, two.at)?;
                let (low, high) = found.unwrap_or((value, value));
                found = Some((low.min(value), high.max(value)));
            }
        }
        let (low, high) = found?;
        Some(Self {
            low: end(low, true),
            high: end(high, true),
        })
    }

    /// Zero and everything above.
    fn not_negative() -> Self {
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

    fn times(&self, other: &Self) -> Self {
        for (one, factor) in [(self, other.only()), (other, self.only())] {
            if let Some(by) = factor {
                if by.is_zero() {
                    return Self::point(Decimal::ZERO);
                }
                return one.scaled(|value| value.checked_mul(by), by.is_sign_negative());
            }
        }
        if self.is_not_negative() && other.is_not_negative() {
            let product = |one: Option<End>, two: Option<End>| {
                let (one, two) = one.zip(two)?;
                end(one.at.checked_mul(two.at)?, true)
            };
            let low = product(self.low, other.low).or(end(Decimal::ZERO, true));
            let positive = self.is_positive() && other.is_positive();
            return Self {
                low: low.map(|low| End {
                    with: !(positive && low.at.is_zero()),
                    ..low
                }),
                high: product(self.high, other.high),
            };
        }
        self.corners(other, Decimal::checked_mul).unwrap_or_default()
    }

    /// The range after a step that keeps the order of numbers, or turns it about.
    pub(super) fn scaled(&self, by: impl Fn(Decimal) -> Option<Decimal>, turned: bool) -> Self {
        let (low, high) = if turned {
            (self.high, self.low)
        } else {
            (self.low, self.high)
        };
        let moved = |end: Option<End>| {
            end.and_then(|end| {
                Some(End {
                    at: by(end.at)?,
                    ..end
                })
            })
        };
        Self {
            low: moved(low),
            high: moved(high),
        }
    }

    /// A little wider, since an end was rounded.
    pub(super) fn loosened(&self) -> Self {
        let by = |sign: Decimal| {
            move |found: Option<End>| found.and_then(|found| end(found.at.checked_add(sign)?, true))
        };
        Self {
            low: by(-SLACK)(self.low),
            high: by(SLACK)(self.high),
        }
    }

    /// Wider by these.
    pub(super) fn widened(&self, below: Decimal, above: Decimal) -> Self {
        let by =
            |found: Option<End>, by: Decimal| found.and_then(|found| end(found.at.checked_add(by)?, true));
        Self {
            low: by(self.low, -below),
            high: by(self.high, above),
        }
    }

    /// The range after rounding to multiples of a step, which keeps the order of numbers.
    pub(super) fn stepped(&self, towards: Towards, step: Decimal) -> Self {
        let stepped = self.scaled(|value| to_step(value, step, towards), false);
        let closed = |found: Option<End>| found.map(|found| End { with: true, ..found });
        Self {
            low: closed(stepped.low),
            high: closed(stepped.high),
        }
    }

    pub(super) fn converted(&self, scale: Scale) -> Self {
        self.scaled(|value| scale.apply(value), false)
    }

    /// The range that a scale takes into this one.
    pub(super) fn before(&self, scale: Scale) -> Self {
        self.undone(|value| undo(scale, value), |value| scale.apply(value), false)
    }

    /// The range that multiplication by `by`, which is not zero, takes into this one.
    pub(super) fn before_times(&self, by: Decimal) -> Self {
        let turned = by.is_sign_negative();
        self.undone(
            |value| value.checked_div(by),
            |value| value.checked_mul(by),
            turned,
        )
    }

    /// The range that division by `by`, which is not zero, takes into this one.
    pub(super) fn before_over(&self, by: Decimal) -> Self {
        let turned = by.is_sign_negative();
        self.undone(
            |value| value.checked_mul(by),
            |value| value.checked_div(by),
            turned,
        )
    }

    /// Ends that come back exactly keep what they are; the others are loosened.
    fn undone(
        &self,
        undo: impl Fn(Decimal) -> Option<Decimal>,
        again: impl Fn(Decimal) -> Option<Decimal>,
        turned: bool,
    ) -> Self {
        let exact = [self.low, self.high]
            .into_iter()
            .flatten()
            .all(|end| undo(end.at).and_then(&again) == Some(end.at));
        let undone = self.scaled(undo, turned);
        if exact { undone } else { undone.loosened() }
    }
}

fn undo(scale: Scale, value: Decimal) -> Option<Decimal> {
    match scale {
        Scale::Multiply(by) => value.checked_div(by),
        Scale::Divide(by) => value.checked_mul(by),
        Scale::Ratio(num, den) => value.checked_mul(den)?.checked_div(num),
        Scale::Shifted(before, num, den, after) => value
            .checked_sub(after)?
            .checked_mul(den)?
            .checked_div(num)?
            .checked_sub(before),
    }
}
