//! Letters that no font here has: a paper for keeping may not hold one, so another sign takes its place.

use serde_json::Value;

use crate::world::Letters;

/// Signs of the trade and of typing, and what stands for them.
const EQUIVALENTS: [(char, &str); 9] = [
    ('\u{2212}', "–"),
    ('≤', "<="),
    ('≥', ">="),
    ('→', "->"),
    ('≈', "~"),
    ('√', "sqrt "),
    ('φ', "phi"),
    ('\t', " "),
    ('\u{a0}', " "),
];

/// The sign for a letter that nothing stands for.
const UNKNOWN: char = '\u{fffd}';

/// Makes every text of `tree` printable.
pub fn make_printable(tree: &mut Value) {
    match tree {
        Value::String(text) => {
            if text.chars().any(|sign| !plain(sign)) {
                *text = printable(text);
            }
        }
        Value::Array(entries) => entries.iter_mut().for_each(make_printable),
        Value::Object(members) => members.values_mut().for_each(make_printable),
        _ => {}
    }
}

fn plain(sign: char) -> bool {
    sign == '\n' || (' '..='~').contains(&sign)
}

/// The text with signs that can be printed only.
pub fn printable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for sign in text.chars() {
        if plain(sign) || (!sign.is_control() && !unseen(sign) && Letters::have(sign)) {
            out.push(sign);
        } else if let Some((_, stands)) = EQUIVALENTS.iter().find(|(one, _)| *one == sign) {
            out.push_str(stands);
        } else if !unseen(sign) && !sign.is_control() {
            out.push(UNKNOWN);
        }
    }
    out
}

/// Signs that only steer: joiners, marks of direction, choices of shape. The direction of writing follows from
/// the letters, and a mark of another direction could make an amount read backwards.
fn unseen(sign: char) -> bool {
    matches!(u32::from(sign), 0xad | 0x200b..=0x200f | 0x202a..=0x202e | 0x2060..=0x206f | 0xfe00..=0xfe0f | 0xfeff)
}
