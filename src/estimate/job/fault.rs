//! Faults: what is wrong with a job spec or a request, all of it at once.

use std::fmt;

use serde::Serialize;
use serde_json::Value;
use thiserror::Error;

use crate::quantity::counted;

/// Most faults that are told; what is beyond is counted.
const MOST_TOLD: usize = 200;
/// Most characters of a value that a fault repeats.
const MOST_REPEATED: usize = 60;

/// What kind of fault it is. Codes are stable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FaultCode {
    /// Another JSON type than the question takes.
    WrongType,
    /// Not a plain decimal number.
    BadNumber,
    /// A number with more digits than are kept; it is not rounded.
    TooManyDigits,
    /// No such unit.
    UnknownUnit,
    /// A unit that measures something else.
    WrongDimension,
    /// Below the least or above the greatest value.
    OutOfBounds,
    /// Not one of the words.
    UnknownWord,
    /// No such member.
    UnknownField,
    /// An answer that is needed is not there.
    Missing,
    /// A text with too many characters.
    TooLong,
    /// An empty text, or one with control characters, or a code with other signs than codes have.
    BadText,
    /// Not a calendar date.
    BadDate,
    /// Not an amount of money.
    BadMoney,
    /// An amount in another currency than the company's.
    OtherCurrency,
    /// A unit in which goods and work are not counted.
    NoUnitOfMeasure,
    /// A name that nothing here has.
    UnknownName,
    /// What is asked for does not fit this job.
    DoesNotFit,
    /// A list with too many entries.
    TooMany,
    /// A list with too few entries.
    TooFew,
    /// `basis` names something that is no answer of the form.
    NotAnAnswer,
    /// `basis` names an answer twice.
    NamedTwice,
    /// An answer is marked unknown and yet given.
    UnknownButGiven,
    /// An answer is marked unknown and no rule says what to do.
    UnknownWithoutRule,
    /// The office's rule refuses to price without this answer.
    UnknownRefused,
    /// Two answers exclude each other, or one lacks what it needs.
    Contradiction,
    /// More faults than are told.
    MoreFaults,
}

/// One fault.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// Where, as a JSON Pointer (RFC 6901) into what was sent.
    pub pointer: String,
    /// What kind.
    pub code: FaultCode,
    /// What came.
    pub came: String,
    /// What is allowed.
    pub allowed: String,
    /// The whole in one sentence.
    pub message: String,
}

/// What came where one of two answers is needed and none is there.
pub(super) const NEITHER: &str = "neither";

impl Fault {
    /// Whether something is not there yet; else what is there cannot stand.
    pub fn is_missing(&self) -> bool {
        match self.code {
            FaultCode::Missing
            | FaultCode::TooFew
            | FaultCode::UnknownRefused
            | FaultCode::UnknownWithoutRule => true,
            FaultCode::Contradiction => self.came == NEITHER,
            _ => false,
        }
    }
}

/// Every fault of one input, in the order of the form.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Error)]
#[serde(transparent)]
pub struct Faults {
    /// At least one.
    pub list: Vec<Fault>,
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, fault) in self.list.iter().enumerate() {
            let end = if index == 0 { "" } else { "\n" };
            write!(f, "{end}{}: {}", fault.pointer, fault.message)?;
        }
        Ok(())
    }
}

/// Gathers faults up to a bound.
#[derive(Debug, Default)]
pub(crate) struct Gathered {
    list: Vec<Fault>,
    untold: usize,
}

impl Gathered {
    pub(crate) fn push(&mut self, fault: Fault) {
        if self.list.len() < MOST_TOLD {
            self.list.push(fault);
        } else {
            self.untold = self.untold.saturating_add(1);
        }
    }

    pub(crate) fn append(&mut self, other: Gathered) {
        self.untold = self.untold.saturating_add(other.untold);
        for fault in other.list {
            self.push(fault);
        }
    }

    /// `Ok` when nothing was gathered.
    pub(crate) fn into_result(mut self) -> Result<(), Faults> {
        if self.untold > 0 {
            self.list.push(Fault {
                pointer: String::new(),
                code: FaultCode::MoreFaults,
                came: format!("{} more", self.untold),
                allowed: format!("{MOST_TOLD} are told at once"),
                message: format!("and {}", counted(self.untold, "more fault")),
            });
        }
        if self.list.is_empty() {
            Ok(())
        } else {
            Err(Faults { list: self.list })
        }
    }
}

/// A value in a few words, whatever its size.
pub(super) fn describe(value: &Value) -> String {
    match value {
        Value::Null => "null".to_owned(),
        Value::Bool(flag) => flag.to_string(),
        Value::Number(number) => shorten(&number.to_string()),
        Value::String(text) => format!("\"{}\"", shorten(text)),
        Value::Array(entries) => format!("a list of {}", entries.len()),
        Value::Object(members) if members.is_empty() => "an empty object".to_owned(),
        Value::Object(members) => {
            let names: Vec<String> = members.keys().take(4).map(|name| shorten(name)).collect();
            let more = if members.len() > names.len() { ", …" } else { "" };
            format!("an object with {}{more}", names.join(", "))
        }
    }
}

/// At most [`MOST_REPEATED`] characters of `text`, control characters escaped.
pub(super) fn shorten(text: &str) -> String {
    let mut short: String = text.chars().take(MOST_REPEATED).flat_map(printable).collect();
    if text.chars().nth(MOST_REPEATED).is_some() {
        short.push('…');
    }
    short
}

fn printable(sign: char) -> impl Iterator<Item = char> {
    let escaped = sign.is_control().then(|| sign.escape_default());
    let plain = escaped.is_none().then_some(sign);
    escaped.into_iter().flatten().chain(plain)
}

impl Faults {
    pub(super) fn no_such_answer(answer: &str) -> Self {
        let came = shorten(answer);
        let fault = Fault {
            pointer: answer.to_owned(),
            code: FaultCode::NotAnAnswer,
            message: format!("{came} is no answer of a job spec"),
            came,
            allowed: "a JSON Pointer to an answer, such as /electrical/panel_length".to_owned(),
        };
        Self { list: vec![fault] }
    }
}
