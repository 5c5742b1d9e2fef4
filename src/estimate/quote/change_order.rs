//! Change orders: additions to and omissions from a contract, priced as the difference they make to it.
//!
//! A contract is what was accepted: the offer, and after it the accepted change orders in their order. A
//! change order is a change of the contract's request, estimated as one job by the contract's own rulebook,
//! prices and policy, so that nothing moves but what the change moves.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use thiserror::Error;

use super::acceptance::Acceptance;
use super::canonical::Digest;
use super::change::Change;
use super::draft::{ChangeOrder, Draft};
use super::estimated::{EstimateShape, Estimated};
use super::moved::{Moved, MovedFault};
use super::number::RevisionName;
use super::revision::{Issue, Revision, RevisionFault, made_from};
use crate::quantity::Money;

/// What stands under contract.
#[derive(Debug, Clone, PartialEq)]
pub struct Contract {
    request: Value,
    estimated: Estimated,
    /// Digest of the newest acceptance.
    digest: Digest,
    original: Money,
    changes: Vec<AcceptedChange>,
}

/// A change order that was accepted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AcceptedChange {
    /// Its name.
    pub name: RevisionName,
    /// What it moved, with tax.
    pub moved: Money,
    /// The contract after it, with tax.
    pub total: Money,
}

/// What a frozen change order says of the contract that it changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FrozenChange {
    /// What the customer reads.
    pub title: String,
    /// Digest of the acceptance that it builds on.
    pub contract: Digest,
    /// What it does to the contract's request.
    pub change: Change,
    /// The contract before it, before tax.
    pub net_before: Money,
    /// The contract before it, with tax.
    pub total_before: Money,
}

/// A change order with its price.
#[derive(Debug, Clone, PartialEq)]
pub struct PricedChange {
    /// The contract's request with the change made to it.
    pub request: Value,
    /// Its estimate: the revised contract.
    pub estimated: Estimated,
    /// The price of the change: what it moves. Additions are above nothing, omissions below.
    pub moved: Moved,
}

/// Why there is no contract.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ContractFault {
    /// An estimate does not hold together.
    #[error(transparent)]
    Estimate(#[from] EstimateShape),
    /// Two estimates cannot be compared.
    #[error(transparent)]
    Moved(#[from] MovedFault),
    /// The first acceptance is of a change order, or a later one is not.
    #[error("{0} does not stand where it should: first the offer, then its change orders")]
    Order(String),
    /// A change order that was priced on another state of the contract.
    #[error("{0} was priced before the contract changed; price it anew")]
    Overtaken(String),
}

impl Contract {
    /// The contract that an accepted offer makes.
    ///
    /// # Errors
    /// The acceptance is of a change order, or its estimate does not hold together.
    pub fn new(offer: &Acceptance, digest: Digest) -> Result<Self, ContractFault> {
        if offer.name.change_order.is_some() {
            return Err(ContractFault::Order(offer.name.to_string()));
        }
        let estimated = offer.estimated()?;
        Ok(Self {
            request: offer.request.clone(),
            original: estimated.totals().total,
            estimated,
            digest,
            changes: Vec::new(),
        })
    }

    /// The contract after an accepted change order: `revision` is what was offered, `acceptance` its record
    /// and `digest` that record's digest.
    ///
    /// # Errors
    /// It is no change order of this contract as it stands.
    pub fn with(
        mut self,
        revision: &Revision,
        acceptance: &Acceptance,
        digest: Digest,
    ) -> Result<Self, ContractFault> {
        let name = &revision.name;
        let Some(change) = revision.change.as_ref().filter(|_| acceptance.name == *name) else {
            return Err(ContractFault::Order(name.to_string()));
        };
        if change.contract != self.digest {
            return Err(ContractFault::Overtaken(name.to_string()));
        }
        let estimated = acceptance.estimated()?;
        let moved = Moved::between(&self.estimated, &estimated)?;
        self.changes.push(AcceptedChange {
            name: name.clone(),
            moved: moved.total.moved,
            total: moved.total.to,
        });
        self.request = acceptance.request.clone();
        self.estimated = estimated;
        self.digest = digest;
        Ok(self)
    }

    /// The request under contract.
    pub fn request(&self) -> &Value {
        &self.request
    }

    /// Its estimate.
    pub fn estimated(&self) -> &Estimated {
        &self.estimated
    }

    /// The offer's total as accepted, with tax.
    pub fn original(&self) -> Money {
        self.original
    }

    /// The accepted change orders, in order. What they moved adds up from [`Contract::original`] to
    /// [`Contract::total`].
    pub fn changes(&self) -> &[AcceptedChange] {
        &self.changes
    }

    /// The contract total as it stands, with tax.
    pub fn total(&self) -> Money {
        self.estimated.totals().total
    }

    /// Prices a change. `estimate` prices a request from the contract's own rulebook, prices and policy.
    ///
    /// # Errors
    /// What `estimate` fails with; two estimates that cannot be compared.
    pub fn price<E: From<MovedFault>>(
        &self,
        change: &Change,
        mut estimate: impl FnMut(&Value) -> Result<Estimated, E>,
    ) -> Result<PricedChange, E> {
        let request = change.apply(&self.request);
        let estimated = estimate(&request)?;
        let moved = Moved::between(&self.estimated, &estimated)?;
        Ok(PricedChange {
            request,
            estimated,
            moved,
        })
    }
}

impl ChangeOrder {
    /// Makes the revision to freeze: the revised contract, and what the change is of it.
    ///
    /// # Errors
    /// As [`Revision::new`]; the contract was made from other rules, prices or another policy, so that the
    /// difference would not be the change's alone.
    pub fn revision(
        &self,
        issue: Issue,
        contract: &Contract,
        priced: &PricedChange,
    ) -> Result<Revision, RevisionFault> {
        made_from(&contract.estimated, &issue.made_from)?;
        let content = Draft {
            request: priced.request.clone(),
            alternates: Vec::new(),
            exclusions: self.exclusions.clone(),
            wording: self.wording.clone(),
            validity_days: None,
        };
        let before = contract.estimated.totals();
        let change = FrozenChange {
            title: self.title.clone(),
            contract: contract.digest,
            change: self.change.clone(),
            net_before: before.net,
            total_before: before.total,
        };
        Revision::of_change(issue, &content, &priced.estimated, change)
    }
}
