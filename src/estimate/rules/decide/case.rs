//! A case: some jobs, told by what their numbers, choices and flags can be.

use super::linear::Form;
use super::range::Range;
use std::collections::BTreeMap;

/// So much is kept of sums of several numbers.
const MOST_FORMS: usize = 16;

/// A number that is known by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Place {
    Fact(usize),
    Derived(usize),
}

/// Words that a choice may be.
#[derive(Debug, Clone, Copy)]
pub(super) struct Allowed<'w> {
    /// Of the first words, whether each is allowed.
    pub(super) words: &'w [bool],
    /// Whether those beyond are.
    pub(super) beyond: bool,
}

impl<'w> Allowed<'w> {
    /// These and no others.
    pub(super) fn only(words: &'w [bool]) -> Self {
        Self { words, beyond: false }
    }

    pub(super) fn has(self, place: usize) -> bool {
        self.words.get(place).copied().unwrap_or(self.beyond)
    }
}

/// What is known of the jobs of a case; what is not named can be anything that the form lets through.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::rules) struct Case {
    numbers: BTreeMap<Place, Range>,
    /// Of each choice, by the number of its fact, whether each word is possible.
    words: BTreeMap<usize, Vec<bool>>,
    flags: BTreeMap<usize, bool>,
    /// What is known of sums of several numbers, such as of a difference.
    forms: BTreeMap<Form, Range>,
}

impl Case {
    pub(super) fn number(&self, place: Place) -> Range {
        self.numbers.get(&place).copied().unwrap_or_default()
    }

    /// Narrows a number to what also lies within `to`; nothing when nothing is left.
    pub(super) fn with_number(mut self, place: Place, to: Range) -> Option<Self> {
        let left = self.number(place).both(&to);
        if left.is_empty() {
            return None;
        }
        if left != Range::ALL {
            self.numbers.insert(place, left);
        }
        Some(self)
    }

    pub(super) fn knows_forms(&self) -> bool {
        !self.forms.is_empty()
    }

    pub(super) fn form(&self, form: &Form) -> Option<Range> {
        self.forms.get(form).copied()
    }

    /// Narrows a sum of several numbers; nothing when nothing is left.
    pub(super) fn with_form(mut self, form: Form, to: Range) -> Option<Self> {
        let left = self.form(&form).unwrap_or_default().both(&to);
        if left.is_empty() {
            return None;
        }
        if left != Range::ALL && (self.forms.len() < MOST_FORMS || self.forms.contains_key(&form)) {
            self.forms.insert(form, left);
        }
        Some(self)
    }

    pub(super) fn words(&self, fact: usize) -> Option<&[bool]> {
        self.words.get(&fact).map(Vec::as_slice)
    }

    /// Narrows a choice of `count` words; nothing when no word is left.
    pub(super) fn with_words(mut self, fact: usize, count: usize, to: Allowed<'_>) -> Option<Self> {
        let words = self.words.entry(fact).or_insert_with(|| vec![true; count]);
        let mut left = false;
        for (place, possible) in words.iter_mut().enumerate() {
            *possible &= to.has(place);
            left |= *possible;
        }
        left.then_some(self)
    }

    /// Settles a flag; nothing when it is settled the other way.
    pub(super) fn with_flag(mut self, fact: usize, to: bool) -> Option<Self> {
        let known = *self.flags.entry(fact).or_insert(to);
        (known == to).then_some(self)
    }

    /// Whether some job may be of both cases, as far as single facts tell.
    pub(in crate::rules) fn meets(&self, other: &Self) -> bool {
        let numbers = self.numbers.iter().all(|(place, range)| {
            let theirs = other.numbers.get(place);
            theirs.is_none_or(|theirs| !range.both(theirs).is_empty())
        });
        let forms = self.forms.iter().all(|(form, range)| {
            let theirs = other.forms.get(form);
            theirs.is_none_or(|theirs| !range.both(theirs).is_empty())
        });
        let words = self.words.iter().all(|(fact, words)| {
            let theirs = other.words.get(fact);
            theirs.is_none_or(|theirs| words.iter().zip(theirs).any(|(one, two)| *one && *two))
        });
        let flags = self.flags.iter().all(|(fact, flag)| {
            let theirs = other.flags.get(fact);
            theirs.is_none_or(|theirs| theirs == flag)
        });
        numbers && forms && words && flags
    }
}
