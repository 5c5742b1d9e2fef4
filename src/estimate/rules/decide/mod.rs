//! Which jobs a condition holds on, worked out over choices and bounds and not by trying jobs.
//!
//! In: a program, and conditions of it. Out: the cases in which they can hold; none means that they hold on no
//! job. Derived values and tables are followed to the facts that they come from. What cannot be followed counts
//! as possible: a condition that is told never to hold never does, but not every such condition is found.

mod case;
mod figures;
mod linear;
mod numbers;
mod range;
mod reckoning;
mod words;

use super::formula::{Compare, Join};
use super::program::{Choice, Curve, Flag, FlagOp, Grid, KeyValue, Number, Program};
use crate::quantity::fact::WordNumber;
use case::Allowed;
pub(super) use case::Case;
pub(super) use figures::{Figures, Trouble};
pub(super) use range::Range;
use rust_decimal::Decimal;
use std::cell::Cell;

/// How many steps are taken for one question; then what is left counts as possible.
const STEPS: u32 = 20_000;
/// The most cases that are kept apart.
const MOST_CASES: usize = 48;

/// Answers questions about the conditions of one program.
pub(super) struct Decider<'p> {
    program: &'p Program,
    steps: Cell<u32>,
}

impl<'p> Decider<'p> {
    pub(super) fn new(program: &'p Program) -> Self {
        Self {
            program,
            steps: Cell::new(STEPS),
        }
    }

    /// Of these cases, what is left where the condition holds.
    pub(super) fn where_holds(&self, condition: &Flag, cases: Vec<Case>) -> Vec<Case> {
        self.steps.set(STEPS);
        self.flag(condition, true, cases)
    }

    /// Of these cases, what is left where the condition does not hold.
    pub(super) fn where_fails(&self, condition: &Flag, cases: Vec<Case>) -> Vec<Case> {
        self.steps.set(STEPS);
        self.flag(condition, false, cases)
    }

    /// Whether the condition holds on every job of these cases.
    pub(super) fn always_holds(&self, condition: &Flag, cases: Vec<Case>) -> bool {
        self.where_fails(condition, cases).is_empty()
    }

    /// Of this case, what is left where the choice is this word.
    pub(super) fn where_chosen(&self, choice: &Choice, word: WordNumber, case: Case) -> Vec<Case> {
        self.steps.set(STEPS);
        let place = word.place();
        let mut allowed = vec![false; place + 1];
        if let Some(last) = allowed.last_mut() {
            *last = true;
        }
        self.choice(choice, Allowed::only(&allowed), case)
    }

    /// Which words the choice can be, by their numbers.
    pub(super) fn possible_words(&self, choice: &Choice) -> Vec<WordNumber> {
        self.steps.set(STEPS);
        let possible = self.words(choice, &Case::default());
        let places = possible.iter().enumerate();
        places
            .filter(|(_, possible)| **possible)
            .map(|(place, _)| WordNumber::at(place))
            .collect()
    }

    /// Of the bands of a table's key between `ends`, which ones it may lead to in these cases.
    pub(super) fn reached_bands(&self, key: &KeyValue, ends: &[Decimal], cases: &[Case]) -> Vec<bool> {
        self.steps.set(STEPS);
        let mut reached = vec![false; ends.len() + 1];
        for case in cases {
            let bands = self.bands(key, ends, case);
            reached
                .iter_mut()
                .zip(bands)
                .for_each(|(known, now)| *known |= now);
        }
        reached
    }

    /// The ends of a curve where the number may lie beyond them in one of these cases.
    pub(super) fn beyond(
        &self,
        curve: &Curve,
        keys: &[KeyValue],
        at: &Number,
        cases: &[Case],
    ) -> Option<(Decimal, Decimal)> {
        self.steps.set(STEPS);
        let lines: Vec<usize> = (0..curve.lines.len()).collect();
        for case in cases {
            let range = self.range(at, case);
            for line in self.values(&curve.grid, keys, &lines, case) {
                let points = curve.lines.get(line).map(Vec::as_slice).unwrap_or_default();
                let (first, last) = (points.first()?.at, points.last()?.at);
                if !range.lies_within(first, last) {
                    return Some((first, last));
                }
            }
        }
        None
    }

    /// The values of all rows of a table that the keys can lead to in this case.
    fn rows_of<V: Copy>(&self, grid: &Grid, keys: &[KeyValue], values: &[V], case: &Case) -> Vec<V> {
        self.steps.set(STEPS);
        self.values(grid, keys, values, case)
    }

    /// Counts a step; false when no more may be taken.
    fn step(&self) -> bool {
        let left = self.steps.get();
        self.steps.set(left.saturating_sub(1));
        left > 0
    }

