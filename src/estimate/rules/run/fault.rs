//! What can still go wrong when a checked rulebook runs: the size of numbers, never their kind.

use rust_decimal::Decimal;
use thiserror::Error;

/// A formula that has no result on this job.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{place}: {reason}, at `{part}` in `{formula}`")]
pub struct RunFault {
    /// Where in the rulebook the formula stands, such as `assembly LINE-SET, line 2, quantity`.
    pub place: String,
    /// The assembly's code, when it stands in one.
    pub assembly: Option<String>,
    /// The line's number within the assembly, when it stands in a line.
    pub line: Option<usize>,
    /// The formula.
    pub formula: String,
    /// The part of it that failed.
    pub part: String,
    /// What went wrong.
    pub reason: RunReason,
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
