//! The frozen document of an issued revision: everything that made it and everything that came of it.
//!
//! It is built once, as canonical bytes with their digest, and those bytes are what is stored, sent and
//! checked. Nothing is ever encoded again from what was read.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use thiserror::Error;

use super::alternates::PricedAlternate;
use super::canonical::{CanonicalFault, Digest, Frozen};
use super::change_order::FrozenChange;
use super::draft::{Alternate, ChangeOrder, Draft, Wording};
use super::earlier::differences_of;
use super::estimated::{EstimateShape, Estimated};
use super::number::RevisionName;
use super::party::{Customer, Site};
use super::pointer::Difference;
use super::validity::Validity;

/// The version of this document's shape. It grows when a reader of older documents would go wrong, and when an estimate
/// says more or says it in other words: `earlier.rs` tells what of an older one may then differ.
pub const FORMAT: u32 = 2;

/// An issued revision. Its canonical JSON is the record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Revision {
    /// Version of the document's shape: [`FORMAT`].
    pub format: u32,
    /// Number of the quote, change order if any, revision.
    pub name: RevisionName,
    /// Digest of the revision before it; none for the first.
    pub previous: Option<Digest>,
    /// When it was issued.
    pub issued_at: DateTime<Utc>,
    /// Who issued it.
    pub issued_by: String,
    /// How long it holds.
    pub validity: Validity,
    /// The customer as known then.
    pub customer: Customer,
    /// The site as known then.
    pub site: Site,
    /// The estimate request as it was written. The job as understood stands in the estimate.
    pub request: Value,
    /// The alternates on offer, each with its own estimate.
    pub alternates: Vec<OfferedAlternate>,
    /// Exclusions put in by hand; those of the rulebook stand in the estimate.
    pub exclusions: Vec<String>,
    /// Texts of the offer.
    pub wording: Wording,
    /// For a change order: what it changes of which contract.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub change: Option<FrozenChange>,
    /// What the estimate was made from.
    pub made_from: Sources,
    /// The estimate of the base job, of a change order that of the changed job.
    pub estimate: Value,
    /// The approval under which it was issued, where one was needed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub approval: Option<super::approval::Approval>,
}

/// An alternate as it was offered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OfferedAlternate {
    /// The alternate.
    pub alternate: Alternate,
    /// The base job with this one change.
    pub estimate: Value,
}

/// The immutable versions of everything that an estimate is made from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sources {
    /// Version of the program.
    pub program: String,
    /// The rulebook.
    pub rulebook: VersionDigest,
    /// The policy.
    pub policy: VersionDigest,
    /// Digest of the catalogue: items, equipment, labour classes and their dated prices.
    pub catalogue: Digest,
    /// The day whose prices were used.
    pub priced_on: NaiveDate,
}

/// A version of an office document, and the digest of its text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VersionDigest {
    /// Its name.
    pub id: String,
    /// Its version.
    pub version: u32,
    /// Digest of its text.
    pub digest: Digest,
}

/// What is said of a revision when it is issued, beside its content.
#[derive(Debug, Clone, PartialEq)]
pub struct Issue {
    /// Number of the quote, change order if any, revision.
    pub name: RevisionName,
    /// Digest of the revision before it.
    pub previous: Option<Digest>,
    /// When.
    pub at: DateTime<Utc>,
    /// Who.
    pub by: String,
    /// How long it holds.
    pub validity: Validity,
    /// The customer as known now.
    pub customer: Customer,
    /// The site as known now.
    pub site: Site,
    /// What the estimate was made from.
    pub made_from: Sources,
    /// The approval, where one was needed.
    pub approval: Option<super::approval::Approval>,
}

