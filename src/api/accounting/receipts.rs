//! The ledger's receipts.

use actix_web::http::StatusCode;
use actix_web::web::Path;
use actix_web::{HttpRequest, get, put};
use estimate::quantity::decimal::DecimalFault;
use estimate::quantity::money::MoneyFault;
use estimate::quantity::{Currency, Money};
use serde_json::Value;

use super::accept::{self, JSON};
use crate::api::acting::Acting;
use crate::api::at_desk;
use crate::api::body::Json;
use crate::api::input::{Members, note};
use crate::api::problem::{Body, InputError, Problem};
use crate::api::reply::Reply;
use crate::api::who::CallersDesk;
use crate::desk::Receipt;

/// The fault of a total that is none, told with what was accepted.
fn beside(errors: Vec<InputError>, body: &Value, ours: Money) -> Vec<InputError> {
    let told = |mut error: InputError| {
        if error.pointer == "/total" {
            error.message = total_fault(body.get("total"), ours);
            error.allowed = Some(format!("{ours}, which was accepted"));
        }
        error
    };
    errors.into_iter().map(told).collect()
}

/// What is wrong with a total, in words, with both figures.
fn total_fault(total: Option<&Value>, ours: Money) -> String {
    let text = |name: &str| total.and_then(|total| total.get(name)?.as_str()).map(told);
    let (Some(amount), Some(code)) = (text("amount"), text("currency")) else {
        return format!(
            "the total is an amount in text with its currency, such as {{\"amount\": \"{}\", \"currency\": \"{}\"}}; \
             {ours} was accepted",
            ours.text(),
            ours.currency().code()
        );
    };
    match Currency::parse(&code).map(|currency| (currency, currency.amount(&amount))) {
        Ok((
            currency,
            Err(MoneyFault::Amount {
                fault: DecimalFault::TooFine { .. },
                ..
            }),
        )) => format!(
            "{amount} {code} has more decimals than {code} has ({}); {ours} was accepted",
            currency.minor_digits()
        ),
        Ok((_, Err(_))) => format!(
            "{amount} is no amount such as {}; {ours} was accepted",
            ours.text()
        ),
        Err(_) => format!("{code} is no currency of ISO 4217; {ours} was accepted"),
        Ok((_, Ok(_))) => format!("the total has members that it does not take; {ours} was accepted"),
    }
}

/// As much of a text as is told.
fn told(text: &str) -> String {
    text.chars().take(40).collect()
}

fn receipt(body: &Value) -> Result<Receipt, Vec<InputError>> {
    let mut members = Members::of(body);
    let reference = members.take(
        "reference",
        "a text of 1 to 200 characters in one line",
        |value| {
            let text = value.as_str().and_then(note)?;
            Some(text.split_whitespace().collect::<Vec<_>>().join(" "))
        },
    );
    let allowed = "an amount such as {\"amount\": \"1234.50\", \"currency\": \"USD\"}";
    let total = members.take("total", allowed, |value| {
        serde_json::from_value::<Money>(value.clone()).ok()
    });
    let errors = members.finish();
    match (reference, total) {
        (Some(reference), Some(total)) if errors.is_empty() => Ok(Receipt { reference, total }),
        _ => Err(errors),
    }
}

/// Say that the ledger has an acceptance
///
/// With the ledger's own reference, and its total: a total that differs is refused with both figures. The same receipt again
/// is the one that is there. A reference is the receipt of one acceptance: where one entry of the ledger has several, it says
/// a reference for each, such as GL-118/1 and GL-118/2. White space around a reference is left out, and within it is one blank.
#[utoipa::path(tag = "accounting", params(
        ("number" = String, Path, description = "Number of the quote; of a change order with -C1, -C2 … behind it")),
    request_body(content = ref("#/components/schemas/NewReceipt"), content_type = "application/json"),
    responses(
        (status = 200, description = "The receipt that was there", body = ref("#/components/schemas/Receipt")),
        (status = 201, description = "The receipt", body = ref("#/components/schemas/Receipt")),
        (status = 409, description = "Another total, a receipt with another reference is there, or the reference is that of another acceptance", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/accounting/quotes/{number}/receipt")]
pub async fn put_receipt(
    desk: CallersDesk,
    number: Path<String>,
    acting: Acting,
    body: Json,
) -> Result<Reply, Problem> {
    let person = acting.with(&body.0).person;
    let receipt = match receipt(&body.0) {
        Ok(receipt) => receipt,
        Err(errors) => {
            let ours = at_desk(&desk, move |desk| desk.accepted_total(&number)).await?;
            return Err(Problem::invalid_input(beside(errors, &body.0, ours)));
        }
    };
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
        (status = 406, description = "JSON is not in Accept", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/accounting/quotes/{number}/receipt")]
pub async fn read_receipt(
    request: HttpRequest,
    desk: CallersDesk,
    number: Path<String>,
) -> Result<Reply, Problem> {
    accept::format(&request, &[JSON])?;
    Reply::json(&at_desk(&desk, move |desk| desk.receipt(&number)).await?)
}
