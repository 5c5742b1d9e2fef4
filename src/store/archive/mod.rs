//! A company in one file, the same from both engines: every table as lines of JSON, and a manifest that names the
//! schema's steps, the tables, their columns and rows, and the SHA-256 of each.
//!
//! Which tables there are is asked of the database itself, so that none of a later step is forgotten.

mod file;
mod read;
mod tables;
mod write;

use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::{StoreFault, connection};

pub use read::restore;
pub use write::back_up;

/// What the manifest calls the form of the file.
const FORM: &str = "tallyrule archive 1";

/// What is in an archive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    form: String,
    /// When the state of the database was taken, RFC 3339 in UTC.
    pub written_at: String,
    /// Steps of the schema that had been taken.
    pub steps: Vec<String>,
    /// The tables, each behind those that it refers to.
    pub tables: Vec<Kept>,
}

/// A table in an archive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// Its name.
    pub name: String,
    /// Its columns, in the order of the values in a line.
    pub columns: Vec<String>,
    /// How many lines there are.
    pub rows: u64,
    /// SHA-256 of the lines.
    pub sha256: String,
}

impl Manifest {
    /// Rows of all tables.
    pub fn rows(&self) -> u64 {
        self.tables
            .iter()
            .fold(0, |sum, table| sum.saturating_add(table.rows))
    }
}

/// Why an archive was not written, or not put in.
#[derive(Debug, Error)]
pub enum ArchiveFault {
    /// The database.
    #[error("{0}")]
    Store(#[from] StoreFault),
    /// The file cannot be written or read.
    #[error("{path}: {source}")]
    File {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// There is a file of this name.
    #[error("{0} is there already; a backup is never written over another")]
    Taken(PathBuf),
    /// The file is no archive, or not what was written.
    #[error("{path} is no archive that can be put in: {message}")]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        message: String,
    },
    /// A row does not go in.
    #[error("the row {key} of {table} cannot be put in: {message}")]
    Row {
        /// The table.
        table: String,
        /// Its key.
        key: String,
        /// What is wrong.
        message: String,
    },
    /// The archive was written by a newer program.
    #[error("the archive has schema step {0}, which this program does not know: use a newer program")]
    Newer(String),
    /// The place holds something.
    #[error("{place} is not empty ({found}): an archive goes into an empty place only")]
    NotEmpty {
        /// The place.
        place: String,
        /// What is there.
        found: String,
    },
}

impl connection::Fault for ArchiveFault {
    fn may_pass(&self) -> bool {
        matches!(self, Self::Store(fault) if fault.may_pass())
    }
}

impl ArchiveFault {
    fn file(path: &Path, source: io::Error) -> Self {
        let path = path.to_owned();
        Self::File { path, source }
    }

    fn damaged(path: &Path, message: impl std::fmt::Display) -> Self {
        Self::Damaged {
            path: path.to_owned(),
            message: message.to_string(),
        }
    }
}
