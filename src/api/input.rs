//! Small bodies read from JSON, with every fault told at once.

use chrono::NaiveDate;
use estimate::quantity::{Decimal, decimal};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use super::problem::InputError;
use crate::desk::NewPrice;

/// Longest free text, in characters.
const TEXT_MOST: usize = 200;
/// Characters of a faulty value that are told.
const CAME_MOST: usize = 60;
const A_DATE: &str = "a date such as 2026-03-01";
const A_NOTE: &str = "a text of 1 to 200 characters";

/// The members of an object, taken one by one; what is left over is a fault.
pub(super) struct Members<'a> {
    object: Option<&'a Map<String, Value>>,
    known: Vec<&'static str>,
    errors: Vec<InputError>,
}

impl<'a> Members<'a> {
    pub(super) fn of(value: &'a Value) -> Self {
        let mut members = Self {
            object: value.as_object(),
            known: Vec::new(),
            errors: Vec::new(),
        };
        if members.object.is_none() {
            members.fault("", "wrong_type", Some(value), "an object");
        }
        members
    }

    fn fault(&mut self, name: &str, code: &str, came: Option<&Value>, allowed: &str) {
        let pointer = if name.is_empty() {
            String::new()
        } else {
            format!("/{}", escaped(name))
        };
        let came = came.map(|value| value.to_string().chars().take(CAME_MOST).collect::<String>());
        let message = match &came {
            Some(came) => format!("{came} came, {allowed} is asked for"),
            None => format!("{allowed} is asked for"),
        };
        let code = code.to_owned();
        self.errors.push(InputError {
            pointer,
            code,
            came,
            allowed: Some(allowed.to_owned()),
            message,
        });
    }

