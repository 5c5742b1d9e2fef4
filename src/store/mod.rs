//! The only SQL: what the office knows, kept in SQLite or PostgreSQL by the same program.
//!
//! In: values of the core. Out: the same values, and a revision number that every write moves. Deliberately
//! absent: rules of the trade, checks of what a row means, and any answer to the web.

mod accounting;
mod bulk;
mod catalogue;
mod connection;
mod fault;
mod house_styles;
mod location;
mod migrate;
mod once;
mod parties;
mod policies;
mod price_list_rows;
mod price_lists;
mod quotes;
mod rulebook_drafts;
mod rulebooks;
mod schema;
mod writer;

use std::time::Duration;

use diesel::r2d2::{Pool, PooledConnection};

use connection::{Conn, Manager};
use writer::Writer;

pub use accounting::{
    FeedFilter, FeedPage, FeedRow, HappeningRow, PutReceipt, ReceiptRow, SettingsRow, TitledRow,
};
pub use bulk::{Loaded, OfficeData};
pub use fault::StoreFault;
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

/// An open database whose schema is the one this program knows.
pub struct Store {
    pool: Pool<Manager>,
    /// What writes to a data file; a server sees to its writers itself.
    writer: Option<Writer>,
    location: Location,
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
            pool,
            writer,
            location,
        })
    }

    /// Where the data is.
    pub fn location(&self) -> &Location {
        &self.location
    }

    /// Whether the database answers.
    ///
    /// # Errors
    /// It does not.
    pub fn ping(&self) -> Result<(), StoreFault> {
        self.revision().map(|_| ())
    }

    fn connection(&self) -> Result<PooledConnection<Manager>, StoreFault> {
        self.pool.get().map_err(StoreFault::pool)
    }

    /// Runs `body` in one transaction that may write. `body` may run more than once, so it does nothing
    /// but read and write rows.
    fn write<T>(&self, body: impl FnMut(&mut Conn) -> Result<T, StoreFault>) -> Result<T, StoreFault> {
        match &self.writer {
            Some(writer) => writer.write(body),
            None => connection::write(&mut *self.connection()?, body),
        }
    }

    /// Runs `body` against one state of the database.
    fn read<T>(&self, body: impl FnOnce(&mut Conn) -> Result<T, StoreFault>) -> Result<T, StoreFault> {
        let mut conn = self.connection()?;
        connection::read(&mut conn, body)
    }
}
