//! Conditions that hold on every job or on none, though they seem to ask something.
//!
//! `mounting = flush and mounting = exposed` never holds; `mounting <> flush or mounting <> exposed`
//! always does: both are usual slips for the other joining word. What a condition asks of one fact is
//! gathered along a chain of `and` (for `or`, of what would make it fail), and is empty or not.

use super::super::formula::{Compare, Join};
use super::super::program::{Choice, ChoiceOp, Flag, FlagOp, Number, NumberOp};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// Whether a condition has the same answer on every job, as far as can be seen without running it.
pub(super) fn always(flag: &Flag) -> Option<bool> {
    match &flag.op {
        FlagOp::Given(value) => Some(*value),
        FlagOp::Not(part) => always(part).map(|value| !value),
        FlagOp::Logic(join, sides) => {
            let (left, right) = (always(&sides[0]), always(&sides[1]));
            // One false side settles `and`, one true side settles `or`.
            let settling = *join == Join::Or;
            if left == Some(settling) || right == Some(settling) {
                return Some(settling);
            }
            if left.is_some() && right.is_some() {
                return Some(!settling);
            }
            let mut demands = Demands::default();
            demands.gather(flag, *join, !settling);
            demands.contradict().then_some(settling)
        }
        FlagOp::If(parts) => match always(&parts[0])? {
            true => always(&parts[1]),
            false => always(&parts[2]),
        },
        _ => None,
    }
}

/// What must be so for every part of a chain to hold (or, for a chain of `or`, to fail).
#[derive(Default)]
struct Demands {
    words: BTreeMap<usize, Words>,
    numbers: BTreeMap<usize, Range>,
}

/// What is asked of a choice: to be each of some words, and none of others.
#[derive(Default)]
struct Words {
    is: BTreeSet<u16>,
    is_not: BTreeSet<u16>,
}

/// What is asked of a number: ends, each with whether the end itself is meant too.
#[derive(Default)]
struct Range {
    low: Option<(Decimal, bool)>,
    high: Option<(Decimal, bool)>,
}

impl Demands {
    /// Gathers from the parts of a chain, each of which must come out as `wanted`.
    fn gather(&mut self, flag: &Flag, chain: Join, wanted: bool) {
        match &flag.op {
            FlagOp::Logic(join, sides) if *join == chain => {
                self.gather(&sides[0], chain, wanted);
                self.gather(&sides[1], chain, wanted);
            }
            FlagOp::SameWord(same, sides) => {
                if let Some((slot, word)) = asked_word(&sides[0], &sides[1]) {
                    let words = self.words.entry(slot).or_default();
                    let list = if *same == wanted {
                        &mut words.is
                    } else {
                        &mut words.is_not
                    };
                    list.insert(word);
                }
            }
            FlagOp::Compare(compare, sides) => {
                if let Some((slot, compare, end)) = asked_end(*compare, &sides[0], &sides[1]) {
                    let compare = if wanted { compare } else { opposite(compare) };
                    self.numbers.entry(slot).or_default().narrow(compare, end);
                }
            }
            _ => {}
        }
    }

    fn contradict(&self) -> bool {
        let words =
            |asked: &Words| asked.is.len() > 1 || asked.is.intersection(&asked.is_not).next().is_some();
        self.words.values().any(words) || self.numbers.values().any(Range::is_empty)
    }
}

impl Range {
    fn narrow(&mut self, compare: Compare, end: Decimal) {
        let low = match compare {
            Compare::More => Some((end, false)),
            Compare::AtLeast | Compare::Equal => Some((end, true)),
            _ => None,
        };
        let high = match compare {
            Compare::Less => Some((end, false)),
            Compare::AtMost | Compare::Equal => Some((end, true)),
            _ => None,
        };
        // Of two equal ends, the one that leaves out the end itself is the narrower.
        if let Some(low) = low
            && self
                .low
                .is_none_or(|known| low.0 > known.0 || (low.0 == known.0 && !low.1))
        {
            self.low = Some(low);
        }
        if let Some(high) = high
            && self
                .high
                .is_none_or(|known| high.0 < known.0 || (high.0 == known.0 && !high.1))
        {
            self.high = Some(high);
        }
    }

    fn is_empty(&self) -> bool {
        match (self.low, self.high) {
            (Some((low, with_low)), Some((high, with_high))) => {
                low > high || (low == high && !(with_low && with_high))
            }
            _ => false,
        }
    }
}

fn asked_word(left: &Choice, right: &Choice) -> Option<(usize, u16)> {
    match (&left.op, &right.op) {
        (ChoiceOp::Fact(slot), ChoiceOp::Given(word)) | (ChoiceOp::Given(word), ChoiceOp::Fact(slot)) => {
            Some((*slot, *word))
        }
        _ => None,
    }
}

/// A fact against a number, the fact on the left.
fn asked_end(compare: Compare, left: &Number, right: &Number) -> Option<(usize, Compare, Decimal)> {
    match (&left.op, &right.op) {
        (NumberOp::Fact(slot), NumberOp::Given(end)) => Some((*slot, compare, *end)),
        (NumberOp::Given(end), NumberOp::Fact(slot)) => Some((*slot, turned(compare), *end)),
        _ => None,
    }
}

fn turned(compare: Compare) -> Compare {
    match compare {
        Compare::Less => Compare::More,
        Compare::AtMost => Compare::AtLeast,
        Compare::More => Compare::Less,
        Compare::AtLeast => Compare::AtMost,
        same => same,
    }
}

fn opposite(compare: Compare) -> Compare {
    match compare {
        Compare::Equal => Compare::Unequal,
        Compare::Unequal => Compare::Equal,
        Compare::Less => Compare::AtLeast,
        Compare::AtMost => Compare::More,
        Compare::More => Compare::AtMost,
        Compare::AtLeast => Compare::Less,
    }
}
