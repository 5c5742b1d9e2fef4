//! What a run of the rules gives: needs, not yet lines, and no money added up.
//!
//! Names are borrowed from the compiled program, so that a run copies no text. Numbers are as the
//! formulas gave them, up to 28 digits; whoever makes lines of them rounds once, at that border.

use super::trace::Trace;
use rust_decimal::Decimal;
use std::sync::Arc;

/// All that the rulebook asks for on one job.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome<'p> {
    /// Material, in the order of assemblies and lines. Needs of nothing are left out.
    pub needs: Vec<MaterialNeed<'p>>,
    /// Labour, likewise.
    pub labour: Vec<LabourNeed<'p>>,
    /// Subcontracts and fees, likewise.
    pub amounts: Vec<AmountNeed<'p>>,
    /// The highest product of labour factors, where the rulebook sets one.
    pub max_factor: Option<Decimal>,
    /// Assemblies whose condition held, in order.
    pub assemblies: Vec<&'p AssemblyHead>,
    /// Cautions and stops whose condition held.
    pub raised: Vec<Raised<'p>>,
    /// Exclusions whose condition held.
    pub exclusions: Vec<Exclusion<'p>>,
    /// Subjects of the completeness list that no line covers.
    pub missing: Vec<Missing<'p>>,
    /// Money set aside for unknown answers.
    pub allowances: Vec<Allowance<'p>>,
    /// What is counted in wholes, such as working days, as far as the job needed it.
    pub counts: Vec<Count<'p>>,
    /// How each result came about, when that was asked for.
    pub trace: Option<Trace<'p>>,
}

/// A derived value that is counted in wholes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Count<'p> {
    /// Its name in the rulebook.
    pub name: &'p str,
    /// What it stands for, in words.
    pub title: &'p str,
    /// How many.
    pub value: Decimal,
}

/// What stands above an assembly of the rulebook.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct AssemblyHead {
    /// Its place in the rulebook, from 0.
    pub place: usize,
    /// Its code.
    pub code: Arc<str>,
    /// What it is called on a bill.
    pub title: Arc<str>,
    /// The part of the bill that it belongs to.
    pub section: Arc<str>,
}

/// Which line of the rulebook it is.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct LineHead {
    /// The assembly.
    pub assembly: Arc<AssemblyHead>,
    /// The line's number within its assembly, from 1, lines of every kind counted.
    pub number: usize,
    /// A remark for the bill.
    pub note: Option<Arc<str>>,
}

/// So much of an item.
#[derive(Debug, Clone, PartialEq)]
pub struct MaterialNeed<'p> {
    /// Where it comes from.
    pub line: &'p LineHead,
    /// The item's code.
    pub item: &'p str,
    /// The item's place among the items given at compilation.
    pub item_place: usize,
    /// Net quantity in the item's unit, above zero.
    pub quantity: Decimal,
    /// Waste to add, as a fraction of the quantity, zero or more.
    pub waste: Decimal,
    /// Whether it must be cut from one pack, without a joint.
    pub one_piece: bool,
}

/// So much work.
#[derive(Debug, Clone, PartialEq)]
pub struct LabourNeed<'p> {
    /// Where it comes from.
    pub line: &'p LineHead,
    /// The task's code, unique within its assembly.
    pub task: &'p str,
    /// What is done, in words.
    pub title: &'p str,
    /// The labour class's code.
    pub class: &'p str,
    /// The class's place among the classes given at compilation.
    pub class_place: usize,
    /// Hours by the clock, above zero, before factors.
    pub hours: Decimal,
    /// How many work those hours, above zero.
    pub crew: Decimal,
    /// Factors that apply on this job, in the order in which the line names them.
    pub factors: Vec<AppliedFactor<'p>>,
}

/// A labour factor whose condition held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AppliedFactor<'p> {
    /// Its name.
    pub name: &'p str,
    /// What it stands for, in words.
    pub title: &'p str,
    /// What it adds, as a fraction of the hours; more than -1.
    pub add: Decimal,
}

/// Whether another firm does it or an office charges it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum AmountKind {
    /// Work of another firm.
    Subcontract,
    /// A permit, a disposal charge, a rented lift.
    Fee,
}

/// A line that is priced as a whole.
#[derive(Debug, Clone, PartialEq)]
pub struct AmountNeed<'p> {
    /// Where it comes from.
    pub line: &'p LineHead,
    /// Subcontract or fee.
    pub kind: AmountKind,
    /// The trade of the other firm.
    pub trade: Option<&'p str>,
    /// What it is, in words.
    pub title: &'p str,
    /// The cost code of job costing.
    pub cost_code: &'p str,
    /// The tax category of the policy.
    pub tax_category: &'p str,
    /// How much.
    pub cost: AmountCost<'p>,
}

/// How the cost of an [`AmountNeed`] is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AmountCost<'p> {
    /// An amount in units of the company's currency, above zero.
    Money(Decimal),
    /// So much of an item of the catalogue, at its price.
    Item {
        /// The item's code.
        item: &'p str,
        /// The item's place among the items given at compilation.
        item_place: usize,
        /// Quantity in the item's unit, above zero.
        quantity: Decimal,
    },
}

/// How grave a raised check is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// Printed with the result.
    Caution,
    /// The offer must not go out.
    Stop,
}

/// A check whose condition held.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Raised<'p> {
    /// Its code.
    pub code: &'p str,
    /// Caution or stop.
    pub level: Level,
    /// The message, with the values of this job in it.
    pub message: String,
    /// Where the rule comes from.
    pub source: Option<&'p str>,
}

/// A sentence on what the offer does not contain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Exclusion<'p> {
    /// Its code.
    pub code: &'p str,
    /// The sentence.
    pub text: &'p str,
}

/// Something usual that nothing was priced for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Missing<'p> {
    /// Its code.
    pub code: &'p str,
    /// What it is.
    pub title: &'p str,
    /// What to say of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wording: Option<&'p str>,
}

/// Money set aside because an answer is unknown.
#[derive(Debug, Clone, PartialEq)]
pub struct Allowance<'p> {
    /// JSON Pointer of the answer, as the rulebook names it (`*` for the place in a list).
    pub answer: &'p str,
    /// What to say of it.
    pub wording: &'p str,
    /// In units of the company's currency, zero or more.
    pub amount: Decimal,
    /// The cost code of job costing.
    pub cost_code: &'p str,
    /// The tax category of the policy.
    pub tax_category: &'p str,
}
