//! Policies: how cost becomes price.

use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, get};
use estimate::pricing::policy::Policy;
use serde::Serialize;

use super::at_desk;
use super::page::{PageQuery, page};
use super::problem::{Body, Problem};
use super::reply::Reply;
use crate::desk::{Desk, PolicyVersion};

#[derive(Serialize)]
struct PolicyView<'a> {
    version: u32,
    #[serde(flatten)]
    policy: &'a Policy,
}

impl<'a> From<&'a PolicyVersion> for PolicyView<'a> {
    fn from(version: &'a PolicyVersion) -> Self {
        Self {
            version: version.version,
            policy: version.policy.policy(),
        }
    }
}

/// List the policies
#[utoipa::path(tag = "policies", params(PageQuery), responses(
    (status = 200, description = "A page of policies", body = ref("#/components/schemas/PolicyPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/policies")]
pub async fn list_policies(
    request: HttpRequest,
    desk: Data<Desk>,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let rows: Vec<_> = office.policies.iter().map(PolicyView::from).collect();
    page(&request, &query, &rows, |row| &row.policy.id)
}

/// Read one policy
#[utoipa::path(tag = "policies", params(("id" = String, Path, description = "The policy's name")), responses(
    (status = 200, description = "The policy", body = ref("#/components/schemas/Policy")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/policies/{id}")]
pub async fn read_policy(desk: Data<Desk>, id: Path<String>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    Reply::json(&PolicyView::from(office.policy(Some(&id))?))
}
