//! Revisions of offers: drafts, what they come to, their moves.

use actix_web::http::StatusCode;
use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post, put};
use estimate::quote::life::Event;
use serde::Deserialize;
use utoipa::IntoParams;

use super::acting::{Acting, Seen};
use super::at_desk;
use super::body::Json;
use super::problem::{Body, Problem};
use super::quote_input as input;
use super::reply::{Reply, percent_encoded};
use super::who::{Admitted, CallersDesk};
use crate::desk::{At, NewRevision, Told};

/// What a revision is compared with.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ComparisonQuery {
    /// The other revision.
    pub with: u32,
}

/// Whether a draft is brought up to date, or it is only told what that would come to.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct RefreshQuery {
    /// Whether nothing is to be stored.
    #[serde(default)]
    #[param(default = false)]
    preview: bool,
}

pub(super) fn at(quote: String, change_order: u32, revision: u32) -> At {
    At {
        quote,
        change_order,
        revision,
    }
}

/// A revision that was made, with the address at which it is read.
pub(super) fn created_revision(told: Told) -> Result<Reply, Problem> {
    let text = |name: &str| {
        told.body
            .get(name)
            .and_then(|value| value.as_str())
            .unwrap_or_default()
    };
    let number = |name: &str| {
        told.body
            .get(name)
            .and_then(|value| value.as_u64())
            .unwrap_or_default()
    };
    let quote = percent_encoded(text("quote"));
    let track = match number("change_order") {
        0 => String::new(),
        order => format!("/change-orders/{order}"),
    };
    let location = format!("/v1/quotes/{quote}{track}/revisions/{}", number("revision"));
    Reply::created(told, location)
}

/// Begin a further revision of an offer
///
/// It begins with the content of an older one, and is estimated from the same rulebook, policy and prices until it is brought up to date.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/FromRevision"), content_type = "application/json"),
    responses(
        (status = 201, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The offer has been accepted", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/revisions")]
pub async fn create_revision(
    desk: CallersDesk,
    path: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = (path.into_inner(), 0);
    let from = input::from_revision(&body.0).map_err(Problem::invalid_input)?;
    let (act, of) = (acting.with(&body.0), at(quote, order, from));
    let told = at_desk(&desk, move |desk| {
        desk.add_revision(&act, &of, NewRevision { from })
    });
    created_revision(told.await?)
}

