//! Whether a mapping can be read by: every fault at once, each with its place.

use std::collections::HashMap;

use rust_decimal::Decimal;
use thiserror::Error;

use super::a1;
use super::mapping::{Column, Mapping, PriceFor};
use crate::quantity::decimal::{QUANTITY_SCALE, RATE_SCALE};

/// Most words for units, and most codes, of one mapping.
const WORDS_MOST: usize = 50_000;
/// Most characters of a name or a code.
const NAME_MOST: usize = 120;

/// Something in a mapping that cannot stand.
#[derive(Debug, Clone, PartialEq, Eq, Error, serde::Serialize)]
#[error("{pointer} {message}")]
pub struct MappingFault {
    /// JSON Pointer into the mapping.
    pub pointer: String,
    /// What is wrong, in plain words.
    pub message: String,
}

impl Mapping {
    /// Every fault of the mapping; none when lists can be read by it.
    pub fn faults(&self) -> Vec<MappingFault> {
        let mut faults = Vec::new();
        let mut add = |pointer: &str, message: &str| {
            faults.push(MappingFault {
                pointer: pointer.to_owned(),
                message: message.to_owned(),
            });
        };
        let plain = |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-';
        if self.id.is_empty() || self.id.len() > 60 || !self.id.bytes().all(plain) {
            add("/id", "must be 1 to 60 lower-case letters, digits and hyphens");
        }
        for (pointer, text) in [("/title", &self.title), ("/supplier", &self.supplier)] {
            if !is_name(text) {
                add(pointer, "must be a text of 1 to 120 characters");
            }
        }
        if !self.numbers.can_be_told_apart() {
            add(
                "/numbers/thousands",
                "must be another sign than the one in front of the decimals",
            );
        }
        let sign = self.numbers.currency_sign.as_deref();
        if sign.is_some_and(|sign| sign.trim().is_empty() || sign.bytes().any(|byte| byte.is_ascii_digit())) {
            add("/numbers/currency_sign", "must be a sign or word without digits");
        }
        if self.discount_percent < Decimal::ZERO
            || self.discount_percent >= Decimal::ONE_HUNDRED
            || self.discount_percent.scale() > RATE_SCALE
        {
            add(
                "/discount_percent",
                "must be from 0 to under 100 percent with at most 8 decimals",
            );
        }
        let size = self.usual.pack_size;
        if size.is_some_and(|size| size <= Decimal::ZERO || size.scale() > QUANTITY_SCALE) {
            add(
                "/usual/pack_size",
                "must be more than zero with at most 6 decimals",
            );
        }
        if self.columns.price_per.is_some() && self.price_for == PriceFor::Pack {
            add(
                "/columns/price_per",
                "needs a price for units: price_for must be unit",
            );
        }
        self.column_faults(&mut add);
        self.word_faults(&mut add);
        faults
    }

    fn column_faults(&self, add: &mut impl FnMut(&str, &str)) {
        let mut seen: HashMap<&Column, &str> = HashMap::new();
        for (name, column) in self.columns.named() {
            let pointer = format!("/columns/{name}");
            match column {
                Column::Letters(letters) if a1::column(letters).is_none() => {
                    add(&pointer, "must be the letters of a column, from A to XFD");
                }
                Column::Title(_) if self.title_row == 0 => {
                    add(
                        &pointer,
                        "must be named by its letters, since the list has no row of titles",
                    );
                }
                Column::Title(title) if !is_name(title) => {
                    add(&pointer, "must be a title of 1 to 120 characters");
                }
                Column::Title(_) | Column::Letters(_) => {}
            }
            if let Some(other) = seen.insert(column, name) {
                add(&pointer, &format!("names the same column as {other}"));
            }
        }
    }

    fn word_faults(&self, add: &mut impl FnMut(&str, &str)) {
        if self.units.len() > WORDS_MOST {
            add("/units", "has more than 50000 words");
        }
        if self.codes.len() > WORDS_MOST {
            add("/codes", "has more than 50000 codes");
        }
        let mut ours: HashMap<&str, &str> = HashMap::new();
        for (theirs, code) in &self.codes {
            let pointer = format!("/codes/{}", theirs.replace('~', "~0").replace('/', "~1"));
            if !is_name(theirs) || !is_name(code) {
                add(&pointer, "must be a code of 1 to 120 characters for another");
            }
            if let Some(other) = ours.insert(code, theirs) {
                add(&pointer, &format!("is for {code}, as {other} is"));
            }
        }
        if let Some(new) = &self.new_items {
            for (pointer, text) in [
                ("/new_items/cost_code", &new.cost_code),
                ("/new_items/tax_category", &new.tax_category),
            ] {
                if !is_name(text) {
                    add(pointer, "must be a text of 1 to 120 characters");
                }
            }
        }
    }
}

/// A text that may be a name: not blank, not long, of one line, without blanks around it.
pub(super) fn is_name(text: &str) -> bool {
    !text.is_empty()
        && text.trim() == text
        && text.chars().count() <= NAME_MOST
        && !text.chars().any(char::is_control)
}
