//! Why a price moved: the money moved by each cause, which adds up to the whole difference.
//!
//! The job is estimated again and again, each time with one more of its inputs taken from the new side. A
//! step's share is the difference between two neighbours of that chain, and the ends of the chain are the two
//! estimates themselves, so the shares add up whatever the estimates say.

use serde::{Serialize, Serializer};

use super::estimated::Estimated;
use super::moved::{MovedFault, MovedHours, MovedMoney, moved_hours, same_currency};

/// What can move a price.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// The job spec.
    Job,
    /// Lines put in by hand, overrides and the discount.
    ByHand,
    /// The rulebook.
    Rulebook,
    /// Prices, rates, items and equipment.
    Prices,
    /// The policy: overhead, profit, tax, rounding.
    Policy,
    /// The program: the same inputs give other figures than those that were stored.
    Program,
}

/// The inputs in the order in which they are exchanged.
const ORDER: [Cause; 5] = [
    Cause::Job,
    Cause::ByHand,
    Cause::Rulebook,
    Cause::Prices,
    Cause::Policy,
];

/// From which side an input is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// The older estimate.
    Old,
    /// The newer one.
    New,
}

/// Which inputs an estimate on the way is made from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Mix {
    /// The job spec.
    pub job: Side,
    /// Manual lines, overrides and discount.
    pub by_hand: Side,
    /// The rulebook.
    pub rulebook: Side,
    /// Catalogue and day.
    pub prices: Side,
    /// The policy.
    pub policy: Side,
}

impl Mix {
    /// The mix with the first `exchanged` inputs of the order taken from the new side.
    fn after(exchanged: usize) -> Self {
        let side = |place: usize| if place < exchanged { Side::New } else { Side::Old };
        Self {
            job: side(0),
            by_hand: side(1),
            rulebook: side(2),
            prices: side(3),
            policy: side(4),
        }
    }
}

/// Which inputs differ between the two sides. One that does not is no cause, and is not tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Differing {
    /// The job spec.
    pub job: bool,
    /// Manual lines, overrides or discount.
    pub by_hand: bool,
    /// The rulebook.
    pub rulebook: bool,
    /// Catalogue or day.
    pub prices: bool,
    /// The policy.
    pub policy: bool,
}

impl Differing {
    fn has(self, cause: Cause) -> bool {
        match cause {
            Cause::Job => self.job,
            Cause::ByHand => self.by_hand,
            Cause::Rulebook => self.rulebook,
            Cause::Prices => self.prices,
            Cause::Policy => self.policy,
            Cause::Program => true,
        }
    }
}

/// One step: what moved, and by what.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    /// The cause; several where the job could not be estimated between them, such as a new job that the old
    /// rulebook has no answer to.
    pub causes: Vec<Cause>,
    /// Before tax.
    pub net: MovedMoney,
    /// With tax.
    pub total: MovedMoney,
    /// Labour hours.
    pub hours: MovedHours,
}

/// The chain of estimates from the old to the new one. Steps in which nothing moved are left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Causes {
    steps: Vec<Step>,
}

impl Causes {
    /// Walks from `old` to `new`. `estimate` makes the job of a mix, or says by `None` that this mix cannot be
    /// estimated; its cause is then told together with the next.
    ///
    /// # Errors
    /// The currencies differ or a difference does not fit. What `estimate` fails with otherwise comes back.
    pub fn walk<E: From<MovedFault>>(
        old: &Estimated,
        new: &Estimated,
        differing: Differing,
        mut estimate: impl FnMut(Mix) -> Result<Option<Estimated>, E>,
    ) -> Result<Self, E> {
        let currency = old.figures().currency;
        same_currency(currency, new.figures().currency)?;
        let mut chain = Chain {
            at: old.clone(),
            pending: Vec::new(),
            steps: Vec::new(),
        };
        chain.step(Cause::Program, estimate(Mix::after(0))?)?;
        for (place, cause) in ORDER
            .into_iter()
            .enumerate()
            .filter(|(_, cause)| differing.has(*cause))
        {
            chain.step(cause, estimate(Mix::after(place + 1))?)?;
        }
        chain.step(Cause::Program, Some(new.clone()))?;
        Ok(Self { steps: chain.steps })
    }

    /// The steps, in order. Their differences add up to that of the two estimates.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }
}

impl Serialize for Causes {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.steps.serialize(serializer)
    }
}

struct Chain {
    at: Estimated,
    pending: Vec<Cause>,
    steps: Vec<Step>,
}

impl Chain {
    fn step(&mut self, cause: Cause, next: Option<Estimated>) -> Result<(), MovedFault> {
        let Some(next) = next else {
            self.pending.push(cause);
            return Ok(());
        };
        let (before, after) = (self.at.totals(), next.totals());
        let net = MovedMoney::between(before.net, after.net)?;
        let total = MovedMoney::between(before.total, after.total)?;
        let hours = moved_hours(before.hours, after.hours)?;
        let mut causes = std::mem::take(&mut self.pending);
        causes.push(cause);
        causes.sort_unstable();
        causes.dedup();
        if !(net.moved.is_zero() && total.moved.is_zero() && hours.moved.value.is_zero()) {
            self.steps.push(Step {
                causes,
                net,
                total,
                hours,
            });
        }
        self.at = next;
        Ok(())
    }
}
