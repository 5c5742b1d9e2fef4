//! Quotes: made, listed, read, put away, and what happened to them.

use actix_web::http::header;
use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post};
use serde_json::json;

use super::acting::Acting;
use super::at_desk;
use super::body::Json;
use super::parties::{created, next_link};
use super::problem::{Body, Problem};
use super::quote_input::{self as input, QuoteListQuery};
use super::reply::Reply;
use super::who::CallersDesk;

/// Make a quote
///
/// With its number and its first draft. The numbers of a year have no gap.
#[utoipa::path(tag = "quotes", params(
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewQuote"), content_type = "application/json"),
    responses(
        (status = 201, description = "The quote", body = ref("#/components/schemas/Quote")),
        (status = 409, description = "The key is taken", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "Every fault of the draft", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes")]
pub async fn create_quote(desk: CallersDesk, acting: Acting, body: Json) -> Result<Reply, Problem> {
    let new = input::new_quote(&body.0).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| desk.create_quote(&act, &new));
    created(told.await?, "/v1/quotes")
}

/// List the quotes
///
/// The newest numbers first.
#[utoipa::path(tag = "quotes", params(
        QuoteListQuery),
    responses(
        (status = 200, description = "A page of quotes", body = ref("#/components/schemas/QuotePage")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes")]
pub async fn list_quotes(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<QuoteListQuery>,
) -> Result<Reply, Problem> {
    let query = query.read()?;
    let page = at_desk(&desk, move |desk| desk.quotes(&query)).await?;
    let next = page.next.map(|(year, counter)| format!("{year}.{counter}"));
    let answer = Reply::json(&json!({"data": page.rows, "next": next}))?;
    Ok(match &next {
        Some(next) => answer.with_header(header::LINK, next_link(&request, next)),
        None => answer,
    })
}

/// Read a quote
///
/// With its revisions, its change orders and, once it was accepted, the contract.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key")),
    responses(
        (status = 200, description = "The quote", body = ref("#/components/schemas/Quote")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}")]
pub async fn read_quote(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    Reply::told(at_desk(&desk, move |desk| desk.quote(&id)).await?)
}

/// Put a quote away, or take it out again
///
/// Nothing is deleted, and its number stays its own.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Archived"), content_type = "application/json"),
    responses(
        (status = 200, description = "The quote", body = ref("#/components/schemas/Quote")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/quotes/{id}/archive")]
pub async fn archive_quote(
    desk: CallersDesk,
    id: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let archived = input::archived(&body.0).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    Reply::told(at_desk(&desk, move |desk| desk.archive_quote(&act, &id, archived)).await?)
}

/// What happened to a quote
///
/// Every move of its revisions and change orders: who, when, why.
#[utoipa::path(tag = "quotes", params(
        ("id" = String, Path, description = "The quote's key")),
    responses(
        (status = 200, description = "The moves in their order", body = ref("#/components/schemas/TransitionList")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/transitions")]
pub async fn list_transitions(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    Reply::json(&at_desk(&desk, move |desk| desk.transitions(&id)).await?)
}
