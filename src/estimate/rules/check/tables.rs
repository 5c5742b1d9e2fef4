//! Tables: heads, cells, and whether every combination of keys leads to exactly one row.

use super::super::formula::Flaw;
use super::super::program::{Curve, Grid, GridKey, ITEMS, Kind, Point, Table};
use super::super::rulebook::{Matching, Row, Table as Source, Text};
use super::scope::{Scope, TableHead};
use crate::quantity::decimal::{self, DecimalFault};
use crate::quantity::nearest;
use crate::quantity::unit::Unit;
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use std::sync::Arc;

/// The most combinations of keys of one table.
const MAX_CELLS: usize = 20_000;
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
        word => scope.kind(word, table.value.span()).map_err(|flaw| flaws.push(("value", flaw))).ok(),
    };
    let mut keys: Vec<(Arc<str>, Kind)> = Vec::new();
    let mut curve = None;
    for (at, key) in table.keys.iter().enumerate() {
        let kind = match &key.matching {
            Matching::Equal { of } => equal_kind(scope, of),
            Matching::UpTo { unit } | Matching::Interpolate { unit, .. } => {
                Unit::parse(unit).map(Kind::Number).map_err(|fault| unit_flaw(unit, &fault.to_string()))
            }
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
        Some(value) if flaws.is_empty() => Ok(TableHead { place, slot: 0, value, keys, curve }),
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
                .whole("key", format!("`{}` is a number; it is matched by bands", of.as_str()))
                .expected(format!("unit = \"{unit}\" with match = \"up_to\" or \"interpolate\"")));
        }
        return Ok(value.kind);
    }
    let list = scope.domains.iter().position(|domain| *domain.name == **of).filter(|at| *at != ITEMS.0);
    if let Some(at) = list {
        return Ok(Kind::Choice(super::super::program::DomainId(at)));
    }
    let known = scope.values.keys().map(AsRef::as_ref);
    let lists = scope.domains.iter().map(|domain| &*domain.name);
    Err(of
        .whole("unknown_name", format!("`{}` is neither a choice nor a list of words", of.as_str()))
        .suggest(nearest::name(of, known.chain(lists))))
}

/// A table with its values, by their type.
pub(super) enum Made {
    Numbers(Table<Decimal>),
    Flags(Table<bool>),
    Choices(Table<u16>),
    Curve(Curve),
}

/// The table itself.
pub(super) fn body(scope: &Scope, table: &Source, head: &TableHead) -> Result<Made, Vec<TableFlaw>> {
    let mut reader = Reader { scope, table, head, flaws: Vec::new() };
    let made = reader.read();
    let flaws = reader.flaws.into_iter().map(|flaw| ("rows", flaw)).collect::<Vec<_>>();
    match made {
        Some(made) if flaws.is_empty() => Ok(made),
        _ => Err(flaws),
    }
}

struct Reader<'s> {
    scope: &'s Scope,
    table: &'s Source,
    head: &'s TableHead,
    flaws: Vec<Flaw>,
}

impl<'s> Reader<'s> {
    fn read(&mut self) -> Option<Made> {
        let width = self.head.keys.len() + 1;
        for row in self.table.rows.iter().filter(|row| row.cells.len() != width) {
            let names: Vec<&str> = self.head.keys.iter().map(|(name, _)| &**name).collect();
            let flaw = Flaw::new(row.span, "row", "the row has another number of cells")
                .found(row.cells.len().to_string())
                .expected(format!("{width}: {}, value", names.join(", ")));
            self.flaws.push(flaw);
        }
        if !self.flaws.is_empty() {
            return None;
        }
        let name = self.table.name.shared();
        if self.table.rows.is_empty() {
            self.flaws.push(self.table.name.whole("hole", "the table has no rows"));
            return None;
        }
        match self.head.value {
            Kind::Number(unit) => {
                let values = self.values(|reader, cell| reader.figure(cell, unit))?;
                if self.head.curve.is_some() {
                    return self.curve(name, &values).map(Made::Curve);
                }
                Some(Made::Numbers(Table { name, grid: self.grid()?, values }))
            }
            Kind::Flag => {
                let values = self.values(Self::truth)?;
                Some(Made::Flags(Table { name, grid: self.grid()?, values }))
            }
            Kind::Choice(domain) => {
                let values = self.values(|reader, cell| reader.word(cell, domain))?;
                Some(Made::Choices(Table { name, grid: self.grid()?, values }))
            }
        }
    }

