//! What can still go wrong when a checked rulebook runs: the size of numbers, never their kind.

use rust_decimal::Decimal;
use thiserror::Error;

use crate::quantity::decimal::plain;
use crate::rules::span::{Span, line_and_column};
use crate::rules::text::Text;

/// A formula that has no result on this job.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}{place}: {reason}, at `{part}` in `{formula}`", told(*.position))]
pub struct RunFault {
    /// Where in the rulebook the formula stands, such as `assembly LINE-SET, line 2, quantity`.
    pub place: String,
    /// The assembly's code, when it stands in one.
    pub assembly: Option<String>,
    /// The line's number within the assembly, when it stands in a line.
    pub line: Option<usize>,
    /// The formula.
    pub formula: String,
    /// Where the part stands in the rulebook: line and column, once [`RunFault::placed`] was given the text.
    pub position: Option<(usize, usize)>,
    pub(super) written: Option<(Text, Span)>,
    /// The part of it that failed.
    pub part: String,
    /// What went wrong.
    pub reason: RunReason,
}

impl RunFault {
    /// The fault with its line and column in `source`, the text that the rulebook was read from.
    #[must_use]
    pub fn placed(mut self: Box<Self>, source: &str) -> Box<Self> {
        self.position = self.written.as_ref().map(|(text, part)| {
            let part = text.place(*part, source);
            line_and_column(source, part.start)
        });
        self
    }
}

fn told(position: Option<(usize, usize)>) -> String {
    position.map_or_else(String::new, |(line, column)| {
        format!("line {line}, column {column} of the rulebook, ")
    })
}

/// What went wrong in a run.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RunReason {
    /// A number left the range of decimals (28 digits).
    #[error("the number is too large")]
    Overflow,
    /// The divisor was zero.
    #[error("division by zero")]
    DivisionByZero,
    /// A quantity, waste, hours, crew or amount came out below zero, or a factor took all hours away.
    #[error("the result {value} is negative")]
    Negative {
        /// The result, in the unit of its place.
        value: Decimal,
    },
    /// More than all of the quantity again is added for waste.
    #[error("a waste of {} % is more than the quantity itself", percent(value))]
    TooMuchWaste {
        /// The waste, as a fraction of the quantity.
        value: Decimal,
    },
    /// A table that is not to hold beyond its ends was looked up there.
    #[error("{key} = {value} is outside of table {table}, which goes from {lowest} to {highest}")]
    OutsideTable {
        /// The table.
        table: String,
        /// The key.
        key: String,
        /// The value looked up, in the key's unit.
        value: Decimal,
        /// The first point of the table.
        lowest: Decimal,
        /// The last point of the table.
        highest: Decimal,
    },
    /// The facts given are not those that the program was compiled for.
    #[error("the facts are not those that the rulebook was checked for (fact {name})")]
    WrongFacts {
        /// The first fact that does not fit.
        name: String,
    },
}

fn percent(fraction: &Decimal) -> String {
    let percent = fraction.checked_mul(Decimal::ONE_HUNDRED);
    percent.map_or_else(|| fraction.to_string(), plain)
}
