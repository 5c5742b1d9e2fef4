//! Published versions of rulebooks: listed, read, compared, tried on a job, made current, retired.

use actix_web::http::StatusCode;
use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post};
use estimate::examples::Tried;
use estimate::rules::{Rulebook, parse_toml};
use serde::{Deserialize, Serialize};
use serde_json::json;
use utoipa::IntoParams;

use super::acting::Acting;
use super::body::Json;
use super::problem::{Body, Kind, Problem};
use super::reply::Reply;
use super::who::CallersDesk;
use super::{at_desk, input, reply as replies};
use crate::desk::{DeskFault, Which, With, version_tag};
use crate::store::StoredRulebook;

/// What rules are tried beside.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct BesideQuery {
    /// The version of the same rulebook.
    #[param(minimum = 1)]
    pub(super) with: Option<u32>,
}

/// What rules are compared with.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ComparedQuery {
    /// A version of the same rulebook.
    #[param(minimum = 1)]
    with: Option<u32>,
    /// A draft, by its key.
    with_draft: Option<String>,
}

impl ComparedQuery {
    /// The one that is named.
    ///
    /// # Errors
    /// Both are.
    pub(super) fn named(self) -> Result<With, Problem> {
        match (self.with, self.with_draft) {
            (Some(_), Some(_)) => {
                let detail = "with and with_draft are both given; one of the two is taken";
                Err(Problem::new(Kind::InvalidParameter, detail))
            }
            (Some(version), None) => Ok(With::Version(version)),
            (None, Some(draft)) => Ok(With::Draft(draft)),
            (None, None) => Ok(With::Usual),
        }
    }
}

#[derive(Serialize)]
struct VersionView<'a> {
    id: &'a str,
    version: u32,
    title: &'a str,
    published_at: &'a str,
    digest: &'a str,
    model: &'a Rulebook,
    text: &'a str,
}

/// Worked examples that were tried.
pub(super) fn tried(examples: &[Tried]) -> Result<Reply, Problem> {
    let fits = examples.iter().all(|example| example.fits);
    Ok(Reply::json(&json!({"fits": fits, "examples": examples}))?.without_tag())
}

fn view(stored: &StoredRulebook) -> Result<Result<Reply, Problem>, DeskFault> {
    let model = parse_toml(&stored.text).map_err(DeskFault::Rulebook)?;
    let view = VersionView {
        id: &stored.head.id,
        version: stored.head.version,
        title: model.title.as_str(),
        published_at: &stored.head.created_at,
        digest: &stored.head.digest,
        model: &model,
        text: &stored.text,
    };
    Ok(Reply::json(&view).map(|reply| reply.with_tag(version_tag(&stored.head))))
}

