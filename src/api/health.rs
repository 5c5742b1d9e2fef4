//! Whether the service lives, and whether it can answer.

use actix_web::get;
use actix_web::http::header;
use actix_web::web::Data;
use serde::Serialize;
use utoipa::ToSchema;

use super::at_desk;
use super::problem::{Body, Kind, Problem};
use super::reply::Reply;
use super::who::CallersDesk;
use crate::desk::Desk;

/// The service's word.
#[derive(Serialize, ToSchema)]
pub struct Health {
    /// `ok`.
    #[schema(example = "ok")]
    status: &'static str,
}

/// Whether the process lives
///
/// It says nothing of the database: `/readyz` does.
#[utoipa::path(tag = "service", responses(
    (status = 200, description = "It lives", body = Health),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/healthz")]
pub async fn healthz() -> Result<Reply, Problem> {
    Ok(Reply::json(&Health { status: "ok" })?.without_tag())
}

/// Whether it can price a job
///
/// The database answers and holds a catalogue, a policy and a rulebook.
#[utoipa::path(tag = "service", responses(
    (status = 200, description = "It can", body = Health),
    (status = 503, description = "It cannot, for now", body = Body, content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/readyz")]
pub async fn readyz(desk: Data<Desk>) -> Result<Reply, Problem> {
    match at_desk(&CallersDesk::of_nobody(&desk), Desk::ready).await {
        Ok(()) => Ok(Reply::json(&Health { status: "ok" })?.without_tag()),
        Err(problem) => Err(Problem::new(Kind::NotReady, problem.detail().to_owned())
            .with_header(header::RETRY_AFTER, "5".to_owned())),
    }
}
