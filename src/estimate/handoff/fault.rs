//! Why something cannot be handed over.

use chrono::NaiveDate;
use thiserror::Error;

use crate::quantity::money::MoneyFault;
use crate::quantity::{Currency, Money};

/// Why something cannot be handed over.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum HandoffFault {
    /// A stored document is not what it should be.
    #[error("the stored document does not read: {0}")]
    Unreadable(String),
    /// Parts do not add up to their whole.
    #[error("the {what} is {stands}, and comes out as {comes}")]
    Sum {
        /// Which whole.
        what: &'static str,
        /// What stands there.
        stands: Money,
        /// What its parts add up to.
        comes: Money,
    },
    /// A document of the format has amounts with at most two decimals (EN 16931, BR-DEC).
    #[error(
        "amounts in {} have {} decimals, and EN 16931 allows at most two (rules BR-DEC): there is no UBL document of it; \
         JSON and CSV have its amounts whole",
        .0.code(),
        .0.minor_digits()
    )]
    TooFine(Currency),
    /// EN 16931 asks for something that the settings do not say of the company. The names are those of the settings.
    #[error(
        "EN 16931 asks an invoice for the seller's country and for a number by which it is known (BR-09, BR-CO-26, BR-S-02): \
         save {} under /v1/accounting/settings",
        .0.join(" and ")
    )]
    SellerLacks(Vec<&'static str>),
    /// An instalment falls due when something comes about, and nobody has said on which day that was.
    #[error(
        "this instalment falls due \u{201c}{0}\u{201d}, on a day that is not known beforehand: say it with issued_on"
    )]
    NoDay(String),
    /// A document would be older than what it is of.
    #[error("issued_on is {day}, before the acceptance on {accepted_on}")]
    EarlyDay {
        /// The day that was told.
        day: NaiveDate,
        /// The day of the acceptance.
        accepted_on: NaiveDate,
    },
    /// There is nothing to put on the document.
    #[error("there are no lines to hand over")]
    Empty,
    /// A day lies beyond the calendar.
    #[error("{0} days after the acceptance are beyond the calendar")]
    BeyondCalendar(u32),
    /// A sum does not fit.
    #[error(transparent)]
    Money(#[from] MoneyFault),
}

impl HandoffFault {
    /// Fails where `comes` is not what `stands`.
    pub(super) fn unless_equal(what: &'static str, stands: Money, comes: Money) -> Result<(), Self> {
        if stands == comes {
            return Ok(());
        }
        Err(Self::Sum { what, stands, comes })
    }
}
