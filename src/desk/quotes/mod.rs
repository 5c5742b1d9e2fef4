//! Quotes: drafts, revisions that are frozen, their moves in time, and what was made from what.
//!
//! Every change is decided on the quote as it was read and written in one transaction that finds it so; where it is
//! another by then, the decision is made anew.

mod accepted;
mod change;
mod change_order;
mod compare;
mod create;
mod draft;
mod judge;
mod life;
mod list;
mod notices;
mod papers;
mod people;
mod purchase;
mod sources;
mod verify;
mod view;
mod work;

use super::DeskFault;
use super::act::{Act, Told};

pub use create::NewQuote;
pub use draft::NewRevision;
pub use life::WordOfCustomer;
pub use list::{QuotePage, QuoteQuery};
pub use papers::{Chart, Press};
pub(super) use sources::PastOffice;
pub use verify::Verified;

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

fn whole(value: u32) -> Result<i32, DeskFault> {
    i32::try_from(value).map_err(|_| DeskFault::unknown("revision", &value.to_string()))
}
