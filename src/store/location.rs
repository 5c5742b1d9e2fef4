//! Where the data is: a data file, or a PostgreSQL server.

use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use super::StoreFault;

/// Where the data is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Location {
    /// A SQLite data file.
    File(PathBuf),
    /// A PostgreSQL connection URL.
    Server(String),
}

impl Location {
    /// Reads a database URL: `sqlite://PATH`, `postgres://…` or `postgresql://…`. Nothing else is taken, so
    /// that a slip of the pen does not make a data file.
    ///
    /// # Errors
    /// Another scheme, or a path that is empty.
    pub fn parse(url: &str) -> Result<Self, StoreFault> {
        if url.starts_with("postgres://") || url.starts_with("postgresql://") {
            return Ok(Self::Server(url.to_owned()));
        }
        match url.strip_prefix("sqlite://") {
            Some(path) if !path.is_empty() => Ok(Self::File(PathBuf::from(path))),
            _ => Err(StoreFault::UnknownScheme),
        }
    }

    /// Whether a data file is there; a server is taken to be.
    pub fn exists(&self) -> bool {
        match self {
            Self::File(path) => path.exists(),
            Self::Server(_) => true,
        }
    }
}

/// A server's URL is shown without its user, password and options.
impl fmt::Display for Location {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File(path) => write!(f, "{}", path.display()),
            Self::Server(url) => {
                let rest = url.split_once("://").map_or(url.as_str(), |(_, rest)| rest);
                let rest = rest.split('?').next().unwrap_or_default();
                let rest = rest.rsplit_once('@').map_or(rest, |(_, place)| place);
                write!(f, "postgresql://{rest}")
            }
        }
    }
}

/// Sees to it that a data file can be opened: it is there, or it may be made, with its folder.
pub(super) fn prepare_file(path: &Path, make: bool) -> Result<(), StoreFault> {
    if path.exists() {
        return Ok(());
    }
    if !make {
        return Err(StoreFault::NoDataFile(path.to_owned()));
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    folder
        .map_or(Ok(()), fs::create_dir_all)
        .and_then(|()| fs::OpenOptions::new().append(true).create(true).open(path))
        .map(drop)
        .map_err(|source| StoreFault::NotMade {
            path: path.to_owned(),
            source,
        })
}
