//! Who is whom among those who write at a quote. A person may come in under another name: a token says whatever name its
//! issuer has today, and a name can be written in more than one way.

use std::collections::BTreeSet;

use icu_normalizer::ComposingNormalizerBorrowed;

use crate::desk::{Desk, DeskFault};

/// Names, each with what let that person in and nobody else: a key of one person, or the subject of a token.
#[derive(Debug, Default)]
pub(super) struct People(Vec<(String, String)>);

/// A name without what tells no two people apart: case, width, and how much white space of which kind there is.
fn folded(name: &str) -> String {
    let composed = ComposingNormalizerBorrowed::new_nfkc().normalize(name);
    let lower = composed.to_lowercase();
    lower.split_whitespace().collect::<Vec<_>>().join(" ")
}

impl People {
    fn new(found: Vec<(String, String)>) -> Self {
        let found = found.into_iter();
        Self(found.map(|(name, key)| (folded(&name), key)).collect())
    }

    /// Whether two names are of one person: they are the same name, or one key or token let both in.
    pub(super) fn are_one(&self, one: &str, other: &str) -> bool {
        let mut names = BTreeSet::from([folded(one)]);
        loop {
            let keys: BTreeSet<&String> = self
                .0
                .iter()
                .filter(|(name, _)| names.contains(name))
                .map(|(_, key)| key)
                .collect();
            let more = self.0.iter().filter(|(_, key)| keys.contains(key));
            let more: BTreeSet<String> = more.map(|(name, _)| name.clone()).collect();
            let before = names.len();
            names.extend(more);
            if names.len() == before {
                return names.contains(&folded(other));
            }
        }
    }
}

impl Desk {
    /// Those who wrote at a quote, and whoever this desk is in the hands of.
    pub(super) fn people(&self, quote: &str) -> Result<People, DeskFault> {
        Ok(People::new(self.store.writers_of_quote(quote)?))
    }
}
