//! Acceptance: which alternates the customer took, under what order, and what the whole then comes to.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use thiserror::Error;

use super::alternates::{AlternateFault, Choice, Clash, PricedAlternate, choose, clashes};
use super::canonical::{CanonicalFault, Digest, Frozen};
use super::estimated::{EstimateShape, Estimated};
use super::number::RevisionName;
use super::revision::{FORMAT, Revision, RevisionFault, checked, issuable, made_from};

/// The customer's word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// Who accepted on the customer's side.
    pub accepted_by: String,
    /// Their reference, such as the number of a purchase order.
    pub reference: Option<String>,
    /// Names of the alternates that they chose.
    pub chosen: Vec<String>,
    /// When it was recorded.
    pub at: DateTime<Utc>,
    /// Who recorded it.
    pub recorded_by: String,
}

/// The record of an acceptance. Its canonical JSON is stored once, as that of a revision.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Acceptance {
    /// Version of the document's shape.
    pub format: u32,
    /// The revision that was accepted.
    pub name: RevisionName,
    /// Its digest.
    pub revision: Digest,
    /// Who accepted on the customer's side.
    pub accepted_by: String,
    /// Their reference.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
    /// Names of the chosen alternates, in the order of the offer.
    pub chosen: Vec<String>,
    /// When it was recorded.
    pub at: DateTime<Utc>,
    /// Who recorded it.
    pub recorded_by: String,
    /// Chosen alternates that set the same places of the job; none since they cannot be accepted together.
    pub clashes: Vec<Clash>,
    /// What was accepted: the base request with the chosen changes in it.
    pub request: Value,
    /// The estimate of that request: its totals are the accepted ones.
    pub estimate: Value,
}

/// Why an acceptance cannot be recorded.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AcceptanceFault<E> {
    /// The choice has no price.
    #[error(transparent)]
    Choice(#[from] AlternateFault<E>),
    /// Chosen alternates set the same places, each to something else.
    #[error("alternates were chosen that cannot be taken together")]
    Clash(Vec<Clash>),
    /// The revision or its record does not hold.
    #[error(transparent)]
    Revision(#[from] RevisionFault),
}

impl Acceptance {
    /// Prices the customer's choice as one job and makes the record. `estimate` prices a request from
    /// `revision.made_from`, so that the accepted totals are made by the rules and prices that were offered.
    ///
    /// # Errors
    /// A name that is not on offer, alternates that clash, a combined job that cannot be estimated or that a stop stands in.
    pub fn new<E>(
        revision: &Revision,
        digest: Digest,
        word: Word,
        estimate: impl FnMut(&Value) -> Result<Estimated, E>,
    ) -> Result<(Self, Choice), AcceptanceFault<E>> {
        let base = revision.estimated().map_err(RevisionFault::Estimate)?;
        let offered = revision
            .alternates
            .iter()
            .map(|offered| offered.priced(&base))
            .collect::<Result<Vec<PricedAlternate>, _>>()?;
        let chosen = offered.iter().map(|offered| &offered.alternate);
        let clashing = clashes(chosen.filter(|alternate| word.chosen.contains(&alternate.name)));
        if !clashing.is_empty() {
            return Err(AcceptanceFault::Clash(clashing));
        }
        let choice = choose(&revision.request, &base, &offered, &word.chosen, estimate)?;
        issuable(&choice.estimated)?;
        made_from(&choice.estimated, &revision.made_from)?;
        let record = Self {
            format: FORMAT,
            name: revision.name.clone(),
            revision: digest,
            accepted_by: word.accepted_by,
            reference: word.reference,
            chosen: choice.chosen.clone(),
            at: word.at,
            recorded_by: word.recorded_by,
            clashes: choice.clashes.clone(),
            request: choice.request.clone(),
            estimate: choice.estimated.tree().clone(),
        };
        Ok((record, choice))
    }

    /// The bytes to store and their digest.
    ///
    /// # Errors
    /// A number that is not whole stands in it.
    pub fn freeze(&self) -> Result<Frozen, CanonicalFault> {
        Frozen::of(self)
    }

    /// Reads a stored record whose digest was kept beside it.
    ///
    /// # Errors
    /// As [`Revision::read`].
    pub fn read(bytes: &[u8], kept: Digest) -> Result<Self, RevisionFault> {
        let tree = checked(bytes, kept)?;
        serde_json::from_value(tree).map_err(|fault| RevisionFault::Unreadable(fault.to_string()))
    }

    /// The accepted estimate with its figures.
    ///
    /// # Errors
    /// It does not hold together.
    pub fn estimated(&self) -> Result<Estimated, EstimateShape> {
        Estimated::read(self.estimate.clone())
    }
}
