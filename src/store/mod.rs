//! The only SQL: what the office knows, kept in SQLite or PostgreSQL by the same program.
//!
//! In: values of the core. Out: the same values, and a revision number that every write moves. Deliberately
//! absent: rules of the trade, checks of what a row means, and any answer to the web.

mod access_keys;
mod accounting;
pub mod archive;
mod audit;
mod bulk;
mod catalogue;
mod catalogue_written;
mod company;
mod connection;
mod fault;
mod house_styles;
mod loaded;
mod location;
mod migrate;
mod missing;
mod once;
mod parties;
mod policies;
mod price_list_rows;
mod price_lists;
mod quotes;
mod room;
mod rulebook_drafts;
mod rulebooks;
mod schema;
mod text;
mod writer;
mod written;

use std::sync::Arc;
use std::time::Duration;

use diesel::r2d2::{Pool, PooledConnection};

use audit::Written;
use connection::{Conn, Manager};
use room::Room;
use writer::Writer;

pub use access_keys::{AccessKeyRow, Did};
pub use accounting::{
    FeedFilter, FeedPage, FeedRow, HappeningRow, PutReceipt, ReceiptRow, SettingsRow, TitledRow,
};
pub use audit::{AuditChecked, AuditEntry, AuditFilter, Hand};
pub use bulk::{Loaded, OfficeData, Own};
pub use fault::{StoreFault, Trouble};
pub use house_styles::StoredStyle;
pub use location::Location;
pub use once::RequestKey;
pub use parties::{PartyFilter, PartyKind, PartyRow};
pub use policies::StoredPolicy;
pub use price_lists::{NewPriceList, Origin, PriceListHead, StoredMapping};
pub use quotes::{
    AcceptanceRow, ApprovalRow, IssuedHead, IssuedRow, QuoteFilter, QuoteRow, RevisionRow, SnapshotRow,
    StoredQuote, TransitionRow, Write,
};
pub use rulebook_drafts::{DraftFilter, DraftHead, StoredDraft};
pub use rulebooks::{CalendarRow, RetirementRow, RulebookHead, RulebookShelf, StoredRulebook};

/// How long a request waits for a connection before it is told that the database is busy.
const CONNECTION_WAIT: Duration = Duration::from_secs(5);

/// An open database whose schema is the one this program knows, in the hands of somebody: each of its writes leaves an
/// audit entry that names them.
pub struct Store {
    shared: Arc<Shared>,
    hand: Hand,
}

/// How many connections to the database there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Connections {
    /// Those that wait for work.
    pub idle: u32,
    /// Those that are at work.
    pub used: u32,
    /// As many as there may be.
    pub most: u32,
}

/// What every hand on one database shares.
struct Shared {
    pool: Pool<Manager>,
    /// What writes to a data file; a server sees to its writers itself.
    writer: Option<Writer>,
    location: Location,
    room: Room,
}

impl Store {
    /// Opens the database, makes it when it is a data file that does not exist and `make` is set, and brings
    /// its schema up to date.
    ///
    /// # Errors
    /// The database cannot be reached or made, or it was written by a newer program than this one.
    pub fn open(location: Location, connections: u32, make: bool) -> Result<Self, StoreFault> {
        if let Location::File(path) = &location {
            location::prepare_file(path, make)?;
        }
        let mut first = Manager::new(&location).connect_now()?;
        migrate::bring_up_to_date(&mut first)?;
        let writer = match &location {
            Location::File(_) => Some(Writer::open(&location)?),
            Location::Server(_) => None,
        };
        drop(first);
        let pool = Pool::builder()
            .max_size(connections.max(1))
            .min_idle(Some(0))
            .connection_timeout(CONNECTION_WAIT)
            .build(Manager::new(&location))
            .map_err(StoreFault::pool)?;
        Ok(Self {
            shared: Arc::new(Shared {
                pool,
                writer,
                location,
                room: Room::default(),
            }),
            hand: Hand::program("command"),
        })
    }

    /// The same database in the hands of `hand`.
    #[must_use]
    pub fn by(&self, hand: Hand) -> Self {
        Self {
            shared: Arc::clone(&self.shared),
            hand,
        }
    }

    /// In whose hands it is.
    pub fn hand(&self) -> &Hand {
        &self.hand
    }

    /// Where the data is.
    pub fn location(&self) -> &Location {
        &self.shared.location
    }

    /// Whether the database answers.
    ///
    /// # Errors
    /// It does not.
    pub fn ping(&self) -> Result<(), StoreFault> {
        self.revision().map(|_| ())
    }

    /// What is wrong with the data file, page by page. A server sees to its files itself.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn check_file(&self) -> Result<Vec<String>, StoreFault> {
        match &mut *self.connection()? {
            Conn::Sqlite(conn) => connection::check_pages(conn),
            Conn::Pg(_) => Ok(Vec::new()),
        }
    }

    /// Whether a write would be let in, and the disk of a data file has room for it. A server sees to its disk itself.
    ///
    /// # Errors
    /// It would not.
    pub fn can_write(&self) -> Result<(), StoreFault> {
        self.write(|conn| {
            connection::demand_writable(conn)?;
            Ok(Written::nothing(()))
        })?;
        match self.location() {
            Location::File(path) => self.shared.room.demand(path),
            Location::Server(_) => Ok(()),
        }
    }

    /// How many connections there are.
    pub fn connections(&self) -> Connections {
        let state = self.shared.pool.state();
        Connections {
            idle: state.idle_connections,
            used: state.connections.saturating_sub(state.idle_connections),
            most: self.shared.pool.max_size(),
        }
    }

    /// Writes to the data file that wait for their turn or are in it; a server sees to its writers itself.
    pub fn writers(&self) -> usize {
        self.shared.writer.as_ref().map_or(0, Writer::waiting)
    }

    fn connection(&self) -> Result<PooledConnection<Manager>, StoreFault> {
        self.shared.pool.get().map_err(StoreFault::pool)
    }

    /// Runs `body` in one transaction that may write, and puts down what it changed. `body` may run more than once, so
    /// it does nothing but read and write rows.
    fn write<T>(
        &self,
        mut body: impl FnMut(&mut Conn) -> Result<Written<T>, StoreFault>,
    ) -> Result<T, StoreFault> {
        let put_down = |conn: &mut Conn| {
            let written = body(conn)?;
            if let Some(change) = &written.change {
                audit::append(conn, &self.hand, change)?;
            }
            Ok(written.value)
        };
        match &self.shared.writer {
            Some(writer) => writer.write(put_down),
            None => connection::write(&mut *self.connection()?, put_down),
        }
    }

    /// Runs `body` against one state of the database.
    fn read<T>(&self, body: impl FnOnce(&mut Conn) -> Result<T, StoreFault>) -> Result<T, StoreFault> {
        let mut conn = self.connection()?;
        connection::read(&mut conn, body)
    }
}
