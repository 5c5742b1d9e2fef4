//! What the office does, one file per verb, one transaction each.
//!
//! In: checked values from the door or the command line. Out: values of the core, or a typed fault. The clock
//! stands here, so that the core needs none. Deliberately absent: status codes, wire bodies, SQL.

pub mod access;
mod accounting;
mod act;
mod add_price;
mod audit;
mod beginning;
mod company;
mod cost_codes;
mod edit_labour;
mod edit_policy;
mod estimate_job;
mod fault;
mod house_styles;
mod load_seed;
mod office;
mod parties;
mod price_curve;
pub mod price_list;
mod quotes;
mod read_request;
mod rulebooks;
pub mod seed_folder;
pub mod shape_words;
mod shelf;
mod standing;
pub mod strict_json;
mod surveys;
mod sweep_job;

use std::sync::atomic::AtomicUsize;
use std::sync::{Arc, Mutex, PoisonError};

use chrono::{DateTime, SecondsFormat, Utc};

use crate::store::{Hand, Store};
pub use access::Entrances;
pub use accounting::{FeedEntry, FeedQuery, FeedTold, Format, Receipt, ReceiptTold, SettingsVersion};
pub use act::{Act, Told, age_of_answers, request_key};
pub use add_price::NewPrice;
pub use beginning::Meant;
pub use company::QuoteNumbers;
pub use estimate_job::SizedJob;
pub use fault::DeskFault;
pub use house_styles::{STANDARD_STYLE, StyleChoice};
pub use office::{Office, PolicyVersion};
pub use parties::{PartyPage, kept_key};
pub use quotes::{At, Chart, NewQuote, NewRevision, Press, QuotePage, QuoteQuery, Verified, WordOfCustomer};
pub use rulebooks::{
    CheckedRules, DraftPage, Given, NewDraft, Publication, Which, With, version_tag, with_jobs,
};
pub use seed_folder::{SeedFault, SeedFolder, unreadable};
pub use shelf::RulebookVersion;
pub use standing::Standing;

/// The estimating desk over one database, in the hands of whoever the store is in.
pub struct Desk {
    store: Arc<Store>,
    press: Option<Press>,
    shared: Arc<Shared>,
}

/// What all who sit at the desk share.
struct Shared {
    entrances: Entrances,
    office: Mutex<Option<Arc<Office>>>,
    /// Suppliers' files that are being read.
    price_files: Arc<AtomicUsize>,
    past: Mutex<Vec<quotes::PastOffice>>,
}

impl Desk {
    /// A desk over an open database.
    pub fn new(store: Store) -> Self {
        Self::open(store, Entrances::default())
    }

    /// The same, with further entrances.
    pub fn open(store: Store, entrances: Entrances) -> Self {
        Self {
            store: Arc::new(store),
            press: None,
            shared: Arc::new(Shared {
                entrances,
                office: Mutex::new(None),
                price_files: Arc::default(),
                past: Mutex::new(Vec::new()),
            }),
        }
    }

    /// The same desk in the hands of `hand`, whom the audit names for everything that is written.
    #[must_use]
    pub fn by(&self, hand: Hand) -> Self {
        Self {
            store: Arc::new(self.store.by(hand)),
            press: self.press,
            shared: Arc::clone(&self.shared),
        }
    }

    /// The same desk with a press, where this program was built with one.
    #[must_use]
    pub fn printing_with(self, press: Option<Press>) -> Self {
        Self { press, ..self }
    }

    /// What the office knows now. One small read tells whether what is kept is still of today; only after a
    /// change, by this process or another, is everything read again.
    ///
    /// # Errors
    /// The database does not answer, is empty, or holds what cannot be read.
    pub fn office(&self) -> Result<Arc<Office>, DeskFault> {
        let revision = self.store.revision()?;
        let mut kept = self.shared.office.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(office) = kept.as_ref().filter(|office| office.revision == revision) {
            return Ok(Arc::clone(office));
        }
        let (revision, data) = self.store.office()?.ok_or(DeskFault::Empty)?;
        let texts = shelf::Texts::Stored(Arc::clone(&self.store));
        let office = Arc::new(Office::new(revision, data, texts)?);
        // The rules that most requests use are made ready before anybody sees them.
        office.rulebook(None)?;
        *kept = Some(Arc::clone(&office));
        Ok(office)
    }

    /// Whether the database answers, holds what an estimate needs, and can be written.
    ///
    /// # Errors
    /// It does not, or cannot.
    pub fn ready(&self) -> Result<(), DeskFault> {
        self.office()?;
        Ok(self.store.can_write()?)
    }
}

/// This moment, RFC 3339 in UTC with a fixed width, so that text order is time order.
fn now() -> String {
    moment(Utc::now())
}

/// A moment as rows keep it, at most the end of the year 9999: texts of later ones would not sort by time.
fn moment(at: DateTime<Utc>) -> String {
    let last = DateTime::from_timestamp(253_402_300_799, 999_999_000);
    let at = last.map_or(at, |last| at.min(last));
    at.to_rfc3339_opts(SecondsFormat::Micros, true)
}
