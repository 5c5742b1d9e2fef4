//! Sentences with names between braces, as rules and translations have them: what stands in a sentence for each name, and a
//! sentence with something in the place of each.

use crate::quantity::unit::Unit;
use crate::quantity::{Quantity, decimal};

/// What stands in `sentence` for each name in `pattern`, in their order; none where it is not of that shape.
pub fn values<'t>(pattern: &'t str, sentence: &'t str) -> Option<Vec<(&'t str, &'t str)>> {
    let mut pieces = pattern.split('{');
    let mut rest = sentence.strip_prefix(pieces.next().unwrap_or_default())?;
    let names = pattern.matches('{').count();
    let mut named = Vec::new();
    for piece in pieces {
        let (name, words) = piece.split_once('}')?;
        let (value, after) = if named.len() + 1 == names {
            (rest.strip_suffix(words)?, "")
        } else {
            let (value, behind) = rest.split_at_checked(end_of_value(rest, words)?)?;
            (value, behind.strip_prefix(words)?)
        };
        named.push((name, value));
        rest = after;
    }
    rest.is_empty().then_some(named)
}

/// The pattern with what `value` says in the place of each name, in their order.
pub fn filled(pattern: &str, mut value: impl FnMut(&str) -> String) -> String {
    let mut pieces = pattern.split('{');
    let mut out = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (name, words) = piece.split_once('}').unwrap_or((piece, ""));
        out.push_str(&value(name));
        out.push_str(words);
    }
    out
}

/// A number with the unit behind it, as a value stands in a sentence.
pub fn quantity(text: &str) -> Option<Quantity> {
    let (number, unit) = text.split_once(' ')?;
    Some(Quantity {
        value: decimal::parse(number, decimal::QUANTITY_SCALE).ok()?,
        unit: Unit::parse(unit).ok()?,
    })
}

/// Where a value ends that has `words` behind it: a number ends behind its unit, anything else where the words come first.
fn end_of_value(rest: &str, words: &str) -> Option<usize> {
    let ends = || rest.match_indices(words).map(|(at, _)| at);
    let measured = ends().filter(|end| rest.get(..*end).is_some_and(|value| quantity(value).is_some()));
    measured.last().or_else(|| ends().next())
}
