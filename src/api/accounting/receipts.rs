//! The ledger's receipts.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{get, put};
use estimate::quantity::Money;
use serde_json::Value;

use crate::api::acting::Acting;
use crate::api::at_desk;
use crate::api::body::Json;
use crate::api::input::{Members, note};
use crate::api::problem::{Body, InputError, Problem};
use crate::api::reply::Reply;
use crate::api::who::CallersDesk;
use crate::desk::Receipt;

fn receipt(body: &Value) -> Result<Receipt, Vec<InputError>> {
    let mut members = Members::of(body);
    let reference = members.take(
        "reference",
        "a text of 1 to 200 characters in one line",
        |value| {
            let text = value.as_str().and_then(note)?;
            (!text.chars().any(char::is_control)).then_some(text)
        },
    );
    let allowed = "an amount such as {\"amount\": \"1234.50\", \"currency\": \"USD\"}";
    let total = members.take("total", allowed, |value| {
        serde_json::from_value::<Money>(value.clone()).ok()
    });
    let errors = members.finish();
    match (reference, total) {
        (Some(reference), Some(total)) if errors.is_empty() => Ok(Receipt {
            reference: reference.to_owned(),
            total,
        }),
        _ => Err(errors),
    }
}

/// Say that the ledger has an acceptance
///
/// With the ledger's own reference, and its total: a total that differs is refused with both figures. The same receipt again
/// is the one that is there.
#[utoipa::path(tag = "accounting", params(
        ("number" = String, Path, description = "Number of the quote; of a change order with -C1, -C2 … behind it")),
    request_body(content = ref("#/components/schemas/NewReceipt"), content_type = "application/json"),
    responses(
        (status = 200, description = "The receipt that was there", body = ref("#/components/schemas/Receipt")),
        (status = 201, description = "The receipt", body = ref("#/components/schemas/Receipt")),
        (status = 409, description = "Another total, or a receipt with another reference is there", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/accounting/quotes/{number}/receipt")]
pub async fn put_receipt(
    desk: CallersDesk,
    number: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let receipt = receipt(&body.0).map_err(Problem::invalid_input)?;
    let person = acting.with(&body.0).person;
    let put = at_desk(&desk, move |desk| desk.put_receipt(&person, &number, &receipt));
    let (told, new) = put.await?;
    let status = if new { StatusCode::CREATED } else { StatusCode::OK };
    Ok(Reply::json(&told)?.with_status(status))
}

/// Read the ledger's receipt
#[utoipa::path(tag = "accounting", params(
        ("number" = String, Path, description = "Number of the quote; of a change order with -C1, -C2 … behind it")),
    responses(
        (status = 200, description = "The receipt", body = ref("#/components/schemas/Receipt")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/quotes/{number}/receipt")]
pub async fn read_receipt(desk: CallersDesk, number: Path<String>) -> Result<Reply, Problem> {
    Reply::json(&at_desk(&desk, move |desk| desk.receipt(&number)).await?)
}
