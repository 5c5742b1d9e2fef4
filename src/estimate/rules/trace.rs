//! How each result of a run came about: the formula, the values that went in, the steps between.

use super::outcome::{AssemblyHead, LineHead};
use super::span::Span;
use crate::quantity::decimal;
use crate::quantity::rounding::{Mode, to_scale};
use crate::quantity::unit::Unit;
use rust_decimal::Decimal;
use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};
use std::collections::{BTreeSet, HashMap};
use std::fmt;

/// Every formula that was computed, in the order in which each was finished. A derived value is
/// computed once, when something first needs it, and then stands before whatever needed it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trace<'p> {
    /// The formulas.
    pub formulas: Vec<FormulaTrace<'p>>,
}

impl<'p> Trace<'p> {
    /// The formulas by what they belong to.
    pub fn by_subject(&self) -> BySubject<'_, 'p> {
        let mut places: HashMap<Subject<'p>, Vec<usize>> = HashMap::with_capacity(self.formulas.len());
        for (place, formula) in self.formulas.iter().enumerate() {
            if let Some(subject) = formula.place.subject() {
                places.entry(subject).or_default().push(place);
            }
        }
        BySubject {
            formulas: &self.formulas,
            places,
        }
    }

    /// The formula of a derived value, if anything needed it.
    pub fn of_derived(&self, name: &str) -> Option<&FormulaTrace<'p>> {
        self.formulas
            .iter()
            .find(|formula| matches!(formula.place, Place::Derived { name: n } if n == name))
    }
}

/// What formulas belong to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Subject<'p> {
    /// A derived value, by name.
    Derived(&'p str),
    /// A labour factor, by name.
    Factor(&'p str),
    /// The condition of an assembly, by its place.
    Assembly(usize),
    /// A line, by the place of its assembly and its number.
    Line(usize, usize),
    /// The amount set aside for an unknown answer, by its JSON Pointer.
    Allowance(&'p str),
}

/// The formulas of a trace by what they belong to.
#[derive(Debug, Clone)]
pub struct BySubject<'t, 'p> {
    formulas: &'t [FormulaTrace<'p>],
    places: HashMap<Subject<'p>, Vec<usize>>,
}

impl<'p> BySubject<'_, 'p> {
    /// How the subjects came about: first the formulas of every derived value that is read on the way, each
    /// once and before what reads it; then the formulas of the subjects themselves, in the given order.
    pub fn behind(&self, subjects: impl IntoIterator<Item = Subject<'p>>) -> Vec<FormulaTrace<'p>> {
        let mut own: Vec<usize> = Vec::new();
        for subject in subjects {
            for place in self.places.get(&subject).into_iter().flatten() {
                if !own.contains(place) {
                    own.push(*place);
                }
            }
        }
        // A derived value was finished before whatever read it, so that the order of places is the order
        // in which one builds on another.
        let mut derived = BTreeSet::new();
        let mut unread = own.clone();
        while let Some(formula) = unread.pop().and_then(|place| self.formulas.get(place)) {
            let read = formula
                .steps
                .iter()
                .filter(|step| step.what == What::Derived)
                .filter_map(|step| self.places.get(&Subject::Derived(step.text)));
            unread.extend(read.flatten().filter(|place| derived.insert(**place)));
        }
        let places = derived.into_iter().chain(own);
        places
            .filter_map(|place| self.formulas.get(place).cloned())
            .collect()
    }
}

/// Where a formula stands: in the rulebook, among the percentages of the policy, or in the arithmetic of the
/// pricing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place<'p> {
    /// The formula of a derived value.
    Derived {
        /// Its name.
        name: &'p str,
    },
    /// A labour factor.
    Factor {
        /// Its name.
        name: &'p str,
        /// `when` or `add`.
        field: &'static str,
    },
    /// The condition of an assembly.
    Assembly {
        /// The assembly.
        assembly: &'p AssemblyHead,
    },
    /// A line of an assembly.
    Line {
        /// The line.
        line: &'p LineHead,
        /// `when`, `item_from`, `quantity`, `waste`, `hours`, `crew` or `amount`.
        field: &'static str,
    },
    /// The condition of a check, an exclusion or a completeness subject.
    Condition {
        /// `check`, `exclusion` or `completeness`.
        of: &'static str,
        /// Its code.
        code: &'p str,
    },
    /// A value in the message of a check.
    Message {
        /// The check's code.
        code: &'p str,
    },
    /// The amount set aside for an unknown answer.
    Allowance {
        /// JSON Pointer of the answer.
        answer: &'p str,
    },
    /// A line that the pricing policy makes.
    Policy {
        /// `freight`, `consumables` or `use tax`.
        line: &'static str,
        /// The tax category, where the line has a part for each.
        category: Option<&'p str>,
    },
    /// What packs of one size cost.
    Packs {
        /// What the trade calls one.
        pack: &'p str,
    },
    /// What the hours of a labour class cost.
    Class {
        /// The class.
        class: &'p str,
    },
    /// An amount of a line.
    Amount {
        /// `cost`, `price`, or the price at a step before it.
        figure: &'static str,
    },
    /// An amount of the job.
    Total {
        /// Which.
        figure: &'static str,
        /// The tax category, where each has its own.
        category: Option<&'p str>,
    },
}

