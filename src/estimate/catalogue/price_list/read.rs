//! Reading a list row by row, under bounds.

use std::sync::Arc;

use chrono::NaiveDate;
use thiserror::Error;

use super::cell::Cell;
use super::csv::CsvFault;
use super::mapping::{Column, Mapping};
use super::outcome::Trouble;
use super::row::{ListRow, Places, RowReader};
use super::{ROWS_MOST, a1};
use crate::quantity::{Currency, nearest};

/// Titles that are told when one is not found.
const TITLES_TOLD: usize = 20;

/// Why a list cannot be read at all.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ListFault {
    /// It is no CSV.
    #[error(transparent)]
    Csv(#[from] CsvFault),
    /// The row of titles has no such title.
    #[error("row {row} has no column called `{title}`{}; its titles are {}", near.as_ref().map(|near| format!(" (`{near}` is near)")).unwrap_or_default(), titles.join(", "))]
    NoColumn {
        /// The row of titles.
        row: u32,
        /// The title that the mapping names.
        title: String,
        /// The title of the list that is near to it.
        near: Option<String>,
        /// The titles that are there.
        titles: Vec<String>,
    },
    /// The row of titles has a title twice.
    #[error(
        "row {row} has two columns called `{title}`, {first} and {second}: name one by its letters in the mapping"
    )]
    TwoColumns {
        /// The row of titles.
        row: u32,
        /// The title that the mapping names.
        title: String,
        /// The letters of the first.
        first: String,
        /// The letters of the second.
        second: String,
    },
    /// The list has no such column in any row.
    #[error("the list has no column {letters}, which the mapping names for {member}; its last one is {last}")]
    BeyondColumns {
        /// The letters that the mapping names.
        letters: String,
        /// The member of the mapping's columns.
        member: &'static str,
        /// The letters of the last column.
        last: String,
    },
    /// The list ends before its row of titles, or has no row behind it.
    #[error("the list has no rows")]
    NoRows,
    /// More rows than are read at once.
    #[error("the list has more than {ROWS_MOST} rows")]
    TooManyRows,
}

/// The rows of a list, read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowsRead {
    /// What it was read by.
    pub mapping: Arc<Mapping>,
    /// The list's own first day.
    pub day: NaiveDate,
    /// The company's currency.
    pub currency: Currency,
    /// Rows that are not blank.
    pub count: usize,
    /// The readable ones, in the order of the list.
    pub rows: Vec<ListRow>,
    /// What the others are in.
    pub troubles: Vec<Trouble>,
    pub(super) places: Places,
}

/// Takes the rows of a list one by one.
#[derive(Debug)]
pub struct Reading {
    mapping: Arc<Mapping>,
    company: Currency,
    day: NaiveDate,
    places: Option<Places>,
    /// Cells of the widest row.
    widest: usize,
    count: usize,
    rows: Vec<ListRow>,
    troubles: Vec<Trouble>,
}

impl Reading {
    /// Begins a list that holds from `day` on, for a company with this currency.
    pub fn new(mapping: Arc<Mapping>, company: Currency, day: NaiveDate) -> Self {
        Self {
            mapping,
            company,
            day,
            places: None,
            widest: 0,
            count: 0,
            rows: Vec::new(),
            troubles: Vec::new(),
        }
    }

    /// Takes the row `number`, from 1. Rows come in their order; rows that the file passes over need not come.
    ///
    /// # Errors
    /// The titles are not those of the mapping, or there are too many rows.
    pub fn row(&mut self, number: u32, cells: &[Cell<'_>]) -> Result<(), ListFault> {
        self.widest = self.widest.max(cells.len());
        let places = match self.places.take() {
            Some(places) => places,
            None if self.mapping.title_row == 0 => self.find_places(number, &[])?,
            None if number < self.mapping.title_row => return Ok(()),
            None => {
                let titles = if number == self.mapping.title_row {
                    cells
                } else {
                    &[]
                };
                self.places = Some(self.find_places(self.mapping.title_row, titles)?);
                return Ok(());
            }
        };
        let read = if cells.iter().all(Cell::is_empty) {
            Ok(())
        } else {
            self.take(&places, number, cells)
        };
        self.places = Some(places);
        read
    }

    fn take(&mut self, places: &Places, number: u32, cells: &[Cell<'_>]) -> Result<(), ListFault> {
        if self.count >= ROWS_MOST {
            return Err(ListFault::TooManyRows);
        }
        self.count += 1;
        match RowReader::new(&self.mapping, places, number, cells).read(self.company) {
            Ok(row) => self.rows.push(row),
            Err(troubles) => self.troubles.extend(troubles),
        }
        Ok(())
    }

    fn find_places(&self, row: u32, cells: &[Cell<'_>]) -> Result<Places, ListFault> {
        let titles: Vec<&str> = cells.iter().map(|cell| cell.text().unwrap_or_default()).collect();
        Places::find(&self.mapping.columns, |column| match column {
            // A mapping is checked when it is saved; letters that are none stand for a column that is always empty.
            Column::Letters(letters) => Ok(a1::column(letters).unwrap_or(a1::COLUMNS_MOST)),
            Column::Title(title) => find_title(row, &titles, title),
        })
    }

    /// Ends the list.
    ///
    /// # Errors
    /// There was no row, or none has a column that the mapping names by its letters.
    pub fn finish(self) -> Result<RowsRead, ListFault> {
        for (member, column) in self.mapping.columns.named() {
            if let Column::Letters(letters) = column
                && self.count > 0
                && a1::column(letters).is_none_or(|place| place >= self.widest)
            {
                return Err(ListFault::BeyondColumns {
                    letters: letters.clone(),
                    member,
                    last: a1::letters(self.widest.saturating_sub(1)),
                });
            }
        }
        let places = self.places.filter(|_| self.count > 0).ok_or(ListFault::NoRows)?;
        Ok(RowsRead {
            mapping: self.mapping,
            day: self.day,
            currency: self.company,
            count: self.count,
            rows: self.rows,
            troubles: self.troubles,
            places,
        })
    }
}

fn find_title(row: u32, titles: &[&str], wanted: &str) -> Result<usize, ListFault> {
    let mut found = titles
        .iter()
        .enumerate()
        .filter(|(_, title)| **title == wanted)
        .map(|(place, _)| place);
    match (found.next(), found.next()) {
        (Some(place), None) => Ok(place),
        (Some(first), Some(second)) => Err(ListFault::TwoColumns {
            row,
            title: wanted.to_owned(),
            first: a1::letters(first),
            second: a1::letters(second),
        }),
        (None, _) => {
            let short = |title: &&str| title.chars().take(40).collect::<String>();
            let there = titles.iter().filter(|title| !title.is_empty());
            Err(ListFault::NoColumn {
                row,
                title: wanted.to_owned(),
                near: nearest::name(wanted, titles.iter().copied()).map(|near| short(&near)),
                titles: there.take(TITLES_TOLD).map(short).collect(),
            })
        }
    }
}
