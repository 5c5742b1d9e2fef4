//! Items, equipment and labour classes, and a new price for an item.

use actix_web::http::{StatusCode, header};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, get, post};
use estimate::catalogue::LabourClass;
use estimate::catalogue::labour::{LabourRate, LoadedRate};
use serde::Serialize;

use super::body::Json;
use super::page::{PageQuery, page};
use super::problem::{Body, Problem};
use super::reply::Reply;
use super::{at_desk, input};
use crate::desk::{Desk, DeskFault};

/// A labour class with what each rate comes to.
#[derive(Serialize)]
struct LabourClassView<'a> {
    code: &'a str,
    title: &'a str,
    cost_code: &'a str,
    tax_category: &'a str,
    rates: Vec<RateView<'a>>,
}

#[derive(Serialize)]
struct RateView<'a> {
    #[serde(flatten)]
    rate: &'a LabourRate,
    loaded: Option<LoadedRate>,
}

impl<'a> From<&'a LabourClass> for LabourClassView<'a> {
    fn from(class: &'a LabourClass) -> Self {
        Self {
            code: &class.code,
            title: &class.title,
            cost_code: &class.cost_code,
            tax_category: &class.tax_category,
            rates: class
                .rates
                .iter()
                .map(|rate| RateView {
                    rate,
                    loaded: rate.loaded(),
                })
                .collect(),
        }
    }
}

/// List the items that the company buys
///
/// In the order of their codes, with packs and every dated price.
#[utoipa::path(tag = "catalogue", params(PageQuery), responses(
    (status = 200, description = "A page of items", body = ref("#/components/schemas/ItemPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/items")]
pub async fn list_items(
    request: HttpRequest,
    desk: Data<Desk>,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    page(&request, &query, office.catalogue.items(), |item| &item.code)
}

/// Read one item
#[utoipa::path(tag = "catalogue", params(("code" = String, Path, description = "The item's code")), responses(
    (status = 200, description = "The item", body = ref("#/components/schemas/Item")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/items/{code}")]
pub async fn read_item(desk: Data<Desk>, code: Path<String>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let item = office
        .catalogue
        .item(&code)
        .ok_or_else(|| DeskFault::unknown("item", &code))?;
    Reply::json(item)
}

/// Add a dated price to a pack of an item
///
/// A price is never overwritten: a new one holds from its first day on, and what was priced before stays as it was.
#[utoipa::path(tag = "catalogue", params(("code" = String, Path, description = "The item's code")),
    request_body(content = ref("#/components/schemas/NewPrice"), content_type = "application/json"), responses(
    (status = 201, description = "The item with the new price", body = ref("#/components/schemas/Item")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/items/{code}/prices")]
pub async fn add_price(desk: Data<Desk>, code: Path<String>, body: Json) -> Result<Reply, Problem> {
    let price = input::new_price(&body.0).map_err(Problem::invalid_input)?;
    let code = code.into_inner();
    let key = code.clone();
    let office = at_desk(&desk, move |desk| {
        desk.add_price(&key, &price)?;
        desk.office()
    })
    .await?;
    let item = office
        .catalogue
        .item(&code)
        .ok_or_else(|| DeskFault::unknown("item", &code))?;
    let location = format!("/v1/items/{}", super::reply::percent_encoded(&code));
    Ok(Reply::json(item)?
        .with_status(StatusCode::CREATED)
        .with_header(header::LOCATION, location))
}

/// List the classes of cooling unit
#[utoipa::path(tag = "catalogue", params(PageQuery), responses(
    (status = 200, description = "A page of equipment", body = ref("#/components/schemas/EquipmentPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/equipment")]
pub async fn list_equipment(
    request: HttpRequest,
    desk: Data<Desk>,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    page(&request, &query, office.catalogue.equipment(), |equipment| {
        &equipment.class
    })
}

/// Read one class of cooling unit
#[utoipa::path(tag = "catalogue", params(("class" = String, Path, description = "The class")), responses(
    (status = 200, description = "The equipment", body = ref("#/components/schemas/Equipment")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/equipment/{class}")]
pub async fn read_equipment(desk: Data<Desk>, class: Path<String>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let found = office.catalogue.equipment_class(&class);
    Reply::json(found.ok_or_else(|| DeskFault::unknown("equipment", &class))?)
}

/// List the labour classes
///
/// Each with its dated rates and, for each, the loaded cost an hour, part by part.
#[utoipa::path(tag = "catalogue", params(PageQuery), responses(
    (status = 200, description = "A page of labour classes", body = ref("#/components/schemas/LabourClassPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/labour-classes")]
pub async fn list_labour_classes(
    request: HttpRequest,
    desk: Data<Desk>,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let classes: Vec<_> = office
        .catalogue
        .labour()
        .iter()
        .map(LabourClassView::from)
        .collect();
    page(&request, &query, &classes, |class| class.code)
}

/// Read one labour class
#[utoipa::path(tag = "catalogue", params(("code" = String, Path, description = "The class's code")), responses(
    (status = 200, description = "The labour class", body = ref("#/components/schemas/LabourClass")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/labour-classes/{code}")]
pub async fn read_labour_class(desk: Data<Desk>, code: Path<String>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let class = office
        .catalogue
        .labour_place(&code)
        .and_then(|place| office.catalogue.labour().get(place));
    let class = class.ok_or_else(|| DeskFault::unknown("labour class", &code))?;
    Reply::json(&LabourClassView::from(class))
}
