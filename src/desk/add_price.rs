//! A new dated price of a pack.

use chrono::NaiveDate;
use estimate::catalogue::item::Price;
use estimate::quantity::Decimal;

use super::{Desk, DeskFault};
use crate::store::StoreFault;

/// A price to be added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPrice {
    /// The size of the pack, in the item's unit.
    pub pack: Decimal,
    /// The first day on which it holds.
    pub valid_from: NaiveDate,
    /// Cost of one pack in the company's currency; not negative, at most six decimals.
    pub amount: Decimal,
    /// Where it comes from.
    pub source: String,
}

impl Desk {
    /// Adds a dated price to a pack of the item `code`. What was priced before stays as it was.
    ///
    /// # Errors
    /// No such item or pack, a price from that day on is there already, or the database.
    pub fn add_price(&self, code: &str, price: &NewPrice) -> Result<(), DeskFault> {
        let office = self.office()?;
        let item = office
            .catalogue
            .item(code)
            .ok_or_else(|| DeskFault::unknown("item", code))?;
        if !item.packs.iter().any(|pack| pack.size == price.pack) {
            return Err(DeskFault::unknown("pack of the size", &price.pack.to_string()));
        }
        let row = Price {
            valid_from: price.valid_from,
            amount: price.amount,
            source: price.source.clone(),
        };
        self.store
            .add_price(code, price.pack, &row)
            .map_err(|fault| match fault {
                StoreFault::Exists => DeskFault::PriceExists(price.valid_from),
                StoreFault::Missing => DeskFault::unknown("item", code),
                other => DeskFault::Store(other),
            })
    }
}
