//! A supplier's file on its way in, under bounds.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use chrono::NaiveDate;
use estimate::catalogue::price_list::{ListFault, Mapping, Reading, RowsRead};
use estimate::quantity::Currency;
use sha2::{Digest, Sha256};
use thiserror::Error;

use super::csv_file::CsvFile;
use super::workbook_file;
use crate::desk::{Desk, DeskFault};

/// Files that are read at once; more would make the memory that lists take a matter of luck.
const FILES_AT_ONCE: usize = 2;

/// Why a file cannot be read as a list.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum IntakeFault {
    /// What is in it is not a list of the mapping.
    #[error(transparent)]
    List(#[from] ListFault),
    /// Its characters are not of the encoding.
    #[error("row {row} holds bytes that are not {encoding}; the mapping names the encoding")]
    Encoding {
        /// The row, from 1.
        row: u32,
        /// The encoding that the mapping names.
        encoding: &'static str,
    },
    /// It is no workbook, or a broken one.
    #[error("the workbook cannot be read: {0}")]
    Workbook(String),
    /// The mapping names a sheet that is not there.
    #[error("the workbook has no sheet `{wanted}`; it has {}", there.join(", "))]
    NoSheet {
        /// The sheet that the mapping names.
        wanted: String,
        /// The sheets that are there.
        there: Vec<String>,
    },
    /// It becomes larger than any list when it is unpacked.
    #[error("the workbook unpacks to more than {} MiB", workbook_file::UNPACKED_MOST / 1_048_576)]
    Unpacked,
}

/// Place for one more file.
#[derive(Debug)]
pub(super) struct Place(Arc<AtomicUsize>);

impl Place {
    fn take(taken: &Arc<AtomicUsize>) -> Option<Self> {
        let more = |count: usize| (count < FILES_AT_ONCE).then_some(count + 1);
        taken
            .fetch_update(Ordering::AcqRel, Ordering::Acquire, more)
            .ok()?;
        Some(Self(Arc::clone(taken)))
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        self.0.fetch_sub(1, Ordering::AcqRel);
    }
}

/// What is known of a file before its first byte.
#[derive(Debug)]
pub struct Intake {
    mapping: Arc<Mapping>,
    version: u32,
    company: Currency,
    day: NaiveDate,
    place: Place,
}

/// A file that was read.
#[derive(Debug)]
pub struct ReadList {
    /// Its rows.
    pub rows: RowsRead,
    /// The version of the mapping.
    pub version: u32,
    /// SHA-256 of its bytes, in hexadecimal digits.
    pub digest: String,
    /// Held until the list is done with.
    _place: Place,
}

impl Desk {
    /// Begins a list that is read by the mapping `id` and holds from `day` on; today when none is given.
    ///
    /// # Errors
    /// There is no such mapping, it does not fit the office any more, or as many files are being read as may be.
    pub fn begin_price_list(&self, id: &str, day: Option<NaiveDate>) -> Result<Intake, DeskFault> {
        let stored = self.price_list_mapping(id)?;
        let office = self.office()?;
        if let Some(fault) = office.mapping_faults(&stored.mapping) {
            return Err(DeskFault::Mapping(vec![fault]));
        }
        Ok(Intake {
            mapping: Arc::new(stored.mapping),
            version: stored.version,
            company: office.company.currency,
            day: day.unwrap_or_else(|| office.today()),
            place: Place::take(&self.shared.price_files).ok_or(DeskFault::TooManyFiles)?,
        })
    }
}

impl Intake {
    fn reading(&self) -> Reading {
        Reading::new(Arc::clone(&self.mapping), self.company, self.day)
    }

    /// Takes the file as CSV, piece by piece.
    pub fn csv(self) -> CsvFile {
        let reading = self.reading();
        CsvFile::new(self, reading)
    }

    /// Takes the file as a workbook, whole: its directory stands at its end.
    ///
    /// # Errors
    /// It is no workbook, or not a list of the mapping.
    pub fn workbook(self, bytes: &[u8]) -> Result<ReadList, IntakeFault> {
        let rows = workbook_file::read(bytes, self.mapping.sheet.as_deref(), self.reading())?;
        let digest = hexadecimal(&Sha256::digest(bytes));
        Ok(self.read(rows, digest))
    }

    pub(super) fn mapping(&self) -> &Mapping {
        &self.mapping
    }

    pub(super) fn read(self, rows: RowsRead, digest: String) -> ReadList {
        ReadList {
            rows,
            version: self.version,
            digest,
            _place: self.place,
        }
    }
}

pub(super) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
