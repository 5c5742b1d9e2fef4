//! Surveys: kept as far as they go, and told what is missing for a price.

use actix_web::http::header;
use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post, put};
use serde::Deserialize;
use serde_json::{Value, json};
use utoipa::IntoParams;
use utoipa_actix_web::service_config::ServiceConfig;

use super::acting::{Acting, Seen};
use super::at_desk;
use super::body::Json;
use super::limits::{SURVEY, SURVEYS_A_PAGE};
use super::parties::{created, next_link};
use super::problem::{Body, Kind, Problem};
use super::quote_input as input;
use super::reply::Reply;
use super::who::CallersDesk;
use crate::store::PartyFilter;

/// Which rows of the list.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct SurveyListQuery {
    /// Rows on a page: 1 to 500, 50 when nothing is said. A page of surveys ends after 100, since each is judged by today's
    /// rules for it; `next` goes on.
    #[param(minimum = 1, maximum = 500, default = 50)]
    limit: Option<i64>,
    /// The key after which the page begins: the `next` of the page before.
    after: Option<String>,
    /// A text that occurs in it; letters of either case.
    text: Option<String>,
    /// Those that are put away instead of the others.
    #[serde(default)]
    #[param(default = false)]
    archived: bool,
}

/// Holds a survey against what one may have: it is kept as it comes, and judged anew whenever it is read.
fn not_too_large(survey: &Value) -> Result<(), Problem> {
    match survey.to_string().len() {
        0..=SURVEY => Ok(()),
        length => {
            let detail = format!("a survey has at most {SURVEY} bytes, and this one has {length}");
            Err(Problem::new(Kind::ContentTooLarge, detail))
        }
    }
}

/// The routes of this file.
pub(super) fn routes(config: &mut ServiceConfig) {
    config
        .service(list_surveys)
        .service(create_survey)
        .service(read_survey)
        .service(change_survey)
        .service(archive_survey);
}

/// List the surveys
///
/// In the order of their keys, each with how much is missing.
#[utoipa::path(tag = "surveys", params(SurveyListQuery), responses(
    (status = 200, description = "A page of surveys", body = ref("#/components/schemas/SurveyPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/surveys")]
pub async fn list_surveys(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<SurveyListQuery>,
) -> Result<Reply, Problem> {
    let query = query.into_inner();
    let filter = PartyFilter {
        limit: input::limit(query.limit)?.min(SURVEYS_A_PAGE),
        after: query.after,
        text: query.text,
        customer: None,
        archived: query.archived,
    };
    let page = at_desk(&desk, move |desk| desk.surveys(&filter)).await?;
    let answer = Reply::json(&json!({"data": page.rows, "next": page.next}))?;
    Ok(match &page.next {
        Some(next) => answer.with_header(header::LINK, next_link(&request, next)),
        None => answer,
    })
}

/// Keep a survey
///
/// It need not be whole. The answer says what is still missing for a price, and what cannot stand; either is kept as it
/// came. Whole, its job goes into an estimate or the draft of a quote as it is; a quote that names the survey is found by
/// it, `GET /v1/quotes?survey=`.
#[utoipa::path(tag = "surveys", params(
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewSurvey"), content_type = "application/json"),
    responses(
        (status = 201, description = "The survey", body = ref("#/components/schemas/Survey")),
        (status = 409, description = "There is one under this key: it has landed", body = Body,
            content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/surveys")]
pub async fn create_survey(desk: CallersDesk, acting: Acting, body: Json) -> Result<Reply, Problem> {
    let (id, survey) = input::survey(&body.0, true).map_err(Problem::invalid_input)?;
    not_too_large(&survey)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| desk.add_survey(&act, id, &survey));
    created(told.await?, "/v1/surveys")
}

/// Read a survey
///
/// With what today's rules say of it. The tag is another once that is another, so that `If-None-Match` tells; a survey that
/// nobody wrote in the meantime is still written anew under it.
#[utoipa::path(tag = "surveys", params(
        ("id" = String, Path, description = "The survey's key")),
    responses(
        (status = 200, description = "The survey", body = ref("#/components/schemas/Survey")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/surveys/{id}")]
pub async fn read_survey(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    Reply::told(at_desk(&desk, move |desk| desk.survey(&id)).await?)
}

/// Write a survey anew
///
/// What was written since the tag was read stands in the way; what the rules say of the survey by now, under `missing` and
/// `faults`, does not. Of the tag, what stands before the point says what was written.
#[utoipa::path(tag = "surveys", params(
        ("id" = String, Path, description = "The survey's key"),
        ("If-Match" = Option<String>, Header, description = "The tag of what was read, or * for whatever stands; needed")),
    request_body(content = ref("#/components/schemas/ChangedSurvey"), content_type = "application/json"),
    responses(
        (status = 200, description = "The survey", body = ref("#/components/schemas/Survey")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/surveys/{id}")]
pub async fn change_survey(
    desk: CallersDesk,
    id: Path<String>,
    acting: Acting,
    seen: Seen,
    body: Json,
) -> Result<Reply, Problem> {
    let (_, survey) = input::survey(&body.0, false).map_err(Problem::invalid_input)?;
    not_too_large(&survey)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.change_survey(&act, &id, &survey, |tag| seen.matches_writing(tag))
    });
    Reply::told(told.await?)
}

/// Put a survey away, or take it out again
///
/// Nothing is deleted.
#[utoipa::path(tag = "surveys", params(
        ("id" = String, Path, description = "The survey's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Archived"), content_type = "application/json"),
    responses(
        (status = 200, description = "The survey", body = ref("#/components/schemas/Survey")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/surveys/{id}/archive")]
pub async fn archive_survey(
    desk: CallersDesk,
    id: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let archived = input::archived(&body.0).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| desk.archive_survey(&act, &id, archived));
    Reply::told(told.await?)
}
