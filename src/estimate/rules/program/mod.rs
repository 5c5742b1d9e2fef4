//! A rulebook that has passed its check: names are places in lists, units are gone, every formula is
//! a tree that cannot be of the wrong type.

mod scale;
mod table;
mod tree;
mod walk;

use super::outcome::{AmountKind, AssemblyHead, Level, LineHead};
use super::span::Span;
use super::text::Text;
use crate::quantity::fact::{Domain, FactDef, WordNumber};
use crate::quantity::unit::Unit;
use rust_decimal::Decimal;
pub(crate) use scale::Scale;
use std::sync::Arc;
pub(crate) use table::{Curve, Grid, GridKey, Point, Table};
pub(crate) use tree::{Choice, ChoiceOp, Flag, FlagOp, KeyValue, NoteId, Number, NumberOp, Typed};
pub(crate) use walk::Part;

/// Most waste that a line may add, as a fraction of what it needs: as much again (common practice, no source). More is a
/// slip, such as 10 where 10 % was meant.
pub(crate) const MOST_WASTE: Decimal = Decimal::ONE;

/// A rulebook ready to run on any number of jobs, from any number of threads.
#[derive(Debug)]
pub struct Program {
    pub(crate) id: Arc<str>,
    pub(crate) title: Arc<str>,
    pub(crate) adopted_codes: Vec<Arc<str>>,
    pub(crate) facts: Vec<FactDef>,
    pub(crate) domains: Vec<Domain>,
    pub(crate) derived: DerivedValues,
    pub(crate) tables: Tables,
    /// In the order of the rulebook.
    pub(crate) table_names: Vec<Arc<str>>,
    pub(crate) factors: Vec<FactorRule>,
    pub(crate) max_factor: Option<Decimal>,
    pub(crate) assemblies: Vec<AssemblyRule>,
    pub(crate) checks: Vec<CheckRule>,
    pub(crate) exclusions: Vec<ExclusionRule>,
    pub(crate) completeness: Vec<CompletenessRule>,
    pub(crate) allowances: Vec<AllowanceRule>,
    /// On which jobs each unknown answer of the rulebook is needed, then each extra input.
    pub(crate) unknowns: Vec<NeededRule>,
    pub(crate) inputs: Vec<NeededRule>,
    pub(crate) formula_count: usize,
    pub(crate) line_count: usize,
}

impl Program {
    /// What requests call the rulebook.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// What a person calls the rulebook.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Codes and standards that it was written for, printed with every result.
    pub fn adopted_codes(&self) -> impl Iterator<Item = &str> {
        self.adopted_codes.iter().map(AsRef::as_ref)
    }

    /// The facts that a run takes, in this order: those given at compilation, then the rulebook's
    /// extra inputs where they were not among them.
    pub fn facts(&self) -> &[FactDef] {
        &self.facts
    }

    /// The code of the item at a place of the items given at compilation.
    pub(crate) fn item_code(&self, place: WordNumber) -> &str {
        self.domains
            .get(ITEMS.0)
            .and_then(|items| items.word(place))
            .unwrap_or_default()
    }

    /// How many items were given at compilation.
    pub(crate) fn item_count(&self) -> usize {
        self.domains.get(ITEMS.0).map_or(0, |items| items.words.len())
    }

    /// How many formulas it holds, conditions counted.
    pub fn formula_count(&self) -> usize {
        self.formula_count
    }

    /// How many lines its assemblies hold.
    pub fn line_count(&self) -> usize {
        self.line_count
    }
}

/// What sort of value something has; the domain is a place in [`Program::domains`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Number(Unit),
    Flag,
    Choice(DomainId),
}

/// A place in [`Program::domains`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct DomainId(pub(crate) usize);

/// The domain of item codes, in the order in which the items were given at compilation.
pub(crate) const ITEMS: DomainId = DomainId(0);

/// A formula: a typed tree, and what is needed to explain it.
#[derive(Debug)]
pub(crate) struct Formula<T> {
    pub(crate) tree: T,
    pub(crate) text: Text,
    pub(crate) notes: Vec<Note>,
    pub(crate) result: Kind,
}

/// What a node of a tree was in the text of its formula.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Note {
    pub(crate) span: Span,
    pub(crate) kind: Kind,
    pub(crate) sort: Sort,
}

/// Why a node is told in an explanation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sort {
    Fact,
    Derived,
    Conversion,
    /// A look-up of the table at this place of [`Program::table_names`].
    Cell(usize),
    Result,
}

/// Values computed once a job, by the type of their value.
#[derive(Debug, Default)]
pub(crate) struct DerivedValues {
    pub(crate) numbers: Vec<DerivedValue<Number>>,
    pub(crate) flags: Vec<DerivedValue<Flag>>,
    pub(crate) choices: Vec<DerivedValue<Choice>>,
}

#[derive(Debug)]
pub(crate) struct DerivedValue<T> {
    pub(crate) name: Arc<str>,
    /// What a person reads, where the rulebook has it.
    pub(crate) title: Option<Arc<str>>,
    pub(crate) formula: Formula<T>,
}

