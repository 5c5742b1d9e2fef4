//! Every part of a formula's tree, whatever its type.

use super::{Choice, ChoiceOp, Flag, FlagOp, KeyValue, Number, NumberOp};

/// A node of a tree.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Part<'p> {
    Number(&'p Number),
    Flag(&'p Flag),
    Choice(&'p Choice),
}

impl<'p> Part<'p> {
    pub(crate) fn key(key: &'p KeyValue) -> Self {
        match key {
            KeyValue::Number(number) => Self::Number(number),
            KeyValue::Flag(flag) => Self::Flag(flag),
            KeyValue::Choice(choice) => Self::Choice(choice),
        }
    }

    /// Calls `visit` for this part and every part below it. Derived values are not entered.
    pub(crate) fn walk(self, visit: &mut dyn FnMut(Part<'p>)) {
        visit(self);
        for part in self.below() {
            part.walk(visit);
        }
    }

    /// The parts directly below.
    pub(crate) fn below(self) -> Vec<Part<'p>> {
        match self {
            Self::Number(number) => below_number(number),
            Self::Flag(flag) => below_flag(flag),
            Self::Choice(choice) => match &choice.op {
                ChoiceOp::Given(_) | ChoiceOp::Fact(_) | ChoiceOp::Derived(_) => Vec::new(),
                ChoiceOp::If(condition, branches) => {
                    let mut parts = vec![Part::Flag(condition)];
                    parts.extend(branches.iter().map(Part::Choice));
                    parts
                }
                ChoiceOp::Cell(_, keys) => keys.iter().map(Part::key).collect(),
            },
        }
    }
}

fn below_number(number: &Number) -> Vec<Part<'_>> {
    match &number.op {
        NumberOp::Given(_) | NumberOp::Fact(_) | NumberOp::Derived(_) => Vec::new(),
        NumberOp::Negate(part)
        | NumberOp::Absolute(part)
        | NumberOp::Step(_, part, _)
        | NumberOp::Convert(_, part) => vec![Part::Number(part)],
        NumberOp::Arithmetic(_, sides) => sides.iter().map(Part::Number).collect(),
        NumberOp::Least(first, rest) | NumberOp::Greatest(first, rest) => {
            let mut parts = vec![Part::Number(first)];
            parts.extend(rest.iter().map(Part::Number));
            parts
        }
        NumberOp::Clamp(parts) => parts.iter().map(Part::Number).collect(),
        NumberOp::If(condition, branches) => {
            let mut parts = vec![Part::Flag(condition)];
            parts.extend(branches.iter().map(Part::Number));
            parts
        }
        NumberOp::Cell(_, keys) => keys.iter().map(Part::key).collect(),
        NumberOp::Curve(_, keys, at) => {
            let mut parts: Vec<_> = keys.iter().map(Part::key).collect();
            parts.push(Part::Number(at));
            parts
        }
    }
}

fn below_flag(flag: &Flag) -> Vec<Part<'_>> {
    match &flag.op {
        FlagOp::Given(_) | FlagOp::Fact(_) | FlagOp::Derived(_) => Vec::new(),
        FlagOp::Not(part) => vec![Part::Flag(part)],
        FlagOp::Logic(_, sides) | FlagOp::SameFlag(_, sides) => sides.iter().map(Part::Flag).collect(),
        FlagOp::Compare(_, sides) => sides.iter().map(Part::Number).collect(),
        FlagOp::SameWord(_, sides) => sides.iter().map(Part::Choice).collect(),
        FlagOp::If(parts) => parts.iter().map(Part::Flag).collect(),
        FlagOp::Cell(_, keys) => keys.iter().map(Part::key).collect(),
    }
}