    /// The last cell of every row.
    fn values<V>(&mut self, read: impl Fn(&mut Self, &'s Text) -> Option<V>) -> Option<Vec<V>> {
        let cells: Vec<Option<V>> =
            self.table.rows.iter().filter_map(|row| row.cells.last()).map(|cell| read(self, cell)).collect();
        cells.into_iter().collect()
    }

    fn flaw<T>(&mut self, flaw: Flaw) -> Option<T> {
        self.flaws.push(flaw);
        None
    }

    /// A number, or a percentage where a plain number is wanted.
    fn figure(&mut self, cell: &Text, unit: Unit) -> Option<Decimal> {
        let percent = cell.strip_suffix('%').map(str::trim_end).filter(|_| unit == Unit::ONE);
        let digits = percent.unwrap_or(cell);
        match decimal::parse(digits, CELL_SCALE) {
            Ok(value) if percent.is_some() => value.checked_mul(Decimal::new(1, 2)),
            Ok(value) => Some(value),
            Err(fault) => {
                let expected = match fault {
                    DecimalFault::Grammar => format!("a number; its unit is {unit}"),
                    other => other.to_string(),
                };
                self.flaw(cell.whole("number", format!("`{}` is no number", cell.as_str())).expected(expected))
            }
        }
    }

    fn truth(&mut self, cell: &Text) -> Option<bool> {
        match cell.as_str() {
            "true" => Some(true),
            "false" => Some(false),
            other => {
                let flaw = cell.whole("unknown_word", format!("`{other}` is neither true nor false"));
                self.flaw(flaw.expected("true or false"))
            }
        }
    }

    fn word(&mut self, cell: &Text, domain: super::super::program::DomainId) -> Option<u16> {
        let known = self.scope.domains.get(domain.0)?;
        if let Some(number) = known.number(cell) {
            return Some(number);
        }
        let (code, what) = match domain {
            ITEMS => ("unknown_item", "no item of the catalogue".to_owned()),
            _ => ("unknown_word", format!("no word of {}", known.name)),
        };
        let flaw = cell
            .whole(code, format!("`{}` is {what}", cell.as_str()))
            .expected(self.scope.word_list(domain))
            .suggest(nearest::name(cell, known.words.iter().map(AsRef::as_ref)));
        self.flaw(flaw)
    }

    /// The keys of the grid, but the one that is interpolated.
    fn grid_keys(&mut self) -> Option<Vec<(usize, GridKey)>> {
        let mut keys = Vec::new();
        let mut cells = 1_usize;
        for (at, (_, kind)) in self.head.keys.iter().enumerate() {
            let key = match kind {
                _ if self.head.curve == Some(at) => continue,
                Kind::Flag => GridKey::Words(2),
                Kind::Choice(domain) => GridKey::Words(self.scope.domains.get(domain.0)?.words.len()),
                Kind::Number(unit) => GridKey::Bands(self.band_ends(at, *unit)?),
            };
            cells = cells.saturating_mul(key.size());
            keys.push((at, key));
        }
        if cells > MAX_CELLS {
            let flaw = self.table.name.whole("too_large", "the table has too many combinations of keys");
            return self.flaw(flaw.found(cells.to_string()).expected(format!("at most {MAX_CELLS}")));
        }
        Some(keys)
    }

    fn band_ends(&mut self, at: usize, unit: Unit) -> Option<Vec<Decimal>> {
        let mut ends = BTreeSet::new();
        let before = self.flaws.len();
        let table = self.table;
        for cell in table.rows.iter().filter_map(|row| row.cells.get(at)).filter(|cell| **cell != "above") {
            ends.extend(self.figure(cell, unit));
        }
        (self.flaws.len() == before).then(|| ends.into_iter().collect())
    }

    /// Which places of a key a row's cell covers.
    fn cover(&mut self, cell: &Text, kind: Kind, key: &GridKey) -> Option<Cover> {
        let all = key.size().checked_sub(1)?;
        match (kind, key) {
            (Kind::Number(unit), GridKey::Bands(ends)) => {
                if *cell == *"above" {
                    return Some((0, all));
                }
                let end = self.figure(cell, unit)?;
                Some((0, ends.partition_point(|known| *known < end)))
            }
            _ if *cell == *"any" => Some((0, all)),
            (Kind::Choice(domain), _) => {
                let word = usize::from(self.word(cell, domain)?);
                Some((word, word))
            }
            _ => {
                let place = usize::from(self.truth(cell)?);
                Some((place, place))
            }
        }
    }

    /// For every row, what it covers of each key.
    fn covers(&mut self, keys: &[(usize, GridKey)]) -> Option<Vec<Vec<Cover>>> {
        let (table, head) = (self.table, self.head);
        let mut rows = Vec::new();
        for row in &table.rows {
            let covers: Vec<Option<Cover>> = keys
                .iter()
                .filter_map(|(at, key)| Some((row.cells.get(*at)?, head.keys.get(*at)?.1, key)))
                .map(|(cell, kind, key)| self.cover(cell, kind, key))
                .collect();
            rows.push(covers.into_iter().collect::<Option<Vec<Cover>>>());
        }
        rows.into_iter().collect()
    }

    /// The first row that applies to each combination; holes and rows that never apply are told.
    fn grid(&mut self) -> Option<Grid> {
        let keys = self.grid_keys()?;
        let covers = self.covers(&keys)?;
        let size: usize = keys.iter().map(|(_, key)| key.size()).product();
        let mut cells: Vec<Option<u32>> = vec![None; size];
        for (row, cover) in (0_u32..).zip(&covers) {
            let mut reached = false;
            let mut earlier = None;
            for at in places(&keys, cover) {
                match cells.get_mut(at) {
                    Some(cell @ None) => {
                        *cell = Some(row);
                        reached = true;
                    }
                    // The last place covered is the row's own: who has it is in the way.
                    Some(Some(other)) => earlier = Some(*other),
                    None => {}
                }
            }
            if !reached {
                self.never_reached(row, earlier);
            }
        }
        self.holes(&keys, &cells);
        let cells = cells.into_iter().collect::<Option<Vec<u32>>>()?;
        Some(Grid { keys: keys.into_iter().map(|(_, key)| key).collect(), cells })
    }

    fn never_reached(&mut self, row: u32, earlier: Option<u32>) {
        let rows = &self.table.rows;
        let row_at = |at: u32| rows.get(at as usize);
        let (Some(this), other) = (row_at(row), earlier.and_then(row_at)) else { return };
        let same = other.is_some_and(|other| keys_of(this) == keys_of(other));
        let number = earlier.map_or(0, |at| at + 1);
        let (code, message) = if same {
            ("duplicate", format!("row {number} has the same keys"))
        } else {
            ("never_reached", format!("this row never applies: row {number} comes before it and covers it"))
        };
        self.flaws.push(Flaw::new(this.span, code, message).expected("bands ascending, the special before the general"));
    }

    fn holes(&mut self, keys: &[(usize, GridKey)], cells: &[Option<u32>]) {
        let holes: Vec<usize> = cells.iter().enumerate().filter(|(_, cell)| cell.is_none()).map(|(at, _)| at).collect();
        for at in holes.iter().take(HOLES_TOLD) {
            let words = self.combination(keys, *at);
            self.flaws.push(self.table.name.whole("hole", format!("no row for {words}")));
        }
        if let Some(more) = holes.len().checked_sub(HOLES_TOLD).filter(|more| *more > 0) {
            self.flaws.push(self.table.name.whole("hole", format!("and no row for {more} more combinations")));
        }
    }

    /// A combination of keys in words, such as `mounting = flush, height above 12 ft`.
    fn combination(&self, keys: &[(usize, GridKey)], cell: usize) -> String {
        let mut words = Vec::new();
        let mut rest = cell;
        for (at, key) in keys.iter().rev() {
            let place = rest % key.size().max(1);
            rest /= key.size().max(1);
            let Some((name, kind)) = self.head.keys.get(*at) else { continue };
            words.push(match (key, kind) {
                (GridKey::Bands(ends), Kind::Number(unit)) => match (ends.get(place), ends.last()) {
                    (Some(end), _) => format!("{name} up to {end} {unit}"),
                    (None, Some(last)) => format!("{name} above {last} {unit}"),
                    (None, None) => name.to_string(),
                },
                (_, Kind::Choice(domain)) => {
                    let word = self.scope.domains.get(domain.0).and_then(|d| d.word(u16::try_from(place).ok()?));
                    format!("{name} = {}", word.unwrap_or_default())
                }
                _ => format!("{name} = {}", place == 1),
            });
        }
        words.reverse();
        words.join(", ")
    }

    /// Points for each combination of the other keys.
    fn curve(&mut self, name: Arc<str>, values: &[Decimal]) -> Option<Curve> {
        let at = self.head.curve?;
        let table = self.table;
        let (key, clamp) = match table.keys.get(at) {
            Some(key) => (key.name.shared(), matches!(key.matching, Matching::Interpolate { clamp: true, .. })),
            None => return None,
        };
        let Some(Kind::Number(unit)) = self.head.keys.get(at).map(|(_, kind)| *kind) else { return None };
        let keys = self.grid_keys()?;
        let covers = self.covers(&keys)?;
        let size: usize = keys.iter().map(|(_, key)| key.size()).product();
        let mut lines: Vec<Vec<Point>> = vec![Vec::new(); size];
        for ((row, cover), value) in (0_u32..).zip(&covers).zip(values) {
            let source = table.rows.get(row as usize)?;
            let Some(point) = source.cells.get(at).and_then(|cell| self.figure(cell, unit)) else { continue };
            for place in places(&keys, cover) {
                let Some(line) = lines.get_mut(place) else { continue };
                if line.last().is_some_and(|last| last.at >= point) {
                    let flaw = Flaw::new(source.span, "order", format!("{key} = {point} does not follow the point before it"));
                    self.flaws.push(flaw.expected("points ascending, each once"));
                    break;
                }
                line.push(Point { at: point, value: *value, row });
            }
        }
        for (cell, line) in lines.iter().enumerate().filter(|(_, line)| line.len() < 2).take(HOLES_TOLD) {
            let of = self.combination(&keys, cell);
            let of = if of.is_empty() { String::new() } else { format!(" for {of}") };
            let flaw = table.name.whole("hole", format!("a line needs two points{of}")).found(line.len().to_string());
            self.flaws.push(flaw);
        }
        let cells = (0..u32::try_from(size).ok()?).collect();
        let grid = Grid { keys: keys.into_iter().map(|(_, key)| key).collect(), cells };
        Some(Curve { name, key, grid, lines, clamp })
    }
}

/// A row without its value.
fn keys_of(row: &Row) -> &[Text] {
    row.cells.split_last().map(|(_, keys)| keys).unwrap_or_default()
}

/// The places of a grid that a row covers, the row's own last.
fn places(keys: &[(usize, GridKey)], cover: &[Cover]) -> Vec<usize> {
    let mut places = vec![0_usize];
    for ((_, key), (first, last)) in keys.iter().zip(cover) {
        places = places.iter().flat_map(|at| (*first..=*last).map(move |place| at * key.size() + place)).collect();
    }
    places
}
