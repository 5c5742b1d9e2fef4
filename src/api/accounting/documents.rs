//! What was accepted, in the formats that a ledger reads; its journal; and what is to be invoiced.

use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get};
use serde::Deserialize;
use utoipa::IntoParams;

use super::accept::{self, CSV, JSON, XML};
use crate::api::at_desk;
use crate::api::input::day;
use crate::api::problem::{Body, Problem};
use crate::api::reply::Reply;
use crate::api::who::CallersDesk;
use crate::desk::Format;

/// Of which day.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct InvoiceParameters {
    /// The day of the document, where the schedule does not say it or another is wanted; not before the acceptance.
    #[param(format = Date, example = "2026-03-31")]
    issued_on: Option<String>,
}

/// Read what was accepted
///
/// As JSON with everything, costs too; as a UBL 2.1 Quotation, which is the customer's side; or as CSV, one row a line.
/// `Accept` says which. Of a change order, `amounts` are what it moves; the lines of the JSON are the contract with it, and
/// those of the Quotation what it adds, takes away and alters, with the contract's totals before and after in a note.
///
/// The columns of the CSV (RFC 4180, UTF-8) are number, revision, accepted_on, customer, position, key, kind, code,
/// description, quantity, unit, labour_class, hours, cost_code, tax_category, currency, cost, cost_moved, price, discount,
/// net, net_moved. Those with _moved say by how much this acceptance moved a line; net_moved adds up to the net of the
/// entry. A text that a spreadsheet would run as a formula has an apostrophe in front.
#[utoipa::path(tag = "accounting", params(
        ("number" = String, Path, description = "Number of the quote; of a change order with -C1, -C2 … behind it")),
    responses(
        (status = 200, description = "What was accepted", content(
            (ref("#/components/schemas/AcceptedQuote") = "application/json"),
            (String = "application/xml"),
            (String = "text/csv"))),
        (status = 406, description = "No format of Accept is there", body = Body, content_type = "application/problem+json"),
        (status = 409, description = "The format cannot carry it", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/quotes/{number}")]
pub async fn read_accounting_quote(
    request: HttpRequest,
    desk: CallersDesk,
    number: Path<String>,
) -> Result<Reply, Problem> {
    let format = accept::format(&request, &[JSON, XML, CSV])?;
    let reply = match format {
        JSON => Reply::json(&at_desk(&desk, move |desk| desk.handed_over(&number)).await?)?,
        XML => {
            let bytes = at_desk(&desk, move |desk| desk.handed_over_as(&number, Format::Ubl)).await?;
            Reply::document(bytes, XML)
        }
        _ => {
            let bytes = at_desk(&desk, move |desk| desk.handed_over_as(&number, Format::Csv)).await?;
            accept::csv(bytes)
        }
    };
    Ok(accept::varied(reply))
}

/// Read the journal of what was accepted
///
/// What to book on the sale under the company's accounts, totals by cost code, labour class and tax category, and the job's
/// budget. `proof` has every whole beside the sum of its parts; they are equal. As CSV, the postings, one row each, with the
/// columns number, accepted_on, account, purpose, name, debit, credit, currency.
#[utoipa::path(tag = "accounting", params(
        ("number" = String, Path, description = "Number of the quote; of a change order with -C1, -C2 … behind it")),
    responses(
        (status = 200, description = "The journal", content(
            (ref("#/components/schemas/Journal") = "application/json"),
            (String = "text/csv"))),
        (status = 406, description = "No format of Accept is there", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/quotes/{number}/journal")]
pub async fn read_journal(
    request: HttpRequest,
    desk: CallersDesk,
    number: Path<String>,
) -> Result<Reply, Problem> {
    let reply = match accept::format(&request, &[JSON, CSV])? {
        JSON => Reply::json(&at_desk(&desk, move |desk| desk.journal(&number)).await?)?,
        _ => accept::csv(at_desk(&desk, move |desk| desk.journal_as_csv(&number)).await?),
    };
    Ok(accept::varied(reply))
}

/// List what is to be invoiced
///
/// The instalments of the payment schedule, each with its part of every tax; of a change order, what it moves of them: what
/// goes back to the customer is a credit note.
#[utoipa::path(tag = "accounting", params(
        ("number" = String, Path, description = "Number of the quote; of a change order with -C1, -C2 … behind it")),
    responses(
        (status = 200, description = "The instalments", body = ref("#/components/schemas/InvoiceBasis")),
        (status = 406, description = "JSON is not in Accept", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/quotes/{number}/invoices")]
pub async fn list_invoices(
    request: HttpRequest,
    desk: CallersDesk,
    number: Path<String>,
) -> Result<Reply, Problem> {
    accept::format(&request, &[JSON])?;
    Reply::json(&at_desk(&desk, move |desk| desk.invoices(&number)).await?)
}

/// Read one invoice or credit note
///
/// A UBL 2.1 Invoice of one instalment, as EN 16931 has it, or a CreditNote of one that a change order gives back. Its number is a
/// stand-in: the ledger gives its own. Its day is `issued_on`; where nothing is said, the day on which the instalment falls
/// due. One that falls due when something comes about has no document until that day is told.
#[utoipa::path(tag = "accounting", params(
        ("number" = String, Path, description = "Number of the quote; of a change order with -C1, -C2 … behind it"),
        ("instalment" = u32, Path, description = "Which instalment"),
        InvoiceParameters),
    responses(
        (status = 200, description = "The invoice", content((String = "application/xml"))),
        (status = 406, description = "XML is not in Accept", body = Body, content_type = "application/problem+json"),
        (status = 409, description = "The format cannot carry it, its day is not known, or the settings lack what EN 16931 asks of the seller", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/quotes/{number}/invoices/{instalment}")]
pub async fn read_invoice(
    request: HttpRequest,
    desk: CallersDesk,
    at: Path<(String, u32)>,
    query: Query<InvoiceParameters>,
) -> Result<Reply, Problem> {
    accept::format(&request, &[XML])?;
    let (number, instalment) = at.into_inner();
    let told = query.issued_on.as_deref();
    let issued_on = told.map(|text| day("issued_on", text)).transpose()?;
    let made = at_desk(&desk, move |desk| {
        desk.invoice_as_ubl(&number, instalment, issued_on)
    });
    let bytes = made.await?;
    Ok(Reply::document(bytes, XML))
}
