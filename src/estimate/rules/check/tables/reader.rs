//! The cells of a table: figures, words, truth.

use super::super::scope::{Scope, TableHead};
use super::{CELL_SCALE, Made};
use crate::quantity::decimal::{self, DecimalFault};
use crate::quantity::fact::WordNumber;
use crate::quantity::nearest;
use crate::quantity::unit::Unit;
use crate::rules::formula::Flaw;
use crate::rules::program::{DomainId, ITEMS, Kind, Table};
use crate::rules::rulebook::{Table as Source, Text};
use rust_decimal::Decimal;

/// Reads one table; flaws are collected.
pub(super) struct Reader<'s> {
    pub(super) scope: &'s Scope,
    pub(super) table: &'s Source,
    pub(super) head: &'s TableHead,
    pub(super) flaws: Vec<Flaw>,
    /// Rows of which an earlier, more general one takes a part.
    pub(super) overlaps: Vec<Flaw>,
}

impl<'s> Reader<'s> {
    pub(super) fn read(&mut self) -> Option<Made> {
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
        if self.table.rows.is_empty() {
            self.flaws
                .push(self.table.name.whole("hole", "the table has no rows"));
            return None;
        }
        // Values and keys are both read, so that the flaws of both are told.
        match self.head.value {
            Kind::Number(unit) => {
                let values = self.values(|reader, cell| reader.figure(cell, unit));
                if self.head.curve.is_some() {
                    return self.curve(values.as_deref()).map(Made::Curve);
                }
                let (grid, values) = self.grid().zip(values)?;
                Some(Made::Numbers(Table { grid, values }))
            }
            Kind::Flag => {
                let values = self.values(Self::truth);
                let (grid, values) = self.grid().zip(values)?;
                Some(Made::Flags(Table { grid, values }))
            }
            Kind::Choice(domain) => {
                let values = self.values(|reader, cell| reader.word(cell, domain));
                let (grid, values) = self.grid().zip(values)?;
                Some(Made::Choices(Table { grid, values }))
            }
        }
    }

    /// The last cell of every row.
    pub(super) fn values<V>(&mut self, read: impl Fn(&mut Self, &'s Text) -> Option<V>) -> Option<Vec<V>> {
        let cells: Vec<Option<V>> = self
            .table
            .rows
            .iter()
            .filter_map(|row| row.cells.last())
            .map(|cell| read(self, cell))
            .collect();
        cells.into_iter().collect()
    }

    pub(super) fn flaw<T>(&mut self, flaw: Flaw) -> Option<T> {
        self.flaws.push(flaw);
        None
    }

    /// A number, or a percentage where a plain number is wanted.
    pub(super) fn figure(&mut self, cell: &Text, unit: Unit) -> Option<Decimal> {
        match read_figure(cell, unit) {
            Ok(value) => Some(value),
            Err(DecimalFault::Grammar) => {
                let flaw = cell.whole("number", format!("`{}` is no number", cell.as_str()));
                self.flaw(flaw.expected(format!("a number; its unit is {unit}")))
            }
            Err(other) => self.flaw(cell.whole("number", format!("`{}` {other}", cell.as_str()))),
        }
    }

    pub(super) fn truth(&mut self, cell: &Text) -> Option<bool> {
        match cell.as_str() {
            "true" => Some(true),
            "false" => Some(false),
            other => {
                let flaw = cell.whole("unknown_word", format!("`{other}` is neither true nor false"));
                self.flaw(flaw.expected("true or false"))
            }
        }
    }

    pub(super) fn word(&mut self, cell: &Text, domain: DomainId) -> Option<WordNumber> {
        if let Some(number) = self.scope.number(domain, cell) {
            return Some(number);
        }
        let known = self.scope.domains.get(domain.0)?;
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
}

/// A number, or a percentage where a plain number is wanted.
pub(super) fn read_figure(cell: &Text, unit: Unit) -> Result<Decimal, DecimalFault> {
    let percent = cell.strip_suffix('%').filter(|_| unit == Unit::ONE);
    let value = decimal::parse(percent.map_or(cell, str::trim_end), CELL_SCALE)?;
    match percent {
        Some(_) => value
            .checked_mul(Decimal::new(1, 2))
            .ok_or(DecimalFault::TooLarge),
        None => Ok(value),
    }
}
