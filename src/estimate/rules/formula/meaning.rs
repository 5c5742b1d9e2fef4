//! What a formula says, apart from how it is spelled: two formulas with the same meaning text differ at
//! most in spaces, brackets that are not needed, figures such as `1.50` for `1.5`, `5 %` for `0.05`, or
//! quotes around a word.

use super::parse::parse;
use super::tree::{Expr, Join, Node};
use crate::quantity::decimal::plain;

/// A text that is the same for every spelling of a formula; nothing where the text is no formula.
pub(crate) fn meaning(text: &str) -> Option<String> {
    let expr = parse(text).ok()?;
    let mut written = String::with_capacity(text.len() + 16);
    write(&expr, &mut written);
    Some(written)
}

/// Every part in brackets, its operator first.
fn write(expr: &Expr, to: &mut String) {
    match &expr.node {
        Node::Number {
            value, unit: None, ..
        } => to.push_str(&plain(*value)),
        Node::Number {
            value,
            unit: Some(unit),
            ..
        } => to.push_str(&format!("{} {unit}", plain(*value))),
        Node::Unit(unit) => to.push_str(&format!("1 {unit}")),
        Node::Truth(truth) => to.push_str(if *truth { "true" } else { "false" }),
        // Beside a choice, a word means the same with quotes and without.
        Node::Name(word) | Node::Quoted(word) => to.push_str(&format!("'{word}'")),
        Node::Logic(join, _) => {
            to.push('(');
            to.push_str(join.word());
            chain(expr, *join, to);
            to.push(')');
        }
        Node::Negate(_) => list("-", expr, to),
        Node::Not(_) => list("not", expr, to),
        Node::Arithmetic(sum, _) => list(sum.sign(), expr, to),
        Node::Comparison(compare, _) => list(compare.sign(), expr, to),
        Node::If(_) => list("if", expr, to),
        Node::Call(call) => list(call.function.name(), expr, to),
        Node::Lookup { table, .. } => list(&format!("[{table}]"), expr, to),
    }
}

fn list(head: &str, expr: &Expr, to: &mut String) {
    to.push('(');
    to.push_str(head);
    for part in expr.node.parts() {
        to.push(' ');
        write(part, to);
    }
    to.push(')');
}

/// The parts of a chain of the same joining word, however they are bracketed.
fn chain(expr: &Expr, join: Join, to: &mut String) {
    match &expr.node {
        Node::Logic(own, sides) if *own == join => {
            for side in sides.iter() {
                chain(side, join, to);
            }
        }
        _ => {
            to.push(' ');
            write(expr, to);
        }
    }
}
