//! Conditions as tests of single facts, for whoever has no formulas.

use super::parse::parse;
use super::tree::{Compare, Expr, Join, Node};
use crate::job::{Beside, FactTest, Test};
use crate::quantity::Decimal;
use crate::quantity::unit::Unit;

/// So deep are names followed that stand for formulas: a rulebook that was not checked may go in circles.
const MOST_NAMES: usize = 8;

/// The tests all of which must hold for `condition` to; none where it says more than that. `formula` is that of a derived
/// value.
pub(crate) fn tests<'r>(condition: &str, formula: impl Fn(&str) -> Option<&'r str>) -> Option<Vec<FactTest>> {
    let mut gather = Gather {
        formula: &formula,
        left: MOST_NAMES,
        found: Vec::new(),
    };
    gather.condition(&parse(condition).ok()?, true)?;
    Some(gather.found)
}

struct Gather<'f, 'r> {
    formula: &'f dyn Fn(&str) -> Option<&'r str>,
    left: usize,
    found: Vec<FactTest>,
}

impl Gather<'_, '_> {
    /// Gathers what must hold for `expr` to be `truth`.
    fn condition(&mut self, expr: &Expr, truth: bool) -> Option<()> {
        match &expr.node {
            Node::Not(part) => self.condition(part, !truth),
            Node::Logic(join, sides) if truth == (*join == Join::And) => {
                sides.iter().try_for_each(|side| self.condition(side, truth))
            }
            Node::Name(name) => self.flag(name, truth),
            Node::Comparison(compare, sides) => self.comparison(*compare, sides, truth),
            _ => None,
        }
    }

    fn flag(&mut self, name: &str, truth: bool) -> Option<()> {
        match (self.formula)(name) {
            Some(formula) => {
                self.left = self.left.checked_sub(1)?;
                self.condition(&parse(formula).ok()?, truth)
            }
            None => self.keep(name, Test::Is(truth.to_string().into())),
        }
    }

    fn comparison(&mut self, compare: Compare, sides: &[Expr; 2], truth: bool) -> Option<()> {
        let [left, right] = sides;
        let (compare, name, other) = match (&left.node, &right.node) {
            (Node::Name(name), _) if name.contains('.') => (compare, name, right),
            (_, Node::Name(name)) if name.contains('.') => (compare.mirrored(), name, left),
            _ => return None,
        };
        let compare = if truth { compare } else { compare.opposite() };
        let test = match (&other.node, compare) {
            (Node::Name(word) | Node::Quoted(word), Compare::Equal) => Test::Is(word.as_str().into()),
            (Node::Name(word) | Node::Quoted(word), Compare::Unequal) => Test::IsNot(word.as_str().into()),
            (Node::Truth(is), Compare::Equal) => Test::Is(is.to_string().into()),
            (Node::Truth(is), Compare::Unequal) => Test::Is((!is).to_string().into()),
            (_, compare) => {
                let (value, unit) = figure(other)?;
                Test::Lies(beside(compare), value, unit)
            }
        };
        self.keep(name, test)
    }

    fn keep(&mut self, name: &str, test: Test) -> Option<()> {
        self.found.push(FactTest {
            fact: name.into(),
            test,
        });
        Some(())
    }
}

/// A figure as it is written.
fn figure(expr: &Expr) -> Option<(Decimal, Unit)> {
    match &expr.node {
        Node::Number {
            value,
            percent: false,
            unit,
        } => Some((*value, unit.unwrap_or(Unit::ONE))),
        Node::Negate(part) => figure(part).map(|(value, unit)| (-value, unit)),
        _ => None,
    }
}

fn beside(compare: Compare) -> Beside {
    match compare {
        Compare::Equal => Beside::Equal,
        Compare::Unequal => Beside::Unequal,
        Compare::Less => Beside::Under,
        Compare::AtMost => Beside::AtMost,
        Compare::More => Beside::Over,
        Compare::AtLeast => Beside::AtLeast,
    }
}
