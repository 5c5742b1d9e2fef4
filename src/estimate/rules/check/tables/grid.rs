//! Every combination of a table's keys and the row that applies to it.

use super::reader::{Reader, read_figure};
use super::{Cover, HOLES_TOLD, MAX_CELLS};
use crate::quantity::fact::WordNumber;
use crate::quantity::unit::Unit;
use crate::rules::formula::Flaw;
use crate::rules::program::{Grid, GridKey, Kind};
use crate::rules::rulebook::{Row, Text};
use rust_decimal::Decimal;
use std::collections::BTreeSet;

impl Reader<'_> {
    /// The keys of the grid, but the one that is interpolated.
    pub(super) fn grid_keys(&mut self) -> Option<Vec<(usize, GridKey)>> {
        let mut keys = Vec::new();
        let mut cells = 1_usize;
        for (at, (_, kind)) in self.head.keys.iter().enumerate() {
            let key = match kind {
                _ if self.head.curve == Some(at) => continue,
                Kind::Flag => GridKey::Words(2),
                Kind::Choice(domain) => GridKey::Words(self.scope.domains.get(domain.0)?.words.len()),
                Kind::Number(unit) => GridKey::Bands(self.band_ends(at, *unit)),
            };
            cells = cells.saturating_mul(key.size());
            keys.push((at, key));
        }
        if cells > MAX_CELLS {
            let flaw = self
                .table
                .name
                .whole("too_large", "the table has too many combinations of keys");
            return self.flaw(
                flaw.found(cells.to_string())
                    .expected(format!("at most {MAX_CELLS}")),
            );
        }
        Some(keys)
    }

    /// Upper ends of the bands of a key, ascending; what is no number is told here, once.
    fn band_ends(&mut self, at: usize, unit: Unit) -> Vec<Decimal> {
        let cells = self.table.rows.iter().filter_map(|row| row.cells.get(at));
        let ends: BTreeSet<Decimal> = cells
            .filter(|cell| cell.as_str() != "above")
            .filter_map(|cell| self.figure(cell, unit))
            .collect();
        ends.into_iter().collect()
    }

    /// Which places of a key a row's cell covers.
    fn cover(&mut self, cell: &Text, kind: Kind, key: &GridKey) -> Option<Cover> {
        let all = key.size().checked_sub(1)?;
        match (kind, key) {
            (Kind::Number(_), _) if cell.as_str() == "above" => Some((0, all)),
            (Kind::Number(unit), GridKey::Bands(ends)) => {
                let end = read_figure(cell, unit).ok()?;
                Some((0, ends.partition_point(|known| *known < end)))
            }
            _ if cell.as_str() == "any" => Some((0, all)),
            (Kind::Choice(domain), _) => {
                let word = self.word(cell, domain)?.place();
                Some((word, word))
            }
            _ => {
                let place = usize::from(self.truth(cell)?);
                Some((place, place))
            }
        }
    }

    /// For every row, what it covers of each key.
    pub(super) fn covers(&mut self, keys: &[(usize, GridKey)]) -> Option<Vec<Vec<Cover>>> {
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
    pub(super) fn grid(&mut self) -> Option<Grid> {
        let keys = self.grid_keys()?;
        let covers = self.covers(&keys)?;
        let size: usize = keys.iter().map(|(_, key)| key.size()).product();
        let mut cells: Vec<Option<u32>> = vec![None; size];
        for (row, cover) in (0_u32..).zip(&covers) {
            let mut reached = false;
            let mut earlier = None;
            let mut taken: Vec<(u32, usize)> = Vec::new();
            for at in places(&keys, cover) {
                match cells.get_mut(at) {
                    Some(cell @ None) => {
                        *cell = Some(row);
                        reached = true;
                    }
                    // The last place covered is the row's own: who has it is in the way.
                    Some(Some(other)) => {
                        earlier = Some(*other);
                        if taken.last().is_none_or(|(last, _)| last != other) {
                            taken.push((*other, at));
                        }
                    }
                    None => {}
                }
            }
            if !reached {
                self.never_reached(row, earlier);
            } else if let Some((other, at)) = taken.iter().find(|(other, _)| {
                let other = covers.get(*other as usize);
                other.is_some_and(|other| is_more_general(&keys, other, cover))
            }) {
                self.overlap(&keys, row, *other, *at);
            }
        }
        self.holes(&keys, &cells);
        let cells = cells.into_iter().collect::<Option<Vec<u32>>>()?;
        Some(Grid {
            keys: keys.into_iter().map(|(_, key)| key).collect(),
            cells,
        })
    }

    fn never_reached(&mut self, row: u32, earlier: Option<u32>) {
        let rows = &self.table.rows;
        let row_at = |at: u32| rows.get(at as usize);
        let (Some(this), other) = (row_at(row), earlier.and_then(row_at)) else {
            return;
        };
        let same = other.is_some_and(|other| keys_of(this) == keys_of(other));
        let number = earlier.map_or(0, |at| at + 1);
        let (code, message) = if same {
            ("duplicate", format!("row {number} has the same keys"))
        } else {
            (
                "never_reached",
                format!("this row never applies: row {number} comes before it and covers it"),
            )
        };
        self.flaws.push(
            Flaw::new(this.span, code, message).expected("bands ascending, the special before the general"),
        );
    }

    /// Of two rows that both apply, the earlier one counts though the later one names a word that it does not.
    fn overlap(&mut self, keys: &[(usize, GridKey)], row: u32, earlier: u32, cell: usize) {
        let row_at = |at: u32| self.table.rows.get(at as usize);
        let (Some(this), Some(other)) = (row_at(row), row_at(earlier)) else {
            return;
        };
        if this.cells.last() == other.cells.last() {
            return;
        }
        let message = format!(
            "this row and row {} both apply to {}; row {} counts, since it comes first",
            earlier + 1,
            self.combination(keys, cell),
            earlier + 1
        );
        self.overlaps
            .push(Flaw::new(this.span, "overlap", message).expected("the special before the general"));
    }

    fn holes(&mut self, keys: &[(usize, GridKey)], cells: &[Option<u32>]) {
        let holes: Vec<usize> = cells
            .iter()
            .enumerate()
            .filter(|(_, cell)| cell.is_none())
            .map(|(at, _)| at)
            .collect();
        for at in holes.iter().take(HOLES_TOLD) {
            let words = self.combination(keys, *at);
            self.flaws
                .push(self.table.name.whole("hole", format!("no row for {words}")));
        }
        if let Some(more) = holes.len().checked_sub(HOLES_TOLD).filter(|more| *more > 0) {
            self.flaws.push(
                self.table
                    .name
                    .whole("hole", format!("and no row for {more} more combinations")),
            );
        }
    }

    /// A combination of keys in words, such as `mounting = flush, height above 12 ft`.
    pub(super) fn combination(&self, keys: &[(usize, GridKey)], cell: usize) -> String {
        let mut words = Vec::new();
        let mut rest = cell;
        for (at, key) in keys.iter().rev() {
            let place = rest % key.size().max(1);
            rest /= key.size().max(1);
            let Some((name, kind)) = self.head.keys.get(*at) else {
                continue;
            };
            words.push(match (key, kind) {
                (GridKey::Bands(ends), Kind::Number(unit)) => match (ends.get(place), ends.last()) {
                    (Some(end), _) => format!("{name} up to {end} {unit}"),
                    (None, Some(last)) => format!("{name} above {last} {unit}"),
                    // Without a bound the key tells nothing apart.
                    (None, None) => continue,
                },
                (_, Kind::Choice(domain)) => {
                    let word = self
                        .scope
                        .domains
                        .get(domain.0)
                        .and_then(|d| d.word(WordNumber::at(place)));
                    format!("{name} = {}", word.unwrap_or_default())
                }
                _ => format!("{name} = {}", place == 1),
            });
        }
        words.reverse();
        words.join(", ")
    }
}

/// Whether a row takes words at some key that the other does not name.
fn is_more_general(keys: &[(usize, GridKey)], row: &[Cover], other: &[Cover]) -> bool {
    let covers = row.iter().zip(other);
    keys.iter().zip(covers).any(|((_, key), (row, other))| {
        matches!(key, GridKey::Words(_)) && (row.0 < other.0 || row.1 > other.1)
    })
}

/// A row without its value.
fn keys_of(row: &Row) -> &[Text] {
    row.cells.split_last().map(|(_, keys)| keys).unwrap_or_default()
}

/// The places of a grid that a row covers, the row's own last.
pub(super) fn places(keys: &[(usize, GridKey)], cover: &[Cover]) -> Vec<usize> {
    let mut places = vec![0_usize];
    for ((_, key), (first, last)) in keys.iter().zip(cover) {
        places = places
            .iter()
            .flat_map(|at| (*first..=*last).map(move |place| at * key.size() + place))
            .collect();
    }
    places
}
