//! From a job spec to a priced bill, to a curve of prices, or to the sizing report alone. Nothing is stored.

use actix_web::post;
use actix_web::web::Query;
use serde::Deserialize;
use utoipa::IntoParams;

use super::at_desk;
use super::body::Json;
use super::problem::{Body, Problem};
use super::reply::Reply;
use super::who::CallersDesk;

/// How much an estimate says.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ExplainQuery {
    /// Whether each line says its formulas, the facts and table cells that went in, and the price's source.
    #[serde(default)]
    #[param(default = false)]
    explain: bool,
}

/// Price a job
///
/// Takes a surveyed job and gives the priced bill of materials and labour hours, with the sizing report, cautions,
/// assumptions and what is not priced. Nothing is stored: the same request on the same catalogue, rulebook, policy
/// and day gives the same bytes.
#[utoipa::path(tag = "estimates", params(ExplainQuery),
    request_body(content = ref("#/components/schemas/EstimateRequest"), content_type = "application/json"), responses(
    (status = 200, description = "The estimate", body = ref("#/components/schemas/Estimate")),
    (status = 422, description = "Every fault of the input, or why the job cannot be priced", body = Body,
        content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/estimates")]
pub async fn create_estimate(
    desk: CallersDesk,
    query: Query<ExplainQuery>,
    body: Json,
) -> Result<Reply, Problem> {
    let explain = query.explain;
    let reply = at_desk(&desk, move |desk| {
        desk.estimate_job(&body.0, explain, |estimate| Reply::json(estimate))
    });
    Ok(reply.await??.without_tag())
}

/// Vary one or two answers of a job
///
/// Prices a job over a range or a list of values of one or two answers: price, hours and unit at each point, and the
/// places at which other packs are bought, another size or unit is taken, a line or a stop comes or goes. A point that
/// cannot be estimated says why in its place.
#[utoipa::path(tag = "estimates",
    request_body(content = ref("#/components/schemas/SweepRequest"), content_type = "application/json"), responses(
    (status = 200, description = "The points and the breaks", body = ref("#/components/schemas/Sweep")),
    (status = 422, description = "Every fault of what is asked", body = Body, content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/estimates/sweeps")]
pub async fn create_sweep(desk: CallersDesk, body: Json) -> Result<Reply, Problem> {
    let reply = at_desk(&desk, move |desk| {
        desk.sweep_job(&body.0, |sweep| Reply::json(sweep))
    });
    Ok(reply.await??.without_tag())
}

/// Size a job
///
/// Takes the same request and gives what physics says of the job: load, unit class, line set, drain, controls,
/// wiring, hanging, refrigerant charge and sweating.
#[utoipa::path(tag = "estimates",
    request_body(content = ref("#/components/schemas/EstimateRequest"), content_type = "application/json"), responses(
    (status = 200, description = "The sizing report", body = ref("#/components/schemas/SizedJob")),
    (status = 422, description = "Every fault of the input, or why the job cannot be sized", body = Body,
        content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/sizing-reports")]
pub async fn create_sizing_report(desk: CallersDesk, body: Json) -> Result<Reply, Problem> {
    let reply = at_desk(&desk, move |desk| {
        desk.size_job(&body.0, |sized| Reply::json(sized))
    });
    Ok(reply.await??.without_tag())
}