/// Read a revision of an offer
///
/// The digest of an issued one is checked at every read.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision")),
    responses(
        (status = 200, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/revisions/{revision}")]
pub async fn read_revision(
    desk: CallersDesk,
    caller: Admitted,
    path: Path<(String, u32)>,
) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    let order = 0;
    let at = at(quote, order, revision);
    let told = at_desk(&desk, move |desk| desk.revision(&at)).await?;
    Reply::told(caller.with_own_moves(told))
}

/// Write the draft of an offer anew
///
/// It stays under the rulebook, the policy and the prices that it was begun with until it is brought up to date. Where it
/// names another `priced_on` than before, it gets the prices and the policy that hold on that day, as they are known now.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision"),
        ("If-Match" = Option<String>, Header, description = "The tag of what was read, or * for whatever stands; needed")),
    request_body(content = ref("#/components/schemas/QuoteDraft"), content_type = "application/json"),
    responses(
        (status = 200, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "It is no draft any more", body = Body, content_type = "application/problem+json"),
        (status = 412, description = "Somebody else was quicker; ETag is that of what stands now", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "Every fault of the draft", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/quotes/{id}/revisions/{revision}")]
pub async fn edit_draft(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    acting: Acting,
    seen: Seen,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    let order = 0;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    let told = at_desk(&desk, move |desk| {
        desk.edit_draft(&act, &at, &body.0, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}

/// What a revision of an offer comes to
///
/// A draft is estimated now, from the versions that it names; an issued revision as it was issued. Each alternate is told with what it moves.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision")),
    responses(
        (status = 200, description = "Estimate and alternates", body = ref("#/components/schemas/RevisionEstimate")),
        (status = 422, description = "It cannot be priced", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/revisions/{revision}/estimate")]
pub async fn read_revision_estimate(desk: CallersDesk, path: Path<(String, u32)>) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    let order = 0;
    let at = at(quote, order, revision);
    Reply::json(&at_desk(&desk, move |desk| desk.revision_estimate(&at)).await?)
}

/// The document of an issued revision of an offer
///
/// The very bytes that were issued, canonical JSON (RFC 8785); the tag is their SHA-256.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision")),
    responses(
        (status = 200, description = "The document", body = Object),
        (status = 409, description = "It was never issued", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/revisions/{revision}/document")]
pub async fn read_document(desk: CallersDesk, path: Path<(String, u32)>) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    let order = 0;
    let at = at(quote, order, revision);
    let (text, digest) = at_desk(&desk, move |desk| desk.issued_document(&at)).await?;
    Ok(Reply::bytes(text.into_bytes(), format!("\"{digest}\"")))
}

/// Compare two revisions of an offer
///
/// Job, sizing, lines, hours and totals, and what each cause moved: the shares add up to the whole difference.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision"),
        ComparisonQuery),
    responses(
        (status = 200, description = "The comparison", body = ref("#/components/schemas/RevisionComparison")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/revisions/{revision}/comparison")]
pub async fn compare_revisions(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    query: Query<ComparisonQuery>,
) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    let order = 0;
    let (at, with) = (at(quote, order, revision), query.with);
    Reply::json(&at_desk(&desk, move |desk| desk.comparison(&at, with)).await?)
}

/// Bring a draft up to date
///
/// Under the rulebook, the prices and the policy of now. With preview=true nothing is stored and the answer is the comparison; else If-Match is needed and the answer is the revision.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision"),
        RefreshQuery,
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours"),
        ("If-Match" = Option<String>, Header, description = "The tag of what was read, or * for whatever stands; needed")),
    responses(
        (status = 200, description = "The comparison, or the revision", body = ref("#/components/schemas/Refreshed")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/revisions/{revision}/refresh")]
pub async fn refresh_draft(
    request: HttpRequest,
    desk: CallersDesk,
    path: Path<(String, u32)>,
    query: Query<RefreshQuery>,
    acting: Acting,
) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    let order = 0;
    let at = at(quote, order, revision);
    if query.preview {
        return Reply::json(&at_desk(&desk, move |desk| desk.refresh_preview(&at)).await?);
    }
    let seen = Seen::of(&request)?;
    let act = acting.with(&serde_json::Value::Null);
    let told = at_desk(&desk, move |desk| {
        desk.refresh(&act, &at, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}

/// Approve the draft of an offer
///
/// By another person than those who wrote at it. An edit voids it, and so does a price that is another by then.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Approve"), content_type = "application/json"),
    responses(
        (status = 201, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The person wrote at it, or it is no draft", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/approvals")]
pub async fn approve_draft(
    desk: CallersDesk,
    path: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = (path.into_inner(), 0);
    let (revision, note) = input::moved(&body.0, "note").map_err(Problem::invalid_input)?;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    let told = at_desk(&desk, move |desk| desk.approve(&act, &at, note.as_deref()));
    Ok(Reply::told(told.await?)?.with_status(StatusCode::CREATED))
}

/// Issue an offer
///
/// The draft is frozen with everything that made it; a revision that is with the customer is superseded.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Move"), content_type = "application/json"),
    responses(
        (status = 200, description = "The issued revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The state does not allow it; the moves that it allows are told", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/issue")]
pub async fn issue(
    desk: CallersDesk,
    path: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = (path.into_inner(), 0);
    let (revision, reason) = input::moved(&body.0, "reason").map_err(Problem::invalid_input)?;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    Reply::told(at_desk(&desk, move |desk| desk.issue(&act, &at, reason.as_deref())).await?)
}

/// Record that the customer accepted an offer
///
/// The accepted totals are those of the job with the chosen alternates in it, estimated as one.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/WordOfCustomer"), content_type = "application/json"),
    responses(
        (status = 200, description = "The accepted revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The state does not allow it; the moves that it allows are told", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/accept")]
pub async fn accept(
    desk: CallersDesk,
    path: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = (path.into_inner(), 0);
    let (revision, word, reason) = input::acceptance(&body.0).map_err(Problem::invalid_input)?;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    Reply::told(
        at_desk(&desk, move |desk| {
            desk.accept(&act, &at, &word, reason.as_deref())
        })
        .await?,
    )
}

/// Record that the customer declined an offer
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Move"), content_type = "application/json"),
    responses(
        (status = 200, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The state does not allow it; the moves that it allows are told", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/decline")]
pub async fn decline(
    desk: CallersDesk,
    path: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = (path.into_inner(), 0);
    let (revision, reason) = input::moved(&body.0, "reason").map_err(Problem::invalid_input)?;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    Reply::told(
        at_desk(&desk, move |desk| {
            desk.end_offer(&act, &at, Event::Decline, reason.as_deref())
        })
        .await?,
    )
}

/// Take an offer back
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Move"), content_type = "application/json"),
    responses(
        (status = 200, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The state does not allow it; the moves that it allows are told", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/withdraw")]
pub async fn withdraw(
    desk: CallersDesk,
    path: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = (path.into_inner(), 0);
    let (revision, reason) = input::moved(&body.0, "reason").map_err(Problem::invalid_input)?;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    Reply::told(
        at_desk(&desk, move |desk| {
            desk.end_offer(&act, &at, Event::Withdraw, reason.as_deref())
        })
        .await?,
    )
}
