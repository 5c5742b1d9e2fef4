//! Single answers: texts, dates, numbers, counts, words.

use chrono::{Datelike, NaiveDate};
use serde_json::Value;

use super::Reader;
use crate::job::fault::{FaultCode, shorten};
use crate::job::form::{LINE, Shape, Words};
use crate::quantity::decimal::{self, DecimalFault, UNIT_PRICE_SCALE, plain};
use crate::quantity::{Decimal, nearest};

/// Words named when an unknown one came.
const WORDS_NAMED: usize = 30;
/// Years that a date may have.
const YEARS: std::ops::RangeInclusive<i32> = 1900..=2199;

/// What a shape allows, in a few words.
pub(super) fn allowed(shape: &Shape) -> String {
    match shape {
        Shape::Text { max } => format!("a text of at most {max} characters"),
        Shape::Code { max } => format!("a code of at most {max} letters, digits and the signs ._-/:"),
        Shape::Date => "a date such as 2031-03-04".to_owned(),
        Shape::Measure { unit, min, max } => {
            format!("a quantity from {} {unit} to {} {unit}", plain(*min), plain(*max))
        }
        Shape::AnyQuantity { min, max } => {
            format!(
                "a quantity from {} to {} in a unit such as each, ft or h",
                plain(*min),
                plain(*max)
            )
        }
        Shape::Number { min, max, scale } => {
            format!(
                "a number from {} to {} with at most {scale} decimals",
                plain(*min),
                plain(*max)
            )
        }
        Shape::Money { credit } => {
            let least = if *credit { "" } else { ", not below zero" };
            format!("an amount such as {{\"amount\": \"12.50\", \"currency\": \"USD\"}}{least}")
        }
        Shape::UnitCost { min, max } => format!(
            "an amount such as {{\"amount\": \"12.50\", \"currency\": \"USD\"}}, from {} to {} with at most \
             {UNIT_PRICE_SCALE} decimals",
            plain(*min),
            plain(*max)
        ),
        Shape::Count { min, max } => format!("a whole number from {min} to {max}"),
        Shape::Flag => "true or false".to_owned(),
        Shape::Choice(words) => {
            let named: Vec<&str> = words.iter().take(WORDS_NAMED).collect();
            let more = if words.iter().nth(WORDS_NAMED).is_some() {
                ", …"
            } else {
                ""
            };
            format!("one of {}{more}", named.join(", "))
        }
        Shape::Group(_) | Shape::Job | Shape::Open => "an object".to_owned(),
        Shape::List { min, max, .. } => format!("a list of {min} to {max} entries"),
    }
}

