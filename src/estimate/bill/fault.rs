//! What can be wrong with a bill: told all at once.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use thiserror::Error;

use super::packs::PackFault;
use crate::job::{Fault, FaultCode};
use crate::quantity::counted;
use crate::quantity::unit::UnitFault;

/// Items and classes named where many have no price.
const NAMED: usize = 3;

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
        /// The first day on which it has one; none where it never has.
        first: Option<NaiveDate>,
    },
    /// A labour class has no rate on the day.
    #[error("labour class {class} has no rate on {day}")]
    NoRate {
        /// The class's code.
        class: String,
        /// The day.
        day: NaiveDate,
        /// The first day on which it has one; none where it never has.
        first: Option<NaiveDate>,
    },
    /// No packs could be chosen.
    #[error("line material:{item}: {fault}")]
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
    #[error("{fault}")]
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
    #[error("this job has no line {line}{}", meant(near))]
    NoSuchLine {
        /// The key as it came.
        line: String,
        /// Likely slips for keys of the bill's lines, the nearest first.
        near: Vec<String>,
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

    /// The day, and the first later one on which what is lacking has a price, if it is that.
    pub fn not_yet(&self) -> Option<(NaiveDate, NaiveDate)> {
        match self {
            Self::NoPrice { day, first, .. } | Self::NoRate { day, first, .. } => {
                first.filter(|first| first > day).map(|first| (*day, first))
            }
            _ => None,
        }
    }

    /// Everything that has no price yet on the day of pricing, as one fault of the request.
    pub fn not_yet_priced(faults: &[Self]) -> Option<Fault> {
        let days = faults.iter().filter_map(Self::not_yet);
        let (day, first) = days.max_by_key(|(_, first)| *first)?;
        let (mut items, mut classes) = (BTreeSet::new(), BTreeSet::new());
        for fault in faults.iter().filter(|fault| fault.not_yet().is_some()) {
            match fault {
                Self::NoPrice { item, .. } => items.insert(item.as_str()),
                Self::NoRate { class, .. } => classes.insert(class.as_str()),
                _ => false,
            };
        }
        let told = [(items, "item"), (classes, "labour class")].map(|(names, one)| {
            let some: Vec<&str> = names.iter().take(NAMED).copied().collect();
            let more = if names.len() > some.len() { ", …" } else { "" };
            let count = match (names.len(), one) {
                (count, "labour class") if count > 1 => format!("{count} labour classes"),
                (count, one) => counted(count, one),
            };
            (!names.is_empty()).then(|| format!("{count} ({}{more})", some.join(", ")))
        });
        let told: Vec<String> = told.into_iter().flatten().collect();
        Some(Fault {
            pointer: "/priced_on".to_owned(),
            code: FaultCode::DoesNotFit,
            came: day.to_string(),
            allowed: format!("{first} or later"),
            message: format!(
                "this job needs what has no price yet on {day}: {}; from {first} on all of it has one",
                told.join(" and ")
            ),
        })
    }

    /// The fault as one of the request, where it is one.
    pub fn of_request(&self) -> Option<Fault> {
        let Self::Change { pointer, fault } = self else {
            return None;
        };
        let (code, came, allowed) = fault.parts();
        Some(Fault {
            pointer: pointer.clone(),
            code,
            came,
            allowed,
            message: fault.to_string(),
        })
    }
}

impl ChangeFault {
    /// What kind of fault it is, what came and what is allowed.
    fn parts(&self) -> (FaultCode, String, String) {
        let unfit = FaultCode::DoesNotFit;
        match self {
            Self::NoSuchLine { line, near } => (
                FaultCode::UnknownName,
                line.clone(),
                format!("the key of a line of this job{}", such_as(near)),
            ),
            Self::Twice { line } => (unfit, line.clone(), "each figure of a line once".to_owned()),
            Self::NoSuchFigure { field, .. } => (
                unfit,
                (*field).to_owned(),
                "a figure that the line has".to_owned(),
            ),
            Self::Unit(UnitFault::DifferentDimension {
                from,
                to_dimension,
                to,
                ..
            }) => (
                FaultCode::WrongDimension,
                from.clone(),
                format!("a unit of {to_dimension}, such as {to}"),
            ),
            Self::Unit(_) | Self::TooLarge => (
                unfit,
                "a figure".to_owned(),
                "one that can be computed with".to_owned(),
            ),
            Self::NoClass { class } => (
                FaultCode::UnknownName,
                class.clone(),
                "a labour class of the catalogue".to_owned(),
            ),
            Self::Negative => (
                FaultCode::OutOfBounds,
                "a figure below zero".to_owned(),
                "zero or more".to_owned(),
            ),
        }
    }
}

fn meant(near: &[String]) -> String {
    match near {
        [] => String::new(),
        [only] => format!("; did you mean {only}?"),
        [first @ .., last] => format!("; did you mean {} or {last}?", first.join(", ")),
    }
}

fn such_as(near: &[String]) -> String {
    match near {
        [] => String::new(),
        near => format!(", such as {}", near.join(", ")),
    }
}
