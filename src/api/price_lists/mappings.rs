//! Saved column mappings.

use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post, put};
use estimate::catalogue::price_list::Mapping;
use serde::Serialize;

use crate::api::acting::Repeatable;
use crate::api::body::Json;
use crate::api::page::{PageQuery, page};
use crate::api::problem::{Body, InputError, Problem};
use crate::api::reply::{self, Reply};
use crate::api::who::CallersDesk;
use crate::api::{at_desk, input};
use crate::desk::{Desk, DeskFault, Told};
use crate::store::StoredMapping;

#[derive(Serialize)]
struct MappingView<'a> {
    version: u32,
    saved_at: &'a str,
    #[serde(flatten)]
    mapping: &'a Mapping,
}

impl<'a> From<&'a StoredMapping> for MappingView<'a> {
    fn from(stored: &'a StoredMapping) -> Self {
        Self {
            version: stored.version,
            saved_at: &stored.created_at,
            mapping: &stored.mapping,
        }
    }
}

fn told(stored: &StoredMapping) -> Result<Told, DeskFault> {
    reply::told(&MappingView::from(stored))
}

/// List the column mappings
///
/// How the price lists of each supplier are read; the newest version of each.
#[utoipa::path(tag = "price lists", params(PageQuery), responses(
    (status = 200, description = "A page of mappings", body = ref("#/components/schemas/PriceListMappingPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/price-list-mappings")]
pub async fn list_price_list_mappings(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let stored = at_desk(&desk, Desk::price_list_mappings).await?;
    let rows: Vec<_> = stored.iter().map(MappingView::from).collect();
    page(&request, &query, &rows, |row| &row.mapping.id)
}

/// Read one column mapping
#[utoipa::path(tag = "price lists", params(("id" = String, Path, description = "The mapping's name")), responses(
    (status = 200, description = "The newest version", body = ref("#/components/schemas/PriceListMapping")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/price-list-mappings/{id}")]
pub async fn read_price_list_mapping(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    let stored = at_desk(&desk, move |desk| desk.price_list_mapping(&id)).await?;
    Reply::json(&MappingView::from(&stored))
}

/// Save a new column mapping
#[utoipa::path(tag = "price lists",
    params(("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewPriceListMapping"), content_type = "application/json"), responses(
    (status = 201, description = "The first version", body = ref("#/components/schemas/PriceListMapping")),
    (status = 409, description = "There is one of this name", body = Body, content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/price-list-mappings")]
pub async fn create_price_list_mapping(
    desk: CallersDesk,
    request: Repeatable,
    body: Json,
) -> Result<Reply, Problem> {
    let key = request.with(&body.0);
    let mapping: Mapping = input::shaped(body.0).map_err(Problem::invalid_input)?;
    let location = format!("/v1/price-list-mappings/{}", mapping.id);
    let told = at_desk(&desk, move |desk| {
        desk.save_price_list_mapping(key.as_ref(), &mapping, 0, told)
    });
    Reply::created(told.await?, location)
}

/// Save the next version of a column mapping
///
/// `If-Match` carries the tag of the version that was read. Lists that were applied keep the version they were read by.
#[utoipa::path(tag = "price lists",
    params(
        ("id" = String, Path, description = "The mapping's name"),
        ("If-Match" = Option<String>, Header, description = "The tag of the version that was edited; needed")),
    request_body(content = ref("#/components/schemas/NewPriceListMapping"), content_type = "application/json"),
    responses(
        (status = 200, description = "The new version", body = ref("#/components/schemas/PriceListMapping")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/price-list-mappings/{id}")]
pub async fn edit_price_list_mapping(
    request: HttpRequest,
    desk: CallersDesk,
    id: Path<String>,
    body: Json,
) -> Result<Reply, Problem> {
    let mapping: Mapping = input::shaped(body.0).map_err(Problem::invalid_input)?;
    let id = id.into_inner();
    if mapping.id != id {
        let message = format!("is {}, at the address of {id}", mapping.id);
        return Err(Problem::invalid_input(vec![InputError::does_not_fit(
            "/id", message,
        )]));
    }
    let stored = at_desk(&desk, move |desk| desk.price_list_mapping(&id)).await?;
    let current = Reply::json(&MappingView::from(&stored))?;
    reply::demand_match(&request, current.tag())?;
    let base = stored.version;
    let saved = at_desk(&desk, move |desk| {
        desk.save_price_list_mapping(None, &mapping, base, told)
    });
    Reply::told(saved.await?)
}