    /// Of these cases, what is left where the condition comes out as `wanted`.
    fn flag(&self, node: &Flag, wanted: bool, cases: Vec<Case>) -> Vec<Case> {
        if cases.is_empty() || !self.step() {
            return cases;
        }
        match &node.op {
            FlagOp::Given(value) if *value == wanted => cases,
            FlagOp::Given(_) => Vec::new(),
            FlagOp::Fact(fact) => cases
                .into_iter()
                .filter_map(|case| case.with_flag(*fact, wanted))
                .collect(),
            FlagOp::Derived(slot) => match self.program.derived.flags.get(*slot) {
                Some(derived) => self.flag(&derived.formula.tree, wanted, cases),
                None => cases,
            },
            FlagOp::Not(part) => self.flag(part, !wanted, cases),
            FlagOp::Logic(join, sides) if (*join == Join::And) == wanted => {
                let left = self.flag(&sides[0], wanted, cases);
                self.flag(&sides[1], wanted, left)
            }
            FlagOp::Logic(_, sides) => either(
                cases,
                |cases| self.flag(&sides[0], wanted, cases),
                |cases| self.flag(&sides[1], wanted, cases),
            ),
            FlagOp::Compare(compare, sides) => {
                let compare = if wanted { *compare } else { compare.opposite() };
                each(cases, |case| self.compare(compare, &sides[0], &sides[1], case))
            }
            FlagOp::SameWord(same, sides) => each(cases, |case| {
                self.same_word(*same == wanted, &sides[0], &sides[1], case)
            }),
            FlagOp::SameFlag(same, sides) => {
                let second = |first: bool| if *same == wanted { first } else { !first };
                let with = |first: bool, cases: Vec<Case>| {
                    self.flag(&sides[1], second(first), self.flag(&sides[0], first, cases))
                };
                either(cases, |cases| with(true, cases), |cases| with(false, cases))
            }
            FlagOp::If(parts) => self.branches(
                &parts[0],
                cases,
                |cases| self.flag(&parts[1], wanted, cases),
                |cases| self.flag(&parts[2], wanted, cases),
            ),
            FlagOp::Cell(table, keys) => match self.program.tables.flags.get(*table) {
                Some(table) => each(cases, |case| {
                    self.cells(
                        &table.grid,
                        keys,
                        |row| table.values.get(row) == Some(&wanted),
                        case,
                    )
                }),
                None => cases,
            },
        }
    }

    /// What is left in either branch.
    fn branches(
        &self,
        condition: &Flag,
        cases: Vec<Case>,
        yes: impl FnOnce(Vec<Case>) -> Vec<Case>,
        no: impl FnOnce(Vec<Case>) -> Vec<Case>,
    ) -> Vec<Case> {
        either(
            cases,
            |cases| yes(self.flag(condition, true, cases)),
            |cases| no(self.flag(condition, false, cases)),
        )
    }

    fn compare(&self, compare: Compare, left: &Number, right: &Number, case: Case) -> Vec<Case> {
        if compare == Compare::Unequal {
            return either(
                vec![case],
                |cases| each(cases, |case| self.compare(Compare::Less, left, right, case)),
                |cases| each(cases, |case| self.compare(Compare::More, left, right, case)),
            );
        }
        let beside = Range::that(compare, Range::point(Decimal::ZERO));
        let Some(case) = self.difference(left, right, beside, case) else {
            return Vec::new();
        };
        let others = self.range(right, &case);
        let cases = self.number(left, Range::that(compare, others), case);
        each(cases, |case| {
            let others = self.range(left, &case);
            self.number(right, Range::that(compare.mirrored(), others), case)
        })
    }

    fn same_word(&self, same: bool, left: &Choice, right: &Choice, case: Case) -> Vec<Case> {
        let (mine, theirs) = (self.words(left, &case), self.words(right, &case));
        if same {
            let cases = self.choice(left, Allowed::only(&theirs), case);
            return each(cases, |case| {
                let mine = self.words(left, &case);
                self.choice(right, Allowed::only(&mine), case)
            });
        }
        // Only a side with one word rules a word out for the other.
        let all_but = |words: &[bool]| -> Option<Vec<bool>> {
            let one = words.iter().filter(|possible| **possible).count() == 1;
            one.then(|| words.iter().map(|possible| !possible).collect())
        };
        match (all_but(&theirs), all_but(&mine)) {
            (Some(words), _) => self.choice(
                left,
                Allowed {
                    words: &words,
                    beyond: true,
                },
                case,
            ),
            (None, Some(words)) => self.choice(
                right,
                Allowed {
                    words: &words,
                    beyond: true,
                },
                case,
            ),
            (None, None) => vec![case],
        }
    }
}

/// What is left of each case.
fn each(cases: Vec<Case>, left: impl Fn(Case) -> Vec<Case>) -> Vec<Case> {
    if let [_] = cases.as_slice() {
        return cases.into_iter().flat_map(left).collect();
    }
    let before = cases.clone();
    let after: Vec<Case> = cases.into_iter().flat_map(left).collect();
    if after.len() > MOST_CASES { before } else { after }
}

/// What is left one way or the other: all of the cases where that would be too many.
fn either(
    cases: Vec<Case>,
    one: impl FnOnce(Vec<Case>) -> Vec<Case>,
    other: impl FnOnce(Vec<Case>) -> Vec<Case>,
) -> Vec<Case> {
    let mut left = one(cases.clone());
    left.extend(other(cases.clone()));
    left.dedup();
    if left.len() > MOST_CASES { cases } else { left }
}
