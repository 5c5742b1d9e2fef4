//! Things bought: how an item is measured and packed, where its cost belongs, and its dated prices.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::quantity::unit::Unit;

/// Something the company buys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Item {
    /// The company's own code, unique.
    pub code: String,
    /// What it is, as it stands on a bill.
    pub description: String,
    /// The unit in which needs are counted and packs are sized.
    pub unit: Unit,
    /// What group of goods it is of; equipment bears no consumables.
    #[serde(default)]
    pub group: ItemGroup,
    /// The cost code of job costing.
    pub cost_code: String,
    /// The tax category of the policy.
    pub tax_category: String,
    /// Who sells it.
    pub supplier: String,
    /// The supplier's own number of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part_number: Option<String>,
    /// Working days from order to delivery.
    #[serde(default)]
    pub lead_days: u32,
    /// True where the trade wants no joint: each need is cut from one pack.
    #[serde(default)]
    pub one_piece: bool,
    /// The sizes it is sold in, and the prices of each. At least one.
    pub packs: Vec<Pack>,
}

/// A group of goods that the policy treats alike.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ItemGroup {
    /// Cooling equipment: units, condensers, controllers.
    Equipment,
    /// Everything else that stays in the job.
    #[default]
    Material,
}

/// A size an item is sold in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    /// How much one pack holds, in the item's unit; more than zero.
    #[serde(with = "rust_decimal::serde::str")]
    pub size: Decimal,
    /// What the trade calls it: coil, box, length, cartridge.
    pub name: String,
    /// Dated prices of one pack, never overwritten.
    pub prices: Vec<Price>,
}

/// What one pack costs from a day on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Price {
    /// The first day on which it holds.
    pub valid_from: NaiveDate,
    /// Cost of one pack in the company's currency, at most six decimals.
    #[serde(with = "rust_decimal::serde::str")]
    pub amount: Decimal,
    /// Where it comes from: a supplier's list, an offer, an invoice.
    pub source: String,
}

impl Item {
    /// The first day on which one of its packs has a price; none where none ever has.
    pub fn first_day(&self) -> Option<NaiveDate> {
        let prices = self.packs.iter().flat_map(|pack| &pack.prices);
        prices.map(|price| price.valid_from).min()
    }
}

impl Pack {
    /// The price that holds on `day`: the newest that is not younger.
    pub fn price_on(&self, day: NaiveDate) -> Option<&Price> {
        self.prices
            .iter()
            .filter(|p| p.valid_from <= day)
            .max_by_key(|p| p.valid_from)
    }
}
