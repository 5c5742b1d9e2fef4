//! Lists that were applied: what they did, and taking one back.

use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post};
use chrono::NaiveDate;
use estimate::catalogue::price_list::{Trouble, Vanished};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::IntoParams;

use super::report::{MappingName, RowView};
use crate::api::acting::Repeatable;
use crate::api::body::Json;
use crate::api::page::{PageQuery, keyset};
use crate::api::problem::{Body, Kind, Problem};
use crate::api::reply::{self, Reply};
use crate::api::who::CallersDesk;
use crate::api::{at_desk, input};
use crate::desk::Told;
use crate::desk::price_list::{Kept, TakenBack};
use crate::store::{Origin, PriceListHead};

#[derive(Serialize)]
struct HeadView<'a> {
    number: u32,
    supplier: &'a str,
    source: &'a str,
    valid_from: NaiveDate,
    #[serde(skip_serializing_if = "Option::is_none")]
    mapping: Option<MappingName<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    digest: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    takes_back: Option<u32>,
    applied_at: &'a str,
}

impl<'a> From<&'a PriceListHead> for HeadView<'a> {
    fn from(head: &'a PriceListHead) -> Self {
        let (mapping, digest, takes_back) = match &head.origin {
            Origin::File {
                mapping,
                version,
                digest,
            } => (
                Some(MappingName {
                    id: mapping,
                    version: *version,
                }),
                Some(digest.as_str()),
                None,
            ),
            Origin::TakesBack(other) => (None, None, Some(*other)),
        };
        Self {
            number: head.number,
            supplier: &head.supplier,
            source: &head.source,
            valid_from: head.valid_from,
            mapping,
            digest,
            takes_back,
            applied_at: &head.created_at,
        }
    }
}

#[derive(Serialize)]
struct ListView<'a> {
    #[serde(flatten)]
    head: HeadView<'a>,
    rows: usize,
    counts: &'a BTreeMap<String, usize>,
    accepted_factor: bool,
    accepted_zero: bool,
    vanished: &'a [Vanished],
    left_out: &'a [Trouble],
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<&'a str>,
}

impl<'a> ListView<'a> {
    fn new(head: &'a PriceListHead, kept: &'a Kept) -> Self {
        Self {
            head: head.into(),
            rows: kept.rows,
            counts: &kept.counts,
            accepted_factor: kept.accepted_factor,
            accepted_zero: kept.accepted_zero,
            vanished: &kept.vanished,
            left_out: &kept.left_out,
            reason: kept.reason.as_deref(),
        }
    }
}

/// List the price lists that were applied
#[utoipa::path(tag = "price lists", params(PageQuery), responses(
    (status = 200, description = "A page of lists, by number", body = ref("#/components/schemas/PriceListPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/price-lists")]
pub async fn list_price_lists(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let (limit, after) = (query.limit()?, query.after_number()?);
    let heads = at_desk(&desk, move |desk| desk.price_lists(after, limit + 1)).await?;
    let rows: Vec<HeadView<'_>> = heads.iter().map(HeadView::from).collect();
    keyset(&request, limit, &rows, "", |row| row.number.to_string())
}

/// Read an applied price list
///
/// Its counts, what vanished, and the rows that were left out; its other rows are its differences.
#[utoipa::path(tag = "price lists", params(("number" = u32, Path, description = "The list's number")), responses(
    (status = 200, description = "The list", body = ref("#/components/schemas/PriceList")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/price-lists/{number}")]
pub async fn read_price_list(desk: CallersDesk, number: Path<u32>) -> Result<Reply, Problem> {
    let (head, kept) = at_desk(&desk, move |desk| desk.price_list(*number)).await?;
    Reply::json(&ListView::new(&head, &kept))
}

/// Which rows of a list.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct DifferencesQuery {
    /// Only rows of this kind.
    #[param(inline, schema_with = kinds)]
    kind: Option<String>,
    /// Rows on a page: 1 to 500, 50 when nothing is said.
    #[param(minimum = 1, maximum = 500, default = 50)]
    limit: Option<usize>,
    /// The row after which the page begins: the `next` of the page before.
    after: Option<String>,
}

/// What a row of an applied list may have done.
const KINDS: &[&str] = &[
    "new_item",
    "new_pack",
    "first_price",
    "changed",
    "unchanged",
    "taken_back",
];

fn kinds() -> utoipa::openapi::schema::Object {
    utoipa::openapi::schema::ObjectBuilder::new()
        .schema_type(utoipa::openapi::schema::Type::String)
        .enum_values(Some(KINDS.iter().copied()))
        .build()
}

