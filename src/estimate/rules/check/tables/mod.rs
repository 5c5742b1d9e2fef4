//! Tables: heads, cells, and whether every combination of keys leads to exactly one row.

mod curve;
mod grid;
mod reader;

use super::scope::{Scope, TableHead};
use crate::quantity::fact::WordNumber;
use crate::quantity::nearest;
use crate::quantity::unit::Unit;
use crate::rules::formula::Flaw;
use crate::rules::program::{Curve, DomainId, ITEMS, Kind, Table};
use crate::rules::rulebook::{Matching, Table as Source, Text};
use reader::Reader;
use rust_decimal::Decimal;
use std::sync::Arc;

/// The most combinations of keys of one table.
const MAX_CELLS: usize = 5_000;
/// The most holes that are told of one table.
const HOLES_TOLD: usize = 5;
/// The most decimals of a number in a table.
const CELL_SCALE: u32 = 12;

/// A flaw and the field that it is in.
pub(super) type TableFlaw = (&'static str, Flaw);

/// How a row's cell covers a key of the grid: places from the first to the last.
type Cover = (usize, usize);

/// What a table is looked up by and what it holds.
pub(super) fn head(scope: &Scope, table: &Source, place: usize) -> Result<TableHead, Vec<TableFlaw>> {
    let mut flaws = Vec::new();
    let value = match &*table.value {
        "item" => Some(Kind::Choice(ITEMS)),
        word => scope
            .kind(word, table.value.span())
            .map_err(|flaw| flaws.push(("value", flaw)))
            .ok(),
    };
    let mut keys: Vec<(Arc<str>, Kind)> = Vec::new();
    let mut curve = None;
    for (at, key) in table.keys.iter().enumerate() {
        let kind = match &key.matching {
            Matching::Equal { of } => equal_kind(scope, of),
            Matching::UpTo { unit } | Matching::Interpolate { unit, .. } => Unit::parse(unit)
                .map(Kind::Number)
                .map_err(|fault| unit_flaw(unit, &fault.to_string())),
        };
        if matches!(key.matching, Matching::Interpolate { .. }) && curve.replace(at).is_some() {
            let flaw = key.name.whole("key", "a table is interpolated over one key only");
            flaws.push(("keys", flaw));
        }
        match kind {
            Ok(kind) => keys.push((key.name.shared(), kind)),
            Err(flaw) => flaws.push(("keys", flaw)),
        }
    }
    if table.keys.is_empty() {
        flaws.push(("keys", table.name.whole("key", "the table has no keys")));
    }
    if let (Some(at), Some(Kind::Flag | Kind::Choice(_))) = (curve, value) {
        let name = table.keys.get(at).map_or(&table.name, |key| &key.name);
        flaws.push(("keys", name.whole("key", "only numbers can be interpolated")));
    }
    match value {
        Some(value) if flaws.is_empty() => Ok(TableHead {
            place,
            slot: 0,
            value,
            keys,
            curve,
        }),
        _ => Err(flaws),
    }
}

fn unit_flaw(unit: &Text, message: &str) -> Flaw {
    unit.whole("unknown_unit", message)
}

/// `of` names a value whose sort is taken, or a list of words.
fn equal_kind(scope: &Scope, of: &Text) -> Result<Kind, Flaw> {
    if let Some(value) = scope.values.get(&**of) {
        scope.uses(of);
        if let Kind::Number(unit) = value.kind {
            return Err(of
                .whole(
                    "key",
                    format!("`{}` is a number; it is matched by bands", of.as_str()),
                )
                .expected(format!(
                    "unit = \"{unit}\" with match = \"up_to\" or \"interpolate\""
                )));
        }
        return Ok(value.kind);
    }
    let list = scope
        .domains
        .iter()
        .position(|domain| *domain.name == **of)
        .filter(|at| *at != ITEMS.0);
    if let Some(at) = list {
        return Ok(Kind::Choice(DomainId(at)));
    }
    let known = scope.values.keys().map(AsRef::as_ref);
    let lists = scope.domains.iter().map(|domain| &*domain.name);
    Err(of
        .whole(
            "unknown_name",
            format!("`{}` is neither a choice nor a list of words", of.as_str()),
        )
        .suggest(nearest::name(of, known.chain(lists))))
}

/// A table with its values, by their type.
pub(super) enum Made {
    Numbers(Table<Decimal>),
    Flags(Table<bool>),
    Choices(Table<WordNumber>),
    Curve(Curve),
}

/// The table itself, and what is told of rows that overlap.
pub(super) fn body(
    scope: &Scope,
    table: &Source,
    head: &TableHead,
) -> Result<(Made, Vec<Flaw>), Vec<TableFlaw>> {
    let mut reader = Reader {
        scope,
        table,
        head,
        flaws: Vec::new(),
        overlaps: Vec::new(),
    };
    let made = reader.read();
    let overlaps = reader.overlaps;
    let flaws = reader
        .flaws
        .into_iter()
        .map(|flaw| ("rows", flaw))
        .collect::<Vec<_>>();
    match made {
        Some(made) if flaws.is_empty() => Ok((made, overlaps)),
        _ => Err(flaws),
    }
}
