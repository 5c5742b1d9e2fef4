//! A saved column mapping: which column of a supplier's list holds what, and how the list writes it.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::number::NumberSigns;
use crate::catalogue::item::ItemGroup;
use crate::quantity::Currency;
use crate::quantity::unit::Unit;

/// How the lists of one supplier are read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mapping {
    /// The mapping's own name, unique: lower-case letters, digits and `-`.
    pub id: String,
    /// What it is for.
    pub title: String,
    /// The supplier, as items name it: what its list no longer holds is told as vanished.
    pub supplier: String,
    /// Characters of a CSV file.
    #[serde(default)]
    pub encoding: Encoding,
    /// What separates the fields of a CSV file.
    #[serde(default)]
    pub separator: Separator,
    /// The sheet of a workbook; the first when none is named.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// The row, from 1, with the titles of the columns; what stands above it is passed over. 0: there is none.
    #[serde(default = "first_row")]
    pub title_row: u32,
    /// How numbers are written.
    #[serde(default)]
    pub numbers: NumberSigns,
    /// How dates are written.
    #[serde(default)]
    pub dates: DateOrder,
    /// Which column holds what.
    pub columns: Columns,
    /// What holds where there is no column for it, or its cell is empty.
    #[serde(default)]
    pub usual: Usual,
    /// What the price is for.
    #[serde(default)]
    pub price_for: PriceFor,
    /// Percent that the supplier takes off its list's prices for this company; the cost is what is left.
    #[serde(default, with = "rust_decimal::serde::str")]
    pub discount_percent: Decimal,
    /// The supplier's words for units.
    #[serde(default)]
    pub units: BTreeMap<String, Unit>,
    /// The company's codes for the supplier's; a code that is not here is taken as it is.
    #[serde(default)]
    pub codes: BTreeMap<String, String>,
    /// What becomes of codes and packs that the catalogue does not hold: added as this says, or left out when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub new_items: Option<NewItems>,
}

fn first_row() -> u32 {
    1
}

/// Characters of a CSV file.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Encoding {
    /// UTF-8; bytes that are not are a fault.
    #[default]
    #[serde(rename = "utf_8")]
    Utf8,
    /// Windows code page 1252, as older office programs write.
    #[serde(rename = "windows_1252")]
    Windows1252,
}

/// What separates the fields of a CSV file.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Separator {
    /// `,`
    #[default]
    Comma,
    /// `;`
    Semicolon,
    /// The tabulator.
    Tab,
    /// `|`
    Bar,
}

impl Separator {
    /// The character.
    pub fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
            Self::Bar => b'|',
        }
    }
}

/// The order of a date's parts; they are separated by `-`, `/` or `.`, and the year has four digits.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DateOrder {
    /// `2026-03-01`
    #[default]
    YearMonthDay,
    /// `01.03.2026`
    DayMonthYear,
    /// `03/01/2026`
    MonthDayYear,
}

/// A column, named by its title or by its letters.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Column {
    /// The text in the row of titles.
    Title(String),
    /// Its letters, as a spreadsheet shows them.
    Letters(String),
}

/// Which column holds what. Two must be there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Columns {
    /// The supplier's or the company's code.
    pub code: Column,
    /// The price.
    pub price: Column,
    /// How much one pack holds, in the unit of the row.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack_size: Option<Column>,
    /// What the trade calls the pack.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack_name: Option<Column>,
    /// The unit of the pack's size.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<Column>,
    /// The currency, as its ISO 4217 code.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<Column>,
    /// The first day of the price; the list's own day where there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valid_from: Option<Column>,
    /// What the item is; for new items.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub description: Option<Column>,
    /// For how many units the price is: 1, 100, 1000. Only with a price for units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price_per: Option<Column>,
}

impl Columns {
    /// Every column that is named, with the member that names it.
    pub fn named(&self) -> impl Iterator<Item = (&'static str, &Column)> {
        let optional = [
            ("pack_size", &self.pack_size),
            ("pack_name", &self.pack_name),
            ("unit", &self.unit),
            ("currency", &self.currency),
            ("valid_from", &self.valid_from),
            ("description", &self.description),
            ("price_per", &self.price_per),
        ];
        let needed = [("code", &self.code), ("price", &self.price)];
        let given = optional
            .into_iter()
            .filter_map(|(name, column)| Some((name, column.as_ref()?)));
        needed.into_iter().chain(given)
    }
}

/// What holds where the list says nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Usual {
    /// The size of a pack, in the unit of the row. Without it, a code must have one pack only.
    #[serde(
        default,
        with = "rust_decimal::serde::str_option",
        skip_serializing_if = "Option::is_none"
    )]
    pub pack_size: Option<Decimal>,
    /// What the trade calls a pack.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack_name: Option<String>,
    /// The unit. Without it, the item's own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<Unit>,
    /// The currency. Without it, the company's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<Currency>,
}

/// What a price of the list is for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PriceFor {
    /// One pack.
    #[default]
    Pack,
    /// One unit, or as many as the column `price_per` says; a pack costs its size times that.
    Unit,
}

/// Where the cost of new items belongs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NewItems {
    /// The cost code of job costing.
    pub cost_code: String,
    /// The tax category of the policies.
    pub tax_category: String,
    /// The group of goods.
    #[serde(default)]
    pub group: ItemGroup,
    /// Working days from order to delivery.
    #[serde(default)]
    pub lead_days: u32,
}
