//! Charts: of a revision, and of a sweep.

use actix_web::web::{Path, Query};
use actix_web::{get, post};
use estimate::handoff::charts::{self, PricePoint};
use estimate::handoff::figure::Reader;
use estimate::handoff::measures::Measures;
use estimate::handoff::words::Language;
use estimate::sweep::{Outcome, Sweep};
use serde_json::Value;
use utoipa_actix_web::service_config::ServiceConfig;

use super::at_desk;
use super::body::Json;
use super::papers::{SVG, StyleQuery};
use super::problem::{Body, Problem};
use super::reply::Reply;
use super::revisions::at;
use super::who::CallersDesk;
use crate::desk::{At, Chart, DeskFault};

/// The routes of this file.
pub(super) fn routes(config: &mut ServiceConfig) {
    config
        .service(read_cost_breakdown)
        .service(read_cellar_load)
        .service(draw_price_curve);
}

async fn chart(desk: &CallersDesk, at: At, chart: Chart, query: StyleQuery) -> Result<Reply, Problem> {
    let svg = at_desk(desk, move |desk| desk.chart(&at, chart, &query.into())).await?;
    Ok(Reply::document(svg.into_bytes(), SVG))
}

/// What the price of a revision is made of, as a chart
///
/// For the office alone: costs are in it.
#[utoipa::path(tag = "papers", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision"), StyleQuery),
    responses(
        (status = 200, description = "The chart", content_type = "image/svg+xml", body = String),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/revisions/{revision}/cost-breakdown")]
pub async fn read_cost_breakdown(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    query: Query<StyleQuery>,
) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    chart(
        &desk,
        at(quote, 0, revision),
        Chart::CostBreakdown,
        query.into_inner(),
    )
    .await
}

/// What loads the cellar of a revision, as a chart
#[utoipa::path(tag = "papers", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision"), StyleQuery),
    responses(
        (status = 200, description = "The chart", content_type = "image/svg+xml", body = String),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/revisions/{revision}/cellar-load")]
pub async fn read_cellar_load(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    query: Query<StyleQuery>,
) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    chart(
        &desk,
        at(quote, 0, revision),
        Chart::CellarLoad,
        query.into_inner(),
    )
    .await
}

/// A price curve
///
/// A sweep over one answer as a chart: the total with tax at each value, and a cross where the job cannot be priced.
#[utoipa::path(tag = "papers",
    request_body(content = ref("#/components/schemas/SweepRequest"), content_type = "application/json"),
    responses(
        (status = 200, description = "The chart", content_type = "image/svg+xml", body = String),
        (status = 422, description = "Every fault of what is asked, or nothing can be priced", body = Body,
            content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/price-curves")]
pub async fn draw_price_curve(desk: CallersDesk, body: Json) -> Result<Reply, Problem> {
    let svg = at_desk(&desk, move |desk| {
        let reader = Reader {
            language: Language::En,
            measures: Measures::of(&body.0["request"]),
        };
        desk.sweep_job(&body.0, |sweep| curve(sweep, reader))?
    })
    .await?;
    Ok(Reply::document(svg.into_bytes(), SVG))
}

/// The curve of a sweep over one answer.
fn curve(sweep: &Sweep<'_>, reader: Reader) -> Result<String, DeskFault> {
    let [varied] = sweep.vary.as_slice() else {
        return Err(DeskFault::Member {
            pointer: "/vary",
            message: "a curve is of one answer that varies".to_owned(),
        });
    };
    let points = sweep.points.iter().map(|point| PricePoint {
        at: point
            .at
            .first()
            .map(|value| written(value, reader))
            .unwrap_or_default(),
        total: match &point.outcome {
            Outcome::Priced { total, .. } => Some(*total),
            Outcome::Faulty { .. } => None,
        },
    });
    let points: Vec<PricePoint> = points.collect();
    Ok(charts::price_curve(&varied.title, &points, reader.language)?)
}

/// A value of the survey as a person reads it.
fn written(value: &Value, reader: Reader) -> String {
    match value {
        // A word of the form.
        Value::String(word) => word.replace('_', " "),
        other => reader.value(other).unwrap_or_else(|| other.to_string()),
    }
}
