//! Alternates: what each one moves, and what a choice of them comes to as one job.

use std::collections::HashSet;

use serde::{Deserialize, Serialize};
use serde_json::Value;
use thiserror::Error;

use super::approval::{discount_of, left_of};
use super::draft::Alternate;
use super::estimated::Estimated;
use super::moved::{Moved, MovedFault, MovedMoney};
use crate::quantity::Money;

/// An alternate with its own estimate.
#[derive(Debug, Clone, PartialEq)]
pub struct PricedAlternate {
    /// The alternate.
    pub alternate: Alternate,
    /// The base job with this one change.
    pub estimated: Estimated,
    /// What it moves against the base job.
    pub moved: Moved,
}

/// Why alternates have no price. `E` is the estimator's own fault.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AlternateFault<E> {
    /// The changed job cannot be estimated.
    #[error("alternate {name}: {fault}")]
    Estimate {
        /// Its name.
        name: String,
        /// Why.
        fault: E,
    },
    /// The chosen alternates together cannot be estimated.
    #[error("the chosen alternates together: {0}")]
    Combined(E),
    /// The offer has no such alternate.
    #[error("the offer has no alternate {0}")]
    Unknown(String),
    /// An alternate is chosen twice.
    #[error("alternate {0} is chosen twice")]
    Twice(String),
    /// Two estimates cannot be compared.
    #[error(transparent)]
    Moved(#[from] MovedFault),
}

/// Estimates every alternate on its own. `estimate` prices a request as it is written.
///
/// # Errors
/// A changed job cannot be estimated.
pub fn price_alternates<E>(
    request: &Value,
    base: &Estimated,
    alternates: &[Alternate],
    mut estimate: impl FnMut(&Value) -> Result<Estimated, E>,
) -> Result<Vec<PricedAlternate>, AlternateFault<E>> {
    let mut priced = Vec::with_capacity(alternates.len());
    for alternate in alternates {
        let changed = alternate.change.apply(request);
        let estimated = estimate(&changed).map_err(|fault| AlternateFault::Estimate {
            name: alternate.name.clone(),
            fault,
        })?;
        let moved = Moved::between(base, &estimated)?;
        priced.push(PricedAlternate {
            alternate: alternate.clone(),
            estimated,
            moved,
        });
    }
    Ok(priced)
}

/// Two alternates that set the same places of the job, each to something else.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clash {
    /// The alternate that is applied first.
    pub first: String,
    /// The alternate that is applied later, and wins.
    pub then: String,
    /// The places, as JSON Pointers into the request.
    pub places: Vec<String>,
}

/// A choice of alternates, estimated as one job.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// Names of the chosen alternates, in the order in which the offer lists them.
    pub chosen: Vec<String>,
    /// The base request with their changes made in that order.
    pub request: Value,
    /// The estimate of that request.
    pub estimated: Estimated,
    /// What it moves against the base job.
    pub moved: Moved,
    /// Chosen alternates that set the same places.
    pub clashes: Vec<Clash>,
    /// Where adding up the single differences would have gone astray.
    pub beyond: Beyond,
}

/// The combined job against the base job with every single difference added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Beyond {
    /// Before tax: `from` is the sum of differences, `to` the combined job.
    pub net: MovedMoney,
    /// With tax.
    pub total: MovedMoney,
}

impl Beyond {
    /// Whether the combined job costs what the single differences add up to.
    pub fn is_nothing(&self) -> bool {
        self.net.moved.is_zero() && self.total.moved.is_zero()
    }
}

