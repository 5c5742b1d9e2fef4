//! The estimate request: a job spec, and what is asked of its pricing.

mod names;
mod read;

use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::Value;

use super::choices::ManualKind;
use super::spec::SpecMismatch;
use super::understand::Understood;
use crate::quantity::amount::read_digits;
use crate::quantity::measure::Hours;
use crate::quantity::{Decimal, Money, Quantity};

pub use names::Names;
pub use read::{RequestReader, SoundPart};

/// An estimate request that was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// The job.
    pub job: Understood,
    /// Day whose prices apply; today when it is not given.
    pub priced_on: Option<NaiveDate>,
    /// Id of the rulebook; the company's own when it is not given.
    pub rulebook: Option<String>,
    /// Version of the rulebook; the one that is current on the day when it is not given.
    pub rulebook_version: Option<u32>,
    /// Id of the policy; the company's own when it is not given.
    pub policy: Option<String>,
    /// Discount on the whole offer.
    pub discount: Option<Discount>,
    /// Lines put in by hand.
    pub manual_lines: Vec<ManualLine>,
    /// Figures replaced by hand.
    pub overrides: Vec<Override>,
    /// The request in normal form, with the job as understood in it. Reading it again gives the same.
    pub tree: Value,
}

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

impl Request {
    /// The rulebook that a request names, read before all else: its extra inputs are part of the form.
    pub fn named_rulebook(request: &Value) -> Option<&str> {
        named(request, "rulebook")
    }

    /// The policy that a request names.
    pub fn named_policy(request: &Value) -> Option<&str> {
        named(request, "policy")
    }

    /// The version of it that a request names, read before all else likewise.
    pub fn named_version(request: &Value) -> Option<u32> {
        u32::try_from(request.get("rulebook_version")?.as_u64()?).ok()
    }

    /// The day that a request names, read before all else likewise: it says which version is current.
    pub fn named_day(request: &Value) -> Option<NaiveDate> {
        request.get("priced_on")?.as_str()?.parse().ok()
    }
}

/// A name in a request; an empty one is none, and a fault of the form.
fn named<'r>(request: &'r Value, member: &str) -> Option<&'r str> {
    let name = request.get(member)?.as_str()?;
    (!name.is_empty()).then_some(name)
}

/// A request as it stands in the normal tree.
#[derive(Deserialize)]
struct RequestTree {
    priced_on: Option<NaiveDate>,
    rulebook: Option<String>,
    rulebook_version: Option<u32>,
    policy: Option<String>,
    discount: Option<DiscountTree>,
    manual_lines: Vec<ManualTree>,
    overrides: Vec<OverrideTree>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DiscountTree {
    #[serde(default, deserialize_with = "digits")]
    percent: Option<Decimal>,
    amount: Option<Money>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ManualTree {
    kind: ManualKind,
    code: Option<String>,
    description: String,
    quantity: Option<Quantity>,
    #[serde(default, deserialize_with = "unit_cost")]
    unit_cost: Option<Decimal>,
    hours: Option<Hours>,
    labour_class: Option<String>,
    cost_code: String,
    tax_category: String,
    reason: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OverrideTree {
    line: String,
    quantity: Option<Quantity>,
    hours: Option<Hours>,
    #[serde(default, deserialize_with = "unit_cost")]
    unit_cost: Option<Decimal>,
    price: Option<Money>,
    reason: String,
}

fn digits<'de, D: serde::Deserializer<'de>>(deserializer: D) -> Result<Option<Decimal>, D::Error> {
    read_digits(deserializer).map(Some)
}

/// The digits of a cost of one unit; its currency was judged when the request was read.
fn unit_cost<'de, D: serde::Deserializer<'de>>(deserializer: D) -> Result<Option<Decimal>, D::Error> {
    let mut tree = Value::deserialize(deserializer)?;
    let digits = match tree.get_mut("amount") {
        Some(amount) => amount.take(),
        None => tree,
    };
    read_digits(digits).map(Some).map_err(serde::de::Error::custom)
}

fn mismatch(what: &str) -> SpecMismatch {
    SpecMismatch(what.to_owned())
}

impl Request {
    pub(super) fn of_tree(tree: Value, job: Understood) -> Result<Self, SpecMismatch> {
        let read = RequestTree::deserialize(&tree).map_err(|fault| SpecMismatch(fault.to_string()))?;
        let discount = match read.discount {
            None => None,
            Some(DiscountTree {
                percent: Some(percent),
                amount: None,
            }) => Some(Discount::Percent(percent)),
            Some(DiscountTree {
                percent: None,
                amount: Some(amount),
            }) => Some(Discount::Amount(amount)),
            Some(_) => return Err(mismatch("discount")),
        };
        Ok(Self {
            job,
            priced_on: read.priced_on,
            rulebook: read.rulebook,
            rulebook_version: read.rulebook_version,
            policy: read.policy,
            discount,
            manual_lines: read
                .manual_lines
                .into_iter()
                .map(ManualLine::of_tree)
                .collect::<Result<_, _>>()?,
            overrides: read
                .overrides
                .into_iter()
                .map(Override::of_tree)
                .collect::<Result<_, _>>()?,
            tree,
        })
    }
}

impl ManualLine {
    fn of_tree(tree: ManualTree) -> Result<Self, SpecMismatch> {
        let bought = |kind| match (tree.quantity, tree.unit_cost) {
            (Some(quantity), Some(unit_cost)) => Ok(ManualWork::Bought {
                kind,
                quantity,
                unit_cost,
            }),
            _ => Err(mismatch("manual line")),
        };
        let work = match tree.kind {
            ManualKind::Material => bought(BoughtKind::Material)?,
            ManualKind::Subcontract => bought(BoughtKind::Subcontract)?,
            ManualKind::Fee => bought(BoughtKind::Fee)?,
            ManualKind::Labour => match (tree.hours, tree.labour_class) {
                (Some(hours), Some(class)) => ManualWork::Labour { hours, class },
                _ => return Err(mismatch("manual line")),
            },
        };
        Ok(Self {
            code: tree.code,
            description: tree.description,
            work,
            cost_code: tree.cost_code,
            tax_category: tree.tax_category,
            reason: tree.reason,
        })
    }
}

impl Override {
    fn of_tree(tree: OverrideTree) -> Result<Self, SpecMismatch> {
        let replaced = match (tree.quantity, tree.hours, tree.unit_cost, tree.price) {
            (Some(quantity), None, None, None) => Replaced::Quantity(quantity),
            (None, Some(hours), None, None) => Replaced::Hours(hours),
            (None, None, Some(unit_cost), None) => Replaced::UnitCost(unit_cost),
            (None, None, None, Some(price)) => Replaced::Price(price),
            _ => return Err(mismatch("override")),
        };
        Ok(Self {
            line: tree.line,
            replaced,
            reason: tree.reason,
        })
    }
}
