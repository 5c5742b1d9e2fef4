//! Customers and their sites.

use actix_web::http::header;
use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post, put};
use serde::Deserialize;
use serde_json::json;
use utoipa::IntoParams;
use utoipa_actix_web::service_config::ServiceConfig;

use super::acting::{Acting, Seen};
use super::at_desk;
use super::body::Json;
use super::problem::{Body, Problem};
use super::quote_input as input;
use super::reply::{Reply, percent_encoded};
use super::who::CallersDesk;
use crate::desk::{Told, kept_key};
use crate::store::{PartyFilter, PartyKind};

/// Which rows of a list of customers or sites.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PartyListQuery {
    /// Rows on a page: 1 to 500, 50 when nothing is said.
    #[param(minimum = 1, maximum = 500, default = 50)]
    limit: Option<i64>,
    /// The key after which the page begins: the `next` of the page before.
    after: Option<String>,
    /// A text that occurs in it; letters of either case.
    text: Option<String>,
    /// Sites of this customer.
    customer: Option<String>,
    /// Those that are put away instead of the others.
    #[serde(default)]
    #[param(default = false)]
    archived: bool,
}

/// The same, of something that was made under `place`.
pub(super) fn created(told: Told, place: &str) -> Result<Reply, Problem> {
    let id = told.body.get("id").and_then(|id| id.as_str()).unwrap_or_default();
    let location = format!("{place}/{}", percent_encoded(id));
    Reply::created(told, location)
}

/// The query of a page behind `after`.
pub(super) fn next_link(request: &HttpRequest, after: &str) -> String {
    let kept = request.query_string().split('&');
    let kept = kept.filter(|pair| !pair.is_empty() && !pair.starts_with("after="));
    let pairs: Vec<String> = kept
        .map(str::to_owned)
        .chain([format!("after={}", percent_encoded(after))])
        .collect();
    format!("<{}?{}>; rel=\"next\"", request.path(), pairs.join("&"))
}

/// The routes of this file.
pub(super) fn routes(config: &mut ServiceConfig) {
    config
        .service(list_customers)
        .service(create_customer)
        .service(read_customer)
        .service(change_customer)
        .service(archive_customer)
        .service(list_sites)
        .service(create_site)
        .service(read_site)
        .service(change_site)
        .service(archive_site);
}

async fn list(
    request: &HttpRequest,
    desk: &CallersDesk,
    kind: PartyKind,
    query: PartyListQuery,
) -> Result<Reply, Problem> {
    let filter = PartyFilter {
        limit: input::limit(query.limit)?,
        after: query.after,
        text: query.text,
        customer: query.customer.as_deref().map(kept_key),
        archived: query.archived,
    };
    let page = at_desk(desk, move |desk| desk.parties(kind, &filter)).await?;
    let answer = Reply::json(&json!({"data": page.rows, "next": page.next}))?;
    Ok(match &page.next {
        Some(next) => answer.with_header(header::LINK, next_link(request, next)),
        None => answer,
    })
}

