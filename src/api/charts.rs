//! Charts: of a revision, and of a sweep.

use actix_web::web::{Path, Query};
use actix_web::{get, post};
use utoipa_actix_web::service_config::ServiceConfig;

use super::at_desk;
use super::body::Json;
use super::papers::{CurveQuery, SVG, StyleQuery};
use super::problem::{Body, Problem};
use super::reply::Reply;
use super::revisions::at;
use super::who::CallersDesk;
use crate::desk::{At, Chart};

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
/// Breaks between the values are not looked for.
#[utoipa::path(tag = "papers", params(CurveQuery),
    request_body(content = ref("#/components/schemas/SweepRequest"), content_type = "application/json"),
    responses(
        (status = 200, description = "The chart", content_type = "image/svg+xml", body = String),
        (status = 422, description = "Every fault of what is asked, or nothing can be priced", body = Body,
            content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/price-curves")]
pub async fn draw_price_curve(
    desk: CallersDesk,
    query: Query<CurveQuery>,
    body: Json,
) -> Result<Reply, Problem> {
    let (style, language) = query.into_inner().choices();
    let svg = at_desk(&desk, move |desk| desk.price_curve(&body.0, &style, language)).await?;
    Ok(Reply::document(svg.into_bytes(), SVG))
}
