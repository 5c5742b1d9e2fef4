//! Bodies about papers, read from JSON with every fault told at once.

use estimate::handoff::charts::PricePoint;
use estimate::handoff::house_style::HouseStyle;
use estimate::quantity::{Currency, Money};
use serde::Deserialize;
use serde_json::Value;

use super::input::{Members, note, under};
use super::problem::{InputError, Kind, Problem};
use crate::desk::At;

type Errors = Vec<InputError>;

/// Most quotes of one purchase list.
const QUOTES: usize = 200;
/// Most points of a curve.
const POINTS: usize = 500;
const SOME_QUOTES: &str = "a list of 1 to 200 revisions";
const SOME_POINTS: &str = "a list of 1 to 500 points";
const A_NUMBER: &str = "a whole number from 1";

/// The revisions whose needs are added up.
///
/// # Errors
/// Every fault of the body.
pub fn revisions(body: &Value) -> Result<Vec<At>, Errors> {
    let mut members = Members::of(body);
    let entries = members.take("revisions", SOME_QUOTES, |value| some(value, QUOTES));
    let mut errors = members.finish();
    let mut all = Vec::new();
    for (place, entry) in entries.into_iter().flatten().enumerate() {
        let mut members = Members::of(entry);
        let quote = members.take("quote", "the key of a quote", |value| {
            value.as_str().and_then(note)
        });
        let order = members.maybe("change_order", A_NUMBER, from_one);
        let revision = members.take("revision", A_NUMBER, from_one);
        let faults = members.finish();
        if let (Some(quote), Some(revision), true) = (quote, revision, faults.is_empty()) {
            all.push(At {
                quote: quote.to_owned(),
                change_order: order.unwrap_or(0),
                revision,
            });
        }
        errors.extend(under(&format!("/revisions/{place}"), faults));
    }
    if errors.is_empty() { Ok(all) } else { Err(errors) }
}

/// What is varied, and the points of a price curve. They are in one currency.
///
/// # Errors
/// Every fault of the body.
pub fn price_curve(body: &Value) -> Result<(String, Vec<PricePoint>), Errors> {
    let mut members = Members::of(body);
    let answer = members.take("answer", "what is varied, in 1 to 200 characters", |value| {
        value.as_str().and_then(note)
    });
    let entries = members.take("points", SOME_POINTS, |value| some(value, POINTS));
    let mut errors = members.finish();
    let mut points: Vec<PricePoint> = Vec::new();
    let mut currency: Option<Currency> = None;
    for (place, entry) in entries.into_iter().flatten().enumerate() {
        let mut members = Members::of(entry);
        let at = members.take("at", "a value in 1 to 200 characters", |value| {
            value.as_str().and_then(note)
        });
        let total = members.take("total", "an amount in the currency of the first point", |value| {
            let total = Money::deserialize(value).ok()?;
            let same = currency.is_none_or(|currency| currency == total.currency());
            same.then_some(total)
        });
        currency = currency.or(total.map(Money::currency));
        let faults = members.finish();
        if let (Some(at), Some(total)) = (at, total) {
            points.push(PricePoint {
                at: at.to_owned(),
                total,
            });
        }
        errors.extend(under(&format!("/points/{place}"), faults));
    }
    match answer {
        Some(answer) if errors.is_empty() => Ok((answer.to_owned(), points)),
        _ => Err(errors),
    }
}

/// A house style.
///
/// # Errors
/// Every fault of it.
pub fn style(body: &Value) -> Result<HouseStyle, Errors> {
    HouseStyle::read(body).map_err(|faults| faults.list.iter().map(InputError::from).collect())
}

/// Whether a house style may be called so.
///
/// # Errors
/// It may not.
pub fn style_name(id: &str) -> Result<(), Problem> {
    let sound = |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-';
    if (1..=60).contains(&id.len()) && id.bytes().all(sound) {
        return Ok(());
    }
    let detail = "a house style is called by 1 to 60 small letters, digits and hyphens";
    Err(Problem::new(Kind::InvalidParameter, detail))
}

fn some(value: &Value, most: usize) -> Option<&Vec<Value>> {
    value
        .as_array()
        .filter(|entries| (1..=most).contains(&entries.len()))
}

fn from_one(value: &Value) -> Option<u32> {
    let number = value.as_u64().and_then(|number| u32::try_from(number).ok());
    number.filter(|number| *number > 0)
}
