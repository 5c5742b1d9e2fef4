//! Change orders: additions to and omissions from an accepted quote, with the life of an offer.

use actix_web::http::StatusCode;
use actix_web::web::{Path, Query};
use actix_web::{get, post, put};
use estimate::quote::life::Event;

use super::acting::{Acting, Seen};
use super::at_desk;
use super::body::Json;
use super::problem::{Body, Problem};
use super::quote_input as input;
use super::reply::Reply;
use super::revisions::{ComparisonQuery, at, created_revision};
use super::who::{Admitted, CallersDesk};
use crate::desk::NewRevision;

/// Begin a change order
///
/// On an accepted quote. It is priced by the rulebook, the policy and the prices of the contract, so that nothing moves but what it changes.
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/ChangeOrderDraft"), content_type = "application/json"),
    responses(
        (status = 201, description = "Its first draft", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The quote has not been accepted", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "Every fault of the draft", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/change-orders")]
pub async fn create_change_order(
    desk: CallersDesk,
    path: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| desk.begin_change_order(&act, &path, &body.0));
    created_revision(told.await?)
}

/// Begin a further revision of a change order
///
/// It begins with the content of an older one.
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/FromRevision"), content_type = "application/json"),
    responses(
        (status = 201, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The offer has been accepted", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/change-orders/{order}/revisions")]
pub async fn create_revision_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = path.into_inner();
    let from = input::from_revision(&body.0).map_err(Problem::invalid_input)?;
    let (act, of) = (acting.with(&body.0), at(quote, order, from));
    let told = at_desk(&desk, move |desk| {
        desk.add_revision(&act, &of, NewRevision { from })
    });
    created_revision(told.await?)
}

/// Read a revision of a change order
///
/// The digest of an issued one is checked at every read.
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("revision" = u32, Path, description = "Which revision")),
    responses(
        (status = 200, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/change-orders/{order}/revisions/{revision}")]
pub async fn read_revision_of_change_order(
    desk: CallersDesk,
    caller: Admitted,
    path: Path<(String, u32, u32)>,
) -> Result<Reply, Problem> {
    let (quote, order, revision) = path.into_inner();
    let at = at(quote, order, revision);
    let told = at_desk(&desk, move |desk| desk.revision(&at)).await?;
    Reply::told(caller.with_own_moves(told))
}

/// Write the draft of a change order anew
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("revision" = u32, Path, description = "Which revision"),
        ("If-Match" = Option<String>, Header, description = "The tag of what was read, or * for whatever stands; needed")),
    request_body(content = ref("#/components/schemas/ChangeOrderDraft"), content_type = "application/json"),
    responses(
        (status = 200, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "It is no draft any more", body = Body, content_type = "application/problem+json"),
        (status = 412, description = "Somebody else was quicker; ETag is that of what stands now", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "Every fault of the draft", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/quotes/{id}/change-orders/{order}/revisions/{revision}")]
pub async fn edit_draft_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32, u32)>,
    acting: Acting,
    seen: Seen,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order, revision) = path.into_inner();
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    let told = at_desk(&desk, move |desk| {
        desk.edit_draft(&act, &at, &body.0, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}

/// What a revision of a change order comes to
///
/// A draft is estimated now by the rules and prices of the contract; the difference to the contract is its price.
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("revision" = u32, Path, description = "Which revision")),
    responses(
        (status = 200, description = "Estimate and alternates", body = ref("#/components/schemas/RevisionEstimate")),
        (status = 422, description = "It cannot be priced", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/estimate")]
pub async fn read_revision_estimate_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32, u32)>,
) -> Result<Reply, Problem> {
    let (quote, order, revision) = path.into_inner();
    let at = at(quote, order, revision);
    Reply::json(&at_desk(&desk, move |desk| desk.revision_estimate(&at)).await?)
}

/// The document of an issued revision of a change order
///
/// The very bytes that were issued, canonical JSON (RFC 8785); the tag is their SHA-256.
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("revision" = u32, Path, description = "Which revision")),
    responses(
        (status = 200, description = "The document", body = Object),
        (status = 409, description = "It was never issued", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/document")]
pub async fn read_document_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32, u32)>,
) -> Result<Reply, Problem> {
    let (quote, order, revision) = path.into_inner();
    let at = at(quote, order, revision);
    let (text, digest) = at_desk(&desk, move |desk| desk.issued_document(&at)).await?;
    Ok(Reply::bytes(text.into_bytes(), format!("\"{digest}\"")))
}

/// Compare two revisions of a change order
///
/// Job, sizing, lines, hours and totals, and what each cause moved: the shares add up to the whole difference.
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("revision" = u32, Path, description = "Which revision"),
        ComparisonQuery),
    responses(
        (status = 200, description = "The comparison", body = ref("#/components/schemas/RevisionComparison")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/comparison")]
pub async fn compare_revisions_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32, u32)>,
    query: Query<ComparisonQuery>,
) -> Result<Reply, Problem> {
    let (quote, order, revision) = path.into_inner();
    let (at, with) = (at(quote, order, revision), query.with);
    Reply::json(&at_desk(&desk, move |desk| desk.comparison(&at, with)).await?)
}

