//! Small bodies read from JSON, with every fault told at once.

use chrono::NaiveDate;
use estimate::quantity::{Decimal, decimal};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use super::limits::LINE;
use super::problem::{InputError, Kind, Problem};
use super::shape_words;
use crate::desk::{NewDraft, NewPrice, Publication};

/// Characters of a faulty value that are told.
const CAME_MOST: usize = 60;
const A_DATE: &str = "a date such as 2026-03-01";
const A_VERSION: &str = "the number of a version, from 1";
const A_NOTE: &str = "a text of 1 to 200 characters without control characters";

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
        self.errors.push(fault(pointer, code, came, allowed));
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

    /// The same, where null says as much as leaving it out.
    pub(super) fn maybe_null<T>(
        &mut self,
        name: &'static str,
        allowed: &str,
        read: impl Fn(&'a Value) -> Option<T>,
    ) -> Option<T> {
        let read = |value: &'a Value| match value {
            Value::Null => Some(None),
            value => read(value).map(Some),
        };
        self.maybe(name, allowed, read).flatten()
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

fn fault(pointer: String, code: &str, came: Option<&Value>, allowed: &str) -> InputError {
    let came = came.map(|value| value.to_string().chars().take(CAME_MOST).collect::<String>());
    let message = match &came {
        Some(came) => format!("{came} came, {allowed} is asked for"),
        None => format!("{allowed} is asked for"),
    };
    InputError {
        pointer,
        code: code.to_owned(),
        came,
        allowed: Some(allowed.to_owned()),
        message,
    }
}

impl InputError {
    /// A value is not one that is allowed there.
    pub(super) fn not_allowed(pointer: &str, came: &Value, allowed: &str) -> Self {
        fault(pointer.to_owned(), "not_allowed", Some(came), allowed)
    }
}

/// A member name inside a JSON Pointer (RFC 6901, section 3).
pub(super) fn escaped(name: &str) -> String {
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

/// A draft of a rulebook that is to be made.
///
/// # Errors
/// Every fault of the body.
pub fn new_rulebook_draft(value: &Value) -> Result<NewDraft, Vec<InputError>> {
    let mut members = Members::of(value);
    let rulebook = members.maybe("rulebook", "the name of a rulebook", |value| value.as_str());
    let version = members.maybe("version", A_VERSION, whole_number);
    match members.finish() {
        errors if errors.is_empty() => Ok(NewDraft {
            rulebook: rulebook.map(str::to_owned),
            version,
        }),
        errors => Err(errors),
    }
}

/// How a draft of a rulebook is published.
///
/// # Errors
/// Every fault of the body.
pub fn publication(value: &Value) -> Result<Publication, Vec<InputError>> {
    let mut members = Members::of(value);
    let current_from = members.maybe("current_from", A_DATE, |value| value.as_str().and_then(iso_date));
    let instead_of = members.maybe("instead_of", A_VERSION, whole_number);
    match members.finish() {
        errors if errors.is_empty() => Ok(Publication {
            current_from,
            instead_of,
        }),
        errors => Err(errors),
    }
}

/// A version and the one whose place it takes, and the day from which it is to be current.
type CalendarEntry = ((u32, Option<u32>), Option<NaiveDate>);

/// A version of a rulebook, and the day from which it is to be current.
///
/// # Errors
/// Every fault of the body.
pub fn calendar_entry(value: &Value) -> Result<CalendarEntry, Vec<InputError>> {
    let mut members = Members::of(value);
    let version = members.take("version", A_VERSION, whole_number);
    let from = members.maybe("current_from", A_DATE, |value| value.as_str().and_then(iso_date));
    let instead_of = members.maybe("instead_of", A_VERSION, whole_number);
    match (version, members.finish()) {
        (Some(version), errors) if errors.is_empty() => Ok(((version, instead_of), from)),
        (_, errors) => Err(errors),
    }
}

/// The titles of worked examples; none for all of them.
///
/// # Errors
/// Every fault of the body.
pub fn examples_to_take(value: &Value) -> Result<Option<Vec<String>>, Vec<InputError>> {
    let mut members = Members::of(value);
    let titles = |value: &Value| {
        let titles = value.as_array()?.iter();
        titles
            .map(|title| title.as_str().map(str::to_owned))
            .collect::<Option<Vec<_>>>()
    };
    let titles = members.maybe("examples", "a list of titles of worked examples", titles);
    match members.finish() {
        errors if errors.is_empty() => Ok(titles),
        errors => Err(errors),
    }
}

/// The reason for something.
///
/// # Errors
/// Every fault of the body.
pub fn reason(value: &Value) -> Result<String, Vec<InputError>> {
    let mut members = Members::of(value);
    let reason = members.take("reason", A_NOTE, |value| value.as_str().and_then(note));
    match (reason, members.finish()) {
        (Some(reason), errors) if errors.is_empty() => Ok(reason.to_owned()),
        (_, errors) => Err(errors),
    }
}

/// A number from 1.
fn whole_number(value: &Value) -> Option<u32> {
    u32::try_from(value.as_u64()?).ok().filter(|number| *number > 0)
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
pub(super) fn under(pointer: &str, mut errors: Vec<InputError>) -> Vec<InputError> {
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
    serde_path_to_error::deserialize(&value).map_err(|fault| {
        let pointer: String = fault.path().iter().filter_map(step).collect();
        vec![shape_words::fault(&value, pointer, &fault.inner().to_string())]
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
    is_line(text, LINE).then_some(text)
}

/// Whether there is something in a line of text, not too much, and no control characters.
pub fn is_line(text: &str, most: usize) -> bool {
    is_paragraph(text, most) && !text.contains(char::is_control)
}

/// The same of a text that may have line breaks and tabs in it.
pub fn is_paragraph(text: &str, most: usize) -> bool {
    let unseen = |sign: char| sign.is_control() && sign != '\n' && sign != '\t';
    !text.trim().is_empty() && text.chars().count() <= most && !text.contains(unseen)
}

/// A day that a parameter names.
///
/// # Errors
/// It is none.
pub(super) fn day(name: &str, text: &str) -> Result<NaiveDate, Problem> {
    iso_date(text).ok_or_else(|| {
        let detail = format!("{name} must be a date such as 2026-03-01");
        Problem::new(Kind::InvalidParameter, detail)
    })
}

/// A calendar date of ISO 8601 in its extended form: ten characters, no more.
pub fn iso_date(text: &str) -> Option<NaiveDate> {
    (text.len() == 10)
        .then(|| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok())
        .flatten()
}
