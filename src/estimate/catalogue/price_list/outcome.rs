//! What comes of comparing a list with the prices that the company has.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::quantity::unit::Unit;

/// A list held against the catalogue. Every row that is not blank is in `entries` once or in `troubles` at least once,
/// never in both.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Comparison {
    /// The list's own first day.
    pub day: NaiveDate,
    /// Rows that are not blank.
    pub rows: usize,
    /// What each readable row comes to, in the order of the list.
    pub entries: Vec<Entry>,
    /// Packs of the supplier that have a price and are not in the list. Nothing is written for them.
    pub vanished: Vec<Vanished>,
    /// What a person has to look at, in the order of the list.
    pub troubles: Vec<Trouble>,
}

/// What one row comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The row, from 1, as a spreadsheet counts.
    pub row: u32,
    /// The company's code.
    pub code: String,
    /// How much the pack holds, in the item's unit.
    pub pack: Decimal,
    /// The first day of the price.
    pub valid_from: NaiveDate,
    /// Cost of one pack in the company's currency, at most six decimals.
    pub amount: Decimal,
    /// What the workbook holds, where the price was rounded to six decimals.
    pub rounded_from: Option<Box<str>>,
    /// The day from which another price that is there already holds.
    pub until: Option<NaiveDate>,
    /// How it stands to what the company has.
    pub kind: EntryKind,
}

/// How a row stands to what the company has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EntryKind {
    /// The catalogue gets this item.
    NewItem(Box<NewItem>),
    /// The item gets a pack of this size.
    NewPack {
        /// What the trade calls it.
        name: Box<str>,
    },
    /// The pack has had no price on that day.
    FirstPrice,
    /// Another price than before.
    Changed(Change),
    /// The same price as before, which is younger with it.
    Unchanged {
        /// Since when the price has been the same.
        since: NaiveDate,
    },
    /// The same price from the same day on is there: nothing is written.
    AlreadyThere,
    /// The catalogue does not hold it, and the mapping adds nothing: nothing is written.
    NotHeld,
}

impl EntryKind {
    /// The word for it, as it is written in JSON.
    pub fn word(&self) -> &'static str {
        match self {
            Self::NewItem(_) => "new_item",
            Self::NewPack { .. } => "new_pack",
            Self::FirstPrice => "first_price",
            Self::Changed(_) => "changed",
            Self::Unchanged { .. } => "unchanged",
            Self::AlreadyThere => "already_there",
            Self::NotHeld => "not_held",
        }
    }

    /// Whether applying the list writes a price for the row.
    pub fn is_written(&self) -> bool {
        !matches!(self, Self::AlreadyThere | Self::NotHeld)
    }

    /// The price that held before.
    pub fn before(&self) -> Option<Decimal> {
        match self {
            Self::Changed(change) => Some(change.before),
            _ => None,
        }
    }
}

/// A price and the one before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Change {
    /// The price before.
    pub before: Decimal,
    /// Since when it has held.
    pub since: NaiveDate,
    /// The change in percent of the price before, to two decimals; none from a price of nothing.
    pub percent: Option<Decimal>,
}

/// What a new item is, beside its code and its price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewItem {
    /// As it stands on a bill.
    pub description: String,
    /// The unit in which it is counted.
    pub unit: Unit,
    /// What the trade calls the pack.
    pub pack_name: String,
}

/// A pack that the list no longer holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vanished {
    /// The company's code.
    pub code: String,
    /// How much the pack holds.
    #[serde(with = "rust_decimal::serde::str")]
    pub pack: Decimal,
    /// The price that holds on the list's day, and goes on to hold.
    #[serde(with = "rust_decimal::serde::str")]
    pub amount: Decimal,
    /// Since when it has held.
    pub since: NaiveDate,
}

/// Something about a row that a person has to look at before the list is applied.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trouble {
    /// The row, from 1, as a spreadsheet counts.
    pub row: u32,
    /// The cell, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cell: Option<String>,
    /// The company's code, where it was read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub code: Option<String>,
    /// What kind of trouble it is.
    pub kind: TroubleKind,
    /// The trouble in plain words.
    pub message: String,
    /// Whether the row is left out, as was asked for: then it does not keep the list from being applied.
    pub left_out: bool,
}

/// What kind of trouble a row is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TroubleKind {
    /// The price is five times the one before or more, or a fifth or less.
    Factor,
    /// The price is nothing.
    Zero,
    /// The list counts in another unit than the item.
    Unit,
    /// The price is in another currency than the company's.
    Currency,
    /// The same pack from the same day on is in the list twice.
    Duplicate,
    /// A number cannot be read, or is not allowed there.
    Number,
    /// A date cannot be read.
    Date,
    /// There is no code, or none that can be one.
    Code,
    /// Which pack of the item is meant cannot be told.
    Pack,
    /// Another price from the same day on is there already; a price is never overwritten.
    DayTaken,
}

impl TroubleKind {
    /// Every kind, with its word as it is written in JSON.
    pub const ALL: &[(Self, &str)] = &[
        (Self::Factor, "factor"),
        (Self::Zero, "zero"),
        (Self::Unit, "unit"),
        (Self::Currency, "currency"),
        (Self::Duplicate, "duplicate"),
        (Self::Number, "number"),
        (Self::Date, "date"),
        (Self::Code, "code"),
        (Self::Pack, "pack"),
        (Self::DayTaken, "day_taken"),
    ];

    /// The word for it.
    pub fn word(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(kind, _)| *kind == self)
            .map_or("", |(_, word)| word)
    }

    /// The kind with this word.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .find(|(_, known)| *known == word)
            .map(|(kind, _)| *kind)
    }
}

impl Comparison {
    /// Troubles that keep the list from being applied.
    pub fn open_troubles(&self) -> impl Iterator<Item = &Trouble> {
        self.troubles.iter().filter(|trouble| !trouble.left_out)
    }

    /// Whether the list can be applied as it stands.
    pub fn can_be_applied(&self) -> bool {
        self.open_troubles().next().is_none()
    }

    /// How many rows come to this word.
    pub fn count(&self, word: &str) -> usize {
        self.entries
            .iter()
            .filter(|entry| entry.kind.word() == word)
            .count()
    }
}