/// List what an applied price list changed
///
/// Each row with its price and the one that held on that day before, in the order of the list.
#[utoipa::path(tag = "price lists",
    params(("number" = u32, Path, description = "The list's number"), DifferencesQuery), responses(
    (status = 200, description = "A page of rows", body = ref("#/components/schemas/PriceListDifferencePage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/price-lists/{number}/differences")]
pub async fn list_price_list_differences(
    request: HttpRequest,
    desk: CallersDesk,
    number: Path<u32>,
    query: Query<DifferencesQuery>,
) -> Result<Reply, Problem> {
    let DifferencesQuery { kind, limit, after } = query.into_inner();
    if let Some(kind) = kind.as_deref().filter(|kind| !KINDS.contains(kind)) {
        let detail = format!("kind is {kind}; {} are allowed", KINDS.join(", "));
        return Err(Problem::new(Kind::InvalidParameter, detail));
    }
    let page = PageQuery::new(limit, after);
    let (limit, after) = (page.limit()?, page.after_number()?);
    let link = kind
        .as_deref()
        .map(|kind| format!("kind={kind}&"))
        .unwrap_or_default();
    let rows = at_desk(&desk, move |desk| {
        desk.price_list_rows(*number, kind.as_deref(), after, limit + 1)
    });
    let rows: Vec<RowView> = rows
        .await?
        .iter()
        .map(|(kind, row)| RowView::new(kind, row))
        .collect();
    keyset(&request, limit, &rows, &link, |row| row.row.to_string())
}

/// Whether something is only tried.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct TakeBackQuery {
    /// Whether it is only told what would be, and nothing is written. It is, unless `false` is said.
    dry_run: Option<bool>,
}

#[derive(Serialize)]
struct TakenBackView {
    number: Option<u32>,
    takes_back: u32,
    dry_run: bool,
    valid_from: NaiveDate,
    rows: usize,
    superseded: usize,
    unchanged: usize,
    first_prices: usize,
    taken_back: Vec<RowView>,
    kept: Vec<RowView>,
}

/// Most rows that are told one by one.
const TOLD_MOST: usize = 200;

impl TakenBackView {
    fn new(number: Option<u32>, list: u32, day: NaiveDate, taken: &TakenBack) -> Self {
        let told = |rows: &[estimate::catalogue::price_list::AppliedRow], kind: &str| {
            rows.iter()
                .take(TOLD_MOST)
                .map(|row| RowView::new(kind, row))
                .collect()
        };
        Self {
            number,
            takes_back: list,
            dry_run: number.is_none(),
            valid_from: day,
            rows: taken.rows.len(),
            superseded: taken.superseded,
            unchanged: taken.unchanged,
            first_prices: taken.first_prices.len(),
            taken_back: told(&taken.rows, "taken_back"),
            kept: told(&taken.first_prices, "first_price"),
        }
    }
}

/// Take an applied price list back
///
/// By a later list: from its day on, each price that the list changed is again what it was before. Prices that another
/// has come after stay as they are, and so do packs that had no price before. A dry run, which is usual, writes nothing.
#[utoipa::path(tag = "price lists",
    params(("number" = u32, Path, description = "The list's number"), TakeBackQuery,
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/TakeBack"), content_type = "application/json"), responses(
    (status = 200, description = "What a dry run tells", body = ref("#/components/schemas/PriceListTakenBack")),
    (status = 201, description = "The later list was applied", body = ref("#/components/schemas/PriceListTakenBack")),
    (status = 409, description = "Nothing is left to take back", body = Body, content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/price-lists/{number}/take-back")]
pub async fn take_price_list_back(
    desk: CallersDesk,
    number: Path<u32>,
    query: Query<TakeBackQuery>,
    request: Repeatable,
    body: Json,
) -> Result<Reply, Problem> {
    let (day, reason) = input::take_back(&body.0).map_err(Problem::invalid_input)?;
    let number = number.into_inner();
    if query.dry_run != Some(false) {
        let taken = at_desk(&desk, move |desk| desk.try_taking_back(number, day)).await?;
        return Ok(Reply::json(&TakenBackView::new(None, number, day, &taken))?.without_tag());
    }
    let key = request.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.take_price_list_back(key.as_ref(), number, (day, &reason), |taken, later| {
            reply::told(&TakenBackView::new(Some(later), number, day, taken))
        })
    });
    applied(told.await?)
}

/// A list that was applied: it is read at its number.
pub(super) fn applied(told: Told) -> Result<Reply, Problem> {
    let number = told.body.get("number").cloned().unwrap_or_default();
    Ok(Reply::created(told, format!("/v1/price-lists/{number}"))?.without_tag())
}
