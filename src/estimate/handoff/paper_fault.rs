//! Why no paper can be made of a document.

use thiserror::Error;

use crate::quantity::money::MoneyFault;
use crate::quantity::unit::UnitFault;

/// Why no paper can be made of a document.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PaperFault {
    /// The estimate is not of the shape that papers are made of.
    #[error("the {part} of the estimate does not read: {message}")]
    Unreadable {
        /// Which part.
        part: &'static str,
        /// Why.
        message: String,
    },
    /// Amounts do not go together.
    #[error(transparent)]
    Money(#[from] MoneyFault),
    /// A measure has no length, or the like.
    #[error(transparent)]
    Unit(#[from] UnitFault),
    /// A figure is beyond what can be drawn or bought.
    #[error("{0} is beyond what fits")]
    TooLarge(&'static str),
}

impl PaperFault {
    pub(super) fn unreadable(part: &'static str, message: impl ToString) -> Self {
        Self::Unreadable {
            part,
            message: message.to_string(),
        }
    }
}
