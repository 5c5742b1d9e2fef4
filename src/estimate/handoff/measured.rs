//! Measures inside a sentence that was written for somebody else: found, told apart from the words, and put into the
//! reader's own.

use super::figure;
use super::measures::Measures;
use crate::quantity::unit::Unit;
use crate::quantity::{Quantity, decimal};

/// Units as sentences write them, and as they are read.
const UNITS: [(&str, &str); 16] = [
    ("ft³", "ft3"),
    ("ft3", "ft3"),
    ("ft²", "ft2"),
    ("ft2", "ft2"),
    ("ft/min", "ft/min"),
    ("ft", "ft"),
    ("in", "in"),
    ("lb", "lb"),
    ("oz", "oz"),
    ("gal/h", "gal/h"),
    ("gal", "gal"),
    ("Btu/h per ft³", "Btu/h/ft3"),
    ("Btu/h", "Btu/h"),
    ("Btu/(h·ft²·°F)", "Btu/h/ft2/F_diff"),
    ("°F", "degF"),
    ("%", ""),
];

/// What stands behind degrees, and before them, where they tell by how much two temperatures differ.
const DIFFERS: [&str; 10] = [
    "over",
    "under",
    "above",
    "below",
    "of subcooling",
    "of saturated",
    "lost",
    "too much",
    "allowed",
    "colder",
];
const DIFFERS_BY: [&str; 3] = ["by", "keeps", "usual"];

/// What stands between two numbers of which one has the unit of the other: before the second, and, where that is not enough,
/// behind it.
const SHARED: [(&str, &str); 9] = [
    (" to ", ""),
    (" by ", ""),
    (" where ", " are needed"),
    (" and the cellar has ", ""),
    (" are needed, ", " short"),
    (", ", " short"),
    (", ", " over"),
    (", ", " more than"),
    ("; ", " to "),
];

/// A number in a sentence with the unit behind it.
struct Found<'t> {
    /// Where it begins.
    from: usize,
    /// Where it and its unit end.
    to: usize,
    number: &'t str,
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
        value: decimal::parse(found.number, decimal::QUANTITY_SCALE).ok()?,
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
            let from = from - usize::from(is_negative(sentence, from));
            let around = (
                sentence.get(..from).unwrap_or_default(),
                sentence.get(to..).unwrap_or_default(),
            );
            let read = |read| match read {
                _ if digits.contains(['/', '-']) => "",
                "degF" if is_difference(around) => "F_diff",
                read => read,
            };
            all.push(Found {
                from,
                to,
                number: sentence.get(from..to - length).unwrap_or_default(),
                unit: unit.map(|(written, name)| (written, read(name))),
            });
        }
        rest = sentence
            .get(sentence.len() - tail.len() + digits.len()..)
            .unwrap_or_default();
    }
    share_units(sentence, &mut all);
    all
}

/// In `20 to 120 °F` the first number is of the unit of the second, and in `400 W where 500 are needed, 100 short` those behind
/// are of the unit of the first.
fn share_units(sentence: &str, all: &mut [Found<'_>]) {
    for at in 1..all.len() {
        let Some([first, second]) = all.get_mut(at - 1..=at) else {
            continue;
        };
        let between = sentence.get(first.to..second.from).unwrap_or_default();
        let behind = sentence.get(second.to..).unwrap_or_default();
        let mut shared = SHARED.iter();
        if shared.any(|(words, more)| between == *words && behind.starts_with(more)) {
            match (first.unit, second.unit) {
                (None, unit) => first.unit = unit,
                (unit, None) => second.unit = unit,
                _ => {}
            }
        }
    }
}

/// Whether the number at `from` has a minus sign of its own, and not a hyphen.
fn is_negative(sentence: &str, from: usize) -> bool {
    let head = sentence.get(..from).and_then(|head| head.strip_suffix('-'));
    head.is_some_and(|head| head.is_empty() || head.ends_with([' ', '(']))
}

/// Whether degrees tell a difference, from the words before and behind them.
fn is_difference((before, behind): (&str, &str)) -> bool {
    let behind = behind.trim_start();
    DIFFERS.iter().any(|words| behind.starts_with(words))
        || DIFFERS_BY
            .iter()
            .any(|word| before.trim_end().ends_with(&format!(" {word}")))
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
