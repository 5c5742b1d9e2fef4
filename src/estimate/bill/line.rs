//! The lines of a bill: what is bought and who works how long. Names are borrowed from the compiled
//! rulebook, the catalogue and the request.

use rust_decimal::Decimal;
use serde::Serialize;

use super::key::LineKey;
use crate::catalogue::prices::PriceSource;
use crate::catalogue::{Item, LabourClass};
use crate::quantity::{Money, Quantity};
use crate::rules::outcome::{Level, LineHead, Missing};
use crate::rules::trace::FormulaTrace;

/// The lines that a job needs, in the order of the rulebook's sections and assemblies; lines put in by
/// hand come last.
#[derive(Debug, Clone, PartialEq)]
pub struct Bill<'a> {
    /// The lines.
    pub lines: Vec<BillLine<'a>>,
    /// Overrides of lines that the policy makes: pricing applies them.
    pub policy_changes: Vec<PolicyChange<'a>>,
    /// Subjects of the rulebook's completeness list that nothing was priced for: those that the rules leave
    /// open, without those whose code a line put in by hand carries.
    pub missing: Vec<Missing<'a>>,
    /// What the office must know of how the needs are met.
    pub cautions: Vec<BillCaution>,
}

/// A caution or a stop of the bill.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BillCaution {
    /// Caution or stop.
    pub level: Level,
    /// Its stable code.
    pub code: &'static str,
    /// In plain words, with the figures.
    pub message: String,
    /// Where the limit comes from.
    pub source: &'static str,
}

/// One line, before any price is on it.
#[derive(Debug, Clone, PartialEq)]
pub struct BillLine<'a> {
    /// Its stable name.
    pub key: LineKey<'a>,
    /// What sort of line it is.
    pub kind: LineKind,
    /// The line of the rulebook that first needs it; none for an allowance or a line put in by hand.
    pub from: Option<&'a LineHead>,
    /// Item, task or trade.
    pub code: Option<&'a str>,
    /// What it is, in words.
    pub description: &'a str,
    /// The cost code of job costing.
    pub cost_code: &'a str,
    /// The tax category of the policy.
    pub tax_category: &'a str,
    /// Why it was put in, for a line put in by hand.
    pub reason: Option<&'a str>,
    /// How much of what.
    pub content: Content<'a>,
    /// Figures that a person replaced, the computed one beside the given.
    pub replaced: Vec<Replacement<'a>>,
    /// A selling price that a person fixed.
    pub fixed: Option<Box<FixedPrice<'a>>>,
    /// How it came about, when that was asked for.
    pub explanation: Option<Box<Explanation<'a>>>,
}

/// How a line came about.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation<'a> {
    /// The formulas that made it, from the facts to its price.
    pub formulas: Vec<FormulaTrace<'a>>,
    /// Since when its price holds, and by whose word, where the catalogue does not say.
    pub price_source: Option<PriceSource>,
}

/// The four kinds of line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LineKind {
    /// Something bought that stays in the job.
    Material,
    /// Work of the company's own people.
    Labour,
    /// Work of another firm.
    Subcontract,
    /// A permit, a charge, a hire; also what the policy adds.
    Fee,
}

/// How much of what.
#[derive(Debug, Clone, PartialEq)]
pub enum Content<'a> {
    /// An item, bought in packs.
    Goods(Goods<'a>),
    /// Hours of a labour class.
    Work(Work<'a>),
    /// An amount as a whole.
    Sum(Sum),
}

/// An item, bought in packs.
#[derive(Debug, Clone, PartialEq)]
pub struct Goods<'a> {
    /// The item's place in the catalogue.
    pub place: usize,
    /// The item.
    pub item: &'a Item,
    /// Needed, without waste.
    pub quantity: Decimal,
    /// Added for waste.
    pub waste: Decimal,
    /// What each line of the rulebook asked for.
    pub shares: Vec<Share<'a>>,
    /// The packs that are bought, the larger first.
    pub packs: Vec<BoughtPack<'a>>,
    /// What the packs hold in all.
    pub bought: Decimal,
    /// Bought and not needed.
    pub left_over: Decimal,
    /// Exact cost of the packs, not yet rounded to money.
    pub cost: Decimal,
    /// The oldest price among the packs that are bought; none where a person gave the price.
    pub source: Option<&'a PriceSource>,
}