impl Reader<'_> {
    /// One answer in normal form; `None` when it has a fault.
    pub(super) fn leaf(&mut self, shape: &Shape, title: &str, value: &Value) -> Option<Value> {
        match (shape, value) {
            (Shape::Text { max }, Value::String(text)) => self.text(*max, title, text),
            (Shape::Code { max }, Value::String(text)) => self.code(*max, title, text),
            (Shape::Date, Value::String(text)) => self.date(title, text),
            (Shape::Measure { unit, min, max }, Value::Object(members)) => {
                self.measure(*unit, *min, *max, title, members)
            }
            (Shape::AnyQuantity { min, max }, Value::Object(members)) => {
                self.any_quantity((*min, *max), title, members)
            }
            (Shape::Number { min, max, scale }, Value::String(_) | Value::Number(_)) => {
                let number = self.number(value, *scale, title)?;
                self.within(number, (*min, *max), "", title)?;
                Some(Value::String(plain(number)))
            }
            (Shape::Money { credit }, Value::Object(members)) => self.money(*credit, title, members),
            (Shape::UnitCost { min, max }, Value::String(_) | Value::Number(_)) => {
                let number = self.number(value, UNIT_PRICE_SCALE, title)?;
                self.within(number, (*min, *max), "", title)?;
                Some(Value::String(plain(number)))
            }
            (Shape::UnitCost { min, max }, Value::Object(members)) => {
                self.unit_cost((*min, *max), title, members)
            }
            (Shape::Count { min, max }, Value::Number(_)) => self.count(*min, *max, title, value),
            (Shape::Flag, Value::Bool(flag)) => Some(Value::Bool(*flag)),
            (Shape::Choice(words), Value::String(word)) => self.choice(words, title, word),
            (Shape::Measure { unit, .. }, _) => {
                self.wrong_type(
                    title,
                    value,
                    &format!("a quantity such as {{\"value\": \"12\", \"unit\": \"{unit}\"}}"),
                );
                None
            }
            _ => {
                self.wrong_type(title, value, &allowed(shape));
                None
            }
        }
    }

    fn text(&mut self, max: usize, title: &str, text: &str) -> Option<Value> {
        let length = text.chars().count();
        let allowed = format!("a text of at most {max} characters");
        if length > max {
            let message = format!("{title} has {length} characters; the most is {max}");
            self.fault(
                FaultCode::TooLong,
                format!("{length} characters"),
                allowed,
                message,
            );
            return None;
        }
        if text.trim().is_empty() {
            let message = format!("{title} is empty");
            self.fault(FaultCode::BadText, describe_text(text), allowed, message);
            return None;
        }
        // A line stays one line; longer texts may have breaks.
        let breaks = |sign: char| max > LINE && (sign == '\n' || sign == '\t');
        if text.chars().any(|sign| sign.is_control() && !breaks(sign)) {
            let message = format!("{title} has control characters in it");
            self.fault(FaultCode::BadText, describe_text(text), allowed, message);
            return None;
        }
        Some(Value::String(text.to_owned()))
    }

    fn code(&mut self, max: usize, title: &str, text: &str) -> Option<Value> {
        let of_a_code = |sign: char| sign.is_ascii_alphanumeric() || "._-/:".contains(sign);
        if text.is_empty() || text.len() > max || !text.chars().all(of_a_code) {
            let message = format!("{title} is {}, which is not a code", describe_text(text));
            let allowed = allowed(&Shape::Code { max });
            self.fault(FaultCode::BadText, describe_text(text), allowed, message);
            return None;
        }
        Some(Value::String(text.to_owned()))
    }

    fn date(&mut self, title: &str, text: &str) -> Option<Value> {
        let date = (text.len() == 10)
            .then(|| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok())
            .flatten();
        if let Some(date) = date {
            if YEARS.contains(&date.year()) {
                return Some(Value::String(date.to_string()));
            }
            let allowed = format!("{}-01-01 to {}-12-31", YEARS.start(), YEARS.end());
            let message = format!("{title} is {date}; allowed is {allowed}");
            self.fault(FaultCode::OutOfBounds, describe_text(text), allowed, message);
            return None;
        }
        let message = format!(
            "{title} is {}, which is not a date such as 2031-03-04",
            describe_text(text)
        );
        self.fault(
            FaultCode::BadDate,
            describe_text(text),
            allowed(&Shape::Date),
            message,
        );
        None
    }

    fn choice(&mut self, words: &Words, title: &str, word: &str) -> Option<Value> {
        if words.position(word).is_some() {
            return Some(Value::String(word.to_owned()));
        }
        let hint = nearest::name(word, words.iter())
            .or_else(|| nearest::of_number(word, words.iter()))
            .map(|near| format!("; did you mean {near}?"))
            .unwrap_or_default();
        let allowed = allowed(&Shape::Choice(words.clone()));
        let message = format!("{title}: {}; it must be {allowed}{hint}", describe_text(word));
        self.fault(FaultCode::UnknownWord, describe_text(word), allowed, message);
        None
    }

    fn count(&mut self, min: u32, max: u32, title: &str, value: &Value) -> Option<Value> {
        let number = self.number(value, 0, title)?;
        self.within(number, (min.into(), max.into()), "", title)?;
        u32::try_from(number).ok().map(Value::from)
    }

    pub(super) fn within(
        &mut self,
        value: Decimal,
        bounds: (Decimal, Decimal),
        unit: &str,
        title: &str,
    ) -> Option<()> {
        if (bounds.0..=bounds.1).contains(&value) {
            return Some(());
        }
        let came = format!("{}{unit}", plain(value));
        let allowed = format!("{}{unit} to {}{unit}", plain(bounds.0), plain(bounds.1));
        let message = format!("{title}: {came}; allowed is {allowed}");
        self.fault(FaultCode::OutOfBounds, came, allowed, message);
        None
    }

    /// A number as text or as JSON digits, never through a binary float.
    pub(super) fn number(&mut self, value: &Value, scale: u32, title: &str) -> Option<Decimal> {
        let digits;
        let text = match value {
            Value::String(text) => text.as_str(),
            other => {
                digits = other.to_string();
                &digits
            }
        };
        match decimal::parse(text, scale) {
            Ok(number) => Some(number),
            Err(fault) => {
                let code = match fault {
                    DecimalFault::Grammar => FaultCode::BadNumber,
                    DecimalFault::TooLarge | DecimalFault::TooFine { .. } => FaultCode::TooManyDigits,
                };
                let came = match value {
                    Value::String(text) => describe_text(text),
                    _ => shorten(text),
                };
                let message = format!("{title}: {came} {fault}");
                let allowed = match scale {
                    0 => "a whole number in digits".to_owned(),
                    scale => format!("digits with at most {scale} decimals, such as 12.5"),
                };
                self.fault(code, came, allowed, message);
                None
            }
        }
    }
}

pub(super) fn describe_text(text: &str) -> String {
    format!("\"{}\"", shorten(text))
}
