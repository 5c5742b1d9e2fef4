//! One connection type over both engines, opened by the scheme of the URL, and the transactions on it.

use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use diesel::connection::{AnsiTransactionManager, SimpleConnection, TransactionManager};
use diesel::prelude::*;
use diesel::r2d2::{ManageConnection, R2D2Connection};
use diesel::sql_types::{Bool, Text};

use super::room::Room;
use super::{Location, StoreFault, Trouble};

/// A connection to either engine.
#[derive(diesel::MultiConnection)]
pub enum Conn {
    /// A data file.
    Sqlite(SqliteConnection),
    /// A server.
    Pg(PgConnection),
}

/// Compiles a query once for each engine: for the few that the common type cannot express.
macro_rules! each {
    ($conn:expr, $c:ident => $body:expr) => {
        match $conn {
            $crate::store::connection::Conn::Sqlite($c) => $body,
            $crate::store::connection::Conn::Pg($c) => $body,
        }
    };
}
pub(super) use each;

/// Attempts at a transaction that another one stood in the way of.
const ATTEMPTS: u32 = 10;

/// Opens connections for the pool.
pub struct Manager {
    location: Location,
}

#[derive(QueryableByName)]
struct ReadOnly {
    #[diesel(sql_type = Bool)]
    read_only: bool,
}

/// A transaction on a data file that may write has begun to, so only a server has to be asked.
pub(super) fn demand_writable(conn: &mut Conn) -> Result<(), StoreFault> {
    let Conn::Pg(conn) = conn else { return Ok(()) };
    let asked = diesel::sql_query("SELECT current_setting('transaction_read_only') = 'on' AS read_only");
    match asked.get_result::<ReadOnly>(conn)?.read_only {
        true => Err(StoreFault::Storage(Trouble::ReadOnly)),
        false => Ok(()),
    }
}

/// Faults of pages that are told at most.
const PAGES_MOST: u32 = 20;

#[derive(QueryableByName)]
struct PageFault {
    #[diesel(sql_type = Text)]
    integrity_check: String,
}

/// What is wrong with the pages of a data file.
pub(super) fn check_pages(conn: &mut SqliteConnection) -> Result<Vec<String>, StoreFault> {
    let told: Vec<PageFault> =
        diesel::sql_query(format!("PRAGMA integrity_check({PAGES_MOST})")).load(conn)?;
    let told = told.into_iter().map(|row| row.integrity_check);
    Ok(told.filter(|word| word != "ok").collect())
}

#[derive(QueryableByName)]
struct JournalMode {
    #[diesel(sql_type = Text)]
    journal_mode: String,
}

impl Manager {
    pub(super) fn new(location: &Location) -> Self {
        Self {
            location: location.clone(),
        }
    }

    /// Opens one connection with the settings that the store relies on.
    pub(super) fn connect_now(&self) -> Result<Conn, StoreFault> {
        let unreachable = |fault: ConnectionError| StoreFault::Unreachable(fault.to_string());
        match &self.location {
            Location::File(path) => {
                let mut conn = SqliteConnection::establish(&address(path)?).map_err(unreachable)?;
                conn.batch_execute("PRAGMA busy_timeout = 5000")?;
                let mode: JournalMode = diesel::sql_query("PRAGMA journal_mode = WAL")
                    .get_result(&mut conn)
                    .map_err(|fault| or_full(path, fault.into()))?;
                if mode.journal_mode != "wal" {
                    return Err(StoreFault::NoWriteAheadLog(mode.journal_mode));
                }
                conn.batch_execute("PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;")?;
                Ok(Conn::Sqlite(conn))
            }
            Location::Server(url) => {
                let mut conn = PgConnection::establish(url).map_err(unreachable)?;
                conn.batch_execute(
                    "SET TIME ZONE 'UTC'; SET lock_timeout = '5s'; SET client_min_messages = warning;",
                )?;
                Ok(Conn::Pg(conn))
            }
        }
    }
}

