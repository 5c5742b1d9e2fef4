//! Sums of facts and derived values, each times a factor: by them `x > x + 1` and `a - b` where `a > b` are decided,
//! which the ranges of single facts do not tell.

use super::super::formula::Sum;
use super::super::program::{Number, NumberOp, Scale};
use super::Decider;
use super::case::{Case, Place};
use super::range::Range;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// More terms than these are not followed.
const MOST_TERMS: usize = 6;

/// The terms of a sum without its constant, the factor of the first being one.
pub(super) type Form = Vec<(Place, Decimal)>;

/// A sum of terms and a constant.
pub(super) struct Linear {
    terms: BTreeMap<Place, Decimal>,
    constant: Decimal,
    /// Whether some term has come twice: then it knows more than the ranges of its parts.
    joined: bool,
}

impl Linear {
    /// The sum that a number is; nothing where it is something else, or where a factor would have to be rounded.
    pub(super) fn of(node: &Number) -> Option<Self> {
        match &node.op {
            NumberOp::Given(value) => Some(Self {
                terms: BTreeMap::new(),
                constant: *value,
                joined: false,
            }),
            NumberOp::Fact(fact) => Some(Self::term(Place::Fact(*fact))),
            NumberOp::Derived(slot) => Some(Self::term(Place::Derived(*slot))),
            NumberOp::Negate(part) => Self::of(part)?.times(Decimal::NEGATIVE_ONE),
            NumberOp::Convert(Scale::Multiply(by), part) => Self::of(part)?.times(*by),
            NumberOp::Convert(Scale::Divide(by), part) => Self::of(part)?.over(*by),
            NumberOp::Convert(Scale::Ratio(num, den), part) => Self::of(part)?.times(*num)?.over(*den),
            NumberOp::Arithmetic(sum, sides) => {
                let (left, right) = (Self::of(&sides[0])?, Self::of(&sides[1])?);
                match sum {
                    Sum::Add => left.plus(right),
                    Sum::Subtract => left.minus(right),
                    Sum::Multiply if right.terms.is_empty() => left.times(right.constant),
                    Sum::Multiply if left.terms.is_empty() => right.times(left.constant),
                    Sum::Divide if right.terms.is_empty() => left.over(right.constant),
                    Sum::Multiply | Sum::Divide => None,
                }
            }
            _ => None,
        }
    }

    fn term(place: Place) -> Self {
        Self {
            terms: BTreeMap::from([(place, Decimal::ONE)]),
            constant: Decimal::ZERO,
            joined: false,
        }
    }

    fn plus(mut self, other: Self) -> Option<Self> {
        self.joined |= other.joined;
        for (place, factor) in other.terms {
            let known = self.terms.remove(&place);
            self.joined |= known.is_some();
            let sum = known.unwrap_or_default().checked_add(factor)?;
            if !sum.is_zero() {
                self.terms.insert(place, sum);
            }
        }
        self.constant = self.constant.checked_add(other.constant)?;
        (self.terms.len() <= MOST_TERMS).then_some(self)
    }

    pub(super) fn minus(self, other: Self) -> Option<Self> {
        self.plus(other.times(Decimal::NEGATIVE_ONE)?)
    }

    fn times(self, by: Decimal) -> Option<Self> {
        let exactly = |value: Decimal| {
            let product = value.checked_mul(by)?;
            (by.is_zero() || product.checked_div(by) == Some(value)).then_some(product)
        };
        self.each(exactly)
    }

    fn over(self, by: Decimal) -> Option<Self> {
        let exactly = |value: Decimal| {
            let quotient = value.checked_div(by)?;
            (quotient.checked_mul(by) == Some(value)).then_some(quotient)
        };
        self.each(exactly)
    }

    fn each(self, change: impl Fn(Decimal) -> Option<Decimal>) -> Option<Self> {
        let mut terms = BTreeMap::new();
        for (place, factor) in self.terms {
            let factor = change(factor)?;
            if !factor.is_zero() {
                terms.insert(place, factor);
            }
        }
        Some(Self {
            terms,
            constant: change(self.constant)?,
            joined: self.joined,
        })
    }

    /// Its terms with a first factor of one, and that first factor.
    fn form(&self) -> Option<(Form, Decimal)> {
        let first = *self.terms.values().next()?;
        let one = self.terms.iter().map(|(place, factor)| {
            let factor_of_form = factor.checked_div(first)?;
            (factor_of_form.checked_mul(first) == Some(*factor)).then_some((*place, factor_of_form))
        });
        Some((one.collect::<Option<_>>()?, first))
    }
}

impl Decider<'_> {
    /// What a sum can be in this case by the terms that it is made of.
    pub(super) fn sum_range(&self, node: &Number, case: &Case) -> Range {
        let Some(sum) = Linear::of(node).filter(|sum| sum.joined || case.knows_forms()) else {
            return Range::ALL;
        };
        self.linear_range(&sum, case)
    }

    fn linear_range(&self, sum: &Linear, case: &Case) -> Range {
        let constant = Range::point(sum.constant);
        let known = sum.form().and_then(|(form, first)| {
            let range = case.form(&form)?;
            Some(
                range
                    .combined(Sum::Multiply, &Range::point(first))
                    .plus(&constant),
            )
        });
        if !sum.joined {
            return known.unwrap_or_default();
        }
        let terms = sum.terms.iter().map(|(place, factor)| {
            let range = match place {
                Place::Fact(fact) => self.fact_range(*fact, case),
                Place::Derived(_) => case.number(*place),
            };
            range.combined(Sum::Multiply, &Range::point(*factor))
        });
        // In the run each step may round in its last place.
        let range = terms.fold(constant, |sum, term| sum.plus(&term)).loosened();
        known.map_or(range, |known| known.both(&range))
    }

    /// Of this case, what is left where the difference of two numbers lies within `to`.
    pub(super) fn difference(&self, left: &Number, right: &Number, to: Range, case: Case) -> Option<Case> {
        let same = match (&left.op, &right.op) {
            (NumberOp::Fact(one), NumberOp::Fact(other)) => one == other,
            (NumberOp::Derived(one), NumberOp::Derived(other)) => one == other,
            _ => false,
        };
        if same {
            return to.holds(Decimal::ZERO).then_some(case);
        }
        let difference = Linear::of(left).and_then(|left| left.minus(Linear::of(right)?));
        match difference {
            Some(difference) => self.within(&difference, to, case),
            None => Some(case),
        }
    }

    /// Of this case, what is left where the sum lies within `to`.
    pub(super) fn sum_within(&self, node: &Number, to: Range, case: Case) -> Option<Case> {
        match Linear::of(node) {
            Some(sum) => self.within(&sum, to, case),
            None => Some(case),
        }
    }

    fn within(&self, sum: &Linear, to: Range, case: Case) -> Option<Case> {
        if sum.joined && self.linear_range(sum, &case).both(&to).is_empty() {
            return None;
        }
        match sum.form().filter(|(form, _)| form.len() > 1) {
            Some((form, first)) => {
                let to = to.minus(&Range::point(sum.constant)).before_times(first);
                case.with_form(form, to)
            }
            None => Some(case),
        }
    }
}