impl<'p> Place<'p> {
    /// A field of a line.
    pub(crate) fn of_line(line: &'p LineHead, field: &'static str) -> Self {
        Place::Line { line, field }
    }

    /// What it belongs to; none for what makes no line.
    fn subject(&self) -> Option<Subject<'p>> {
        match *self {
            Place::Derived { name } => Some(Subject::Derived(name)),
            Place::Factor { name, .. } => Some(Subject::Factor(name)),
            Place::Assembly { assembly } => Some(Subject::Assembly(assembly.place)),
            Place::Line { line, .. } => Some(Subject::Line(line.assembly.place, line.number)),
            Place::Allowance { answer } => Some(Subject::Allowance(answer)),
            Place::Condition { .. }
            | Place::Message { .. }
            | Place::Policy { .. }
            | Place::Packs { .. }
            | Place::Class { .. }
            | Place::Amount { .. }
            | Place::Total { .. } => None,
        }
    }
}

impl fmt::Display for Place<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Place::Derived { name } => write!(f, "derived value {name}"),
            Place::Factor { name, field } => write!(f, "labour factor {name}, {field}"),
            Place::Assembly { assembly } => write!(f, "assembly {}, when", assembly.code),
            Place::Line { line, field } => {
                write!(
                    f,
                    "assembly {}, line {}, {field}",
                    line.assembly.code, line.number
                )
            }
            Place::Condition { of, code } => write!(f, "{of} {code}, when"),
            Place::Message { code } => write!(f, "check {code}, message"),
            Place::Allowance { answer } => write!(f, "unknown answer {answer}, amount"),
            Place::Policy { line, category: None } => write!(f, "policy, {line}"),
            Place::Policy {
                line,
                category: Some(category),
            } => write!(f, "policy, {line}, category {category}"),
            Place::Packs { pack } => write!(f, "packs, {pack}"),
            Place::Class { class } => write!(f, "labour class {class}, cost"),
            Place::Amount { figure } => write!(f, "line, {figure}"),
            Place::Total {
                figure,
                category: None,
            } => write!(f, "job, {figure}"),
            Place::Total {
                figure,
                category: Some(category),
            } => write!(f, "job, {figure}, category {category}"),
        }
    }
}

/// One formula and how its result came about. As JSON: `{"place", "formula", "steps", "result"}`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FormulaTrace<'p> {
    /// Where it stands.
    #[serde(serialize_with = "as_text")]
    pub place: Place<'p>,
    /// The formula as it stands in the rulebook; of the policy and the pricing, in words.
    pub formula: &'p str,
    /// What was read and computed, in order; branches that were not taken are absent.
    pub steps: Vec<Step<'p>>,
    /// The result, in the unit that the place asks for.
    pub result: Shown<'p>,
}

/// One value on the way to a result. As JSON: `{"text", "start", "end", "value", …}`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Step<'p> {
    /// The part of the formula that has this value.
    pub text: &'p str,
    /// Where that part stands in the formula, in bytes.
    #[serde(flatten)]
    pub span: Span,
    /// What sort of step it is.
    #[serde(flatten)]
    pub what: What<'p>,
    /// The value.
    pub value: Shown<'p>,
}

/// The sort of a step.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum What<'p> {
    /// A fact or extra input was read.
    Fact,
    /// A derived value was read; it has a formula of its own.
    Derived,
    /// A value was expressed in another unit.
    Conversion,
    /// A table was looked up.
    Cell {
        /// The table.
        table: &'p str,
        /// The row that applied, from 1 as the rulebook lists them; the lower one of two between
        /// which the value was interpolated.
        row: usize,
    },
    /// An operation was computed.
    Result,
}

/// A value as it is shown to a person.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shown<'p> {
    /// A number in its unit.
    Number(Decimal, Unit),
    /// Yes or no.
    Flag(bool),
    /// A word, or an item's code.
    Word(&'p str),
}

/// Most decimals of a number that is shown; the value that is computed with has them all.
const SHOWN_SCALE: u32 = 6;

impl Shown<'_> {
    fn digits(value: Decimal) -> String {
        decimal::plain(to_scale(value, SHOWN_SCALE, Mode::HalfUp))
    }
}

impl fmt::Display for Shown<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Shown::Number(value, unit) if *unit == Unit::ONE => f.write_str(&Self::digits(*value)),
            Shown::Number(value, unit) => write!(f, "{} {unit}", Self::digits(*value)),
            Shown::Flag(true) => f.write_str("yes"),
            Shown::Flag(false) => f.write_str("no"),
            Shown::Word(word) => f.write_str(word),
        }
    }
}

/// A number is a quantity object, a flag a boolean, a word a text.
impl Serialize for Shown<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Shown::Number(value, unit) => {
                let mut out = serializer.serialize_struct("Quantity", 2)?;
                out.serialize_field("value", &Self::digits(*value))?;
                out.serialize_field("unit", unit)?;
                out.end()
            }
            Shown::Flag(flag) => serializer.serialize_bool(*flag),
            Shown::Word(word) => serializer.serialize_str(word),
        }
    }
}

fn as_text<S: Serializer>(place: &Place<'_>, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(place)
}
