//! Where something jumps between two neighbours, narrowed down by halving.

use rust_decimal::Decimal;
use serde::Serialize;
use serde_json::Value;

use super::ask::Sort;
use super::features::Sizes;
use super::point::{Outcome, Tried};
use crate::quantity::{Money, Quantity};
use crate::quote::moved::FromTo;

/// A place at which something jumps.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Break {
    /// The answer along which it was found.
    pub answer: String,
    /// The value of the other varied answer, where there are two.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub other: Option<Value>,
    /// The last value before.
    pub from: Value,
    /// The first value behind.
    pub to: Value,
    /// Whether the two are as near to one another as was asked for, or as the answer's last decimal tells them apart;
    /// else there may be more than one break between.
    pub exact: bool,
    /// The price before tax on both sides, where both could be priced.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub net: Option<FromTo<Money>>,
    /// The hours on both sides likewise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<FromTo<Quantity>>,
    /// What jumps, stops first.
    pub jumps: Vec<Jump>,
}

/// Something that jumps.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Jump {
    /// What sort of thing.
    pub what: What,
    /// The line's key, the name of the fact or of the derived value, or the code of a stop.
    pub name: String,
    /// What it is, in words.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub description: String,
    /// Before; absent where it was not there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub before: Option<String>,
    /// Behind; absent where it is not there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

/// The sorts of things that jump.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// The class of unit, or how many.
    Unit,
    /// A size: of wire, tube, breaker, insulation, screw.
    Size,
    /// What the rules count in wholes: working days.
    Count,
    /// The packs that a line buys.
    Packs,
    /// A line that comes or goes.
    Line,
    /// A stop that comes or goes.
    Stop,
    /// Whether there is an estimate at all.
    Estimate,
}

impl Jump {
    pub(super) fn new(
        what: What,
        name: &str,
        description: &str,
        before: Option<String>,
        after: Option<String>,
    ) -> Self {
        Self {
            what,
            name: name.to_owned(),
            description: description.to_owned(),
            before,
            after,
        }
    }
}

/// The gap between two neighbours along an answer.
pub(super) struct Gap<'a> {
    pub(super) answer: &'a str,
    pub(super) other: Option<&'a Value>,
    pub(super) sort: Sort,
    pub(super) resolution: Decimal,
    pub(super) sizes: &'a Sizes,
    /// So many estimates may be made to narrow its breaks down.
    pub(super) allowance: usize,
}

impl Gap<'_> {
    /// The breaks between two values, in order. `make` estimates the job at a value.
    pub(super) fn breaks(
        &self,
        low: (Decimal, &Tried),
        high: (Decimal, &Tried),
        make: impl Fn(Decimal) -> Tried,
    ) -> Vec<Break> {
        let mut left = self.allowance;
        let mut found = Vec::new();
        self.narrow(low, high, &make, &mut left, &mut found);
        found
    }

    fn narrow(
        &self,
        low: (Decimal, &Tried),
        high: (Decimal, &Tried),
        make: &impl Fn(Decimal) -> Tried,
        left: &mut usize,
        found: &mut Vec<Break>,
    ) {
        if low.1.features == high.1.features {
            return;
        }
        let middle = self.middle(low.0, high.0);
        match middle.filter(|_| *left > 0) {
            Some(middle) => {
                *left -= 1;
                let tried = make(middle);
                self.narrow(low, (middle, &tried), make, left, found);
                self.narrow((middle, &tried), high, make, left, found);
            }
            None => found.push(self.one(low, high, middle.is_none())),
        }
    }

    /// A value between two, a whole number of resolutions above the lower one; nothing where they are neighbours.
    fn middle(&self, low: Decimal, high: Decimal) -> Option<Decimal> {
        let steps = (high - low).checked_div(self.resolution)?;
        let half = (steps / Decimal::TWO).trunc();
        let half = if half.is_zero() && steps > Decimal::ONE {
            Decimal::ONE
        } else {
            half
        };
        if half.is_zero() {
            return None;
        }
        low.checked_add(half.checked_mul(self.resolution)?)
    }

    fn one(&self, low: (Decimal, &Tried), high: (Decimal, &Tried), exact: bool) -> Break {
        let both = match (&low.1.outcome, &high.1.outcome) {
            (
                Outcome::Priced { net, hours, .. },
                Outcome::Priced {
                    net: net_after,
                    hours: hours_after,
                    ..
                },
            ) => Some(((*net, *net_after), (*hours, *hours_after))),
            _ => None,
        };
        Break {
            answer: self.answer.to_owned(),
            other: self.other.cloned(),
            from: self.sort.answer(low.0),
            to: self.sort.answer(high.0),
            exact,
            net: both.map(|((from, to), _)| FromTo { from, to }),
            hours: both.map(|(_, (from, to))| FromTo { from, to }),
            jumps: low.1.features.jumps(&high.1.features, self.sizes),
        }
    }
}
