//! A formula of the pricing in words, with the figures that went into it.

use crate::quantity::unit::Unit;
use crate::quantity::{Decimal, Money};
use crate::rules::span::Span;
use crate::rules::trace::{FormulaTrace, Place, Shown, Step, What};

/// A formula in words while its figures are put to it.
pub(super) struct Workings<'a> {
    formula: &'static str,
    steps: Vec<Step<'a>>,
}

/// Begins the workings of a formula.
pub(super) fn of<'a>(formula: &'static str) -> Workings<'a> {
    Workings {
        formula,
        steps: Vec::new(),
    }
}

impl<'a> Workings<'a> {
    /// Says what a name in the formula stands for.
    pub(super) fn with(mut self, name: &'static str, value: Decimal, unit: Unit) -> Self {
        if let Some(start) = self.formula.find(name) {
            self.steps.push(Step {
                text: name,
                span: Span {
                    start,
                    end: start + name.len(),
                },
                what: What::Result,
                value: Shown::Number(value, unit),
            });
        }
        self
    }

    /// The same for an amount.
    pub(super) fn money(self, name: &'static str, amount: Money) -> Self {
        self.with(name, amount.decimal(), Unit::MONEY)
    }

    /// What it comes to.
    pub(super) fn give(self, place: Place<'a>, result: Decimal) -> FormulaTrace<'a> {
        FormulaTrace {
            place,
            formula: self.formula,
            steps: self.steps,
            result: Shown::Number(result, Unit::MONEY),
        }
    }
}