/// A fault of the disk, or that it is full: where there is no room for the index of the log, SQLite says only that it could
/// not write it.
fn or_full(path: &Path, fault: StoreFault) -> StoreFault {
    let unclear = matches!(fault, StoreFault::Storage(Trouble::Disk));
    match unclear.then(|| Room::default().demand(path)) {
        Some(Err(full @ StoreFault::Storage(Trouble::Full))) => full,
        _ => fault,
    }
}

/// The address of a data file that is there: none is made where one was moved away meanwhile.
fn address(path: &Path) -> Result<String, StoreFault> {
    let name = path
        .to_str()
        .ok_or_else(|| StoreFault::Unreachable("the path is not UTF-8".to_owned()))?;
    let mut address = String::from(if path.is_absolute() { "file://" } else { "file:" });
    for byte in name.bytes() {
        if byte.is_ascii_alphanumeric() || b"/-._~".contains(&byte) {
            address.push(char::from(byte));
        } else {
            address.push_str(&format!("%{byte:02X}"));
        }
    }
    address.push_str("?mode=rw");
    Ok(address)
}

impl ManageConnection for Manager {
    type Connection = Conn;
    type Error = StoreFault;

    fn connect(&self) -> Result<Conn, StoreFault> {
        self.connect_now()
    }

    fn is_valid(&self, conn: &mut Conn) -> Result<(), StoreFault> {
        conn.ping().map_err(StoreFault::from)
    }

    fn has_broken(&self, conn: &mut Conn) -> bool {
        R2D2Connection::is_broken(conn)
    }
}

/// What a transaction may end with.
pub(super) trait Fault: From<StoreFault> {
    /// Whether the same transaction may go through when it is run again.
    fn may_pass(&self) -> bool;
}

impl Fault for StoreFault {
    fn may_pass(&self) -> bool {
        Self::may_pass(self)
    }
}

type Manages = <Conn as Connection>::TransactionManager;

/// Runs `body` in a transaction that may write: on SQLite begun with the write lock taken (a deferred one that
/// reads first fails at once when another writer was quicker), on PostgreSQL at READ COMMITTED, where each
/// write that builds on what was read locks its row or meets a unique key. Committed before it answers.
pub(super) fn write<T, E: Fault>(
    conn: &mut Conn,
    mut body: impl FnMut(&mut Conn) -> Result<T, E>,
) -> Result<T, E> {
    let mut attempt = 0;
    loop {
        let answer = once(conn, "BEGIN IMMEDIATE", "BEGIN", &mut body);
        match answer {
            Err(fault) if fault.may_pass() && attempt < ATTEMPTS => {
                attempt += 1;
                sleep(Duration::from_millis(2 << attempt.min(6)));
            }
            answer => return answer,
        }
    }
}

/// Runs `body` against one state of the database.
pub(super) fn read<T, E: Fault>(
    conn: &mut Conn,
    body: impl FnOnce(&mut Conn) -> Result<T, E>,
) -> Result<T, E> {
    once(
        conn,
        "BEGIN",
        "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY",
        body,
    )
}

fn once<T, E: Fault>(
    conn: &mut Conn,
    sqlite: &str,
    postgresql: &str,
    body: impl FnOnce(&mut Conn) -> Result<T, E>,
) -> Result<T, E> {
    match conn {
        Conn::Sqlite(conn) => AnsiTransactionManager::begin_transaction_sql(conn, sqlite),
        Conn::Pg(conn) => AnsiTransactionManager::begin_transaction_sql(conn, postgresql),
    }
    .map_err(StoreFault::from)?;
    match body(conn) {
        Ok(value) => {
            Manages::commit_transaction(conn).map_err(StoreFault::from)?;
            Ok(value)
        }
        Err(fault) => {
            // After some faults the engine has taken it back itself. What went wrong first is what is told.
            if let Err(second) = Manages::rollback_transaction(conn) {
                tracing::warn!("a transaction was not taken back in order: {second}");
            }
            Err(fault)
        }
    }
}
