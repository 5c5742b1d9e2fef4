//! What can be wrong with a bill: told all at once.

use chrono::NaiveDate;
use thiserror::Error;

use super::packs::PackFault;
use crate::quantity::unit::UnitFault;

/// Why a bill could not be made.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum BillFault {
    /// A line names an item that the catalogue does not hold.
    #[error("the catalogue holds no item {item}")]
    NoItem {
        /// The item's code.
        item: String,
    },
    /// A line names a labour class that the catalogue does not hold.
    #[error("the catalogue holds no labour class {class}")]
    NoClass {
        /// The class's code.
        class: String,
    },
    /// None of an item's packs has a price on the day.
    #[error("item {item} has no price on {day}")]
    NoPrice {
        /// The item's code.
        item: String,
        /// The day.
        day: NaiveDate,
    },
    /// A labour class has no rate on the day.
    #[error("labour class {class} has no rate on {day}")]
    NoRate {
        /// The class's code.
        class: String,
        /// The day.
        day: NaiveDate,
    },
    /// No packs could be chosen.
    #[error("item {item}: {fault}")]
    Packs {
        /// The item's code.
        item: String,
        /// Why.
        fault: PackFault,
    },
    /// A figure of a line is beyond what can be computed with.
    #[error("line {line}: the figures are too large")]
    TooLarge {
        /// The line's key.
        line: String,
    },
    /// A line put in by hand, or an override, does not fit.
    #[error("{pointer}: {fault}")]
    Change {
        /// JSON Pointer into the request.
        pointer: String,
        /// Why.
        fault: ChangeFault,
    },
}

/// Why a line put in by hand, or an override, does not fit.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ChangeFault {
    /// The override names a line that the bill does not have.
    #[error("the bill has no line {line}")]
    NoSuchLine {
        /// The key as it came.
        line: String,
    },
    /// Two overrides name the same line.
    #[error("line {line} is overridden twice")]
    Twice {
        /// The key.
        line: String,
    },
    /// The line has no such figure: hours of a material, a quantity of an amount.
    #[error("line {line} has no {field} to replace")]
    NoSuchFigure {
        /// The key.
        line: String,
        /// The figure.
        field: &'static str,
    },
    /// The quantity is in a unit that the line cannot be counted in.
    #[error("{0}")]
    Unit(#[from] UnitFault),
    /// The labour class is not in the catalogue.
    #[error("the catalogue holds no labour class {class}")]
    NoClass {
        /// The class's code.
        class: String,
    },
    /// The computed figure is beyond what can be computed with.
    #[error("the computed figure is too large")]
    TooLarge,
    /// The figure may not be negative.
    #[error("must not be negative")]
    Negative,
}

impl BillFault {
    /// The fault of an entry of the request.
    pub(super) fn change(list: &str, index: usize, field: &str, fault: impl Into<ChangeFault>) -> Self {
        Self::Change {
            pointer: format!("/{list}/{index}/{field}"),
            fault: fault.into(),
        }
    }

    /// Where in the request the fault lies, for a fault of the request.
    pub fn pointer(&self) -> Option<&str> {
        match self {
            Self::Change { pointer, .. } => Some(pointer),
            _ => None,
        }
    }
}
