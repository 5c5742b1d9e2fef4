//! What an offer or a change order comes to, read from its stored document without the rest of it.

use serde::{Deserialize, Serialize};

use super::fault::HandoffFault;
use crate::quantity::Money;

/// Net, tax and total.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Amounts {
    /// Before tax.
    pub net: Money,
    /// Tax.
    pub tax: Money,
    /// With tax.
    pub total: Money,
}

#[derive(Deserialize)]
struct Document {
    estimate: Estimate,
    #[serde(default)]
    change: Option<Change>,
}

#[derive(Deserialize)]
struct Estimate {
    totals: Amounts,
}

#[derive(Deserialize)]
struct Change {
    net_before: Money,
    total_before: Money,
}

impl Amounts {
    /// What the document of a revision or an acceptance comes to; of a change order, what it moves.
    ///
    /// # Errors
    /// The text is not such a document.
    pub fn of_document(text: &str) -> Result<Self, HandoffFault> {
        let read: Document =
            serde_json::from_str(text).map_err(|fault| HandoffFault::Unreadable(fault.to_string()))?;
        let after = read.estimate.totals;
        match read.change {
            None => Ok(after),
            Some(change) => after.minus(Self {
                net: change.net_before,
                tax: change.total_before.minus(change.net_before)?,
                total: change.total_before,
            }),
        }
    }

    /// The difference.
    ///
    /// # Errors
    /// It does not fit.
    pub fn minus(self, other: Self) -> Result<Self, HandoffFault> {
        Ok(Self {
            net: self.net.minus(other.net)?,
            tax: self.tax.minus(other.tax)?,
            total: self.total.minus(other.total)?,
        })
    }

    /// The sum.
    ///
    /// # Errors
    /// It does not fit.
    pub fn plus(self, other: Self) -> Result<Self, HandoffFault> {
        Ok(Self {
            net: self.net.plus(other.net)?,
            tax: self.tax.plus(other.tax)?,
            total: self.total.plus(other.total)?,
        })
    }
}
