//! The feed, and what has no receipt yet.

use actix_web::http::header;
use actix_web::web::Query;
use actix_web::{HttpRequest, get};
use estimate::quote::life::State;
use serde::{Deserialize, Serialize};
use utoipa::IntoParams;

use super::cursor;
use crate::api::at_desk;
use crate::api::page::PageQuery;
use crate::api::problem::{Body, Kind, Problem};
use crate::api::reply::Reply;
use crate::api::who::CallersDesk;
use crate::desk::{FeedEntry, FeedQuery, FeedTold};

/// Which rows of the feed.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct FeedParameters {
    /// The cursor after which the page begins: the `next` of the page before. Without it, from the beginning.
    after: Option<String>,
    /// Rows on a page: 1 to 500, 50 when nothing is said.
    #[param(minimum = 1, maximum = 500, default = 50)]
    limit: Option<usize>,
    /// States, with commas between them: accepted when nothing is said; also issued, declined, withdrawn, expired,
    /// superseded.
    #[param(example = "accepted,declined")]
    states: Option<String>,
}

/// Which acceptances without a receipt.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct WithoutReceiptParameters {
    /// The cursor after which the page begins: the `next` of the page before.
    after: Option<String>,
    /// Rows on a page: 1 to 500, 50 when nothing is said.
    #[param(minimum = 1, maximum = 500, default = 50)]
    limit: Option<usize>,
    /// Days that a receipt may take; as the settings say when nothing is said.
    #[param(maximum = 3650)]
    days: Option<u32>,
}

#[derive(Serialize)]
struct EntryView<'a> {
    cursor: String,
    #[serde(flatten)]
    entry: &'a FeedEntry,
}

#[derive(Serialize)]
struct PageView<'a> {
    data: Vec<EntryView<'a>>,
    next: String,
    more: bool,
}

fn place(after: Option<&str>) -> Result<i64, Problem> {
    after.map_or(Ok(0), cursor::read)
}

fn states(text: Option<&str>) -> Result<Vec<State>, Problem> {
    let Some(text) = text else {
        return Ok(vec![State::Accepted]);
    };
    let known = State::ALL.into_iter().filter(|state| *state != State::Draft);
    let known: Vec<State> = known.collect();
    let mut wanted = Vec::new();
    for word in text.split(',') {
        let state = State::of_word(word).filter(|state| known.contains(state));
        let state = state.ok_or_else(|| {
            let words: Vec<&str> = known.iter().map(|state| state.word()).collect();
            let detail = format!(
                "states are some of {}, with commas between them",
                words.join(", ")
            );
            Problem::new(Kind::InvalidParameter, detail)
        })?;
        if !wanted.contains(&state) {
            wanted.push(state);
        }
    }
    Ok(wanted)
}

/// A page, whose `next` is a place even where there is no next page yet: a reader goes on from it.
fn page(request: &HttpRequest, told: &FeedTold, limit: usize, more: &str) -> Result<Reply, Problem> {
    let next = cursor::write(told.next);
    let link = format!(
        "<{}?{more}limit={limit}&after={next}>; rel=\"next\"",
        request.path()
    );
    let data = told.entries.iter().map(|entry| EntryView {
        cursor: cursor::write(entry.position),
        entry,
    });
    let answer = Reply::json(&PageView {
        data: data.collect(),
        next,
        more: told.more,
    })?;
    Ok(answer.with_header(header::LINK, link))
}

/// Read the feed
///
/// What was accepted, in the order in which it was committed: offers, and change orders with what they move. A reader keeps
/// `next` and goes on from it; it misses nothing and gets nothing twice, whichever servers write meanwhile. A cursor is good
/// for ever.
#[utoipa::path(tag = "accounting", params(FeedParameters), responses(
    (status = 200, description = "A page of the feed", body = ref("#/components/schemas/AccountingFeedPage")),
    (status = 409, description = "The cursor lies beyond the end of the feed", body = Body, content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/quotes")]
pub async fn list_accounting_quotes(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<FeedParameters>,
) -> Result<Reply, Problem> {
    let limit = PageQuery::new(query.limit, None).limit()?;
    let wanted = FeedQuery {
        after: place(query.after.as_deref())?,
        limit,
        states: states(query.states.as_deref())?,
    };
    let words: Vec<&str> = wanted.states.iter().map(|state| state.word()).collect();
    let more = format!("states={}&", words.join(","));
    let told = at_desk(&desk, move |desk| desk.feed(&wanted)).await?;
    page(&request, &told, limit, &more)
}

/// List acceptances without a receipt
///
/// Those that were recorded longer ago than a receipt may take, the oldest first.
#[utoipa::path(tag = "accounting", params(WithoutReceiptParameters), responses(
    (status = 200, description = "A page of acceptances", body = ref("#/components/schemas/AccountingFeedPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/without-receipt")]
pub async fn list_without_receipt(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<WithoutReceiptParameters>,
) -> Result<Reply, Problem> {
    let limit = PageQuery::new(query.limit, None).limit()?;
    let (after, days) = (place(query.after.as_deref())?, query.days);
    if days.is_some_and(|days| days > 3_650) {
        return Err(Problem::new(Kind::InvalidParameter, "days is at most 3650"));
    }
    let more = days.map(|days| format!("days={days}&")).unwrap_or_default();
    let told = at_desk(&desk, move |desk| desk.without_receipt(after, limit, days)).await?;
    page(&request, &told, limit, &more)
}
