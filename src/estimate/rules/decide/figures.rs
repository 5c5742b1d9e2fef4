//! What formulas can come to in some cases, step by step, and which steps could have no result.

use super::super::formula::{Join, Sum};
use super::super::program::{Choice, ChoiceOp, Curve, Flag, FlagOp, KeyValue, Number, NumberOp, Part, Point};
use super::Decider;
use super::case::{Case, Place};
use super::numbers::{greatest, hull, least};
use super::range::Range;
use rust_decimal::Decimal;
use std::cell::RefCell;

/// A fact of which nothing closer is known lies between this and its negative.
const LARGEST: Decimal = Decimal::from_parts(1_000_000_000, 0, 0, false, 0);
/// A measure that is above zero is not below this: answers have fewer decimals.
const SMALLEST: Decimal = Decimal::from_parts(1, 0, 0, false, 9);
/// So many cases are looked at one by one; of more, only what they have in common.
const CASES_APART: usize = 12;
/// How many steps are taken to find out more of one derived value than holds on any job.
const STEPS: u32 = 400;

/// A step that could have no result.
#[derive(Debug, Clone, Copy)]
pub(in crate::rules) enum Trouble<'p> {
    /// The divisor can be zero.
    Divisor(&'p Number, Range),
    /// The result can be too large.
    Large(&'p Number),
}

/// Works out what the formulas of one program can come to.
pub(in crate::rules) struct Figures<'d, 'p> {
    decider: &'d Decider<'p>,
    /// Of each derived number, what it can come to on any job; nothing where a step could have no result.
    derived: RefCell<Vec<Option<Option<Range>>>>,
}

/// What a part can come to; nothing where a step of it could have no result, which has been told.
type Figure = Option<Range>;

impl<'d, 'p> Figures<'d, 'p> {
    pub(in crate::rules) fn new(decider: &'d Decider<'p>) -> Self {
        let count = decider.program.derived.numbers.len();
        Self {
            decider,
            derived: RefCell::new(vec![None; count]),
        }
    }

    /// Calls `told` for every step that could have no result where the part is computed in these cases; what it can
    /// come to, where it is a number.
    pub(in crate::rules) fn part(
        &self,
        part: Part<'p>,
        cases: &[Case],
        told: &mut Vec<Trouble<'p>>,
    ) -> Figure {
        if cases.len() > CASES_APART {
            return self.any(part, cases, told);
        }
        let mut found: Figure = None;
        for case in cases {
            let figure = self.any(part, std::slice::from_ref(case), told);
            found = match (found, figure) {
                (Some(one), Some(other)) => Some(one.hull(&other)),
                (one, other) => one.or(other),
            };
        }
        found.filter(|_| told.is_empty())
    }

    fn any(&self, part: Part<'p>, cases: &[Case], told: &mut Vec<Trouble<'p>>) -> Figure {
        match part {
            Part::Number(number) => self.number(number, cases, told),
            Part::Flag(flag) => {
                self.flag(flag, cases, told);
                None
            }
            Part::Choice(choice) => {
                self.choice(choice, cases, told);
                None
            }
        }
    }

    fn number(&self, node: &'p Number, cases: &[Case], told: &mut Vec<Trouble<'p>>) -> Figure {
        if cases.is_empty() {
            return None;
        }
        let figure = match &node.op {
            NumberOp::Given(value) => Some(Range::point(*value)),
            NumberOp::Fact(fact) => Some(self.in_all(cases, |case| {
                apart_from_zero(self.decider.fact_range(*fact, case).both(&anything()))
            })),
            NumberOp::Derived(slot) => self.read(*slot, node, cases),
            NumberOp::Negate(part) => self.number(part, cases, told).map(|part| part.negated()),
            NumberOp::Absolute(part) => self.number(part, cases, told).map(|part| part.absolute()),
            NumberOp::Arithmetic(sum, sides) => self.arithmetic(node, *sum, sides, cases, told),
            NumberOp::Least(first, rest) => self.best(first, rest, cases, told, least),
            NumberOp::Greatest(first, rest) => self.best(first, rest, cases, told, greatest),
            NumberOp::Clamp(parts) => {
                let [value, low, high] =
                    [&parts[0], &parts[1], &parts[2]].map(|part| self.number(part, cases, told));
                Some(least(greatest(value?, low?), high?))
            }
            NumberOp::Step(towards, part, step) => self
                .number(part, cases, told)
                .map(|part| part.stepped(*towards, *step)),
            NumberOp::Convert(scale, part) => {
                self.number(part, cases, told).map(|part| part.converted(*scale))
            }
            NumberOp::If(condition, branches) => {
                let (held, failed) = self.condition(condition, cases, told);
                let before = told.len();
                let one = self.number(&branches[0], &held, told);
                let other = self.number(&branches[1], &failed, told);
                if told.len() > before {
                    return None;
                }
                match (one, other) {
                    (Some(one), Some(other)) => Some(one.hull(&other)),
                    // A branch that is computed on no job counts for nothing.
                    (one, None) if failed.is_empty() => one,
                    (None, other) if held.is_empty() => other,
                    _ => None,
                }
            }
            NumberOp::Cell(table, keys) => {
                self.keys(keys, cases, told);
                let table = self.decider.program.tables.numbers.get(*table)?;
                let rows = cases
                    .iter()
                    .flat_map(|case| self.decider.rows_of(&table.grid, keys, &table.values, case));
                let rows: Vec<Decimal> = rows.collect();
                // Where the cases contradict one another nothing is looked up.
                (!rows.is_empty()).then(|| hull(rows))
            }
            NumberOp::Curve(curve, keys, at) => {
                self.keys(keys, cases, told);
                self.number(at, cases, told)?;
                let curve = self.decider.program.tables.curves.get(*curve)?;
                Some(along(curve))
            }
        }?;
        if figure.is_bounded() {
            return Some(figure);
        }
        told.push(Trouble::Large(node));
        None
    }

    fn arithmetic(
        &self,
        node: &'p Number,
        sum: Sum,
        sides: &'p [Number; 2],
        cases: &[Case],
        told: &mut Vec<Trouble<'p>>,
    ) -> Figure {
        let (left, right) = (
            self.number(&sides[0], cases, told),
            self.number(&sides[1], cases, told),
        );
        let (left, right) = (left?, right?);
        if sum == Sum::Divide && right.holds(Decimal::ZERO) {
            told.push(Trouble::Divisor(&sides[1], right));
            return None;
        }
        let range = left.combined(sum, &right);
        Some(match sum {
            Sum::Add | Sum::Subtract => {
                let known = self.in_all(cases, |case| self.decider.sum_range(node, case));
                range.both(&known)
            }
            Sum::Multiply | Sum::Divide => range,
        })
    }

    fn best(
        &self,
        first: &'p Number,
        rest: &'p [Number],
        cases: &[Case],
        told: &mut Vec<Trouble<'p>>,
        pick: fn(Range, Range) -> Range,
    ) -> Figure {
        let mut best = self.number(first, cases, told);
        for part in rest {
            let part = self.number(part, cases, told);
            best = best.zip(part).map(|(best, part)| pick(best, part));
        }
        best
    }

    /// A derived value: what it is on any job, and what more these cases tell.
    fn read(&self, slot: usize, node: &Number, cases: &[Case]) -> Figure {
        let anyhow = self.derived(slot)?;
        let closer = self.in_all(cases, |case| {
            self.decider.steps.set(STEPS);
            let known = case.number(Place::Derived(slot));
            self.decider.range(node, case).both(&known)
        });
        Some(anyhow.both(&closer))
    }

    fn derived(&self, slot: usize) -> Figure {
        let known = self.derived.borrow().get(slot).copied()?;
        if let Some(known) = known {
            return known;
        }
        let formula = &self.decider.program.derived.numbers.get(slot)?.formula;
        // What could have no result is told of the derived value itself.
        let mut told = Vec::new();
        let figure = self.number(&formula.tree, &[Case::default()], &mut told);
        let figure = figure.filter(|_| told.is_empty());
        if let Some(known) = self.derived.borrow_mut().get_mut(slot) {
            *known = Some(figure);
        }
        figure
    }

    fn in_all(&self, cases: &[Case], of: impl Fn(&Case) -> Range) -> Range {
        let ranges = cases.iter().map(of);
        ranges.reduce(|one, other| one.hull(&other)).unwrap_or_default()
    }

    /// The cases in which a condition holds and those in which it fails.
    fn condition(
        &self,
        condition: &'p Flag,
        cases: &[Case],
        told: &mut Vec<Trouble<'p>>,
    ) -> (Vec<Case>, Vec<Case>) {
        self.flag(condition, cases, told);
        (
            self.decider.where_holds(condition, cases.to_vec()),
            self.decider.where_fails(condition, cases.to_vec()),
        )
    }

    fn flag(&self, node: &'p Flag, cases: &[Case], told: &mut Vec<Trouble<'p>>) {
        if cases.is_empty() {
            return;
        }
        match &node.op {
            FlagOp::Logic(join, sides) => {
                let (held, failed) = self.condition(&sides[0], cases, told);
                // The right side is computed only where the left one leaves it open.
                let open = if *join == Join::And { held } else { failed };
                self.flag(&sides[1], &open, told);
            }
            FlagOp::If(parts) => {
                let (held, failed) = self.condition(&parts[0], cases, told);
                self.flag(&parts[1], &held, told);
                self.flag(&parts[2], &failed, told);
            }
            _ => {
                for part in Part::Flag(node).below() {
                    self.any(part, cases, told);
                }
            }
        }
    }

    fn choice(&self, node: &'p Choice, cases: &[Case], told: &mut Vec<Trouble<'p>>) {
        if cases.is_empty() {
            return;
        }
        match &node.op {
            ChoiceOp::If(condition, branches) => {
                let (held, failed) = self.condition(condition, cases, told);
                self.choice(&branches[0], &held, told);
                self.choice(&branches[1], &failed, told);
            }
            ChoiceOp::Cell(_, keys) => self.keys(keys, cases, told),
            ChoiceOp::Given(_) | ChoiceOp::Fact(_) | ChoiceOp::Derived(_) => {}
        }
    }

    fn keys(&self, keys: &'p [KeyValue], cases: &[Case], told: &mut Vec<Trouble<'p>>) {
        for key in keys {
            self.any(Part::key(key), cases, told);
        }
    }
}

/// What a curve can come to; without ends where two of its points are too far apart to be joined.
fn along(curve: &Curve) -> Range {
    let joined = |pair: &[Point]| match pair {
        [low, high] => {
            let rise = high.value.checked_sub(low.value)?;
            rise.checked_mul(high.at.checked_sub(low.at)?)
        }
        _ => Some(Decimal::ZERO),
    };
    let fits = |line: &Vec<Point>| line.windows(2).all(|pair| joined(pair).is_some());
    if !curve.lines.iter().all(fits) {
        return Range::ALL;
    }
    let points = curve.lines.iter().flatten();
    hull(points.map(|point| point.value).collect())
}

fn anything() -> Range {
    Range::closed(-LARGEST, LARGEST)
}

/// A measure that is above or below zero is so by something.
fn apart_from_zero(range: Range) -> Range {
    range.apart_from_zero(SMALLEST)
}
