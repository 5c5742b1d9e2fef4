//! The one writer of a data file, and what keeps its write-ahead log short.
//!
//! SQLite lets one writer in at a time and its own queue is a matter of luck: here writers come in the order in which
//! they asked, on one connection whose pages stay known. What they commit is carried from the log into the file by a
//! thread of its own, so that no commit pays for it.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::r2d2::R2D2Connection;
use diesel::sql_types::Integer;
use parking_lot::FairMutex;

use super::connection::{self, Conn, Manager};
use super::{Location, StoreFault};

/// How long commits are gathered before they are carried into the file.
const GATHER: Duration = Duration::from_millis(50);
/// Pages of the log above which writers wait for a moment, so that the log begins anew and does not grow on.
const LONG_LOG: i32 = 4_000;
/// How long that moment may be, in milliseconds, for readers who still read in the log.
const READERS_WAIT: u32 = 100;
/// Pages of the log at which a commit carries them itself: only if the thread cannot.
const LONGEST_LOG: u32 = 40_000;

type Gate = Arc<FairMutex<Conn>>;

/// Writes to a data file, one at a time and in turn.
pub(super) struct Writer {
    manager: Manager,
    conn: Gate,
    waiting: AtomicUsize,
    /// Told that there is something to carry; gone when the store goes.
    committed: Option<SyncSender<()>>,
    carrier: Option<JoinHandle<()>>,
}

#[derive(QueryableByName)]
struct Log {
    #[diesel(sql_type = Integer)]
    log: i32,
}

impl Writer {
    pub(super) fn open(location: &Location) -> Result<Self, StoreFault> {
        let manager = Manager::new(location);
        let conn = Arc::new(FairMutex::new(writing(&manager)?));
        let mut own = manager.connect_now()?;
        own.batch_execute(&format!("PRAGMA busy_timeout = {READERS_WAIT}"))?;
        let (committed, told) = sync_channel(1);
        let gate = Arc::clone(&conn);
        let carrier = thread::spawn(move || carry(&mut own, &gate, &told));
        Ok(Self {
            manager,
            conn,
            waiting: AtomicUsize::new(0),
            committed: Some(committed),
            carrier: Some(carrier),
        })
    }

    /// Runs `body` in a transaction when its turn has come.
    pub(super) fn write<T>(
        &self,
        body: impl FnMut(&mut Conn) -> Result<T, StoreFault>,
    ) -> Result<T, StoreFault> {
        self.waiting.fetch_add(1, Ordering::Relaxed);
        let answer = self.in_turn(body);
        self.waiting.fetch_sub(1, Ordering::Relaxed);
        if let Some(Err(TrySendError::Disconnected(()))) =
            self.committed.as_ref().map(|told| told.try_send(()))
        {
            tracing::error!("nothing carries the write-ahead log into the data file any more");
        }
        answer
    }

    fn in_turn<T>(&self, body: impl FnMut(&mut Conn) -> Result<T, StoreFault>) -> Result<T, StoreFault> {
        let mut conn = self.conn.lock();
        if R2D2Connection::is_broken(&mut *conn) {
            *conn = writing(&self.manager)?;
        }
        connection::write(&mut conn, body)
    }

    /// Writes that wait for their turn or are in it.
    pub(super) fn waiting(&self) -> usize {
        self.waiting.load(Ordering::Relaxed)
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        self.committed = None;
        // The file is whole and alone once its last connection is closed: that of the thread, too.
        if self.carrier.take().is_some_and(|carrier| carrier.join().is_err()) {
            tracing::error!("carrying the write-ahead log into the data file ended in a panic");
        }
    }
}

fn writing(manager: &Manager) -> Result<Conn, StoreFault> {
    let mut conn = manager.connect_now()?;
    conn.batch_execute(&format!("PRAGMA wal_autocheckpoint = {LONGEST_LOG}"))?;
    Ok(conn)
}

/// Carries what was committed, until the store goes.
fn carry(own: &mut Conn, gate: &Gate, told: &Receiver<()>) {
    while told.recv().is_ok() {
        // Whatever else is committed meanwhile is carried with it.
        thread::sleep(GATHER);
        let carried = match checkpoint(own, "PASSIVE") {
            Ok(log) if log > LONG_LOG => {
                let _turn = gate.lock();
                checkpoint(own, "RESTART")
            }
            carried => carried,
        };
        if let Err(fault) = carried {
            tracing::warn!("the write-ahead log waits for the next commit: {fault}");
        }
    }
}

/// Carries the log into the file and tells how long it is. What readers or writers stand in the way of stays.
fn checkpoint(conn: &mut Conn, how: &str) -> Result<i32, StoreFault> {
    let state: Log = diesel::sql_query(format!("PRAGMA wal_checkpoint({how})")).get_result(conn)?;
    Ok(state.log)
}