/// List the versions of a rulebook
///
/// The first one first, each with its state today, and the calendar that says which is current when: on a day the entry counts whose first day is the latest one not after it.
#[utoipa::path(tag = "rules", params(
        ("id" = String, Path, description = "The rulebook's name")),
    responses(
        (status = 200, description = "The versions and the calendar", body = ref("#/components/schemas/RulebookVersions")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebooks/{id}/versions")]
pub async fn list_rulebook_versions(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    Reply::json(&at_desk(&desk, move |desk| desk.rulebook_versions(&id)).await?)
}

/// Read a version of a rulebook
///
/// Published versions never change. Asked for with `Accept: application/toml` it is the text alone.
#[utoipa::path(tag = "rules", params(
        ("id" = String, Path, description = "The rulebook's name"),
        ("version" = u32, Path, description = "Which version")),
    responses(
        (status = 200, description = "The version", content(
            (ref("#/components/schemas/RulebookVersion") = "application/json"),
            (String = "application/toml"))),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebooks/{id}/versions/{version}")]
pub async fn read_rulebook_version(
    request: HttpRequest,
    desk: CallersDesk,
    path: Path<(String, u32)>,
) -> Result<Reply, Problem> {
    let (id, version) = path.into_inner();
    let as_text = replies::wants_toml(&request);
    let reply = at_desk(&desk, move |desk| {
        let stored = desk.office()?.shelf.text(&id, version)?;
        match as_text {
            true => Ok(Ok(Reply::toml(stored.text, version_tag(&stored.head)))),
            false => view(&stored),
        }
    });
    reply.await?
}

/// Run the worked examples of a version
///
/// With the catalogue and policies of today: what was expected beside what came.
#[utoipa::path(tag = "rules", params(
        ("id" = String, Path, description = "The rulebook's name"),
        ("version" = u32, Path, description = "Which version")),
    responses(
        (status = 200, description = "Every example", body = ref("#/components/schemas/TriedExamples")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebooks/{id}/versions/{version}/examples")]
pub async fn try_rulebook_version(desk: CallersDesk, path: Path<(String, u32)>) -> Result<Reply, Problem> {
    let (id, version) = path.into_inner();
    let which = Which::Version(id, version);
    tried(&at_desk(&desk, move |desk| desk.try_rulebook(&which)).await?)
}

/// Compare two versions of a rulebook
///
/// By meaning: parts, their fields, lines and cells of tables. With the one that is current today when none is named.
#[utoipa::path(tag = "rules", params(
        ("id" = String, Path, description = "The rulebook's name"),
        ("version" = u32, Path, description = "Which version"),
        ComparedQuery),
    responses(
        (status = 200, description = "What differs", body = ref("#/components/schemas/RulebookComparison")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebooks/{id}/versions/{version}/comparison")]
pub async fn compare_rulebook_versions(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    query: Query<ComparedQuery>,
) -> Result<Reply, Problem> {
    let (id, version) = path.into_inner();
    let (which, with) = (Which::Version(id, version), query.into_inner().named()?);
    Reply::json(&at_desk(&desk, move |desk| desk.compare_rulebooks(&which, &with)).await?)
}

/// Try a version of a rulebook on a job
///
/// The job priced under another version, the one that is current on the day of the prices when none is named, and under this one, and everything that moves. Nothing is stored.
#[utoipa::path(tag = "rules", params(
        ("id" = String, Path, description = "The rulebook's name"),
        ("version" = u32, Path, description = "Which version"),
        BesideQuery),
    request_body(content = ref("#/components/schemas/EstimateRequest"), content_type = "application/json"),
    responses(
        (status = 200, description = "The job before and after", body = ref("#/components/schemas/RulebookImpact")),
        (status = 422, description = "Every fault of the request", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/rulebooks/{id}/versions/{version}/impact")]
pub async fn try_rulebook_version_on_job(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    query: Query<BesideQuery>,
    body: Json,
) -> Result<Reply, Problem> {
    let (id, version) = path.into_inner();
    let (which, with) = (Which::Version(id, version), query.with);
    let impact = at_desk(&desk, move |desk| desk.rulebook_impact(&which, with, &body.0));
    Ok(Reply::json(&impact.await?)?.without_tag())
}

/// Make a version current
///
/// From a day on: today, when none is named. An entry is never changed; a later entry for the same day counts instead.
#[utoipa::path(tag = "rules", params(
        ("id" = String, Path, description = "The rulebook's name"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewRulebookCalendarEntry"), content_type = "application/json"),
    responses(
        (status = 201, description = "The entry", body = ref("#/components/schemas/RulebookCalendarEntry")),
        (status = 409, description = "The version is retired", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/rulebooks/{id}/calendar")]
pub async fn make_rulebook_current(
    desk: CallersDesk,
    id: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let (version, from) = input::calendar_entry(&body.0).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.make_rulebook_current(&act, &id, version, from)
    });
    Ok(Reply::told(told.await?)?.with_status(StatusCode::CREATED))
}

/// Retire a version of a rulebook
///
/// It is not offered any more, but stays usable where it is named, and on the days on which it was current. The one that is current cannot be retired before another takes its place; of one that was to be current from a later day on, the one before stays current.
#[utoipa::path(tag = "rules", params(
        ("id" = String, Path, description = "The rulebook's name"),
        ("version" = u32, Path, description = "Which version"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/RulebookReason"), content_type = "application/json"),
    responses(
        (status = 200, description = "The retirement", body = ref("#/components/schemas/RulebookRetirement")),
        (status = 409, description = "It is current, or is retired already", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/rulebooks/{id}/versions/{version}/retire")]
pub async fn retire_rulebook(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let reason = input::reason(&body.0).map_err(Problem::invalid_input)?;
    let (act, (id, version)) = (acting.with(&body.0), path.into_inner());
    let told = at_desk(&desk, move |desk| {
        desk.retire_rulebook(&act, &id, version, &reason)
    });
    Reply::told(told.await?)
}
