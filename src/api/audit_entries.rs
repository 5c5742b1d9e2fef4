//! The audit: who wrote what.

use actix_web::web::Query;
use actix_web::{HttpRequest, get};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::at_desk;
use super::page::{PageQuery, keyset};
use super::problem::{Body, Problem};
use super::reply::{Reply, percent_encoded};
use super::who::CallersDesk;
use crate::store::{AuditEntry, AuditFilter};

/// Which entries of the audit.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct AuditQuery {
    /// Rows on a page: 1 to 500, 50 when nothing is said.
    #[param(minimum = 1, maximum = 500, default = 50)]
    limit: Option<usize>,
    /// The entry after which the page begins: the `next` of the page before.
    after: Option<String>,
    /// Only entries of this thing.
    #[param(example = "quotes/0193a1b2-5c6d-7e8f-9a0b-1c2d3e4f5a6b")]
    subject: Option<String>,
    /// Only entries of this person.
    person: Option<String>,
}

/// An entry of the audit.
#[derive(Serialize, ToSchema)]
#[schema(as = AuditEntry)]
struct EntryView<'a> {
    /// 1 for the first; no number is left out.
    sequence: i64,
    /// When it was written.
    #[schema(format = DateTime)]
    at: &'a str,
    /// Who wrote.
    person: &'a str,
    /// In which role; `program` for the program itself.
    role: &'a str,
    /// The id of the access key, or the name that the identity provider knows the person by.
    key: Option<&'a str>,
    /// What was done: the operation of the contract, or the command.
    operation: &'a str,
    /// To what: the kind of thing and its key.
    #[schema(example = "items/CT-EXT")]
    subject: &'a str,
    /// SHA-256 of what was stored of it before; null where there was nothing.
    before: Option<&'a str>,
    /// SHA-256 of what is stored of it after.
    after: Option<&'a str>,
    /// The request's id, as its answer had it.
    request_id: Option<&'a str>,
    /// Digest of the entry before this one.
    previous: &'a str,
    /// SHA-256 of this entry, the digest before it included.
    digest: &'a str,
}

/// A page of the audit.
#[derive(ToSchema)]
#[schema(as = AuditEntryPage)]
#[expect(dead_code, reason = "only its shape is used, by the contract")]
struct EntryPage<'a> {
    /// The entries, the oldest first.
    data: Vec<EntryView<'a>>,
    /// The entry after which the next page begins.
    next: Option<&'a str>,
}

impl<'a> From<&'a AuditEntry> for EntryView<'a> {
    fn from(entry: &'a AuditEntry) -> Self {
        Self {
            sequence: entry.sequence,
            at: &entry.written_at,
            person: &entry.person,
            role: &entry.role,
            key: entry.key_id.as_deref(),
            operation: &entry.operation,
            subject: &entry.subject,
            before: entry.before.as_deref(),
            after: entry.after.as_deref(),
            request_id: entry.request_id.as_deref(),
            previous: &entry.previous,
            digest: &entry.digest,
        }
    }
}

/// List what was written by whom
///
/// The oldest entry first. Every write leaves one in its own transaction, and each covers the digest of the one before:
/// `tallyrule verify` tells one that is missing or was changed.
#[utoipa::path(tag = "access", params(AuditQuery), responses(
    (status = 200, description = "A page of entries", body = EntryPage),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/audit-entries")]
pub async fn list_audit_entries(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<AuditQuery>,
) -> Result<Reply, Problem> {
    let AuditQuery {
        limit,
        after,
        subject,
        person,
    } = query.into_inner();
    let page = PageQuery::new(limit, after);
    let (limit, after) = (page.limit()?, page.after_number()?);
    let link = |name: &str, value: &Option<String>| {
        let value = value.as_deref().map(percent_encoded);
        value.map_or_else(String::new, |value| format!("{name}={value}&"))
    };
    let more = link("subject", &subject) + &link("person", &person);
    let filter = AuditFilter {
        after: after.into(),
        limit: i64::try_from(limit).unwrap_or(i64::MAX).saturating_add(1),
        subject,
        person,
    };
    let entries = at_desk(&desk, move |desk| desk.audit_entries(&filter)).await?;
    let rows: Vec<EntryView<'_>> = entries.iter().map(EntryView::from).collect();
    keyset(&request, limit, &rows, &more, |row| row.sequence.to_string())
}
