//! A new dated price of a pack.

use chrono::NaiveDate;
use estimate::catalogue::Item;
use estimate::catalogue::item::Price;
use estimate::catalogue::price_list::{TroubleKind, suspicious_price};
use estimate::catalogue::prices::beyond;
use estimate::quantity::Decimal;

use super::act::{Told, anew};
use super::{Desk, DeskFault, Meant};
use crate::store::{RequestKey, StoreFault};

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

impl Meant {
    fn takes(self, kind: TroubleKind) -> bool {
        match kind {
            TroubleKind::Factor => self.factor,
            TroubleKind::Zero => self.zero,
            _ => false,
        }
    }
}

impl Desk {
    /// Adds a dated price to a pack of the item `code`, once for `key`. What was priced before stays as it was. `tell`
    /// makes the answer of the item with its new price.
    ///
    /// # Errors
    /// No such item or pack, the price is suspicious and not `meant`, a price from that day on is there already, or the database.
    pub fn add_price(
        &self,
        key: Option<&RequestKey>,
        code: &str,
        (price, meant): (&NewPrice, Meant),
        tell: impl Fn(&Item) -> Result<Told, DeskFault>,
    ) -> Result<Told, DeskFault> {
        let row = Price {
            valid_from: price.valid_from,
            amount: price.amount,
            source: price.source.clone(),
        };
        let add = || {
            let office = self.office()?;
            let unknown = || DeskFault::unknown("item", code);
            let mut item = office.catalogue.item(code).ok_or_else(unknown)?.clone();
            let known = item.packs.iter().map(|pack| pack.prices.len()).sum();
            let pack = item.packs.iter_mut().find(|pack| pack.size == price.pack);
            let size = price.pack.to_string();
            let pack = pack.ok_or_else(|| DeskFault::unknown("pack of the size", &size))?;
            if pack
                .prices
                .iter()
                .any(|known| known.valid_from == price.valid_from)
            {
                return Err(DeskFault::PriceExists(price.valid_from));
            }
            if let Some(message) = beyond(price.amount, office.company.currency) {
                return Err(DeskFault::Member {
                    pointer: "/amount",
                    message,
                });
            }
            if let Some((kind, message)) = suspicious_price(pack, price.valid_from, price.amount)
                && !meant.takes(kind)
            {
                let word = kind.word();
                return Err(DeskFault::Member {
                    pointer: "/amount",
                    message: format!("{message}; say accept={word} in the address where that is right"),
                });
            }
            pack.prices.push(row.clone());
            pack.prices.sort_by_key(|price| price.valid_from);
            let answer = tell(&item)?.text()?;
            let added = self
                .store
                .add_price(key, code, (price.pack, &row), known, &answer);
            added.map_err(|fault| match fault {
                StoreFault::Exists => DeskFault::PriceExists(price.valid_from),
                StoreFault::Missing => unknown(),
                other => DeskFault::Store(other),
            })
        };
        self.once(key, || anew(add))
    }
}
