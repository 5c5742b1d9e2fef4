//! Rows of a table that both rulebooks have, found by the cells of their keys.

use std::collections::HashMap;

use serde_json::{Map, Value};

use super::super::rulebook::{Matching, Row, Table};
use super::meaning::of_figure;
use super::{Fate, FieldChange, RowChange};

/// A row: the meaning of its key cells, and which of the rows with these, where a draft has several.
type Place = (Vec<String>, usize);

fn keys(row: &Row) -> Vec<String> {
    let cells = row.cells.split_last().map(|(_, keys)| keys).unwrap_or_default();
    cells.iter().map(|cell| of_figure(cell)).collect()
}

fn value(row: &Row) -> &str {
    row.cells.last().map_or("", |cell| cell)
}

fn rows(table: &Table) -> Vec<(Place, &Row)> {
    let mut times: HashMap<Vec<String>, usize> = HashMap::new();
    let mut rows = Vec::with_capacity(table.rows.len());
    for row in &table.rows {
        let keys = keys(row);
        let time = times.entry(keys.clone()).or_default();
        rows.push(((keys, *time), row));
        *time += 1;
    }
    rows
}

/// Rows that are new, in the order of the later table, rows with another value, and rows that are gone.
pub(super) fn changed_rows(before: &Table, after: &Table) -> Vec<RowChange> {
    let old: Vec<_> = rows(before);
    let new: Vec<_> = rows(after);
    let known: HashMap<&Place, &Row> = old.iter().map(|(place, row)| (place, *row)).collect();
    let kept: HashMap<&Place, &Row> = new.iter().map(|(place, row)| (place, *row)).collect();
    let mut changes = Vec::new();
    for (place, row) in &new {
        let then = known.get(place).map(|row| value(row));
        let fate = match then {
            None => Fate::Added,
            Some(then) if of_figure(then) == of_figure(value(row)) => continue,
            Some(_) => Fate::Changed,
        };
        changes.push(RowChange {
            keys: named(after, row),
            fate,
            before: then.map(str::to_owned),
            after: Some(value(row).to_owned()),
        });
    }
    for (_, row) in old.iter().filter(|(place, _)| !kept.contains_key(place)) {
        changes.push(RowChange {
            keys: named(before, row),
            fate: Fate::Removed,
            before: Some(value(row).to_owned()),
            after: None,
        });
    }
    changes
}

fn named(table: &Table, row: &Row) -> Map<String, Value> {
    let cells = table.keys.iter().zip(&row.cells);
    cells
        .map(|(key, cell)| (key.name.to_string(), Value::from(cell.as_str())))
        .collect()
}

/// The order of rows, where it decides: of two rows that may both apply, the first counts.
pub(super) fn changed_order(before: &Table, after: &Table) -> Option<FieldChange> {
    let known: HashMap<Place, usize> = rows(before)
        .into_iter()
        .enumerate()
        .map(|(at, (place, _))| (place, at))
        .collect();
    let kept: Vec<(usize, &Row)> = rows(after)
        .into_iter()
        .filter_map(|(place, row)| Some((*known.get(&place)?, row)))
        .collect();
    let turned = |first: &(usize, &Row), second: &(usize, &Row)| {
        first.0 > second.0
            && of_figure(value(first.1)) != of_figure(value(second.1))
            && overlap(after, first.1, second.1)
    };
    let mut moved = vec![false; kept.len()];
    for (at, first) in kept.iter().enumerate() {
        for (other, second) in kept.iter().enumerate().skip(at + 1) {
            if turned(first, second) {
                for place in [at, other] {
                    if let Some(moved) = moved.get_mut(place) {
                        *moved = true;
                    }
                }
            }
        }
    }
    let mut now: Vec<(usize, &Row)> = kept
        .into_iter()
        .zip(moved)
        .filter_map(|(row, moved)| moved.then_some(row))
        .collect();
    if now.is_empty() {
        return None;
    }
    let list = |rows: &[(usize, &Row)]| -> Value {
        let names = rows.iter().map(|(_, row)| Value::Object(named(after, row)));
        names.collect()
    };
    let after = list(&now);
    now.sort_by_key(|(at, _)| *at);
    Some(FieldChange {
        field: "order_of_rows".to_owned(),
        before: Some(list(&now)),
        after: Some(after),
    })
}

/// Whether there are keys to which both rows apply.
fn overlap(table: &Table, one: &Row, other: &Row) -> bool {
    let cells = one.cells.iter().zip(&other.cells);
    table
        .keys
        .iter()
        .zip(cells)
        .all(|(key, (one, other))| match key.matching {
            Matching::Equal { .. } => one == other || &**one == "any" || &**other == "any",
            Matching::UpTo { .. } => true,
            Matching::Interpolate { .. } => of_figure(one) == of_figure(other),
        })
}
