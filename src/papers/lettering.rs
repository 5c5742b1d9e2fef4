//! Letters that no font here has: a paper for keeping may not hold one, so another sign takes its place.

use estimate::handoff::unprintable::Unprintable;
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

/// Makes every text of `tree`, which stands at `place`, printable. Those with letters that no font has are put into
/// `missing`, each once.
pub fn make_printable(tree: &mut Value, place: &mut Vec<String>, missing: &mut Vec<Unprintable>) {
    match tree {
        Value::String(text) => {
            let (printed, letters) = printable(text);
            let known = missing.iter().any(|one| one.text == *text);
            if !letters.is_empty() && !known {
                missing.push(Unprintable {
                    place: place.clone(),
                    text: text.clone(),
                    letters,
                });
            }
            *text = printed;
        }
        Value::Array(entries) => entries
            .iter_mut()
            .for_each(|entry| make_printable(entry, place, missing)),
        Value::Object(members) => {
            for (name, member) in members {
                place.push(name.clone());
                make_printable(member, place, missing);
                place.pop();
            }
        }
        _ => {}
    }
}

fn plain(sign: char) -> bool {
    sign == '\n' || (' '..='~').contains(&sign)
}

/// The text with signs that can be printed only, and the letters for which a box stands in it.
pub fn printable(text: &str) -> (String, Vec<char>) {
    let mut missing = Vec::new();
    let mut out = String::with_capacity(text.len());
    for sign in text.chars() {
        if plain(sign) || (!sign.is_control() && !unseen(sign) && Letters::have(sign)) {
            out.push(sign);
        } else if let Some((_, stands)) = EQUIVALENTS.iter().find(|(one, _)| *one == sign) {
            out.push_str(stands);
        } else if !unseen(sign) && !sign.is_control() {
            if !missing.contains(&sign) {
                missing.push(sign);
            }
            out.push(UNKNOWN);
        }
    }
    (out, missing)
}

/// Signs that only steer: joiners, marks of direction, choices of shape. The direction of writing follows from
/// the letters, and a mark of another direction could make an amount read backwards.
fn unseen(sign: char) -> bool {
    matches!(u32::from(sign), 0xad | 0x200b..=0x200f | 0x202a..=0x202e | 0x2060..=0x206f | 0xfe00..=0xfe0f | 0xfeff)
}
