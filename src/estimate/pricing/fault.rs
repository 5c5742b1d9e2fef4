//! What can be wrong when a bill is priced.

use thiserror::Error;

use crate::job::{Fault, FaultCode};
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
    /// An amount is more than any job comes to.
    #[error("{what} comes to {came}; at most {most} is taken")]
    Beyond {
        /// JSON Pointer into the request: the largest figure that was put in by hand.
        pointer: Option<String>,
        /// What the amount is.
        what: String,
        /// The amount.
        came: Money,
        /// The most.
        most: Money,
    },
    /// Credits outweigh the cost, so there is nothing to sell.
    #[error(
        "the cost of the job comes to {cost}: credits are larger than all other lines{}",
        largest(pointer)
    )]
    NegativeCost {
        /// JSON Pointer into the request: the largest credit that was put in by hand.
        pointer: Option<String>,
        /// The sum of the lines.
        cost: Money,
    },
    /// Fixed prices bring the price of the job below nothing.
    #[error(
        "the price of the job comes to {price}: credits are larger than all other prices{}",
        largest(pointer)
    )]
    NegativePrice {
        /// JSON Pointer into the request: the price by hand that lowers the sum the most.
        pointer: Option<String>,
        /// The sum of the lines.
        price: Money,
    },
    /// A credit takes more tax off than all other lines bear, and the total with it below nothing.
    #[error(
        "with its tax the job comes to {total}: credits are larger than all other lines{}",
        largest(pointer)
    )]
    NegativeTotal {
        /// JSON Pointer into the request: the largest credit that was put in by hand.
        pointer: Option<String>,
        /// Net and tax together.
        total: Money,
    },
    /// The discount is negative or larger than the price.
    #[error("a discount of {discount} is not between nothing and the price of {price}")]
    Discount {
        /// JSON Pointer into the request.
        pointer: &'static str,
        /// The discount.
        discount: Money,
        /// The price before it.
        price: Money,
    },
    /// An amount of the request is in another currency than the company's.
    #[error("the amount must be in {currency}", currency = currency.code())]
    OtherCurrency {
        /// JSON Pointer into the request.
        pointer: String,
        /// The company's currency.
        currency: Currency,
    },
    /// An override names a line of the policy that this job does not have.
    #[error("this job has no line {line}")]
    NoSuchLine {
        /// JSON Pointer into the request.
        pointer: String,
        /// The line's key.
        line: String,
    },
}

fn largest(pointer: &Option<String>) -> &'static str {
    match pointer {
        Some(_) => "; this is the largest",
        None => "",
    }
}

impl PricingFault {
    /// The fault as one of the request, where it is one.
    pub fn of_request(&self) -> Option<Fault> {
        let told = |pointer: &str, code, came: String, allowed: String| {
            Some(Fault {
                pointer: pointer.to_owned(),
                code,
                came,
                allowed,
                message: self.to_string(),
            })
        };
        match self {
            Self::Discount {
                pointer,
                discount,
                price,
            } => {
                let allowed = format!("nothing to {price}");
                told(pointer, FaultCode::OutOfBounds, discount.to_string(), allowed)
            }
            Self::OtherCurrency { pointer, currency } => {
                let came = "another currency".to_owned();
                told(
                    pointer,
                    FaultCode::OtherCurrency,
                    came,
                    currency.code().to_owned(),
                )
            }
            Self::NoSuchLine { pointer, line } => {
                let allowed = "a line that the policy makes on this job".to_owned();
                told(pointer, FaultCode::UnknownName, line.clone(), allowed)
            }
            Self::Beyond {
                pointer: Some(pointer),
                came,
                most,
                ..
            } => {
                let allowed = format!("at most {most}");
                told(pointer, FaultCode::OutOfBounds, came.to_string(), allowed)
            }
            Self::NegativeCost {
                pointer: Some(pointer),
                cost: sum,
            }
            | Self::NegativePrice {
                pointer: Some(pointer),
                price: sum,
            }
            | Self::NegativeTotal {
                pointer: Some(pointer),
                total: sum,
            } => {
                let allowed = "credits that leave the job at nothing or more".to_owned();
                told(pointer, FaultCode::OutOfBounds, sum.to_string(), allowed)
            }
            Self::TaxCategory {
                pointer: Some(pointer),
                category,
                ..
            } => {
                let allowed = "a tax category of the policy".to_owned();
                told(pointer, FaultCode::UnknownName, category.clone(), allowed)
            }
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