/// List the customers
///
/// In the order of their keys.
#[utoipa::path(tag = "customers", params(
        PartyListQuery),
    responses(
        (status = 200, description = "A page of customers", body = ref("#/components/schemas/CustomerPage")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/customers")]
pub async fn list_customers(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<PartyListQuery>,
) -> Result<Reply, Problem> {
    list(&request, &desk, PartyKind::Customer, query.into_inner()).await
}

/// Make a customer
#[utoipa::path(tag = "customers", params(
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewCustomer"), content_type = "application/json"),
    responses(
        (status = 201, description = "The customer", body = ref("#/components/schemas/Customer")),
        (status = 409, description = "The key is taken", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/customers")]
pub async fn create_customer(desk: CallersDesk, acting: Acting, body: Json) -> Result<Reply, Problem> {
    let (id, party) = input::party(PartyKind::Customer, &body.0, true).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.add_party(PartyKind::Customer, &act, id, &party)
    });
    created(told.await?, "/v1/customers")
}

/// Read a customer
#[utoipa::path(tag = "customers", params(
        ("id" = String, Path, description = "The customer's key")),
    responses(
        (status = 200, description = "The customer", body = ref("#/components/schemas/Customer")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/customers/{id}")]
pub async fn read_customer(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    Reply::told(at_desk(&desk, move |desk| desk.party(PartyKind::Customer, &id)).await?)
}

/// Write a customer anew
///
/// Quotes that were issued keep the customer as it was.
#[utoipa::path(tag = "customers", params(
        ("id" = String, Path, description = "The customer's key"),
        ("If-Match" = Option<String>, Header, description = "The tag of what was read, or * for whatever stands; needed")),
    request_body(content = ref("#/components/schemas/ChangedCustomer"), content_type = "application/json"),
    responses(
        (status = 200, description = "The customer", body = ref("#/components/schemas/Customer")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/customers/{id}")]
pub async fn change_customer(
    desk: CallersDesk,
    id: Path<String>,
    acting: Acting,
    seen: Seen,
    body: Json,
) -> Result<Reply, Problem> {
    let (_, party) = input::party(PartyKind::Customer, &body.0, false).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.change_party(PartyKind::Customer, &act, &id, &party, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}

/// Put a customer away, or take it out again
///
/// Nothing is deleted.
#[utoipa::path(tag = "customers", params(
        ("id" = String, Path, description = "The customer's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Archived"), content_type = "application/json"),
    responses(
        (status = 200, description = "The customer", body = ref("#/components/schemas/Customer")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/customers/{id}/archive")]
pub async fn archive_customer(
    desk: CallersDesk,
    id: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let archived = input::archived(&body.0).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.archive_party(PartyKind::Customer, &act, &id, archived)
    });
    Reply::told(told.await?)
}

/// List the sites
///
/// In the order of their keys.
#[utoipa::path(tag = "customers", params(
        PartyListQuery),
    responses(
        (status = 200, description = "A page of sites", body = ref("#/components/schemas/SitePage")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/sites")]
pub async fn list_sites(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<PartyListQuery>,
) -> Result<Reply, Problem> {
    list(&request, &desk, PartyKind::Site, query.into_inner()).await
}

/// Make a site
#[utoipa::path(tag = "customers", params(
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewSite"), content_type = "application/json"),
    responses(
        (status = 201, description = "The site", body = ref("#/components/schemas/Site")),
        (status = 409, description = "The key is taken", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/sites")]
pub async fn create_site(desk: CallersDesk, acting: Acting, body: Json) -> Result<Reply, Problem> {
    let (id, party) = input::party(PartyKind::Site, &body.0, true).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.add_party(PartyKind::Site, &act, id, &party)
    });
    created(told.await?, "/v1/sites")
}

/// Read a site
#[utoipa::path(tag = "customers", params(
        ("id" = String, Path, description = "The site's key")),
    responses(
        (status = 200, description = "The site", body = ref("#/components/schemas/Site")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/sites/{id}")]
pub async fn read_site(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    Reply::told(at_desk(&desk, move |desk| desk.party(PartyKind::Site, &id)).await?)
}

/// Write a site anew
///
/// Quotes that were issued keep the site as it was.
#[utoipa::path(tag = "customers", params(
        ("id" = String, Path, description = "The site's key"),
        ("If-Match" = Option<String>, Header, description = "The tag of what was read, or * for whatever stands; needed")),
    request_body(content = ref("#/components/schemas/ChangedSite"), content_type = "application/json"),
    responses(
        (status = 200, description = "The site", body = ref("#/components/schemas/Site")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/sites/{id}")]
pub async fn change_site(
    desk: CallersDesk,
    id: Path<String>,
    acting: Acting,
    seen: Seen,
    body: Json,
) -> Result<Reply, Problem> {
    let (_, party) = input::party(PartyKind::Site, &body.0, false).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.change_party(PartyKind::Site, &act, &id, &party, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}

/// Put a site away, or take it out again
///
/// Nothing is deleted.
#[utoipa::path(tag = "customers", params(
        ("id" = String, Path, description = "The site's key"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/Archived"), content_type = "application/json"),
    responses(
        (status = 200, description = "The site", body = ref("#/components/schemas/Site")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/sites/{id}/archive")]
pub async fn archive_site(
    desk: CallersDesk,
    id: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let archived = input::archived(&body.0).map_err(Problem::invalid_input)?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.archive_party(PartyKind::Site, &act, &id, archived)
    });
    Reply::told(told.await?)
}
