//! The rows of quotes, as they are stored.

use diesel::prelude::*;
use serde::Serialize;

use crate::store::schema::{acceptances, approvals, issued_revisions, quotes, revisions, transitions};

/// A quote.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, Serialize)]
#[diesel(table_name = quotes)]
pub struct QuoteRow {
    /// Its key.
    pub id: String,
    /// Its number.
    pub number: String,
    /// Year of the number.
    pub year: i32,
    /// Counter of the number.
    pub counter: i32,
    /// Whom it is for.
    pub customer_id: String,
    /// Where the work is done.
    pub site_id: String,
    /// What it is called.
    pub title: String,
    /// What a list is searched in, in lower case.
    pub search: String,
    /// The state that sums the offer up, time left aside.
    pub state: String,
    /// When an offer that is out ends.
    pub ends_at: Option<String>,
    /// Whether it is put away.
    pub archived: bool,
    /// Moves with every write to the quote or anything under it.
    pub version: i64,
    /// The day on which it was made, where the company is.
    pub created_on: String,
    /// When it was made.
    pub created_at: String,
    /// By whom.
    pub created_by: String,
    /// The survey that it comes from. Where there is none it stands in no digest: the rows of earlier programs have none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub survey_id: Option<String>,
}

/// A revision: its state, and its content while it is a draft.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, Serialize)]
#[diesel(table_name = revisions)]
pub struct RevisionRow {
    /// The quote.
    pub quote_id: String,
    /// Which change order; 0 for the offer itself.
    pub change_order: i32,
    /// Which revision.
    pub revision: i32,
    /// Its state, time left aside.
    pub state: String,
    /// When it ends, once it was issued.
    pub ends_at: Option<String>,
    /// Moves with every write.
    pub version: i64,
    /// The content of the draft.
    pub draft: String,
    /// What it is estimated from.
    pub sources: String,
    /// Who wrote at it: a list of names in JSON.
    pub authors: String,
    /// When it was made.
    pub created_at: String,
    /// By whom.
    pub created_by: String,
    /// When it was last written.
    pub changed_at: String,
    /// By whom.
    pub changed_by: String,
}

/// The document of an issued revision.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, Serialize)]
#[diesel(table_name = issued_revisions)]
pub struct IssuedRow {
    /// The quote.
    pub quote_id: String,
    /// Which change order; 0 for the offer itself.
    pub change_order: i32,
    /// Which revision.
    pub revision: i32,
    /// The bytes that were digested. The audit knows them by their digest.
    #[serde(skip)]
    pub document: String,
    /// Their digest.
    pub digest: String,
    /// Digest of the revision before it.
    pub previous: Option<String>,
    /// When it was issued.
    pub issued_at: String,
    /// By whom.
    pub issued_by: String,
    /// The snapshot of the catalogue.
    pub catalogue: String,
    /// The snapshot of the rulebook.
    pub rulebook: String,
    /// The snapshot of the policy.
    pub policy: String,
}

/// What is told of an issued revision without its document.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = issued_revisions)]
pub struct IssuedHead {
    /// Which change order; 0 for the offer itself.
    pub change_order: i32,
    /// Which revision.
    pub revision: i32,
    /// Digest of its document.
    pub digest: String,
    /// When it was issued.
    pub issued_at: String,
    /// By whom.
    pub issued_by: String,
}

/// The document of an acceptance.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, Serialize)]
#[diesel(table_name = acceptances)]
pub struct AcceptanceRow {
    /// The quote.
    pub quote_id: String,
    /// Which change order; 0 for the offer itself.
    pub change_order: i32,
    /// Which revision.
    pub revision: i32,
    /// The bytes that were digested. The audit knows them by their digest.
    #[serde(skip)]
    pub document: String,
    /// Their digest.
    pub digest: String,
    /// When it was recorded.
    pub accepted_at: String,
}

/// An approval of a draft.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, Serialize)]
#[diesel(table_name = approvals)]
pub struct ApprovalRow {
    /// The quote.
    pub quote_id: String,
    /// Which change order; 0 for the offer itself.
    pub change_order: i32,
    /// Which revision.
    pub revision: i32,
    /// 1 for the first.
    pub position: i32,
    /// Digest of what was approved.
    pub subject: String,
    /// When.
    pub given_at: String,
    /// By whom.
    pub given_by: String,
    /// A remark.
    pub note: Option<String>,
}

/// A move of a revision.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, Serialize)]
#[diesel(table_name = transitions)]
pub struct TransitionRow {
    /// The quote.
    pub quote_id: String,
    /// 1 for the quote's first.
    pub position: i32,
    /// Which change order; 0 for the offer itself.
    pub change_order: i32,
    /// Which revision.
    pub revision: i32,
    /// What happened.
    pub event: String,
    /// The state before it.
    pub from_state: String,
    /// The state after it.
    pub to_state: String,
    /// When.
    pub moved_at: String,
    /// By whom.
    pub moved_by: String,
    /// Why.
    pub reason: Option<String>,
}

/// A quote with everything under it but the documents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredQuote {
    /// The quote.
    pub quote: QuoteRow,
    /// Its revisions, the offer's first.
    pub revisions: Vec<RevisionRow>,
    /// What was issued of them.
    pub issued: Vec<IssuedHead>,
    /// Acceptances in the order in which they were recorded.
    pub acceptances: Vec<AcceptanceRow>,
    /// Approvals in their order.
    pub approvals: Vec<ApprovalRow>,
    /// Moves in their order.
    pub transitions: Vec<TransitionRow>,
}

impl StoredQuote {
    /// A quote with nothing under it yet.
    pub fn bare(quote: QuoteRow) -> Self {
        Self {
            quote,
            revisions: Vec::new(),
            issued: Vec::new(),
            acceptances: Vec::new(),
            approvals: Vec::new(),
            transitions: Vec::new(),
        }
    }
}
