//! Letters that no font here has: a paper for keeping may not hold one, so another sign takes its place.

use std::collections::BTreeSet;

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

/// Makes every text of `tree` printable. Letters that no font has are put into `missing`.
pub fn make_printable(tree: &mut Value, missing: &mut BTreeSet<char>) {
    match tree {
        Value::String(text) => *text = printable(text, missing),
        Value::Array(entries) => entries
            .iter_mut()
            .for_each(|entry| make_printable(entry, missing)),
        Value::Object(members) => members
            .values_mut()
            .for_each(|member| make_printable(member, missing)),
        _ => {}
    }
}

fn plain(sign: char) -> bool {
    sign == '\n' || (' '..='~').contains(&sign)
}

/// The text with signs that can be printed only.
pub fn printable(text: &str, missing: &mut BTreeSet<char>) -> String {
    let mut out = String::with_capacity(text.len());
    for sign in text.chars() {
        if plain(sign) || (!sign.is_control() && !unseen(sign) && Letters::have(sign)) {
            out.push(sign);
        } else if let Some((_, stands)) = EQUIVALENTS.iter().find(|(one, _)| *one == sign) {
            out.push_str(stands);
        } else if !unseen(sign) && !sign.is_control() {
            missing.insert(sign);
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
