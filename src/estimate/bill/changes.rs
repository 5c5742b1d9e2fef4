//! Stand-in for the request types of the job room, same shape.

use rust_decimal::Decimal;

use crate::quantity::measure::Hours;
use crate::quantity::{Money, Quantity};

/// Discount on the whole offer, before tax.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Discount {
    /// This many percent, 0 to 100.
    Percent(Decimal),
    /// This amount.
    Amount(Money),
}

/// A line put in by hand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ManualLine {
    /// Code of an item or of the person's own choice.
    pub code: Option<String>,
    /// What it is, as it stands on the bill.
    pub description: String,
    /// What is bought or done.
    pub work: ManualWork,
    /// Cost code.
    pub cost_code: String,
    /// Tax category.
    pub tax_category: String,
    /// Why it was put in.
    pub reason: String,
}

/// What a manual line buys or does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ManualWork {
    /// Something bought by quantity.
    Bought {
        /// From whom.
        kind: BoughtKind,
        /// How much of it, in whatever unit.
        quantity: Quantity,
        /// Cost of one of that unit, in the company's currency; at most 6 decimals.
        unit_cost: Decimal,
    },
    /// Work of our own people.
    Labour {
        /// Labour hours.
        hours: Hours,
        /// Code of the labour class.
        class: String,
    },
}

/// What kind of thing is bought.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoughtKind {
    /// Material.
    Material,
    /// Work of another firm.
    Subcontract,
    /// A fee or charge.
    Fee,
}

/// A figure of a line replaced by hand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Override {
    /// Key of the line, as the estimate gives it.
    pub line: String,
    /// What is put in the place of which figure.
    pub replaced: Replaced,
    /// Why.
    pub reason: String,
}

/// A figure put in by hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Replaced {
    /// The needed quantity.
    Quantity(Quantity),
    /// The labour hours.
    Hours(Hours),
    /// The unit cost, in the company's currency; at most 6 decimals.
    UnitCost(Decimal),
    /// The price of the whole line.
    Price(Money),
}
