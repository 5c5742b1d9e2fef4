//! Why something cannot be handed over.

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
    #[error("this format has amounts with at most two decimals; {} has {}", .0.code(), .0.minor_digits())]
    TooFine(Currency),
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
