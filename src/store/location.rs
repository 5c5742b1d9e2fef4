//! Where the data is: a data file, or a PostgreSQL server.

use std::fmt;
use std::fs;
use std::io::Read;
use std::os::unix::fs::OpenOptionsExt;
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

/// How every SQLite file begins ("Database File Format", section 1.3).
const SQLITE: &[u8] = b"SQLite format 3\0";

/// Tells a file of another kind by its beginning. One without anything in it becomes a data file; one that cannot be
/// read is told when it is opened.
fn is_data_file(path: &Path) -> Result<(), StoreFault> {
    let mut start = Vec::with_capacity(SQLITE.len());
    let Ok(file) = fs::File::open(path) else {
        return Ok(());
    };
    if file.take(SQLITE.len() as u64).read_to_end(&mut start).is_err() || start.is_empty() || start == SQLITE
    {
        return Ok(());
    }
    let sort = match start.trim_ascii_start().first() {
        Some(b'{' | b'[') => "it looks like JSON",
        _ if start.starts_with(b"PK") => {
            "it is a ZIP, as a backup is: `tallyrule restore` puts a backup into a new data file"
        }
        _ if start
            .iter()
            .all(|byte| byte.is_ascii_graphic() || byte.is_ascii_whitespace()) =>
        {
            "it looks like text"
        }
        _ => {
            "it does not begin as SQLite does; if it did, the data file is damaged: keep it as it is, and put the newest \
             backup into a new one"
        }
    };
    Err(StoreFault::NotADataFile(sort))
}

/// Whether nothing was ever written. What a new file holds may still stand in its write-ahead log alone.
fn is_empty(path: &Path) -> bool {
    let mut log = path.as_os_str().to_owned();
    log.push("-wal");
    let length = |path: &Path| fs::metadata(path).map_or(0, |found| found.len());
    path.is_file() && length(path) == 0 && length(Path::new(&log)) == 0
}

/// Sees to it that a data file can be opened: it is there, or it may be made, with its folder.
pub(super) fn prepare_file(path: &Path, make: bool) -> Result<(), StoreFault> {
    if path.exists() {
        return match make {
            false if is_empty(path) => Err(StoreFault::Empty(path.to_owned())),
            _ => is_data_file(path),
        };
    }
    if !make {
        return Err(StoreFault::NoDataFile(path.to_owned()));
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    folder
        .map_or(Ok(()), fs::create_dir_all)
        .and_then(|()| {
            // Wages and prices are in it, and digests of keys. What SQLite lays beside it gets the same rights.
            let mut options = fs::OpenOptions::new();
            options.append(true).create(true).mode(0o600).open(path)
        })
        .map(drop)
        .map_err(|source| StoreFault::NotMade {
            path: path.to_owned(),
            source,
        })
}