    /// What `read` makes of the member; where it makes nothing of it, that is a fault.
    pub(super) fn take<T>(
        &mut self,
        name: &'static str,
        allowed: &str,
        read: impl Fn(&'a Value) -> Option<T>,
    ) -> Option<T> {
        self.known.push(name);
        let value = self.object?.get(name);
        match value.map(|value| (value, read(value))) {
            Some((_, Some(taken))) => Some(taken),
            Some((value, None)) => {
                self.fault(name, "not_allowed", Some(value), allowed);
                None
            }
            None => {
                self.fault(name, "missing", None, allowed);
                None
            }
        }
    }

    /// The same, where the member may be left out.
    pub(super) fn maybe<T>(
        &mut self,
        name: &'static str,
        allowed: &str,
        read: impl Fn(&'a Value) -> Option<T>,
    ) -> Option<T> {
        match self.object.and_then(|object| object.get(name)) {
            None => {
                self.known.push(name);
                None
            }
            Some(_) => self.take(name, allowed, read),
        }
    }

    pub(super) fn finish(mut self) -> Vec<InputError> {
        let names = self
            .object
            .map(|object| object.keys().map(String::as_str).collect::<Vec<_>>());
        for name in names.unwrap_or_default() {
            if !self.known.contains(&name) {
                let allowed = format!("one of {}", self.known.join(", "));
                self.fault(name, "unknown_field", None, &allowed);
            }
        }
        self.errors
    }
}

/// A member name inside a JSON Pointer (RFC 6901, section 3).
fn escaped(name: &str) -> String {
    name.replace('~', "~0").replace('/', "~1")
}

/// A decimal as a string, or as a number that is read by its digits.
fn number(value: &Value, scale: u32) -> Option<Decimal> {
    match value {
        Value::String(text) => decimal::parse(text, scale).ok(),
        Value::Number(digits) => decimal::parse(&digits.to_string(), scale).ok(),
        _ => None,
    }
}

/// The text of an object that has one member.
///
/// # Errors
/// Another shape.
pub fn only_text(value: &Value, name: &'static str) -> Result<String, Vec<InputError>> {
    let mut members = Members::of(value);
    let text = members.take(name, "a text", Value::as_str);
    match (text, members.finish()) {
        (Some(text), errors) if errors.is_empty() => Ok(text.to_owned()),
        (_, errors) => Err(errors),
    }
}

/// A price to be added.
///
/// # Errors
/// Every fault of the body.
pub fn new_price(value: &Value) -> Result<NewPrice, Vec<InputError>> {
    let mut members = Members::of(value);
    let pack = members.take(
        "pack",
        "the size of a pack of the item, as a decimal such as \"50\"",
        |value| number(value, decimal::QUANTITY_SCALE).filter(|size| *size > Decimal::ZERO),
    );
    let valid_from = members.take("valid_from", A_DATE, |value| value.as_str().and_then(iso_date));
    let amount = members.take(
        "amount",
        "a decimal of at most six decimals that is not negative",
        |value| number(value, decimal::UNIT_PRICE_SCALE).filter(|amount| *amount >= Decimal::ZERO),
    );
    let source = members.take("source", A_NOTE, |value| value.as_str().and_then(note));
    let errors = members.finish();
    match (pack, valid_from, amount, source) {
        (Some(pack), Some(valid_from), Some(amount), Some(source)) if errors.is_empty() => Ok(NewPrice {
            pack,
            valid_from,
            amount,
            source: source.to_owned(),
        }),
        _ => Err(errors),
    }
}

/// A day and a reason, of a list that takes another back.
///
/// # Errors
/// Every fault of the body.
pub fn take_back(value: &Value) -> Result<(NaiveDate, String), Vec<InputError>> {
    let mut members = Members::of(value);
    let day = members.take("valid_from", A_DATE, |value| value.as_str().and_then(iso_date));
    let reason = members.take("reason", A_NOTE, |value| value.as_str().and_then(note));
    let errors = members.finish();
    match (day, reason) {
        (Some(day), Some(reason)) if errors.is_empty() => Ok((day, reason.to_owned())),
        _ => Err(errors),
    }
}

/// The first day of a new version, and the version, its shape read by `T`.
///
/// # Errors
/// Every fault of the outer object, or the first one of the version.
pub fn dated<T: DeserializeOwned>(
    value: &Value,
    name: &'static str,
) -> Result<(NaiveDate, T), Vec<InputError>> {
    let mut members = Members::of(value);
    let day = members.take("valid_from", A_DATE, |value| value.as_str().and_then(iso_date));
    let version = members.take(name, "an object", |value| {
        value.is_object().then(|| value.clone())
    });
    let errors = members.finish();
    match (day, version) {
        (Some(day), Some(version)) if errors.is_empty() => {
            let version = shaped(version).map_err(|errors| under(&format!("/{name}"), errors))?;
            Ok((day, version))
        }
        _ => Err(errors),
    }
}

/// The same faults in a member of the body.
fn under(pointer: &str, mut errors: Vec<InputError>) -> Vec<InputError> {
    for error in &mut errors {
        error.pointer.insert_str(0, pointer);
    }
    errors
}

/// A value of the shape of `T`.
///
/// # Errors
/// The first place at which it has another shape.
pub fn shaped<T: DeserializeOwned>(value: Value) -> Result<T, Vec<InputError>> {
    serde_path_to_error::deserialize(value).map_err(|fault| {
        let pointer: String = fault.path().iter().filter_map(step).collect();
        let message = fault.inner().to_string();
        vec![InputError {
            pointer,
            code: "not_allowed".to_owned(),
            came: None,
            allowed: None,
            message,
        }]
    })
}

/// A step of a path as a step of a JSON Pointer.
fn step(segment: &serde_path_to_error::Segment) -> Option<String> {
    use serde_path_to_error::Segment;
    match segment {
        Segment::Seq { index } => Some(format!("/{index}")),
        Segment::Map { key } => Some(format!("/{}", escaped(key))),
        Segment::Enum { .. } | Segment::Unknown => None,
    }
}

/// A short text that is not blank.
pub fn note(text: &str) -> Option<&str> {
    is_text(text, TEXT_MOST).then_some(text)
}

/// Whether there is something in a text, not too much, and nothing that a database does not keep.
pub fn is_text(text: &str, most: usize) -> bool {
    !text.trim().is_empty() && text.chars().count() <= most && !text.contains('\0')
}

/// A calendar date of ISO 8601 in its extended form: ten characters, no more.
pub fn iso_date(text: &str) -> Option<NaiveDate> {
    (text.len() == 10)
        .then(|| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok())
        .flatten()
}
