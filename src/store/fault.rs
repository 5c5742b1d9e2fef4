//! What can go wrong with the database.

use std::path::PathBuf;

use diesel::result::{DatabaseErrorKind, Error};
use thiserror::Error;

/// How a guard refuses a row whose key is there.
const NEVER_REPLACED: &str = "is never replaced";

/// Why the database did not do what was asked.
#[derive(Debug, Error)]
pub enum StoreFault {
    /// The URL is of no database that is known.
    #[error("a database URL begins with sqlite://, postgres:// or postgresql://")]
    UnknownScheme,
    /// There is no data file, and none may be made here.
    #[error("there is no data file {0}")]
    NoDataFile(PathBuf),
    /// The data file has nothing in it.
    #[error("the data file {0} is empty: there is no database in it")]
    Empty(PathBuf),
    /// The file is of another kind; how it looks.
    #[error("this is no data file of Tallyrule, which is a SQLite database: {0}")]
    NotADataFile(&'static str),
    /// The data file or its folder cannot be made.
    #[error("the data file {path} cannot be made: {source}")]
    NotMade {
        /// The data file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// The database cannot be opened or reached.
    #[error("the database cannot be opened: {0}")]
    Unreachable(String),
    /// No connection became free in time.
    #[error("the database is busy: {0}")]
    Busy(String),
    /// The database was written by a newer program.
    #[error("the database has schema step {step}, which this program does not know: use a newer program")]
    Newer {
        /// The step.
        step: String,
    },
    /// A schema step failed.
    #[error("the database's schema cannot be brought up to date: {0}")]
    Migration(String),
    /// The data file keeps no write-ahead log, as on a network drive.
    #[error("the data file cannot keep a write-ahead log (journal mode {0}): put it on a local disk")]
    NoWriteAheadLog(String),
    /// A stored value is not what its column holds.
    #[error("{table} {key} holds what cannot be read: {message}")]
    Corrupt {
        /// The table.
        table: &'static str,
        /// The row.
        key: String,
        /// What is wrong.
        message: String,
    },
    /// Something with this name is there already.
    #[error("it is there already")]
    Exists,
    /// What was read has been changed by somebody else in the meantime.
    #[error("it has been changed in the meantime")]
    Changed,
    /// Numbers of a new pattern would run into one that was given away.
    #[error("the number {0} was given away and would come again")]
    NumberTaken(String),
    /// A request's name was used for another request before.
    #[error("this Idempotency-Key was used for another request")]
    KeyReused,
    /// A row that the write builds on is not there.
    #[error("it does not exist")]
    Missing,
    /// The disk, or what is on it.
    #[error("{0}")]
    Storage(Trouble),
    /// Anything else that the database says.
    #[error("the database says: {0}")]
    Database(Error),
}

/// What keeps data from being stored or read, as a person can mend it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum Trouble {
    /// There is no room.
    #[error("the disk of the data is full; nothing of this was stored")]
    Full,
    /// It cannot be written.
    #[error(
        "the data cannot be written: it or its folder is read-only for this program, or was moved away; nothing of \
         this was stored"
    )]
    ReadOnly,
    /// The system cannot read or write.
    #[error("the disk of the data cannot be read or written; nothing of this was stored")]
    Disk,
    /// What is in the file is not what was written.
    #[error("the data file is damaged: keep it as it is, and put the newest backup into a new one")]
    Damaged,
}

impl Trouble {
    /// The trouble that an engine's words tell of. Its codes do not reach here.
    fn told(kind: &DatabaseErrorKind, message: &str) -> Option<Self> {
        let says = |words: &str| message.contains(words);
        if says("database or disk is full") || says("No space left on device") {
            Some(Self::Full)
        } else if matches!(kind, DatabaseErrorKind::ReadOnlyTransaction) || says("readonly database")
            // A folder that cannot be written has no room for the write-ahead log.
            || says("unable to open database file")
        {
            Some(Self::ReadOnly)
        } else if says("disk I/O error") {
            Some(Self::Disk)
        } else if says("database disk image is malformed")
            || says("file is not a database")
            // A table of the full text search whose own pages are damaged cannot be opened.
            || says("vtable constructor failed")
        {
            Some(Self::Damaged)
        } else {
            None
        }
    }
}

impl StoreFault {
    pub(super) fn pool(fault: impl std::fmt::Display) -> Self {
        Self::Busy(fault.to_string())
    }

    pub(super) fn corrupt(table: &'static str, key: &str, message: impl std::fmt::Display) -> Self {
        Self::Corrupt {
            table,
            key: key.to_owned(),
            message: message.to_string(),
        }
    }

    /// Whether the same transaction may go through when it is run again.
    pub(super) fn may_pass(&self) -> bool {
        match self {
            Self::Database(Error::DatabaseError(DatabaseErrorKind::SerializationFailure, _)) => true,
            Self::Database(Error::DatabaseError(_, info)) => {
                let message = info.message();
                message.contains("database is locked") || message.contains("deadlock detected")
            }
            _ => false,
        }
    }
}

impl From<Error> for StoreFault {
    fn from(fault: Error) -> Self {
        if let Error::DatabaseError(kind, info) = &fault
            && let Some(trouble) = Trouble::told(kind, info.message())
        {
            return Self::Storage(trouble);
        }
        match fault {
            // A text that is none, a number that is none: no engine writes such a row.
            Error::DeserializationError(_) => Self::Storage(Trouble::Damaged),
            Error::DatabaseError(DatabaseErrorKind::UniqueViolation, _) => Self::Exists,
            Error::DatabaseError(DatabaseErrorKind::ForeignKeyViolation, _) | Error::NotFound => {
                Self::Missing
            }
            // On SQLite the guard of a kept table answers in the place of its unique keys.
            Error::DatabaseError(_, info) if info.message().ends_with(NEVER_REPLACED) => Self::Exists,
            other => Self::Database(other),
        }
    }
}
