//! Policies: how cost becomes price, in versions that each hold from a day on.

use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post};
use chrono::NaiveDate;
use estimate::pricing::policy::Policy;
use serde::Serialize;

use super::accept::AcceptQuery;
use super::acting::{Repeatable, Seen};
use super::body::Json;
use super::catalogue::DayQuery;
use super::page::{PageQuery, page};
use super::problem::{Body, InputError, Problem};
use super::reply::{self, Reply};
use super::who::CallersDesk;
use super::{at_desk, input};
use crate::desk::{Desk, DeskFault, Office, PolicyVersion, Told};

#[derive(Serialize)]
struct PolicyView<'a> {
    version: u32,
    valid_from: NaiveDate,
    saved_at: &'a str,
    #[serde(flatten)]
    policy: &'a Policy,
}

impl<'a> From<&'a PolicyVersion> for PolicyView<'a> {
    fn from(version: &'a PolicyVersion) -> Self {
        Self {
            version: version.version,
            valid_from: version.valid_from,
            saved_at: &version.created_at,
            policy: version.policy.policy(),
        }
    }
}

/// A tag of the policy with all its versions, and of the version that is shown.
fn tag(office: &Office, shown: &PolicyVersion) -> String {
    let newest = office.policy_versions(&shown.policy.policy().id).last();
    shown.tag(newest.map_or(0, |newest| newest.version))
}

/// A version that was saved just now: it is the newest.
fn saved(version: &PolicyVersion) -> Result<Told, DeskFault> {
    Ok(Told {
        tag: Some(version.tag(version.version)),
        ..reply::told(&PolicyView::from(version))?
    })
}

fn location(id: &str) -> String {
    format!("/v1/policies/{}", reply::percent_encoded(id))
}

/// List the policies
///
/// The version of each that holds on the day.
#[utoipa::path(tag = "policies", params(PageQuery), responses(
    (status = 200, description = "A page of policies", body = ref("#/components/schemas/PolicyPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/policies")]
pub async fn list_policies(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let today = office.today();
    let mut ids: Vec<&str> = office
        .policies
        .iter()
        .map(|version| version.policy.policy().id.as_str())
        .collect();
    ids.dedup();
    let holding = ids
        .into_iter()
        .filter_map(|id| office.policy_on(Some(id), today).ok());
    let rows: Vec<_> = holding.map(PolicyView::from).collect();
    page(&request, &query, &rows, |row| &row.policy.id)
}

/// Read one policy
///
/// The version that holds on the day.
#[utoipa::path(tag = "policies", params(("id" = String, Path, description = "The policy's name"), DayQuery), responses(
    (status = 200, description = "The policy", body = ref("#/components/schemas/Policy")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/policies/{id}")]
pub async fn read_policy(
    desk: CallersDesk,
    id: Path<String>,
    query: Query<DayQuery>,
) -> Result<Reply, Problem> {
    let day = query.day()?;
    let office = at_desk(&desk, Desk::office).await?;
    let version = office.policy_on(Some(&id), day.unwrap_or_else(|| office.today()))?;
    Ok(Reply::json(&PolicyView::from(version))?.with_tag(tag(&office, version)))
}

#[derive(Serialize)]
struct VersionsView<'a> {
    data: Vec<PolicyView<'a>>,
}

/// List the versions of a policy
///
/// The first one first. On a day the newest version holds whose first day is not later.
#[utoipa::path(tag = "policies", params(("id" = String, Path, description = "The policy's name")), responses(
    (status = 200, description = "Every version", body = ref("#/components/schemas/PolicyVersions")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/policies/{id}/versions")]
pub async fn list_policy_versions(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let data: Vec<_> = office.policy_versions(&id).map(PolicyView::from).collect();
    if data.is_empty() {
        return Err(DeskFault::unknown("policy", &id).into());
    }
    Reply::json(&VersionsView { data })
}

/// Save a new policy
#[utoipa::path(tag = "policies",
    params(("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewPolicy"), content_type = "application/json"), responses(
    (status = 201, description = "The first version", body = ref("#/components/schemas/Policy")),
    (status = 409, description = "There is one of this name", body = Body, content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/policies")]
pub async fn create_policy(desk: CallersDesk, request: Repeatable, body: Json) -> Result<Reply, Problem> {
    let (day, policy): (NaiveDate, Policy) =
        input::dated(&body.0, "policy").map_err(Problem::invalid_input)?;
    let (key, location) = (request.with(&body.0), location(&policy.id));
    let told = at_desk(&desk, move |desk| {
        desk.create_policy(key.as_ref(), &policy, day, saved)
    });
    Reply::created(told.await?, location)
}

/// Save the next version of a policy
///
/// It holds from its first day on; jobs of earlier days are priced by the version before. Days that are over keep what
/// they cost: a day in the past, or one on which another version holds already, is refused without `accept=backdated`. `If-Match` carries the tag of
/// the policy as it was read, on any day.
#[utoipa::path(tag = "policies",
    params(
        ("id" = String, Path, description = "The policy's name"),
        ("accept" = Option<String>, Query, description = "What is meant. `backdated`: days that are over are priced otherwise"),
        ("If-Match" = Option<String>, Header, description = "The tag of the policy that was read; needed"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewPolicy"), content_type = "application/json"),
    responses(
        (status = 201, description = "The new version", body = ref("#/components/schemas/Policy")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/policies/{id}/versions")]
pub async fn edit_policy(
    desk: CallersDesk,
    id: Path<String>,
    query: Query<AcceptQuery>,
    request: Repeatable,
    seen: Seen,
    body: Json,
) -> Result<Reply, Problem> {
    let meant = query.meant(&["backdated"])?;
    let (day, policy): (NaiveDate, Policy) =
        input::dated(&body.0, "policy").map_err(Problem::invalid_input)?;
    if policy.id != *id {
        let message = format!("is {}, at the address of {id}", policy.id);
        return Err(Problem::invalid_input(vec![InputError::does_not_fit(
            "/policy/id",
            message,
        )]));
    }
    let (key, location) = (request.with(&body.0), location(&id));
    let told = at_desk(&desk, move |desk| {
        desk.edit_policy(
            key.as_ref(),
            &policy,
            (day, meant),
            |tag| seen.matches(tag),
            saved,
        )
    });
    Reply::created(told.await?, location)
}
