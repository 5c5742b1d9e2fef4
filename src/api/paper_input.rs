//! Bodies about papers, read from JSON with every fault told at once.

use estimate::handoff::house_style::HouseStyle;
use serde_json::Value;

use super::input::{Members, note, under};
use super::limits::BOUGHT_FOR;
use super::problem::{InputError, Kind, Problem};
use crate::desk::At;

type Errors = Vec<InputError>;

/// Most quotes of one purchase list.
const SOME_QUOTES: &str = "a list of 1 to 200 revisions";
const A_NUMBER: &str = "a whole number from 1";

/// The revisions whose needs are added up.
///
/// # Errors
/// Every fault of the body.
pub fn revisions(body: &Value) -> Result<Vec<At>, Errors> {
    let mut members = Members::of(body);
    let entries = members.take("revisions", SOME_QUOTES, |value| some(value, BOUGHT_FOR));
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
        let sound = faults.is_empty();
        errors.extend(under(&format!("/revisions/{place}"), faults));
        if let (Some(quote), Some(revision), true) = (quote, revision, sound) {
            let at = At {
                quote: quote.to_owned(),
                change_order: order.unwrap_or(0),
                revision,
            };
            if all.iter().any(|named: &At| named.quote == at.quote) {
                let message =
                    "a revision of this quote is named above already: its goods would be bought twice";
                errors.push(InputError::does_not_fit(
                    &format!("/revisions/{place}"),
                    message.to_owned(),
                ));
            }
            all.push(at);
        }
    }
    if errors.is_empty() { Ok(all) } else { Err(errors) }
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
