//! Tables without holes: every combination of keys leads to a row.

use rust_decimal::Decimal;
use std::sync::Arc;

/// A table whose rows have values of one type.
#[derive(Debug)]
pub(crate) struct Table<V> {
    pub(crate) grid: Grid,
    /// One a row of the rulebook's table.
    pub(crate) values: Vec<V>,
}

/// Every combination of keys, each with the row that applies to it.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Grid {
    pub(crate) keys: Vec<GridKey>,
    /// Numbers of rows from 0; the last key changes fastest.
    pub(crate) cells: Vec<u32>,
}

/// One key of a grid.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum GridKey {
    /// So many words; for a flag, two: no and yes.
    Words(usize),
    /// Upper ends of bands, ascending; above the last is one band more.
    Bands(Vec<Decimal>),
}

impl GridKey {
    pub(crate) fn size(&self) -> usize {
        match self {
            GridKey::Words(count) => *count,
            GridKey::Bands(ends) => ends.len() + 1,
        }
    }
}

/// A table that is interpolated over one numeric key.
#[derive(Debug)]
pub(crate) struct Curve {
    pub(crate) name: Arc<str>,
    /// What the numeric key is called.
    pub(crate) key: Arc<str>,
    /// Over the other keys; its cells are places in `lines`.
    pub(crate) grid: Grid,
    /// Points, ascending, at least two.
    pub(crate) lines: Vec<Vec<Point>>,
    /// Whether the ends hold beyond.
    pub(crate) clamp: bool,
}

/// A point of a curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Point {
    pub(crate) at: Decimal,
    pub(crate) value: Decimal,
    /// The row of the rulebook's table, from 0.
    pub(crate) row: u32,
}
