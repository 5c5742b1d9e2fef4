//! Cautions that carry figures, in Spanish: the figures are found in the English sentence and stand in the Spanish one
//! under the same names.

use super::load;
use super::told_rows::{CAUTIONS, PARTS};
use crate::handoff::pattern;

/// The name of a face of the cellar, which sizing names where the survey does not.
const FACE: &str = "face";
/// What stands between parts of one kind.
const BETWEEN_PARTS: &str = "; ";

/// The Spanish of a caution with its figures in place; none where its sentence is not of that shape.
pub fn spanish(code: &str, message: &str) -> Option<String> {
    let rows = CAUTIONS.iter().filter(|(known, ..)| *known == code);
    rows.into_iter()
        .find_map(|(_, english, spanish)| told(english, spanish, message))
}

fn told(english: &str, spanish: &str, sentence: &str) -> Option<String> {
    let values = pattern::values(english, sentence)?;
    Some(pattern::filled(spanish, |name| {
        let found = values.iter().find(|(known, _)| *known == name);
        let value = found.map(|(_, value)| *value).unwrap_or_default();
        match load::spanish(value).filter(|_| name == FACE) {
            Some(face) => face.to_owned(),
            None => parts(value),
        }
    }))
}

/// A figure as it is; words of the program, one part or several, in Spanish.
fn parts(value: &str) -> String {
    let part = |text: &str| {
        let mut rows = PARTS.iter();
        rows.find_map(|(english, spanish)| told(english, spanish, text))
    };
    let each = || {
        value
            .split(BETWEEN_PARTS)
            .map(|one| part(one).unwrap_or_else(|| one.to_owned()))
    };
    part(value).unwrap_or_else(|| each().collect::<Vec<_>>().join(BETWEEN_PARTS))
}
