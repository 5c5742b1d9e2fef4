//! Assemblies and their lines, as the office writes them.

use super::Text;
use serde::Serialize;

/// Lines that go in together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Assembly {
    /// The code, unique.
    pub code: Text,
    /// What a person reads.
    pub title: Text,
    /// The part of the bill that it belongs to.
    pub section: Text,
    /// When it goes in; always, when absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<Text>,
    /// A remark for the office.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<Text>,
    /// Its lines.
    #[serde(rename = "line")]
    pub lines: Vec<Line>,
}

/// A line of an assembly.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Line {
    /// What sort of line, with its own fields.
    #[serde(flatten)]
    pub kind: LineKind,
    /// When it goes in, given that its assembly does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<Text>,
    /// A remark for the bill.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<Text>,
}

/// The sorts of lines.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum LineKind {
    /// Something bought and built in.
    Material {
        /// Which item.
        #[serde(flatten)]
        item: ItemSource,
        /// How much.
        quantity: Text,
        /// Waste, as a fraction of the quantity.
        #[serde(skip_serializing_if = "Option::is_none")]
        waste: Option<Text>,
        /// Whether it must be cut from one pack.
        one_piece: bool,
    },
    /// Work of the company.
    Labour {
        /// Code of the task, unique within the assembly.
        task: Text,
        /// What is done.
        title: Text,
        /// Code of the labour class.
        class: Text,
        /// Hours by the clock.
        hours: Text,
        /// How many work those hours; one when absent.
        #[serde(skip_serializing_if = "Option::is_none")]
        crew: Option<Text>,
        /// Names of the factors that it is exposed to.
        factors: Vec<Text>,
    },
    /// Work of another firm.
    Subcontract {
        /// The trade.
        #[serde(skip_serializing_if = "Option::is_none")]
        trade: Option<Text>,
        /// What is common to lines that are priced as a whole.
        #[serde(flatten)]
        charge: Charge,
    },
    /// A permit, a disposal charge, a rented lift.
    Fee {
        /// What is common to lines that are priced as a whole.
        #[serde(flatten)]
        charge: Charge,
    },
}

/// A cost that is priced as a whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Charge {
    /// What it is.
    pub title: Text,
    /// The cost code of job costing.
    pub cost_code: Text,
    /// The tax category of the policy.
    pub tax_category: Text,
    /// How its cost is known.
    #[serde(flatten)]
    pub cost: ChargeCost,
}

/// How the cost of a charge is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(untagged)]
pub enum ChargeCost {
    /// By a formula for the money.
    Money {
        /// The formula.
        amount: Text,
    },
    /// By an item of the catalogue and how much of it.
    Item {
        /// Which item.
        #[serde(flatten)]
        item: ItemSource,
        /// How much.
        quantity: Text,
    },
}

/// Which item a line buys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub enum ItemSource {
    /// This one.
    #[serde(rename = "item")]
    Code(Text),
    /// The one that a formula finds, by tables whose value is `item`.
    #[serde(rename = "item_from")]
    Formula(Text),
}
