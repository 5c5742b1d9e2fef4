//! Charts: of a revision, and of prices that a caller has varied.

use actix_web::web::{Path, Query};
use actix_web::{get, post};
use estimate::handoff::charts;
use estimate::handoff::words::Language;
use utoipa_actix_web::service_config::ServiceConfig;

use super::at_desk;
use super::body::Json;
use super::paper_input as input;
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
/// Prices at values of one answer of the survey, as a chart. The points stand in the order in which they are sent.
#[utoipa::path(tag = "papers",
    request_body(content = ref("#/components/schemas/PriceCurve"), content_type = "application/json"),
    responses(
        (status = 200, description = "The chart", content_type = "image/svg+xml", body = String),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/price-curves")]
pub async fn draw_price_curve(body: Json) -> Result<Reply, Problem> {
    let (answer, points) = input::price_curve(&body.0).map_err(Problem::invalid_input)?;
    let svg = charts::price_curve(&answer, &points, Language::En).map_err(DeskFault::from)?;
    Ok(Reply::document(svg.into_bytes(), SVG))
}