/// Why a revision cannot be issued or read.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RevisionFault {
    /// A stop stands in the estimate.
    #[error("a stop stands: {}", .0.join("; "))]
    Stops(Vec<String>),
    /// An offer with the name of a change order, or the other way round.
    #[error("{0} is not the name of {1}")]
    Name(RevisionName, &'static str),
    /// The estimate was not made from what the record would say.
    #[error("the estimate is of {part} {estimate}, the record would say {record}")]
    MadeFrom {
        /// Rulebook, policy or day.
        part: &'static str,
        /// As the estimate has it.
        estimate: String,
        /// As the record would have it.
        record: String,
    },
    /// The document has no canonical form.
    #[error(transparent)]
    Canonical(#[from] CanonicalFault),
    /// The stored bytes are not those that were issued.
    #[error("the stored document has the digest {found}, and was issued with {kept}")]
    Tampered {
        /// The digest that was kept.
        kept: Digest,
        /// The digest of what was read.
        found: Digest,
    },
    /// The document was made by a newer program.
    #[error("the document has format {0}; this program reads up to {FORMAT}")]
    NewerFormat(u32),
    /// The bytes are not such a document.
    #[error("the stored document does not read: {0}")]
    Unreadable(String),
    /// The estimate in it does not hold together.
    #[error(transparent)]
    Estimate(#[from] EstimateShape),
}

impl Revision {
    /// Makes the revision of a draft and its estimates.
    ///
    /// # Errors
    /// A stop stands in the estimate or in an alternate's, the estimate was not made from `issue.made_from`, or
    /// the name is that of a change order.
    pub fn new(
        issue: Issue,
        draft: &Draft,
        estimated: &Estimated,
        alternates: &[PricedAlternate],
    ) -> Result<Self, RevisionFault> {
        if issue.name.change_order.is_some() {
            return Err(RevisionFault::Name(issue.name, "an offer"));
        }
        Self::of(issue, draft, estimated, alternates, None)
    }

    /// Makes the revision of a change order: `draft` is the contract as it would be.
    pub(super) fn of_change(
        issue: Issue,
        draft: &Draft,
        estimated: &Estimated,
        change: FrozenChange,
    ) -> Result<Self, RevisionFault> {
        if issue.name.change_order.is_none() {
            return Err(RevisionFault::Name(issue.name, "a change order"));
        }
        Self::of(issue, draft, estimated, &[], Some(change))
    }

    fn of(
        issue: Issue,
        draft: &Draft,
        estimated: &Estimated,
        alternates: &[PricedAlternate],
        change: Option<FrozenChange>,
    ) -> Result<Self, RevisionFault> {
        let estimates = std::iter::once(estimated).chain(alternates.iter().map(|priced| &priced.estimated));
        for estimated in estimates {
            issuable(estimated)?;
            made_from(estimated, &issue.made_from)?;
        }
        Ok(Self {
            format: FORMAT,
            name: issue.name,
            previous: issue.previous,
            issued_at: issue.at,
            issued_by: issue.by,
            validity: issue.validity,
            customer: issue.customer,
            site: issue.site,
            request: draft.request.clone(),
            alternates: alternates.iter().map(OfferedAlternate::of).collect(),
            exclusions: draft.exclusions.clone(),
            wording: draft.wording.clone(),
            change,
            made_from: issue.made_from,
            estimate: estimated.tree().clone(),
            approval: issue.approval,
        })
    }

    /// The bytes to store and their digest.
    ///
    /// # Errors
    /// A number that is not whole stands in it.
    pub fn freeze(&mut self) -> Result<Frozen, CanonicalFault> {
        // The estimate is nearly all of the document: it is written where it stands, and the rest around it.
        let estimate = std::mem::take(&mut self.estimate);
        let frozen = Frozen::with(self, "estimate", &estimate);
        self.estimate = estimate;
        frozen
    }

    /// Reads a stored document whose digest was kept beside it.
    ///
    /// # Errors
    /// The bytes have another digest, are of a newer format, or are not such a document.
    pub fn read(bytes: &[u8], kept: Digest) -> Result<Self, RevisionFault> {
        let tree = checked(bytes, kept)?;
        serde_json::from_value(tree).map_err(|fault| RevisionFault::Unreadable(fault.to_string()))
    }

    /// The estimate with its figures.
    ///
    /// # Errors
    /// It does not hold together.
    pub fn estimated(&self) -> Result<Estimated, EstimateShape> {
        Estimated::read(self.estimate.clone())
    }

    /// The content as a draft, for a new revision to start from. Of a change order: the contract as it would be.
    pub fn to_draft(&self) -> Draft {
        Draft {
            request: self.request.clone(),
            alternates: self
                .alternates
                .iter()
                .map(|offered| offered.alternate.clone())
                .collect(),
            exclusions: self.exclusions.clone(),
            wording: self.wording.clone(),
            validity_days: None,
        }
    }

    /// The content as the draft of a change order, for a new revision of it to start from; none for an offer.
    pub fn to_change_order(&self) -> Option<ChangeOrder> {
        let change = self.change.as_ref()?;
        Some(ChangeOrder {
            title: change.title.clone(),
            change: change.change.clone(),
            exclusions: self.exclusions.clone(),
            wording: self.wording.clone(),
            validity_days: None,
        })
    }

    /// Holds the stored estimates against the same computed anew. `estimate` prices a request from
    /// `made_from`. Empty when every byte is the same; else the places that differ, by JSON Pointer into this
    /// document.
    ///
    /// # Errors
    /// What `estimate` fails with.
    pub fn verify<E>(
        &self,
        mut estimate: impl FnMut(&Value) -> Result<Estimated, E>,
    ) -> Result<Vec<Difference>, E> {
        let mut found = Vec::new();
        let mut hold = |at: String, stored: &Value, anew: &Value| {
            let told = differences_of(self.format, stored, anew).into_iter();
            found.extend(told.map(|difference| Difference {
                pointer: format!("{at}{}", difference.pointer),
                ..difference
            }));
        };
        hold(
            "/estimate".to_owned(),
            &self.estimate,
            estimate(&self.request)?.tree(),
        );
        for (index, offered) in self.alternates.iter().enumerate() {
            let request = offered.alternate.change.apply(&self.request);
            let at = format!("/alternates/{index}/estimate");
            hold(at, &offered.estimate, estimate(&request)?.tree());
        }
        Ok(found)
    }
}

/// The document in stored bytes, once their digest and their format are right.
pub(super) fn checked(bytes: &[u8], kept: Digest) -> Result<Value, RevisionFault> {
    let found = Digest::of(bytes);
    if found != kept {
        return Err(RevisionFault::Tampered { kept, found });
    }
    let tree: Value =
        serde_json::from_slice(bytes).map_err(|fault| RevisionFault::Unreadable(fault.to_string()))?;
    match tree.get("format").and_then(Value::as_u64) {
        Some(format) if format > u64::from(FORMAT) => Err(RevisionFault::NewerFormat(
            u32::try_from(format).unwrap_or(u32::MAX),
        )),
        Some(_) => Ok(tree),
        None => Err(RevisionFault::Unreadable("it does not say its format".to_owned())),
    }
}

/// No stop stands in the estimate.
pub(super) fn issuable(estimated: &Estimated) -> Result<(), RevisionFault> {
    if estimated.figures().may_be_issued {
        return Ok(());
    }
    let cautions = estimated
        .part("cautions")
        .as_array()
        .map_or(&[][..], Vec::as_slice);
    let stops = cautions.iter().filter(|caution| caution["level"] == "stop");
    let message = |caution: &Value| caution["message"].as_str().unwrap_or_default().to_owned();
    Err(RevisionFault::Stops(stops.map(message).collect()))
}

/// The estimate names the sources that the record will name.
pub(super) fn made_from(estimated: &Estimated, sources: &Sources) -> Result<(), RevisionFault> {
    let version = |of: &VersionDigest| format!("{} version {}", of.id, of.version);
    let stands = |part: &Value| {
        let id = part["id"].as_str().unwrap_or_default();
        format!("{id} version {}", part["version"])
    };
    let day = estimated
        .part("priced_on")
        .as_str()
        .unwrap_or_default()
        .to_owned();
    let parts = [
        (
            "rulebook",
            stands(estimated.part("rulebook")),
            version(&sources.rulebook),
        ),
        (
            "policy",
            stands(estimated.part("policy")),
            version(&sources.policy),
        ),
        ("prices of", day, sources.priced_on.to_string()),
    ];
    match parts.into_iter().find(|(_, estimate, record)| estimate != record) {
        None => Ok(()),
        Some((part, estimate, record)) => Err(RevisionFault::MadeFrom {
            part,
            estimate,
            record,
        }),
    }
}

impl OfferedAlternate {
    fn of(priced: &PricedAlternate) -> Self {
        Self {
            alternate: priced.alternate.clone(),
            estimate: priced.estimated.tree().clone(),
        }
    }

    /// The alternate with its figures and what it moves against `base`.
    ///
    /// # Errors
    /// The stored estimates do not hold together.
    pub fn priced(&self, base: &Estimated) -> Result<PricedAlternate, RevisionFault> {
        let estimated = Estimated::read(self.estimate.clone())?;
        let moved = super::moved::Moved::between(base, &estimated)
            .map_err(|fault| RevisionFault::Unreadable(fault.to_string()))?;
        Ok(PricedAlternate {
            alternate: self.alternate.clone(),
            estimated,
            moved,
        })
    }
}
