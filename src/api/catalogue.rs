//! Items and equipment, the price of an item on any day, and a new price for it.

use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post};
use chrono::NaiveDate;
use estimate::catalogue::item::Price;
use estimate::catalogue::prices::PriceSource;
use estimate::quantity::decimal::plain;
use serde::{Deserialize, Serialize};
use utoipa::IntoParams;

use super::accept::AcceptQuery;
use super::acting::Repeatable;
use super::body::Json;
use super::page::{PageQuery, page};
use super::problem::{Body, Kind, Problem};
use super::reply::{self, Reply};
use super::who::CallersDesk;
use super::{at_desk, input};
use crate::desk::{Desk, DeskFault};

/// List the items that the company buys
///
/// In the order of their codes, with packs and every dated price.
#[utoipa::path(tag = "catalogue", params(PageQuery), responses(
    (status = 200, description = "A page of items", body = ref("#/components/schemas/ItemPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/items")]
pub async fn list_items(
    request: HttpRequest,
    desk: CallersDesk,
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
pub async fn read_item(desk: CallersDesk, code: Path<String>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let item = office
        .catalogue
        .item(&code)
        .ok_or_else(|| DeskFault::unknown("item", &code))?;
    Reply::json(item)
}

/// Which day.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct DayQuery {
    /// The day; today, where the company is, when it is left out.
    #[param(format = "date")]
    on: Option<String>,
}

impl DayQuery {
    /// The day that is asked for.
    ///
    /// # Errors
    /// It is no date.
    pub fn day(&self) -> Result<Option<NaiveDate>, Problem> {
        let read = |text: &str| {
            let wrong = || {
                let detail = format!("on is {text}; a date such as 2026-03-01 is asked for");
                Problem::new(Kind::InvalidParameter, detail)
            };
            input::iso_date(text).ok_or_else(wrong)
        };
        self.on.as_deref().map(read).transpose()
    }
}

#[derive(Serialize)]
struct ItemPricesView<'a> {
    code: &'a str,
    on: NaiveDate,
    packs: Vec<PackPriceView<'a>>,
}

#[derive(Serialize)]
struct PackPriceView<'a> {
    size: String,
    name: &'a str,
    price: Option<PriceView>,
    prices: Vec<&'a Price>,
}

#[derive(Serialize)]
struct PriceView {
    amount: String,
    #[serde(flatten)]
    source: PriceSource,
}

/// Read the prices of an item on a day
///
/// Of each pack the price that holds on the day, how old it is and where it comes from, and every dated price, the oldest
/// first.
#[utoipa::path(tag = "catalogue", params(("code" = String, Path, description = "The item's code"), DayQuery), responses(
    (status = 200, description = "The prices", body = ref("#/components/schemas/ItemPrices")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/items/{code}/prices")]
pub async fn read_item_prices(
    desk: CallersDesk,
    code: Path<String>,
    query: Query<DayQuery>,
) -> Result<Reply, Problem> {
    let day = query.day()?;
    let office = at_desk(&desk, Desk::office).await?;
    let on = day.unwrap_or_else(|| office.today());
    let item = office
        .catalogue
        .item(&code)
        .ok_or_else(|| DeskFault::unknown("item", &code))?;
    let packs = item.packs.iter().map(|pack| {
        let mut prices: Vec<&Price> = pack.prices.iter().collect();
        prices.sort_by_key(|price| price.valid_from);
        let price = pack.price_on(on).map(|price| PriceView {
            amount: plain(price.amount),
            source: PriceSource {
                valid_from: price.valid_from,
                age_days: (on - price.valid_from).num_days(),
                source: price.source.clone(),
            },
        });
        PackPriceView {
            size: plain(pack.size),
            name: &pack.name,
            price,
            prices,
        }
    });
    Reply::json(&ItemPricesView {
        code: &item.code,
        on,
        packs: packs.collect(),
    })
}

/// Add a dated price to a pack of an item
///
/// A price is never overwritten: a new one holds from its first day on, and what was priced before stays as it was. As in
/// a price list, a price of five times the one before or more, or a fifth or less, is refused without `accept=factor`,
/// and one of nothing without `accept=zero`.
#[utoipa::path(tag = "catalogue", params(
        ("code" = String, Path, description = "The item's code"),
        ("accept" = Option<String>, Query, description = "Words for what is meant, separated by commas. `factor`: it costs five times what it did before or more, or a fifth or less. `zero`: it costs nothing"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewPrice"), content_type = "application/json"), responses(
    (status = 201, description = "The item with the new price", body = ref("#/components/schemas/Item")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/items/{code}/prices")]
pub async fn add_price(
    desk: CallersDesk,
    code: Path<String>,
    query: Query<AcceptQuery>,
    request: Repeatable,
    body: Json,
) -> Result<Reply, Problem> {
    let meant = query.meant(&["factor", "zero"])?;
    let price = input::new_price(&body.0).map_err(Problem::invalid_input)?;
    let location = format!("/v1/items/{}", reply::percent_encoded(&code));
    let told = at_desk(&desk, move |desk| {
        let key = request.with(&body.0);
        desk.add_price(key.as_ref(), &code, (&price, meant), reply::told)
    });
    Reply::created(told.await?, location)
}

/// List the classes of cooling unit
#[utoipa::path(tag = "catalogue", params(PageQuery), responses(
    (status = 200, description = "A page of equipment", body = ref("#/components/schemas/EquipmentPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/equipment")]
pub async fn list_equipment(
    request: HttpRequest,
    desk: CallersDesk,
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
pub async fn read_equipment(desk: CallersDesk, class: Path<String>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let found = office.catalogue.equipment_class(&class);
    Reply::json(found.ok_or_else(|| DeskFault::unknown("equipment", &class))?)
}
