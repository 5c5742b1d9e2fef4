//! Quotes: drafts, revisions that are frozen, their moves in time, and what was made from what.
//!
//! Every change is decided on the quote as it was read and written in one transaction that finds it so; where it is
//! another by then, the decision is made anew.

mod change;
mod change_order;
mod compare;
mod create;
mod draft;
mod life;
mod list;
mod papers;
mod sources;
mod verify;
mod view;
mod work;

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::{DeskFault, moment};
use crate::store::RequestKey;

pub use create::NewQuote;
pub use draft::NewRevision;
pub use life::WordOfCustomer;
pub use list::{QuotePage, QuoteQuery};
pub use papers::{Chart, Print};
pub(super) use sources::PastOffice;
pub use verify::Verified;

/// Hours for which an answer is kept for a caller who asks again.
const KEPT_HOURS: i64 = 48;

/// The moment before which kept answers are forgotten.
pub fn age_of_answers(now: DateTime<Utc>) -> DateTime<Utc> {
    now - TimeDelta::hours(KEPT_HOURS)
}

/// Who acts, and under which name the request may come again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Act {
    /// Who.
    pub person: String,
    /// The request's name.
    pub key: Option<RequestKey>,
}

impl Act {
    /// `person` acts. `key` is the caller's name for the request and the digest of it.
    pub fn new(person: String, key: Option<(String, String)>) -> Self {
        let now = Utc::now();
        let key = key.map(|(id, request)| RequestKey {
            id,
            request,
            now: moment(now),
            oldest: moment(age_of_answers(now)),
        });
        Self { person, key }
    }
}

/// A revision: of the offer, or of a change order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct At {
    /// The quote.
    pub quote: String,
    /// Which change order; 0 for the offer itself.
    pub change_order: u32,
    /// Which revision.
    pub revision: u32,
}

/// What is told to the caller, and kept in case the same request comes again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Told {
    /// The strong tag of what is told.
    pub tag: Option<String>,
    /// The body.
    pub body: Value,
}

impl Told {
    pub(super) fn text(&self) -> Result<String, DeskFault> {
        serde_json::to_string(self).map_err(|fault| DeskFault::Defect(fault.to_string()))
    }

    pub(super) fn of(text: &str) -> Result<Self, DeskFault> {
        serde_json::from_str(text).map_err(|fault| DeskFault::Defect(fault.to_string()))
    }
}

fn whole(value: u32) -> Result<i32, DeskFault> {
    i32::try_from(value).map_err(|_| DeskFault::unknown("revision", &value.to_string()))
}
