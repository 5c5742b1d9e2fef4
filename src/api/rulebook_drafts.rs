//! Drafts of rulebooks: made, read, written anew, tried, published or discarded.

use actix_web::http::{StatusCode, header};
use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, HttpResponse, delete, get, post, put};
use serde::Deserialize;
use serde_json::{Value, json};
use utoipa::IntoParams;

use super::acting::{Acting, Seen};
use super::body::{Json, RulebookBody};
use super::parties::{created, next_link};
use super::problem::{Body, Problem};
use super::reply::Reply;
use super::rulebook_versions::{BesideQuery, ComparedQuery, tried};
use super::who::CallersDesk;
use super::{at_desk, input, quote_input, reply as replies, rulebooks};
use crate::desk::Which;
use crate::store::DraftFilter;

/// Which drafts of rulebooks.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct DraftListQuery {
    /// Rows on a page: 1 to 500, 50 when nothing is said.
    #[param(minimum = 1, maximum = 500, default = 50)]
    limit: Option<i64>,
    /// The key after which the page begins: the `next` of the page before.
    after: Option<String>,
    /// Drafts of this rulebook.
    rulebook: Option<String>,
}

/// Begin a draft of a rulebook
///
/// It begins with the text of a version: the one that is named, or the current one. Nothing counts until it is published.
#[utoipa::path(tag = "rules", params(
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewRulebookDraft"), content_type = "application/json"),
    responses(
        (status = 201, description = "The draft, without its rules", body = ref("#/components/schemas/RulebookDraftHead")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/rulebook-drafts")]
pub async fn create_rulebook_draft(desk: CallersDesk, acting: Acting, body: Json) -> Result<Reply, Problem> {
    let new = input::new_rulebook_draft(&body.0).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| desk.create_rulebook_draft(&act, &new));
    created(told.await?, "/v1/rulebook-drafts")
}

/// List the drafts of rulebooks
///
/// The oldest first, without their rules.
#[utoipa::path(tag = "rules", params(
        DraftListQuery),
    responses(
        (status = 200, description = "A page of drafts", body = ref("#/components/schemas/RulebookDraftPage")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebook-drafts")]
pub async fn list_rulebook_drafts(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<DraftListQuery>,
) -> Result<Reply, Problem> {
    let DraftListQuery {
        limit,
        after,
        rulebook,
    } = query.into_inner();
    let filter = DraftFilter {
        rulebook,
        after,
        limit: quote_input::limit(limit)?,
    };
    let page = at_desk(&desk, move |desk| desk.rulebook_drafts(&filter)).await?;
    let answer = Reply::json(&json!({"data": page.rows, "next": page.next}))?;
    Ok(match &page.next {
        Some(next) => answer.with_header(header::LINK, next_link(&request, next)),
        None => answer,
    })
}

/// Read a draft of a rulebook
///
/// Its text, and the same as a tree. Asked for with `Accept: application/toml` it is the text alone.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key")),
    responses(
        (status = 200, description = "The draft", content(
            (ref("#/components/schemas/RulebookDraft") = "application/json"),
            (String = "application/toml"))),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebook-drafts/{draft}")]
pub async fn read_rulebook_draft(
    request: HttpRequest,
    desk: CallersDesk,
    draft: Path<String>,
) -> Result<Reply, Problem> {
    if replies::wants_toml(&request) {
        let read = at_desk(&desk, move |desk| desk.rulebook_draft_text(&draft));
        let (text, tag) = read.await?;
        return Ok(Reply::toml(text, tag));
    }
    Reply::told(at_desk(&desk, move |desk| desk.rulebook_draft(&draft)).await?)
}

/// Write a draft of a rulebook anew
///
/// The whole of it, as text or as a tree of the shape that is read. A tree becomes the canonical text. Its shape must be sound; what else is wrong with it is told by its check.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key"),
        ("If-Match" = Option<String>, Header, description = "The tag of the draft as it was read; needed")),
    request_body(content(
        (String = "application/toml"),
        (String = "text/plain"),
        (ref("#/components/schemas/RulebookInput") = "application/json"))),
    responses(
        (status = 200, description = "The draft, without its rules", body = ref("#/components/schemas/RulebookDraftHead")),
        (status = 412, description = "Somebody else was quicker; ETag is that of what stands now", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "Every fault of shape, with its place", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/rulebook-drafts/{draft}")]
pub async fn replace_rulebook_draft(
    desk: CallersDesk,
    draft: Path<String>,
    acting: Acting,
    seen: Seen,
    body: RulebookBody,
) -> Result<Reply, Problem> {
    let act = acting.with(&body.value());
    let told = at_desk(&desk, move |desk| {
        desk.replace_rulebook_draft(&act, &draft, &body.0, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}

/// Discard a draft of a rulebook
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key"),
        ("If-Match" = Option<String>, Header, description = "The tag of the draft as it was read; needed")),
    responses(
        (status = 204, description = "It is gone"),
        (status = 412, description = "Somebody else was quicker; ETag is that of what stands now", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[delete("/v1/rulebook-drafts/{draft}")]
pub async fn discard_rulebook_draft(
    desk: CallersDesk,
    draft: Path<String>,
    _acting: Acting,
    seen: Seen,
) -> Result<HttpResponse, Problem> {
    let gone = at_desk(&desk, move |desk| {
        desk.discard_rulebook_draft(&draft, |tag| seen.matches(tag))
    });
    gone.await?;
    Ok(HttpResponse::build(StatusCode::NO_CONTENT).finish())
}

/// Format a draft of a rulebook
///
/// Brings its text into the canonical order and spelling. Comments stay with what they stand above or behind.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours"),
        ("If-Match" = Option<String>, Header, description = "The tag of the draft as it was read; needed")),
    responses(
        (status = 200, description = "The draft, without its rules", body = ref("#/components/schemas/RulebookDraftHead")),
        (status = 412, description = "Somebody else was quicker; ETag is that of what stands now", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/rulebook-drafts/{draft}/format")]
pub async fn format_rulebook_draft(
    desk: CallersDesk,
    draft: Path<String>,
    acting: Acting,
    seen: Seen,
) -> Result<Reply, Problem> {
    let act = acting.with(&Value::Null);
    let told = at_desk(&desk, move |desk| {
        desk.format_rulebook_draft(&act, &draft, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}

/// Check a draft of a rulebook
///
/// Every finding with its place in the text. The answer is 200 also when there are errors.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key")),
    responses(
        (status = 200, description = "The findings", body = ref("#/components/schemas/RulebookCheck")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebook-drafts/{draft}/findings")]
pub async fn check_rulebook_draft(desk: CallersDesk, draft: Path<String>) -> Result<Reply, Problem> {
    rulebooks::checked(at_desk(&desk, move |desk| desk.check_rulebook_draft(&draft)).await?)
}

/// Run the worked examples of a draft
///
/// What was expected beside what came; where they differ, how it came about.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key")),
    responses(
        (status = 200, description = "Every example", body = ref("#/components/schemas/TriedExamples")),
        (status = 422, description = "The rules have errors in them", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebook-drafts/{draft}/examples")]
pub async fn try_rulebook_draft(desk: CallersDesk, draft: Path<String>) -> Result<Reply, Problem> {
    let which = Which::Draft(draft.into_inner());
    tried(&at_desk(&desk, move |desk| desk.try_rulebook(&which)).await?)
}

/// Take over what the worked examples of a draft come to
///
/// Writes the figures that come out into the examples that are named, or into all: after a change that is meant, and that
/// somebody has looked at. What is expected to be told, to be there or not to be there stays as it is.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours"),
        ("If-Match" = Option<String>, Header, description = "The tag of the draft as it was read; needed")),
    request_body(content = ref("#/components/schemas/ExamplesToTake"), content_type = "application/json"),
    responses(
        (status = 200, description = "The draft, without its rules", body = ref("#/components/schemas/RulebookDraftHead")),
        (status = 412, description = "Somebody else was quicker; ETag is that of what stands now", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "The rules have errors in them, or a job cannot be estimated", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/rulebook-drafts/{draft}/examples")]
pub async fn take_example_figures(
    desk: CallersDesk,
    draft: Path<String>,
    acting: Acting,
    seen: Seen,
    body: Json,
) -> Result<Reply, Problem> {
    let titles = input::examples_to_take(&body.0).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.take_example_figures(&act, &draft, titles.as_deref(), |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}

/// Compare a draft with a version or another draft
///
/// By meaning: parts, their fields, lines and cells of tables. With the version that it was made from when nothing is named.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key"),
        ComparedQuery),
    responses(
        (status = 200, description = "What differs", body = ref("#/components/schemas/RulebookComparison")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebook-drafts/{draft}/comparison")]
pub async fn compare_rulebook_draft(
    desk: CallersDesk,
    draft: Path<String>,
    query: Query<ComparedQuery>,
) -> Result<Reply, Problem> {
    let (which, with) = (Which::Draft(draft.into_inner()), query.into_inner().named()?);
    Reply::json(&at_desk(&desk, move |desk| desk.compare_rulebooks(&which, &with)).await?)
}

/// Try a draft of a rulebook on a job
///
/// The job priced under a version of the rulebook and under the draft, and everything that moves. Nothing is stored.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key"),
        BesideQuery),
    request_body(content = ref("#/components/schemas/EstimateRequest"), content_type = "application/json"),
    responses(
        (status = 200, description = "The job before and after", body = ref("#/components/schemas/RulebookImpact")),
        (status = 422, description = "Every fault of the request, or of the rules", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/rulebook-drafts/{draft}/impact")]
pub async fn try_rulebook_draft_on_job(
    desk: CallersDesk,
    draft: Path<String>,
    query: Query<BesideQuery>,
    body: Json,
) -> Result<Reply, Problem> {
    let (which, with) = (Which::Draft(draft.into_inner()), query.with);
    let impact = at_desk(&desk, move |desk| desk.rulebook_impact(&which, with, &body.0));
    Ok(Reply::json(&impact.await?)?.without_tag())
}

/// Publish a draft of a rulebook
///
/// It becomes the next version, which nobody can change, and is current from a day on: today, when none is named. Refused while its check has an error or one of its worked examples does not come out. The draft is gone then.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours"),
        ("If-Match" = Option<String>, Header, description = "The tag of the draft as it was read; needed")),
    request_body(content = ref("#/components/schemas/RulebookPublication"), content_type = "application/json"),
    responses(
        (status = 200, description = "The version", body = ref("#/components/schemas/PublishedRulebook")),
        (status = 409, description = "Another version was published since the draft was made", body = Body, content_type = "application/problem+json"),
        (status = 412, description = "Somebody else was quicker; ETag is that of what stands now", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "Every finding of the check, or every worked example with what came", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/rulebook-drafts/{draft}/publish")]
pub async fn publish_rulebook_draft(
    desk: CallersDesk,
    draft: Path<String>,
    acting: Acting,
    seen: Seen,
    body: Json,
) -> Result<Reply, Problem> {
    let publication = input::publication(&body.0).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.publish_rulebook_draft(&act, &draft, &publication, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}