impl DerivedValue<Number> {
    /// Whether it counts in wholes, as working days are counted: a number of things that is brought to a step.
    pub(crate) fn counts(&self) -> bool {
        let of_things = [Unit::ONE, Unit::EACH, Unit::DAY].map(Kind::Number);
        of_things.contains(&self.formula.result) && self.formula.tree.is_stepped()
    }
}

/// Tables by the type of their value.
#[derive(Debug, Default)]
pub(crate) struct Tables {
    pub(crate) numbers: Vec<Table<Decimal>>,
    pub(crate) flags: Vec<Table<bool>>,
    pub(crate) choices: Vec<Table<WordNumber>>,
    pub(crate) curves: Vec<Curve>,
}

#[derive(Debug)]
pub(crate) struct FactorRule {
    pub(crate) name: Arc<str>,
    pub(crate) title: Arc<str>,
    pub(crate) when: Formula<Flag>,
    pub(crate) add: Formula<Number>,
}

#[derive(Debug)]
pub(crate) struct AssemblyRule {
    pub(crate) head: Arc<AssemblyHead>,
    pub(crate) when: Option<Formula<Flag>>,
    pub(crate) lines: Vec<LineRule>,
}

#[derive(Debug)]
pub(crate) struct LineRule {
    pub(crate) head: LineHead,
    pub(crate) when: Option<Formula<Flag>>,
    pub(crate) kind: LineRuleKind,
}

#[derive(Debug)]
pub(crate) enum LineRuleKind {
    Material {
        need: ItemNeed,
        waste: Option<Formula<Number>>,
        one_piece: bool,
    },
    Labour {
        task: Arc<str>,
        title: Arc<str>,
        class: Arc<str>,
        class_place: usize,
        hours: Formula<Number>,
        crew: Option<Formula<Number>>,
        /// Places in [`Program::factors`].
        factors: Vec<usize>,
    },
    Charge(ChargeRule),
}

#[derive(Debug)]
pub(crate) struct ChargeRule {
    pub(crate) kind: AmountKind,
    pub(crate) trade: Option<Arc<str>>,
    pub(crate) title: Arc<str>,
    pub(crate) cost_code: Arc<str>,
    pub(crate) tax_category: Arc<str>,
    pub(crate) cost: ChargeCostRule,
}

#[derive(Debug)]
pub(crate) enum ChargeCostRule {
    Money(Formula<Number>),
    Item(ItemNeed),
}

/// An item and how much of it.
#[derive(Debug)]
pub(crate) struct ItemNeed {
    pub(crate) item: ItemRule,
    /// In the unit of the item; of the first possible item, where a formula finds it.
    pub(crate) quantity: Formula<Number>,
}

#[derive(Debug)]
pub(crate) enum ItemRule {
    One {
        code: Arc<str>,
        place: WordNumber,
    },
    /// The formula's choice is the item's place; items sold in another unit than the quantity's have
    /// a scale.
    Found {
        formula: Formula<Choice>,
        scales: Vec<(WordNumber, Scale)>,
    },
}

#[derive(Debug)]
pub(crate) struct CheckRule {
    pub(crate) code: Arc<str>,
    pub(crate) level: Level,
    pub(crate) when: Formula<Flag>,
    pub(crate) message: Vec<MessagePart>,
    pub(crate) source: Option<Arc<str>>,
}

#[derive(Debug)]
pub(crate) enum MessagePart {
    Words(Arc<str>),
    Value(Formula<Typed>),
}

#[derive(Debug)]
pub(crate) struct ExclusionRule {
    pub(crate) code: Arc<str>,
    pub(crate) text: Arc<str>,
    pub(crate) when: Option<Formula<Flag>>,
}

#[derive(Debug)]
pub(crate) struct CompletenessRule {
    pub(crate) code: Arc<str>,
    pub(crate) title: Arc<str>,
    pub(crate) wording: Option<Arc<str>>,
    pub(crate) when: Option<Formula<Flag>>,
    /// Places of assemblies any of which covers it.
    pub(crate) assemblies: Vec<usize>,
    /// Places of items any of which covers it.
    pub(crate) items: Vec<usize>,
    /// Answers any of which covers it by its allowance while it is unknown.
    pub(crate) answers: Vec<Arc<str>>,
}

#[derive(Debug)]
pub(crate) struct AllowanceRule {
    pub(crate) answer: Arc<str>,
    pub(crate) wording: Arc<str>,
    pub(crate) amount: Formula<Number>,
    pub(crate) cost_code: Arc<str>,
    pub(crate) tax_category: Arc<str>,
}

/// On which jobs an answer is needed; on all, where there is no condition.
#[derive(Debug)]
pub(crate) struct NeededRule {
    /// JSON Pointer into the job spec; `*` stands for any place in a list.
    pub(crate) answer: Arc<str>,
    pub(crate) when: Option<Formula<Flag>>,
}