/// Approve the draft of a change order
///
/// By another person than those who wrote at it. An edit voids it, and so does a price that is another by then.
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Approve"), content_type = "application/json"),
    responses(
        (status = 201, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The person wrote at it, or it is no draft", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/change-orders/{order}/approvals")]
pub async fn approve_draft_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = path.into_inner();
    let (revision, note) = input::moved(&body.0, "note").map_err(Problem::invalid_input)?;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    let told = at_desk(&desk, move |desk| desk.approve(&act, &at, note.as_deref()));
    Ok(Reply::told(told.await?)?.with_status(StatusCode::CREATED))
}

/// Issue a change order
///
/// The draft is frozen with everything that made it; a revision that is with the customer is superseded. Whether another person
/// approves first is said by the policy of the contract: the price of the change itself is held against its limits, and so is
/// the contract that it makes. A limit that the contract was over before counts again only where margin or discount go further.
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Move"), content_type = "application/json"),
    responses(
        (status = 200, description = "The issued revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The state does not allow it; the moves that it allows are told", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/change-orders/{order}/issue")]
pub async fn issue_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = path.into_inner();
    let (revision, reason) = input::moved(&body.0, "reason").map_err(Problem::invalid_input)?;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    Reply::told(at_desk(&desk, move |desk| desk.issue(&act, &at, reason.as_deref())).await?)
}

/// Record that the customer accepted a change order
///
/// The contract is then as revised.
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/WordOfCustomer"), content_type = "application/json"),
    responses(
        (status = 200, description = "The accepted revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The state does not allow it; the moves that it allows are told", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/change-orders/{order}/accept")]
pub async fn accept_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = path.into_inner();
    let (revision, word, reason) = input::acceptance(&body.0).map_err(Problem::invalid_input)?;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    Reply::told(
        at_desk(&desk, move |desk| {
            desk.accept(&act, &at, &word, reason.as_deref())
        })
        .await?,
    )
}

/// Record that the customer declined a change order
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Move"), content_type = "application/json"),
    responses(
        (status = 200, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The state does not allow it; the moves that it allows are told", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/change-orders/{order}/decline")]
pub async fn decline_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = path.into_inner();
    let (revision, reason) = input::moved(&body.0, "reason").map_err(Problem::invalid_input)?;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    Reply::told(
        at_desk(&desk, move |desk| {
            desk.end_offer(&act, &at, Event::Decline, reason.as_deref())
        })
        .await?,
    )
}

/// Take a change order back
#[utoipa::path(tag = "change orders", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Move"), content_type = "application/json"),
    responses(
        (status = 200, description = "The revision", body = ref("#/components/schemas/QuoteRevision")),
        (status = 409, description = "The state does not allow it; the moves that it allows are told", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/change-orders/{order}/withdraw")]
pub async fn withdraw_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (quote, order) = path.into_inner();
    let (revision, reason) = input::moved(&body.0, "reason").map_err(Problem::invalid_input)?;
    let (act, at) = (acting.with(&body.0), at(quote, order, revision));
    Reply::told(
        at_desk(&desk, move |desk| {
            desk.end_offer(&act, &at, Event::Withdraw, reason.as_deref())
        })
        .await?,
    )
}
