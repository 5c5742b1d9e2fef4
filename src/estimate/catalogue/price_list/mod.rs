//! A supplier's price list, from the cells of its file to the prices that it would add.
//!
//! In: a saved [`Mapping`] that says which column holds what, and the rows of the file, one at a time. Out: a
//! [`Comparison`] with the prices that the company has, in which every row has exactly one outcome. Deliberately
//! absent: the file itself, its encoding and its compression, the day of today, and writing anything.

pub mod a1;
pub mod additions;
pub mod cell;
mod codes;
pub mod compare;
pub mod csv;
pub mod mapping;
pub mod mapping_check;
pub mod number;
pub mod outcome;
pub mod read;
pub mod row;
pub mod undo;

pub use additions::{Additions, additions};
pub use cell::Cell;
pub use compare::{Choices, compare, suspicious_price};
pub use mapping::Mapping;
pub use mapping_check::MappingFault;
pub use outcome::{Comparison, Entry, EntryKind, Trouble, TroubleKind, Vanished};
pub use read::{ListFault, Reading, RowsRead};
pub use undo::{AppliedRow, UndoPlan, undo};

/// Most rows of a list that are read: larger than any list of the trade, and bounded in memory.
pub const ROWS_MOST: usize = 250_000;
/// Most characters of a cell that is used.
pub const CELL_CHARACTERS_MOST: usize = 200;
/// A price that is this many times the one before, or the one before this many times it, is suspicious.
pub const SUSPICIOUS_FACTOR: u32 = 5;
