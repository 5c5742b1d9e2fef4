//! Codes that are an item's but for capital and small letters: a slip, and no other item.

use std::collections::HashMap;

use crate::catalogue::Catalogue;

/// The codes of a catalogue, by their small letters.
#[derive(Debug)]
pub(super) struct Codes<'a>(HashMap<String, &'a str>);

impl<'a> Codes<'a> {
    pub(super) fn of(catalogue: &'a Catalogue) -> Self {
        let items = catalogue.items().iter();
        Self(
            items
                .map(|item| (item.code.to_lowercase(), item.code.as_str()))
                .collect(),
        )
    }

    /// Judges a code that no item has.
    ///
    /// # Errors
    /// In words, where an item has it in other letters.
    pub(super) fn judge(&self, code: &str) -> Result<(), String> {
        match self.0.get(&code.to_lowercase()) {
            Some(known) => Err(format!("there is no item {code}; did you mean {known}?")),
            None => Ok(()),
        }
    }
}
