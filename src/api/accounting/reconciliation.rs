//! The report of a period.

use actix_web::web::Query;
use actix_web::{HttpRequest, get};
use serde::Deserialize;
use utoipa::IntoParams;

use super::accept::{self, CSV, JSON};
use crate::api::at_desk;
use crate::api::input::day;
use crate::api::problem::{Body, Problem};
use crate::api::reply::Reply;
use crate::api::who::CallersDesk;

/// Which period.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PeriodParameters {
    /// The first day, where the company is.
    #[param(format = Date, example = "2026-01-01")]
    from: String,
    /// The last day.
    #[param(format = Date, example = "2026-03-31")]
    to: String,
}

/// Read the report of a period
///
/// What happened to offers and change orders in the period, in counts and sums by state, by month, and by who issued them;
/// and what was accepted in it, by whether the ledger has it. An offer that was issued and accepted in the period stands
/// under both. As CSV, one row a sum, with the columns by, name, state, count, net, tax, total, currency.
#[utoipa::path(tag = "accounting", params(PeriodParameters), responses(
    (status = 200, description = "The report", content(
        (ref("#/components/schemas/Reconciliation") = "application/json"),
        (String = "text/csv"))),
    (status = 406, description = "No format of Accept is there", body = Body, content_type = "application/problem+json"),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/reconciliation")]
pub async fn read_reconciliation(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<PeriodParameters>,
) -> Result<Reply, Problem> {
    let (from, to) = (day("from", &query.from)?, day("to", &query.to)?);
    let reply = match accept::format(&request, &[JSON, CSV])? {
        JSON => Reply::json(&at_desk(&desk, move |desk| desk.reconciliation(from, to)).await?)?,
        _ => accept::csv(at_desk(&desk, move |desk| desk.reconciliation_as_csv(from, to)).await?),
    };
    Ok(accept::varied(reply))
}