/// The job with all those alternates in it that thin the margin or raise the discount and can be taken together, the
/// thinnest first: what the customer may choose that another person should have seen. None where there are not two, or
/// where together they have no price.
pub fn thinnest<E>(
    request: &Value,
    base: &Estimated,
    offered: &[PricedAlternate],
    estimate: impl FnMut(&Value) -> Result<Estimated, E>,
) -> Option<Estimated> {
    let shares = |estimated: &Estimated| {
        let totals = estimated.totals();
        (left_of(totals), discount_of(totals))
    };
    let (left, discount) = shares(base);
    let thins = |priced: &&PricedAlternate| {
        let (own_left, own_discount) = shares(&priced.estimated);
        own_left < left || own_discount > discount
    };
    let mut thin: Vec<&PricedAlternate> = offered.iter().filter(thins).collect();
    thin.sort_by_key(|priced| left_of(priced.estimated.totals()));
    let mut taken: Vec<&Alternate> = Vec::new();
    for alternate in thin.into_iter().map(|priced| &priced.alternate) {
        if taken.iter().all(|other| clashes([*other, alternate]).is_empty()) {
            taken.push(alternate);
        }
    }
    if taken.len() < 2 {
        return None;
    }
    let names: Vec<String> = taken.iter().map(|alternate| alternate.name.clone()).collect();
    let choice = choose(request, base, offered, &names, estimate).ok()?;
    Some(choice.estimated)
}

/// Estimates the job with the `chosen` alternates in it.
///
/// # Errors
/// An unknown name, a name twice, or a job that cannot be estimated.
pub fn choose<E>(
    request: &Value,
    base: &Estimated,
    offered: &[PricedAlternate],
    chosen: &[String],
    mut estimate: impl FnMut(&Value) -> Result<Estimated, E>,
) -> Result<Choice, AlternateFault<E>> {
    let taken = taken(offered, chosen)?;
    let changed = taken.iter().fold(request.clone(), |request, priced| {
        priced.alternate.change.apply(&request)
    });
    let estimated = if taken.is_empty() {
        base.clone()
    } else {
        estimate(&changed).map_err(AlternateFault::Combined)?
    };
    let moved = Moved::between(base, &estimated)?;
    let beyond = Beyond {
        net: beyond(moved.net, taken.iter().map(|priced| priced.moved.net.moved))?,
        total: beyond(moved.total, taken.iter().map(|priced| priced.moved.total.moved))?,
    };
    Ok(Choice {
        chosen: taken.iter().map(|priced| priced.alternate.name.clone()).collect(),
        request: changed,
        estimated,
        moved,
        clashes: clashes(taken.iter().map(|priced| &priced.alternate)),
        beyond,
    })
}

fn taken<'a, E>(
    offered: &'a [PricedAlternate],
    chosen: &[String],
) -> Result<Vec<&'a PricedAlternate>, AlternateFault<E>> {
    let mut wanted = HashSet::new();
    for name in chosen {
        if !offered.iter().any(|priced| priced.alternate.name == *name) {
            return Err(AlternateFault::Unknown(name.clone()));
        }
        if !wanted.insert(name.as_str()) {
            return Err(AlternateFault::Twice(name.clone()));
        }
    }
    Ok(offered
        .iter()
        .filter(|priced| wanted.contains(priced.alternate.name.as_str()))
        .collect())
}

fn beyond(combined: MovedMoney, singles: impl Iterator<Item = Money>) -> Result<MovedMoney, MovedFault> {
    let mut sum = combined.from;
    for moved in singles {
        sum = sum.plus(moved)?;
    }
    Ok(MovedMoney::between(sum, combined.to)?)
}

/// Pairs of alternates that set the same places of the job, each to something else: only one of a pair can be taken.
pub fn clashes<'a>(alternates: impl IntoIterator<Item = &'a Alternate>) -> Vec<Clash> {
    let taken: Vec<&Alternate> = alternates.into_iter().collect();
    let mut found = Vec::new();
    for (index, first) in taken.iter().enumerate() {
        for then in taken.iter().skip(index + 1) {
            let places = first.change.clashes(&then.change);
            if !places.is_empty() {
                found.push(Clash {
                    first: first.name.clone(),
                    then: then.name.clone(),
                    places,
                });
            }
        }
    }
    found
}
