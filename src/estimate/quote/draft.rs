//! The content of a draft: what the office edits until it issues a revision.

mod form;
mod read;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::canonical::{CanonicalFault, Frozen};
use super::change::Change;
use crate::job::{JobFault, RequestReader};

/// The content of a draft that has no fault.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Draft {
    /// The estimate request as it was written; numbers that are not whole stand as text.
    pub request: Value,
    /// Priced changes to the base job, in the order in which they are offered.
    #[serde(default)]
    pub alternates: Vec<Alternate>,
    /// What the offer does not contain, beside what the rulebook says.
    #[serde(default)]
    pub exclusions: Vec<String>,
    /// Texts of the offer.
    #[serde(default)]
    pub wording: Wording,
    /// Days that the offer holds; as the policy says where it is not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub validity_days: Option<u32>,
}

/// A priced change to the base job that the customer may take.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Alternate {
    /// A short code, unique in the draft.
    pub name: String,
    /// What the customer reads.
    pub title: String,
    /// More about it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// What it does to the request.
    pub change: Change,
}

/// Texts of an offer.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wording {
    /// In front of the figures.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub introduction: Option<String>,
    /// Remarks, one a paragraph.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    /// Behind the figures.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closing: Option<String>,
}

impl Draft {
    /// Reads a draft: the request, and every alternate's changed request too.
    ///
    /// # Errors
    /// Every fault at once, with pointers into the draft. An alternate is judged once the base request has no
    /// fault; a fault of the changed job is told at the place in the change where it would be set.
    pub fn read(draft: &Value, reader: RequestReader<'_>) -> Result<Self, JobFault> {
        read::offer(draft, reader)
    }

    /// The content in its one form of bytes.
    ///
    /// # Errors
    /// As [`Frozen::of`]; a draft that was read has none.
    pub fn frozen(&self) -> Result<Frozen, CanonicalFault> {
        Frozen::of(self)
    }

    /// JSON Schema of a draft. The request's own is `Form::request_schema`.
    pub fn schema() -> Value {
        form::offer().schema("Draft of a quote")
    }
}

/// The content of a draft of a change order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ChangeOrder {
    /// What the customer reads.
    pub title: String,
    /// What it does to the contract's request.
    pub change: Change,
    /// What it does not contain.
    #[serde(default)]
    pub exclusions: Vec<String>,
    /// Texts.
    #[serde(default)]
    pub wording: Wording,
    /// Days that the offer of the change holds; as the policy says where it is not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub validity_days: Option<u32>,
}

impl ChangeOrder {
    /// Reads the draft of a change order on the `request` of a contract.
    ///
    /// # Errors
    /// Every fault at once, with pointers into the draft.
    pub fn read(draft: &Value, request: &Value, reader: RequestReader<'_>) -> Result<Self, JobFault> {
        read::change_order(draft, request, reader)
    }

    /// The content in its one form of bytes.
    ///
    /// # Errors
    /// As [`Frozen::of`]; a draft that was read has none.
    pub fn frozen(&self) -> Result<Frozen, CanonicalFault> {
        Frozen::of(self)
    }

    /// JSON Schema of the draft of a change order.
    pub fn schema() -> Value {
        form::change_order().schema("Draft of a change order")
    }
}
