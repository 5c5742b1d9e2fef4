//! The company that makes the offer.

use serde::{Deserialize, Serialize};

use crate::quantity::Currency;

/// Who quotes, in which currency, in which time zone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Company {
    /// The name on its papers.
    pub name: String,
    /// Postal address, a line each.
    pub address: Vec<String>,
    /// Telephone.
    pub telephone: String,
    /// Mail address.
    pub mail: String,
    /// Licences held, as they must be printed.
    pub licences: Vec<String>,
    /// The one currency of all its amounts.
    pub currency: Currency,
    /// Its time zone by IANA name; days begin and end there.
    pub time_zone: String,
    /// The rulebook that is used when a request names none.
    pub rulebook: String,
    /// The policy that is used when a request names none.
    pub policy: String,
    /// The pattern of quote numbers; year and counter stand in it once each.
    #[serde(default = "quote_numbers")]
    pub quote_numbers: String,
}

fn quote_numbers() -> String {
    "{year}-{counter:5}".to_owned()
}
