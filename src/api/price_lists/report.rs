//! What a list comes to, as it is answered.

use std::collections::BTreeMap;
use std::collections::HashSet;

use chrono::NaiveDate;
use estimate::catalogue::price_list::{AppliedRow, Comparison, Entry, EntryKind, Trouble, Vanished};
use estimate::quantity::Decimal;
use estimate::quantity::decimal::plain;
use serde::Serialize;

use crate::desk::price_list::ReadList;

/// The words of rows, in the order of the answer.
const WORDS: &[&str] = &[
    "new_item",
    "new_pack",
    "first_price",
    "changed",
    "unchanged",
    "already_there",
    "not_held",
];

/// What a list comes to.
#[derive(Serialize)]
pub struct ListReport<'a> {
    number: Option<u32>,
    dry_run: bool,
    comparison: String,
    can_be_applied: bool,
    mapping: MappingName<'a>,
    supplier: &'a str,
    source: &'a str,
    valid_from: NaiveDate,
    digest: &'a str,
    rows: usize,
    counts: BTreeMap<&'static str, usize>,
    new: Vec<EntryView<'a>>,
    changed: Vec<EntryView<'a>>,
    unchanged: Vec<EntryView<'a>>,
    vanished: &'a [Vanished],
    troubles: &'a [Trouble],
}

/// A version of a mapping.
#[derive(Serialize)]
pub struct MappingName<'a> {
    /// Its name.
    pub id: &'a str,
    /// Its version.
    pub version: u32,
}

/// What goes with a comparison into its answer.
pub struct Told<'a> {
    /// The number of the applied list; none of a dry run.
    pub number: Option<u32>,
    /// The list as it was read.
    pub list: &'a ReadList,
    /// Where its prices come from.
    pub source: &'a str,
    /// The name of the comparison.
    pub fingerprint: String,
    /// Most rows of each kind that are told one by one.
    pub show: usize,
}

#[derive(Serialize)]
struct EntryView<'a> {
    row: u32,
    kind: &'static str,
    code: &'a str,
    pack: String,
    valid_from: NaiveDate,
    amount: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    before: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    since: Option<NaiveDate>,
    #[serde(skip_serializing_if = "Option::is_none")]
    percent: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    until: Option<NaiveDate>,
    #[serde(skip_serializing_if = "Option::is_none")]
    rounded_from: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    description: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<String>,
}

impl<'a> From<&'a Entry> for EntryView<'a> {
    fn from(entry: &'a Entry) -> Self {
        let (mut since, mut percent, mut description, mut unit) = (None, None, None, None);
        match &entry.kind {
            EntryKind::Changed(change) => {
                since = Some(change.since);
                percent = change.percent.map(|percent| percent.to_string());
            }
            EntryKind::Unchanged { since: same } => since = Some(*same),
            EntryKind::NewItem(new) => {
                description = Some(new.description.as_str());
                unit = Some(new.unit.symbol());
            }
            _ => {}
        }
        Self {
            row: entry.row,
            kind: entry.kind.word(),
            code: &entry.code,
            pack: plain(entry.pack),
            valid_from: entry.valid_from,
            amount: plain(entry.amount),
            before: entry.kind.before().map(plain),
            since,
            percent,
            until: entry.until,
            rounded_from: entry.rounded_from.as_deref(),
            description,
            unit,
        }
    }
}

impl<'a> ListReport<'a> {
    /// The answer: everything counted, and of each kind the first rows, of the changed the largest changes.
    pub fn new(comparison: &'a Comparison, told: Told<'a>) -> Self {
        let mapping = &told.list.rows.mapping;
        let mut counts: BTreeMap<&'static str, usize> = WORDS.iter().map(|word| (*word, 0)).collect();
        for entry in &comparison.entries {
            *counts.entry(entry.kind.word()).or_default() += 1;
        }
        let rows_in = |left_out: bool| {
            let those = comparison
                .troubles
                .iter()
                .filter(|trouble| trouble.left_out == left_out);
            those.map(|trouble| trouble.row).collect::<HashSet<_>>().len()
        };
        counts.insert("vanished", comparison.vanished.len());
        counts.insert("in_trouble", rows_in(false));
        counts.insert("left_out", rows_in(true));
        let of = |words: &[&str]| {
            let those = comparison
                .entries
                .iter()
                .filter(|entry| words.contains(&entry.kind.word()));
            those.take(told.show).map(EntryView::from).collect()
        };
        let first = |length: usize| length.min(told.show);
        Self {
            number: told.number,
            dry_run: told.number.is_none(),
            comparison: told.fingerprint,
            can_be_applied: comparison.can_be_applied(),
            mapping: MappingName {
                id: &mapping.id,
                version: told.list.version,
            },
            supplier: &mapping.supplier,
            source: told.source,
            valid_from: comparison.day,
            digest: &told.list.digest,
            rows: comparison.rows,
            counts,
            new: of(&["new_item", "new_pack", "first_price", "not_held"]),
            changed: largest(comparison, told.show),
            unchanged: of(&["unchanged", "already_there"]),
            vanished: comparison
                .vanished
                .get(..first(comparison.vanished.len()))
                .unwrap_or_default(),
            troubles: comparison
                .troubles
                .get(..first(comparison.troubles.len()))
                .unwrap_or_default(),
        }
    }
}

/// The largest changes by percent, a change from nothing before all; of equal ones the earlier row.
fn largest(comparison: &Comparison, show: usize) -> Vec<EntryView<'_>> {
    let changed = comparison.entries.iter().filter_map(|entry| match &entry.kind {
        EntryKind::Changed(change) => {
            let size = change.percent.map_or(Decimal::MAX, |percent| percent.abs());
            Some((std::cmp::Reverse(size), entry.row, entry))
        }
        _ => None,
    });
    let mut changed: Vec<_> = changed.collect();
    changed.sort_by_key(|(size, row, _)| (*size, *row));
    changed
        .into_iter()
        .take(show)
        .map(|(_, _, entry)| entry.into())
        .collect()
}

/// A row of an applied list.
#[derive(Serialize)]
pub struct RowView {
    pub row: u32,
    pub kind: String,
    pub code: String,
    pub pack: String,
    pub valid_from: NaiveDate,
    pub amount: String,
    pub before: Option<String>,
}

impl RowView {
    /// The row, with the word for what it did.
    pub fn new(kind: &str, row: &AppliedRow) -> Self {
        Self {
            row: row.row,
            kind: kind.to_owned(),
            code: row.code.clone(),
            pack: plain(row.pack),
            valid_from: row.valid_from,
            amount: plain(row.amount),
            before: row.replaced.map(plain),
        }
    }
}
