//! What the company's ledger calls things.

use actix_web::web::Query;
use actix_web::{HttpRequest, get, put};
use serde::Deserialize;
use utoipa::IntoParams;

use super::settings_input::settings;
use crate::api::acting::Acting;
use crate::api::at_desk;
use crate::api::body::Json;
use crate::api::problem::{Body, Problem};
use crate::api::reply::{self, Reply};
use crate::api::who::CallersDesk;
use crate::desk::Desk;

/// Which version.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct VersionParameters {
    /// A former version; the one that holds when nothing is said.
    #[param(minimum = 1)]
    version: Option<u32>,
}

/// Read what the ledger calls things
///
/// Accounts by cost code, labour class and tax category; the company's registration for papers; and how long a receipt may
/// take. Before anything was saved this is version 0, without accounts.
#[utoipa::path(tag = "accounting", params(VersionParameters), responses(
    (status = 200, description = "The settings", body = ref("#/components/schemas/LedgerSettings")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/settings")]
pub async fn read_accounting_settings(
    desk: CallersDesk,
    query: Query<VersionParameters>,
) -> Result<Reply, Problem> {
    let version = query.version;
    let read = at_desk(&desk, move |desk| match version {
        Some(version) => desk.ledger_version(version),
        None => desk.ledger(),
    });
    Reply::json(&read.await?)
}

/// Save what the ledger calls things
///
/// As a new version; former ones stay. `If-Match` carries the tag of the version that was read.
#[utoipa::path(tag = "accounting",
    params(
        ("If-Match" = Option<String>, Header, description = "The tag of the settings that were read; needed")),
    request_body(content = ref("#/components/schemas/NewLedgerSettings"), content_type = "application/json"),
    responses(
        (status = 200, description = "The new version", body = ref("#/components/schemas/LedgerSettings")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/accounting/settings")]
pub async fn edit_accounting_settings(
    request: HttpRequest,
    desk: CallersDesk,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let person = acting.with(&body.0).person;
    let settings = settings(&body.0).map_err(Problem::invalid_input)?;
    let held = at_desk(&desk, Desk::ledger).await?;
    reply::demand_match(&request, Reply::json(&held)?.tag())?;
    let base = held.version;
    let saved = at_desk(&desk, move |desk| desk.save_ledger(&person, settings, base));
    Reply::json(&saved.await?)
}
