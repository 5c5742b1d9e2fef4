//! Labour classes: what an hour costs, explained, and new classes and rates.

use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post};
use estimate::catalogue::LabourClass;
use estimate::catalogue::labour::{LabourRate, LoadedRate};
use estimate::catalogue::labour_hour::LabourHour;
use serde::Serialize;

use super::accept::AcceptQuery;
use super::acting::{Repeatable, Seen};
use super::body::Json;
use super::page::{PageQuery, page};
use super::problem::{Body, Problem};
use super::reply::{self, Reply};
use super::who::CallersDesk;
use super::{at_desk, input};
use crate::desk::{Desk, DeskFault, Told};

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
    hour: Option<LabourHour>,
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
                    hour: rate.hour(),
                })
                .collect(),
        }
    }
}

fn told(class: &LabourClass) -> Result<Told, DeskFault> {
    reply::told(&LabourClassView::from(class))
}

fn location(code: &str) -> String {
    format!("/v1/labour-classes/{}", reply::percent_encoded(code))
}

/// List the labour classes
///
/// Each with its dated rates and, for each, the loaded cost an hour, explained part by part.
#[utoipa::path(tag = "catalogue", params(PageQuery), responses(
    (status = 200, description = "A page of labour classes", body = ref("#/components/schemas/LabourClassPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/labour-classes")]
pub async fn list_labour_classes(
    request: HttpRequest,
    desk: CallersDesk,
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
pub async fn read_labour_class(desk: CallersDesk, code: Path<String>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    Reply::json(&LabourClassView::from(office.labour_class(&code)?))
}

/// Add a labour class
#[utoipa::path(tag = "catalogue",
    params(("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewLabourClass"), content_type = "application/json"), responses(
    (status = 201, description = "The class", body = ref("#/components/schemas/LabourClass")),
    (status = 409, description = "There is one with this code", body = Body, content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/labour-classes")]
pub async fn add_labour_class(desk: CallersDesk, request: Repeatable, body: Json) -> Result<Reply, Problem> {
    let key = request.with(&body.0);
    let class: LabourClass = input::shaped(body.0).map_err(Problem::invalid_input)?;
    let location = location(&class.code);
    let told = at_desk(&desk, move |desk| {
        desk.add_labour_class(key.as_ref(), &class, told)
    });
    Reply::created(told.await?, location)
}

/// Add a dated rate to a labour class
///
/// A rate is never overwritten: a new one holds from its first day on. Days that are over keep what they cost: a day in
/// the past, or before the newest rate, is refused without `accept=backdated`; an hour that costs five times as much or
/// more, or a fifth or less, without `accept=factor`. `If-Match` carries the tag of the class as it was
/// read.
#[utoipa::path(tag = "catalogue",
    params(
        ("code" = String, Path, description = "The class's code"),
        ("accept" = Option<String>, Query, description = "Words for what is meant, separated by commas. `backdated`: days that are over are priced otherwise. `factor`: it costs five times what it did before or more, or a fifth or less"),
        ("If-Match" = Option<String>, Header, description = "The tag of the class that was read; needed"),
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content = ref("#/components/schemas/NewLabourRate"), content_type = "application/json"),
    responses(
        (status = 201, description = "The class with the new rate", body = ref("#/components/schemas/LabourClass")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/labour-classes/{code}/rates")]
pub async fn add_labour_rate(
    desk: CallersDesk,
    code: Path<String>,
    query: Query<AcceptQuery>,
    request: Repeatable,
    seen: Seen,
    body: Json,
) -> Result<Reply, Problem> {
    let meant = query.meant(&["backdated", "factor"])?;
    let key = request.with(&body.0);
    let rate: LabourRate = input::shaped(body.0).map_err(Problem::invalid_input)?;
    let location = location(&code);
    let told = at_desk(&desk, move |desk| {
        desk.add_labour_rate(key.as_ref(), &code, (&rate, meant), |tag| seen.matches(tag), told)
    });
    Reply::created(told.await?, location)
}
