//! Sentences of the rules: what the office wrote stays as it is, and the values of the job in them are told in the measures of
//! the paper.
//!
//! An estimate keeps a sentence with its values in it, in the measures of the rules; the rulebook says where they stand.

use super::figure;
use super::measures::Measures;
use super::pattern;
use crate::rules::Rulebook;

/// How a rulebook calls the size of a tube or a screw. The trade knows it by its inches, whoever reads.
const SIZE: &str = "_size";

/// The sentences of a rulebook in which values of the job stand.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RuleSentences {
    /// The code of a check, and its sentence with formulas between braces.
    patterns: Vec<(String, String)>,
}

impl RuleSentences {
    /// Those of `rulebook`.
    pub fn of(rulebook: &Rulebook) -> Self {
        let checks = rulebook.checks.iter();
        let with_values = checks.filter(|check| check.message.contains('{'));
        Self {
            patterns: with_values
                .map(|check| (check.code.as_str().to_owned(), check.message.as_str().to_owned()))
                .collect(),
        }
    }

    /// The sentence `message` of the check `code` with its values in these measures; none where the rules have no such
    /// sentence with values.
    pub(super) fn told(&self, code: &str, message: &str, measures: Measures) -> Option<String> {
        let (_, sentence) = self.patterns.iter().find(|(known, _)| known == code)?;
        let values = pattern::values(sentence, message)?;
        let mut told = values
            .into_iter()
            .map(|(formula, value)| measured(formula, value, measures));
        Some(pattern::filled(sentence, |_| told.next().unwrap_or_default()))
    }
}

fn measured(formula: &str, value: &str, measures: Measures) -> String {
    let stands_for_a_size = formula.trim().ends_with(SIZE);
    match pattern::quantity(value).filter(|_| !stands_for_a_size) {
        None => value.to_owned(),
        Some(quantity) => {
            let shown = measures.shown(&quantity);
            if shown == quantity {
                value.to_owned()
            } else {
                figure::quantity(&shown)
            }
        }
    }
}
