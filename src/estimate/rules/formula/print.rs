//! A tree as text, with no more brackets than it needs: reading that text gives the same tree.

use super::tree::{Expr, Join, Node, Sum};
use rust_decimal::Decimal;
use std::borrow::Cow;
use std::fmt;

/// How tightly a part binds when printed; mirrors the order of the grammar.
fn binding(node: &Node) -> u8 {
    match node {
        Node::If(_) => 0,
        Node::Logic(Join::Or, _) => 1,
        Node::Logic(Join::And, _) => 2,
        Node::Not(_) => 3,
        Node::Comparison(..) => 4,
        Node::Arithmetic(Sum::Add | Sum::Subtract, _) => 5,
        Node::Arithmetic(Sum::Multiply | Sum::Divide, _) => 6,
        Node::Negate(_) => 7,
        _ => 8,
    }
}

impl fmt::Display for Expr {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.node {
            Node::Number {
                value, percent: true, ..
            } => {
                let hundredths = value.checked_mul(Decimal::ONE_HUNDRED).unwrap_or_default();
                write!(f, "{} %", hundredths.normalize())
            }
            Node::Number {
                value, unit: None, ..
            } => write!(f, "{value}"),
            Node::Number {
                value,
                unit: Some(unit),
                ..
            } => write!(f, "{value} {}", behind_a_number(&unit.to_string())),
            Node::Unit(unit) => write!(f, "{unit}"),
            Node::Truth(truth) => write!(f, "{truth}"),
            Node::Name(name) => f.write_str(name),
            Node::Quoted(word) => write!(f, "\"{word}\""),
            Node::Negate(part) => {
                f.write_str("-")?;
                part.at_least(f, 7)
            }
            Node::Not(part) => {
                f.write_str("not ")?;
                part.at_least(f, 3)
            }
            Node::Arithmetic(sum, sides) => self.infix(f, sum.sign(), sides),
            Node::Comparison(compare, sides) => self.infix(f, compare.sign(), sides),
            Node::Logic(join, sides) => self.infix(f, join.word(), sides),
            Node::If(parts) => {
                let [condition, yes, no] = parts.as_ref();
                write!(f, "if {condition} then {yes} else {no}")
            }
            Node::Call(call) => list(f, call.function.name(), "(", &call.arguments, ")"),
            Node::Lookup { table, keys, .. } => list(f, table, "[", keys, "]"),
        }
    }
}

/// A unit as it may stand behind a number, where it begins with a name: `1/ft` is `ft/ft2` there.
fn behind_a_number(unit: &str) -> Cow<'_, str> {
    let Some(under) = unit.strip_prefix("1/") else {
        return Cow::Borrowed(unit);
    };
    let (first, rest) = under.split_at(under.find('/').unwrap_or(under.len()));
    let name = first.trim_end_matches(|sign: char| sign.is_ascii_digit());
    let power: u32 = first
        .strip_prefix(name)
        .and_then(|power| power.parse().ok())
        .unwrap_or(1);
    Cow::Owned(format!("{name}/{name}{}{rest}", power + 1))
}

impl Expr {
    fn at_least(&self, f: &mut fmt::Formatter<'_>, least: u8) -> fmt::Result {
        if binding(&self.node) < least {
            write!(f, "({self})")
        } else {
            write!(f, "{self}")
        }
    }

    /// The left side may bind as loosely as the operator itself, the right side must bind tighter;
    /// comparisons are not chained, so that there neither may.
    fn infix(&self, f: &mut fmt::Formatter<'_>, sign: &str, sides: &[Expr; 2]) -> fmt::Result {
        let own = binding(&self.node);
        let chained = matches!(self.node, Node::Comparison(..));
        let [left, right] = sides;
        left.at_least(f, own + u8::from(chained))?;
        write!(f, " {sign} ")?;
        right.at_least(f, own + 1)
    }
}

fn list(f: &mut fmt::Formatter<'_>, name: &str, open: &str, parts: &[Expr], close: &str) -> fmt::Result {
    write!(f, "{name}{open}")?;
    for (at, part) in parts.iter().enumerate() {
        if at > 0 {
            f.write_str(", ")?;
        }
        write!(f, "{part}")?;
    }
    f.write_str(close)
}
