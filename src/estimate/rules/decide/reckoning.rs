//! Arithmetic on ranges that never leaves out a value that could come.

use super::super::formula::Sum;
use super::super::program::Scale;
use super::range::{End, Range, end};
use crate::quantity::rounding::{Towards, to_step};
use rust_decimal::Decimal;

/// The smallest number that a comparison tells from zero: it looks at so many decimals.
const SMALLEST: Decimal = Decimal::from_parts(5, 0, 0, false, 21);

/// By so much an end is moved outward where it could not be computed without rounding.
const SLACK: Decimal = Decimal::from_parts(1, 0, 0, false, 12);

impl Range {
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

    /// From the first multiple of a step in the range to the last: what was rounded is nothing else.
    pub(super) fn multiples(&self, step: Decimal) -> Self {
        let moved = |found: Option<End>, towards: Towards| {
            let found = found?;
            let multiple = to_step(found.at, step, towards);
            match multiple.filter(|multiple| *multiple != found.at) {
                Some(multiple) => end(multiple, true),
                None => Some(found),
            }
        };
        Self {
            low: moved(self.low, Towards::Up),
            high: moved(self.high, Towards::Down),
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
