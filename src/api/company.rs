//! What the office sets of the company while it works.

use actix_web::{get, put};

use super::acting::Seen;
use super::at_desk;
use super::body::Json;
use super::problem::{Body, Problem};
use super::quote_input as input;
use super::reply::Reply;
use super::who::CallersDesk;
use crate::desk::{Desk, QuoteNumbers, Told};

/// The pattern with its tag.
fn told(numbers: &QuoteNumbers) -> Result<Reply, Problem> {
    Reply::told(Told {
        tag: Some(numbers.tag()),
        body: serde_json::to_value(numbers).map_err(|fault| Problem::internal(&fault))?,
    })
}

/// Read what numbers of quotes look like
#[utoipa::path(tag = "quotes", responses(
    (status = 200, description = "The pattern, and the number that comes next", body = ref("#/components/schemas/QuoteNumbers")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/company/quote-numbers")]
pub async fn read_quote_numbers(desk: CallersDesk) -> Result<Reply, Problem> {
    told(&at_desk(&desk, Desk::quote_numbers).await?)
}

/// Give the numbers of quotes another pattern
///
/// Counters go on as they were, and numbers that were given away stay with their quotes. A pattern under which one of them
/// would come again is refused. `If-Match` carries the tag of the pattern that was read.
#[utoipa::path(tag = "quotes",
    params(
        ("If-Match" = Option<String>, Header, description = "The tag of what was read, or * for whatever stands; needed")),
    request_body(content = ref("#/components/schemas/NewQuoteNumbers"), content_type = "application/json"),
    responses(
        (status = 200, description = "The pattern, and the number that comes next", body = ref("#/components/schemas/QuoteNumbers")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "It is no pattern, or a number would come again", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/company/quote-numbers")]
pub async fn set_quote_numbers(desk: CallersDesk, seen: Seen, body: Json) -> Result<Reply, Problem> {
    let pattern = input::quote_numbers(&body.0).map_err(Problem::invalid_input)?;
    let set = at_desk(&desk, move |desk| {
        desk.set_quote_numbers(&pattern, |tag| seen.matches(tag))
    });
    told(&set.await?)
}
