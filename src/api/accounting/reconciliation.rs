//! The report of a period.

use actix_web::get;
use actix_web::web::Query;
use chrono::NaiveDate;
use serde::Deserialize;
use utoipa::IntoParams;

use crate::api::at_desk;
use crate::api::input::iso_date;
use crate::api::problem::{Body, Kind, Problem};
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

fn day(name: &str, text: &str) -> Result<NaiveDate, Problem> {
    iso_date(text).ok_or_else(|| {
        let detail = format!("{name} must be a date such as 2026-03-01");
        Problem::new(Kind::InvalidParameter, detail)
    })
}

/// Read the report of a period
///
/// What happened to offers and change orders in the period, in counts and sums by state, by month, and by who issued them;
/// and what was accepted in it, by whether the ledger has it. An offer that was issued and accepted in the period stands
/// under both.
#[utoipa::path(tag = "accounting", params(PeriodParameters), responses(
    (status = 200, description = "The report", body = ref("#/components/schemas/Reconciliation")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/reconciliation")]
pub async fn read_reconciliation(
    desk: CallersDesk,
    query: Query<PeriodParameters>,
) -> Result<Reply, Problem> {
    let (from, to) = (day("from", &query.from)?, day("to", &query.to)?);
    Reply::json(&at_desk(&desk, move |desk| desk.reconciliation(from, to)).await?)
}
