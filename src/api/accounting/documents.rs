//! What was accepted, in the formats that a ledger reads; its journal; and what is to be invoiced.

use actix_web::http::header;
use actix_web::web::Path;
use actix_web::{HttpRequest, get};

use super::accept::{self, CSV, JSON, XML};
use crate::api::at_desk;
use crate::api::problem::{Body, Problem};
use crate::api::reply::Reply;
use crate::api::who::CallersDesk;
use crate::desk::Format;

/// Read what was accepted
///
/// As JSON with everything, costs too; as a UBL 2.1 Quotation, which is the customer's side; or as CSV, one row a line.
/// `Accept` says which. Of a change order, `amounts` are what it moves, and the lines are the contract with it.
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
            Reply::document(bytes, "text/csv; charset=utf-8; header=present")
        }
    };
    Ok(reply.with_header(header::VARY, "Accept".to_owned()))
}

/// Read the journal of what was accepted
///
/// What to book on the sale under the company's accounts, totals by cost code, labour class and tax category, and the job's
/// budget. `proof` has every whole beside the sum of its parts; they are equal.
#[utoipa::path(tag = "accounting", params(
        ("number" = String, Path, description = "Number of the quote; of a change order with -C1, -C2 … behind it")),
    responses(
        (status = 200, description = "The journal", body = ref("#/components/schemas/Journal")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/quotes/{number}/journal")]
pub async fn read_journal(desk: CallersDesk, number: Path<String>) -> Result<Reply, Problem> {
    Reply::json(&at_desk(&desk, move |desk| desk.journal(&number)).await?)
}

/// List what is to be invoiced
///
/// The instalments of the payment schedule, each with its part of every tax; of a change order, what it moves of them.
#[utoipa::path(tag = "accounting", params(
        ("number" = String, Path, description = "Number of the quote; of a change order with -C1, -C2 … behind it")),
    responses(
        (status = 200, description = "The instalments", body = ref("#/components/schemas/InvoiceBasis")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/quotes/{number}/invoices")]
pub async fn list_invoices(desk: CallersDesk, number: Path<String>) -> Result<Reply, Problem> {
    Reply::json(&at_desk(&desk, move |desk| desk.invoices(&number)).await?)
}

/// Read one invoice
///
/// A UBL 2.1 Invoice of one instalment. Number and day are stand-ins: the ledger gives its own.
#[utoipa::path(tag = "accounting", params(
        ("number" = String, Path, description = "Number of the quote; of a change order with -C1, -C2 … behind it"),
        ("instalment" = u32, Path, description = "Which instalment")),
    responses(
        (status = 200, description = "The invoice", content((String = "application/xml"))),
        (status = 406, description = "XML is not in Accept", body = Body, content_type = "application/problem+json"),
        (status = 409, description = "The format cannot carry it", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/quotes/{number}/invoices/{instalment}")]
pub async fn read_invoice(
    request: HttpRequest,
    desk: CallersDesk,
    at: Path<(String, u32)>,
) -> Result<Reply, Problem> {
    accept::format(&request, &[XML])?;
    let (number, instalment) = at.into_inner();
    let bytes = at_desk(&desk, move |desk| desk.invoice_as_ubl(&number, instalment)).await?;
    Ok(Reply::document(bytes, XML))
}
