//! What can be wrong when a bill is priced.

use thiserror::Error;

use crate::quantity::money::MoneyFault;
use crate::quantity::{Currency, Money};

/// Why a bill could not be priced.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PricingFault {
    /// A line is of a tax category that the policy does not know.
    #[error("line {line} is of tax category {category}, which the policy does not know")]
    TaxCategory {
        /// JSON Pointer into the request, for a line put in by hand.
        pointer: Option<String>,
        /// The line's key.
        line: String,
        /// The category.
        category: String,
    },
    /// An amount is beyond what can be counted.
    #[error("{what}: the amount is too large")]
    TooLarge {
        /// The line or total.
        what: String,
    },
    /// Credits outweigh the cost, so there is nothing to sell.
    #[error("the cost of the job comes to {cost}: credits are larger than all other lines")]
    NegativeCost {
        /// The sum of the lines.
        cost: Money,
    },
    /// Fixed prices bring the price of the job below nothing.
    #[error("the price of the job comes to {price}")]
    NegativePrice {
        /// The sum of the lines.
        price: Money,
    },
    /// The discount is negative or larger than the price.
    #[error("{pointer}: a discount of {discount} is not between nothing and the price of {price}")]
    Discount {
        /// JSON Pointer into the request.
        pointer: &'static str,
        /// The discount.
        discount: Money,
        /// The price before it.
        price: Money,
    },
    /// An amount of the request is in another currency than the company's.
    #[error("{pointer}: the amount must be in {currency}", currency = currency.code())]
    OtherCurrency {
        /// JSON Pointer into the request.
        pointer: String,
        /// The company's currency.
        currency: Currency,
    },
    /// An override names a line of the policy that this job does not have.
    #[error("{pointer}: this job has no line {line}")]
    NoSuchLine {
        /// JSON Pointer into the request.
        pointer: String,
        /// The line's key.
        line: String,
    },
}

impl PricingFault {
    /// Where in the request the fault lies, for a fault of the request.
    pub fn pointer(&self) -> Option<&str> {
        match self {
            Self::Discount { pointer, .. } => Some(pointer),
            Self::OtherCurrency { pointer, .. } | Self::NoSuchLine { pointer, .. } => Some(pointer),
            Self::TaxCategory { pointer, .. } => pointer.as_deref(),
            _ => None,
        }
    }

    /// The fault of an amount that does not fit, named after what it is the amount of.
    pub(super) fn too_large(what: impl std::fmt::Display) -> impl FnOnce(MoneyFault) -> Self {
        move |_| Self::TooLarge {
            what: what.to_string(),
        }
    }
}
