//! Measures inside a sentence that was written for somebody else: found, told apart from the words, and put into the
//! reader's own.

use super::figure;
use super::measures::Measures;
use crate::quantity::unit::Unit;
use crate::quantity::{Quantity, decimal};

/// Units as sentences write them, and as they are read. Degrees are left alone: a sentence does not say whether it
/// speaks of a temperature or of a difference.
const UNITS: [(&str, &str); 13] = [
    ("ft³", "ft3"),
    ("ft3", "ft3"),
    ("ft²", "ft2"),
    ("ft2", "ft2"),
    ("ft/min", ""),
    ("ft", "ft"),
    ("in", "in"),
    ("lb", "lb"),
    ("oz", "oz"),
    ("gal", "gal"),
    ("Btu/h", "Btu/h"),
    ("°F", ""),
    ("%", ""),
];

/// A number in a sentence with the unit behind it.
struct Found<'t> {
    /// Where it begins.
    from: usize,
    /// Where it and its unit end.
    to: usize,
    digits: &'t str,
    /// As it is written, and as it is read where it can be converted.
    unit: Option<(&'static str, &'static str)>,
}

/// The sentence with its lengths, weights and the like in the reader's measures.
pub fn converted(sentence: &str, measures: Measures) -> String {
    if measures == Measures::Customary {
        return sentence.to_owned();
    }
    let mut out = String::with_capacity(sentence.len());
    let mut at = 0;
    for found in numbers(sentence) {
        if let Some(text) = metric(&found, measures) {
            out.push_str(sentence.get(at..found.from).unwrap_or_default());
            out.push_str(&text);
            at = found.to;
        }
    }
    out.push_str(sentence.get(at..).unwrap_or_default());
    out
}

fn metric(found: &Found<'_>, measures: Measures) -> Option<String> {
    let (_, unit) = found.unit.filter(|(_, read)| !read.is_empty())?;
    let shown = measures.shown(&Quantity {
        value: decimal::parse(found.digits, decimal::QUANTITY_SCALE).ok()?,
        unit: Unit::parse(unit).ok()?,
    });
    Some(figure::quantity(&shown))
}

/// The figures of a sentence in the reader's measures, each once, in their order.
pub fn figures(sentence: &str, measures: Measures) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for found in numbers(sentence) {
        let own = || sentence.get(found.from..found.to).unwrap_or_default().to_owned();
        let text = match measures {
            Measures::Customary => own(),
            Measures::Metric => metric(&found, measures).unwrap_or_else(own),
        };
        if !all.contains(&text) {
            all.push(text);
        }
    }
    all
}

/// Every number: digits with points, strokes and hyphens between them, no letter before. A fraction such as `3/8` or
/// `1-1/4` is the name of a size and has no unit that could be converted.
fn numbers(sentence: &str) -> Vec<Found<'_>> {
    let mut all = Vec::new();
    let mut rest = sentence;
    while let Some(begin) = rest.find(|sign: char| sign.is_ascii_digit()) {
        let from = sentence.len() - rest.len() + begin;
        let tail = sentence.get(from..).unwrap_or_default();
        let digits = leading_number(tail);
        let before = sentence.get(..from).and_then(|head| head.chars().next_back());
        let (unit, length) = unit_behind(tail.get(digits.len()..).unwrap_or_default());
        let to = from + digits.len() + length;
        if before.is_none_or(|sign| !sign.is_alphanumeric()) {
            all.push(Found {
                from,
                to,
                digits,
                unit: unit
                    .map(|(written, read)| (written, if digits.contains(['/', '-']) { "" } else { read })),
            });
        }
        rest = sentence.get(from + digits.len()..).unwrap_or_default();
    }
    all
}

/// Digits, and points, strokes or hyphens that have digits on both sides.
fn leading_number(text: &str) -> &str {
    let mut end = 0;
    let mut signs = text.char_indices().peekable();
    while let Some((at, sign)) = signs.next() {
        let joins =
            matches!(sign, '.' | '/' | '-') && signs.peek().is_some_and(|(_, next)| next.is_ascii_digit());
        if !sign.is_ascii_digit() && !joins {
            break;
        }
        end = at + sign.len_utf8();
    }
    text.get(..end).unwrap_or_default()
}

/// The unit behind a number and how much of the text the two take, the blank between them included.
fn unit_behind(text: &str) -> (Option<(&'static str, &'static str)>, usize) {
    let Some(behind) = text.strip_prefix(' ') else {
        return (None, 0);
    };
    let ends = |rest: &str| {
        !rest.starts_with(|sign: char| sign.is_alphanumeric() || matches!(sign, '²' | '³' | '/'))
    };
    let named = |(unit, _): &&(&str, &str)| behind.strip_prefix(*unit).is_some_and(ends);
    match UNITS.iter().find(named) {
        Some(unit) => (Some(*unit), 1 + unit.0.len()),
        None => (None, 0),
    }
}
