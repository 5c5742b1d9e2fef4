//! What a number can be, and what must be so for it to lie within a range.

use super::super::formula::Sum;
use super::super::program::{KeyValue, Number, NumberOp};
use super::case::{Case, Place};
use super::range::Range;
use super::{Decider, each};
use crate::quantity::rounding::Towards;
use rust_decimal::Decimal;

impl Decider<'_> {
    pub(super) fn fact_range(&self, fact: usize, case: &Case) -> Range {
        let bounds = self.program.facts.get(fact).map(|def| Range::of(def.bounds));
        bounds.unwrap_or_default().both(&case.number(Place::Fact(fact)))
    }

    /// Everything that the number can be in this case.
    pub(super) fn range(&self, node: &Number, case: &Case) -> Range {
        if !self.step() {
            return Range::ALL;
        }
        match &node.op {
            NumberOp::Given(value) => Range::point(*value),
            NumberOp::Fact(fact) => self.fact_range(*fact, case),
            NumberOp::Derived(slot) => {
                let known = case.number(Place::Derived(*slot));
                match self.program.derived.numbers.get(*slot) {
                    Some(derived) => self.range(&derived.formula.tree, case).both(&known),
                    None => known,
                }
            }
            NumberOp::Negate(part) => self.range(part, case).negated(),
            NumberOp::Absolute(part) => self.range(part, case).absolute(),
            NumberOp::Arithmetic(sum, sides) => {
                let (left, right) = (self.range(&sides[0], case), self.range(&sides[1], case));
                let range = left.combined(*sum, &right);
                match sum {
                    Sum::Add | Sum::Subtract => range.both(&self.sum_range(node, case)),
                    Sum::Multiply | Sum::Divide => range,
                }
            }
            NumberOp::Least(first, rest) => self.best(first, rest, case, least),
            NumberOp::Greatest(first, rest) => self.best(first, rest, case, greatest),
            NumberOp::Clamp(parts) => {
                let [value, low, high] = [&parts[0], &parts[1], &parts[2]].map(|part| self.range(part, case));
                least(greatest(value, low), high)
            }
            NumberOp::Step(towards, part, step) => self.range(part, case).stepped(*towards, *step),
            NumberOp::Convert(scale, part) => self.range(part, case).converted(*scale),
            NumberOp::If(condition, branches) => {
                let mut found: Option<Range> = None;
                for (wanted, branch) in [true, false].into_iter().zip(branches.iter()) {
                    for case in self.flag(condition, wanted, vec![case.clone()]) {
                        let range = self.range(branch, &case);
                        found = Some(found.map_or(range, |found| found.hull(&range)));
                    }
                }
                found.unwrap_or_default()
            }
            NumberOp::Cell(table, keys) => {
                let table = self.program.tables.numbers.get(*table);
                let values = table.map(|table| self.values(&table.grid, keys, &table.values, case));
                hull(values.unwrap_or_default())
            }
            NumberOp::Curve(curve, _, _) => {
                let curve = self.program.tables.curves.get(*curve);
                let points = curve.into_iter().flat_map(|curve| curve.lines.iter().flatten());
                hull(points.map(|point| point.value).collect())
            }
        }
    }

    fn best(&self, first: &Number, rest: &[Number], case: &Case, pick: fn(Range, Range) -> Range) -> Range {
        let first = self.range(first, case);
        rest.iter()
            .fold(first, |best, part| pick(best, self.range(part, case)))
    }

    /// Of this case, what is left where the number lies within `to`.
    pub(super) fn number(&self, node: &Number, to: Range, case: Case) -> Vec<Case> {
        if to == Range::ALL || !self.step() {
            return vec![case];
        }
        let cases = match &node.op {
            NumberOp::Fact(fact) => {
                let to = self.fact_range(*fact, &case).both(&to);
                return case.with_number(Place::Fact(*fact), to).into_iter().collect();
            }
            NumberOp::Derived(slot) => {
                let Some(case) = case.with_number(Place::Derived(*slot), to) else {
                    return Vec::new();
                };
                match self.program.derived.numbers.get(*slot) {
                    Some(derived) => return self.number(&derived.formula.tree, to, case),
                    None => vec![case],
                }
            }
            NumberOp::Negate(part) => return self.number(part, to.negated(), case),
            NumberOp::Convert(scale, part) => return self.number(part, to.before(*scale), case),
            NumberOp::Step(towards, part, step) => {
                let to = to.multiples(*step);
                if to.is_empty() {
                    return Vec::new();
                }
                // What is rounded up comes from below.
                let (below, above) = slack(*towards, *step);
                self.number(part, to.widened(above, below), case)
            }
            NumberOp::Arithmetic(sum, sides) => {
                let Some(case) = self.sum_within(node, to, case) else {
                    return Vec::new();
                };
                self.sides(*sum, &sides[0], &sides[1], to, case)
            }
            NumberOp::Least(first, rest) => {
                let above = Range { high: None, ..to };
                self.all_within(first, rest, above, case)
            }
            NumberOp::Greatest(first, rest) => {
                let below = Range { low: None, ..to };
                self.all_within(first, rest, below, case)
            }
            NumberOp::If(condition, branches) => {
                return self.branches(
                    condition,
                    vec![case],
                    |cases| each(cases, |case| self.number(&branches[0], to, case)),
                    |cases| each(cases, |case| self.number(&branches[1], to, case)),
                );
            }
            NumberOp::Cell(table, keys) => match self.program.tables.numbers.get(*table) {
                Some(table) => {
                    let within = |row: usize| table.values.get(row).is_some_and(|value| to.holds(*value));
                    return self.cells(&table.grid, keys, within, case);
                }
                None => vec![case],
            },
            NumberOp::Given(_) | NumberOp::Absolute(_) | NumberOp::Clamp(_) | NumberOp::Curve(..) => {
                vec![case]
            }
        };
        let can_be = |case: &Case| !self.range(node, case).both(&to).is_empty();
        cases.into_iter().filter(can_be).collect()
    }

    fn all_within(&self, first: &Number, rest: &[Number], to: Range, case: Case) -> Vec<Case> {
        let start = self.number(first, to, case);
        rest.iter().fold(start, |cases, part| {
            each(cases, |case| self.number(part, to, case))
        })
    }

    /// Where a sum, difference, product or quotient lies within a range, as far as one side tells of the other.
    fn sides(&self, sum: Sum, left: &Number, right: &Number, to: Range, case: Case) -> Vec<Case> {
        let (mine, theirs) = (self.range(left, &case), self.range(right, &case));
        let (for_left, for_right) = match sum {
            Sum::Add => (to.minus(&theirs), to.minus(&mine)),
            Sum::Subtract => (to.plus(&theirs), mine.minus(&to)),
            Sum::Multiply => {
                let both_positive = to.is_positive() && mine.is_not_negative() && theirs.is_not_negative();
                let side = |other: Range| match other.only().filter(|by| !by.is_zero()) {
                    Some(by) => to.before_times(by),
                    None if both_positive => Range::positive(),
                    None => Range::ALL,
                };
                (side(theirs), side(mine))
            }
            Sum::Divide => match theirs.only().filter(|by| !by.is_zero()) {
                Some(by) => (to.before_over(by), Range::ALL),
                None if to.is_positive() && theirs.is_positive() => (Range::positive(), Range::ALL),
                None => (Range::ALL, Range::ALL),
            },
        };
        let cases = self.number(left, for_left, case);
        each(cases, |case| self.number(right, for_right, case))
    }

    /// The band of a table's key that the number lies in can be one of these.
    pub(super) fn bands(&self, key: &KeyValue, ends: &[Decimal], case: &Case) -> Vec<bool> {
        let KeyValue::Number(number) = key else {
            return vec![true; ends.len() + 1];
        };
        let range = self.range(number, case);
        (0..=ends.len())
            .map(|place| !band(ends, place, place).both(&range).is_empty())
            .collect()
    }
}

/// From the first to the last of the bands between `ends`.
pub(super) fn band(ends: &[Decimal], first: usize, last: usize) -> Range {
    let above = first.checked_sub(1).and_then(|before| ends.get(before));
    Range::band(above.copied(), ends.get(last).copied())
}

pub(super) fn hull(values: Vec<Decimal>) -> Range {
    let points = values.into_iter().map(Range::point);
    points.reduce(|one, other| one.hull(&other)).unwrap_or_default()
}

pub(super) fn least(one: Range, other: Range) -> Range {
    greatest(one.negated(), other.negated()).negated()
}

/// Above the higher of the lower ends, up to the higher of the upper ones.
pub(super) fn greatest(one: Range, other: Range) -> Range {
    Range {
        low: Range {
            low: one.low,
            high: None,
        }
        .both(&Range {
            low: other.low,
            high: None,
        })
        .low,
        high: one.hull(&other).high,
    }
}

/// How far rounding to a step may take a number down and up.
fn slack(towards: Towards, step: Decimal) -> (Decimal, Decimal) {
    match towards {
        Towards::Up => (Decimal::ZERO, step),
        Towards::Down => (step, Decimal::ZERO),
        Towards::Nearest => (step, step),
    }
}
