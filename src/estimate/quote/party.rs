//! Customer and site as they stand in a record.

use serde::{Deserialize, Serialize};

/// Whom the offer is for, as known when it was issued.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Customer {
    /// The office's own key.
    pub id: String,
    /// Person or firm.
    pub name: String,
    /// Whom to ask for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contact: Option<String>,
    /// Where post goes.
    pub address: Address,
    /// Mail address.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mail: Option<String>,
    /// Telephone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub telephone: Option<String>,
}

/// Where the work is done, as known when the offer was issued.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// The office's own key.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// Where it is.
    pub address: Address,
}

/// A postal address.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Address {
    /// The lines as they are printed.
    pub lines: Vec<String>,
    /// Country, two letters of ISO 3166-1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub country: Option<String>,
}
