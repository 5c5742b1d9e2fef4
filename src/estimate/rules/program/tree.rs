//! Trees by the type of their value, so that no run can meet a value of the wrong type.

use super::{DomainId, Scale};
use crate::quantity::fact::WordNumber;
use crate::quantity::rounding::Towards;
use crate::quantity::unit::Unit;
use crate::rules::formula::{Compare, Join, Sum};
use rust_decimal::Decimal;

/// A place in the notes of the formula that a node belongs to.
pub(crate) type NoteId = u32;

/// A node whose value is a number; its unit is in its note.
#[derive(Debug)]
pub(crate) struct Number {
    pub(crate) note: NoteId,
    pub(crate) op: NumberOp,
}

impl Number {
    /// Whether what comes out was brought to a step, whatever bounds it besides.
    pub(crate) fn is_stepped(&self) -> bool {
        match &self.op {
            NumberOp::Step(..) => true,
            NumberOp::Convert(_, part) => part.is_stepped(),
            NumberOp::Least(first, rest) | NumberOp::Greatest(first, rest) => {
                first.is_stepped() || rest.iter().any(Self::is_stepped)
            }
            NumberOp::Clamp(parts) => parts.iter().any(Self::is_stepped),
            NumberOp::If(_, branches) => branches.iter().any(Self::is_stepped),
            _ => false,
        }
    }
}

#[derive(Debug)]
pub(crate) enum NumberOp {
    Given(Decimal),
    Fact(usize),
    Derived(usize),
    Negate(Box<Number>),
    Absolute(Box<Number>),
    Arithmetic(Sum, Box<[Number; 2]>),
    Least(Box<Number>, Vec<Number>),
    Greatest(Box<Number>, Vec<Number>),
    /// Value, lower end, upper end.
    Clamp(Box<[Number; 3]>),
    /// To a multiple of the step, which is above zero.
    Step(Towards, Box<Number>, Decimal),
    Convert(Scale, Box<Number>),
    If(Box<Flag>, Box<[Number; 2]>),
    Cell(usize, Vec<KeyValue>),
    /// The curve, its keys but the numeric one, the numeric one.
    Curve(usize, Vec<KeyValue>, Box<Number>),
}

/// A node whose value is yes or no.
#[derive(Debug)]
pub(crate) struct Flag {
    pub(crate) note: NoteId,
    pub(crate) op: FlagOp,
}

#[derive(Debug)]
pub(crate) enum FlagOp {
    Given(bool),
    Fact(usize),
    Derived(usize),
    Not(Box<Flag>),
    Logic(Join, Box<[Flag; 2]>),
    Compare(Compare, Box<[Number; 2]>),
    /// Whether the two are the same, or are not.
    SameWord(bool, Box<[Choice; 2]>),
    SameFlag(bool, Box<[Flag; 2]>),
    If(Box<[Flag; 3]>),
    Cell(usize, Vec<KeyValue>),
}

/// A node whose value is a word of a domain, by its number.
#[derive(Debug)]
pub(crate) struct Choice {
    pub(crate) note: NoteId,
    pub(crate) op: ChoiceOp,
}

#[derive(Debug)]
pub(crate) enum ChoiceOp {
    Given(WordNumber),
    Fact(usize),
    Derived(usize),
    If(Box<Flag>, Box<[Choice; 2]>),
    Cell(usize, Vec<KeyValue>),
}

/// What a table is looked up by.
#[derive(Debug)]
pub(crate) enum KeyValue {
    Number(Number),
    Flag(Flag),
    Choice(Choice),
}

/// A node of any type.
#[derive(Debug)]
pub(crate) enum Typed {
    Number(Number, Unit),
    Flag(Flag),
    Choice(Choice, DomainId),
}
