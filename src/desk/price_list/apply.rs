//! A list held against the catalogue, and applied: all of it, or nothing.

use std::collections::BTreeMap;

use estimate::catalogue::price_list::{Choices, Comparison, Trouble, Vanished, additions, compare};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::intake::{ReadList, hexadecimal};
use crate::desk::{Desk, DeskFault, Told, now};
use crate::store::{NewPriceList, Origin, RequestKey, StoreFault};

/// How often a list is held against the catalogue anew when somebody else was quicker.
const ATTEMPTS: u32 = 3;
/// Most troubles and most vanished packs that are kept of an applied list one by one; all of them are counted.
const KEPT_MOST: usize = 10_000;

/// What is kept of an applied list beside its rows.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// Rows that were not blank.
    pub rows: usize,
    /// How many rows came to each word, and how many packs vanished.
    pub counts: BTreeMap<String, usize>,
    /// Whether prices of a suspicious factor were accepted.
    pub accepted_factor: bool,
    /// Whether prices of nothing were accepted.
    #[serde(default)]
    pub accepted_zero: bool,
    /// Packs of the supplier that were not in the list.
    pub vanished: Vec<Vanished>,
    /// Rows that were left out.
    pub left_out: Vec<Trouble>,
    /// Why a list was taken back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

/// What is told where a list comes to something else than was agreed to.
const NOT_AGREED: &str = "what this list comes to is not what was agreed to: the comparison was made with other choices, or prices have \
     changed since; repeat the dry run with the same choices and agree to what it comes to";

impl Desk {
    /// Holds a list against the catalogue and writes nothing.
    ///
    /// # Errors
    /// The database.
    pub fn compare_price_list(&self, list: &ReadList, choices: &Choices) -> Result<Comparison, DeskFault> {
        Ok(compare(&list.rows, &self.office()?.catalogue, choices))
    }

    /// Applies a list in one transaction, once for `key`. `agreed` are fingerprints of comparisons that the office has
    /// agreed to; with none, any will do. `tell` makes the answer of what the list came to and its number.
    ///
    /// # Errors
    /// [`DeskFault::ListTroubles`] when a row is in trouble and not left out, [`DeskFault::NothingToApply`] when every
    /// price is there already, [`DeskFault::NotAgreed`] when the comparison is none of the agreed ones, or the database.
    pub fn apply_price_list(
        &self,
        key: Option<&RequestKey>,
        (list, choices): (&ReadList, &Choices),
        source: &str,
        agreed: Option<&[String]>,
        tell: impl Fn(&Comparison, u32) -> Result<Told, DeskFault>,
    ) -> Result<Told, DeskFault> {
        self.once(key, || self.apply(key, (list, choices), source, agreed, tell))
    }

    fn apply(
        &self,
        key: Option<&RequestKey>,
        (list, choices): (&ReadList, &Choices),
        source: &str,
        agreed: Option<&[String]>,
        tell: impl Fn(&Comparison, u32) -> Result<Told, DeskFault>,
    ) -> Result<String, DeskFault> {
        for _ in 0..ATTEMPTS {
            let office = self.office()?;
            let comparison = compare(&list.rows, &office.catalogue, choices);
            if agreed.is_some_and(|agreed| !agreed.contains(&fingerprint(list, &comparison))) {
                return Err(DeskFault::NotAgreed(NOT_AGREED));
            }
            if !comparison.can_be_applied() {
                let open: Vec<Trouble> = comparison.open_troubles().cloned().collect();
                return Err(DeskFault::ListTroubles(open));
            }
            let mapping = &list.rows.mapping;
            let added = additions(&comparison, mapping, &office.catalogue);
            if added.prices.is_empty() {
                return Err(DeskFault::NothingToApply);
            }
            let written = comparison.entries.iter().filter(|entry| entry.kind.is_written());
            let kinds = written.map(|entry| entry.kind.word());
            let rows: Vec<_> = kinds.zip(added.prices).collect();
            let now = now();
            let new = NewPriceList {
                supplier: &mapping.supplier,
                source,
                valid_from: list.rows.day,
                origin: Origin::File {
                    mapping: mapping.id.clone(),
                    version: list.version,
                    digest: list.digest.clone(),
                },
                body: text(&Kept::of(&comparison, choices))?,
                items: &added.items,
                packed_anew: &added.packed_anew,
                rows: &rows,
                created_at: &now,
            };
            let tell = |number| answer(tell(&comparison, number), number);
            match self.store.apply_price_list(key, &new, office.revision, tell) {
                Ok(answer) => return Ok(answer),
                Err(StoreFault::Changed) => {}
                Err(fault) => return Err(fault.into()),
            }
        }
        Err(StoreFault::Busy("the catalogue is changed again and again".to_owned()).into())
    }
}

impl Kept {
    fn of(comparison: &Comparison, choices: &Choices) -> Self {
        let mut counts = BTreeMap::new();
        for entry in &comparison.entries {
            *counts.entry(entry.kind.word().to_owned()).or_default() += 1;
        }
        counts.insert("vanished".to_owned(), comparison.vanished.len());
        let mut left_out: Vec<u32> = comparison.troubles.iter().map(|trouble| trouble.row).collect();
        left_out.dedup();
        counts.insert("left_out".to_owned(), left_out.len());
        Self {
            rows: comparison.rows,
            counts,
            accepted_factor: choices.accept_factor,
            accepted_zero: choices.accept_zero,
            vanished: comparison.vanished.iter().take(KEPT_MOST).cloned().collect(),
            left_out: comparison.troubles.iter().take(KEPT_MOST).cloned().collect(),
            reason: None,
        }
    }
}

/// The answer as it is kept, inside the transaction that gives the list its number.
pub(super) fn answer(told: Result<Told, DeskFault>, number: u32) -> Result<String, StoreFault> {
    let text = told.and_then(|told| told.text());
    text.map_err(|fault| StoreFault::Corrupt {
        table: "price_lists",
        key: number.to_string(),
        message: fault.to_string(),
    })
}

pub(super) fn text(kept: &Kept) -> Result<String, DeskFault> {
    serde_json::to_string(kept).map_err(|fault| DeskFault::Defect(fault.to_string()))
}

/// A name for what a list comes to: the same file by the same mapping and choices against the same prices has the same
/// one, and anything else another.
pub fn fingerprint(list: &ReadList, comparison: &Comparison) -> String {
    let mut digest = Sha256::new();
    let head = format!(
        "{} {} {} {}\n",
        list.digest, list.rows.mapping.id, list.version, comparison.day
    );
    digest.update(head.as_bytes());
    for entry in &comparison.entries {
        let before = entry
            .kind
            .before()
            .map(|before| before.to_string())
            .unwrap_or_default();
        let (row, word) = (entry.row, entry.kind.word());
        digest.update(format!("{row} {word} {} {before} {:?}\n", entry.amount, entry.until).as_bytes());
    }
    for trouble in &comparison.troubles {
        let (row, kind) = (trouble.row, trouble.kind);
        digest.update(format!("{row} {} {}\n", kind.word(), trouble.left_out).as_bytes());
    }
    for gone in &comparison.vanished {
        digest.update(format!("{} {} {}\n", gone.code, gone.pack, gone.amount).as_bytes());
    }
    hexadecimal(&digest.finalize().iter().take(16).copied().collect::<Vec<u8>>())
}