/// What one line of the rulebook asked for of an item.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share<'a> {
    /// The line.
    pub line: &'a LineHead,
    /// Needed, without waste.
    pub quantity: Decimal,
    /// Added for waste.
    pub waste: Decimal,
    /// Whether it is cut from one pack.
    pub one_piece: bool,
}

/// So many packs of a size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoughtPack<'a> {
    /// How much one holds.
    pub size: Decimal,
    /// What the trade calls it.
    pub name: &'a str,
    /// How many.
    pub count: u64,
    /// What one costs.
    pub cost: Decimal,
}

/// Hours of a labour class.
#[derive(Debug, Clone, PartialEq)]
pub struct Work<'a> {
    /// The class's place in the catalogue.
    pub place: usize,
    /// The class.
    pub class: &'a LabourClass,
    /// Hours by the clock, before factors.
    pub clock_hours: Decimal,
    /// How many work those hours.
    pub crew: Decimal,
    /// What each factor added, in the order in which the line names them.
    pub factors: Vec<FactorHours<'a>>,
    /// Whether the factors together came to more than the rulebook's limit.
    pub capped: bool,
    /// Labour hours: clock hours × crew × factors, to four decimals.
    pub hours: Decimal,
    /// Cost of an hour.
    pub rate: Decimal,
    /// Where the rate comes from; none where a person gave it.
    pub source: Option<&'a PriceSource>,
}

/// A factor and the hours that it added.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FactorHours<'a> {
    /// Its name in the rulebook.
    pub name: &'a str,
    /// What it stands for.
    pub title: &'a str,
    /// What it adds, as a fraction.
    pub add: Decimal,
    /// Hours that it added to this line, after the factors before it.
    pub hours: Decimal,
}

/// An amount as a whole, or so many at a cost each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sum {
    /// How many; none where the amount is one figure.
    pub quantity: Option<Quantity>,
    /// Cost of one, or the whole amount; exact.
    pub unit_cost: Decimal,
}

/// A figure that a person replaced.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Replacement<'a> {
    /// The place of the override in the request, from 0.
    pub index: usize,
    /// `quantity`, `hours`, `unit_cost` or `price`.
    pub field: &'static str,
    /// What the rules came to.
    pub computed: Figure,
    /// What stands in its place.
    pub given: Figure,
    /// Why.
    pub reason: &'a str,
}

/// A figure of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Figure {
    /// A quantity or hours.
    Quantity(Quantity),
    /// A cost of one unit, up to six decimals; none where the catalogue has no price.
    UnitCost(Option<Decimal>),
    /// An amount of money.
    Amount(Money),
}

/// A selling price that a person fixed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FixedPrice<'a> {
    /// The place of the override in the request, from 0.
    pub index: usize,
    /// The price of the line, before discount and tax.
    pub price: Money,
    /// Why.
    pub reason: &'a str,
}

/// An override of a line that the policy makes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PolicyChange<'a> {
    /// Its place in the request, from 0.
    pub index: usize,
    /// The line.
    pub line: super::key::PolicyLine,
    /// What is put in the place of which figure.
    pub figure: PolicyFigure,
    /// Why.
    pub reason: &'a str,
}

/// A figure of a line that the policy makes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PolicyFigure {
    /// Its cost.
    Cost(Decimal),
    /// Its price.
    Price(Money),
}

impl Goods<'_> {
    /// Cost of one unit of the item as bought, to six decimals; none where nothing is bought.
    pub fn unit_cost(&self) -> Option<Decimal> {
        use crate::quantity::decimal::UNIT_PRICE_SCALE;
        use crate::quantity::rounding::{Mode, to_scale};
        match self.packs.as_slice() {
            [] => None,
            _ => Some(to_scale(
                self.cost.checked_div(self.bought)?,
                UNIT_PRICE_SCALE,
                Mode::HalfUp,
            )),
        }
    }
}
