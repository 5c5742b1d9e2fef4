//! Facts: the named, typed values of a job that formulas may read.
//!
//! Each room that knows something of the job gives its definitions and, for one job, its values in
//! the same order. The definitions are concatenated once, so that a name becomes a place in a list.

use super::unit::Unit;
use rust_decimal::Decimal;
use std::sync::Arc;

/// The number of a word in its domain, from 0. Wide enough for the items of any catalogue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct WordNumber(u32);

impl WordNumber {
    /// The number of the word at a place of its list.
    pub fn at(place: usize) -> Self {
        Self(u32::try_from(place).unwrap_or(u32::MAX))
    }

    /// The place in the list.
    pub fn place(self) -> usize {
        usize::try_from(self.0).unwrap_or(usize::MAX)
    }
}

/// The words that a choice may take, with the name by which a rulebook refers to them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Domain {
    /// The name, such as `mounting`.
    pub name: Arc<str>,
    /// The words in the order of their numbers.
    pub words: Arc<[Arc<str>]>,
}

impl Domain {
    /// A domain of these words.
    pub fn new<'a>(name: &str, words: impl IntoIterator<Item = &'a str>) -> Self {
        Self {
            name: name.into(),
            words: words.into_iter().map(Arc::from).collect(),
        }
    }

    /// The number of a word, if it is one of the domain.
    pub fn number(&self, word: &str) -> Option<WordNumber> {
        self.words
            .iter()
            .position(|known| &**known == word)
            .map(WordNumber::at)
    }

    /// The word of a number.
    pub fn word(&self, number: WordNumber) -> Option<&str> {
        self.words.get(number.place()).map(|word| &**word)
    }
}

/// What sort of value a fact has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FactKind {
    /// A number in this unit.
    Number(Unit),
    /// Yes or no.
    Flag,
    /// One of the domain's words.
    Choice(Domain),
}

/// The value of a fact for one job; its meaning is in the [`FactDef`] at the same place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FactValue {
    /// In the unit of the definition.
    Number(Decimal),
    /// Yes or no.
    Flag(bool),
    /// The number of a word in the definition's domain.
    Choice(WordNumber),
}

/// The least and the greatest value that a number can have, where that is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Bounds {
    /// Least value.
    pub least: Option<Decimal>,
    /// Greatest value.
    pub greatest: Option<Decimal>,
}

impl Bounds {
    /// No number below zero.
    pub const NOT_NEGATIVE: Self = Self {
        least: Some(Decimal::ZERO),
        greatest: None,
    };

    /// From the least to the greatest value.
    pub fn between(least: Decimal, greatest: Decimal) -> Self {
        Self {
            least: Some(least),
            greatest: Some(greatest),
        }
    }

    /// Whether a number is within.
    pub fn admits(&self, value: Decimal) -> bool {
        self.least.is_none_or(|least| value >= least)
            && self.greatest.is_none_or(|greatest| value <= greatest)
    }
}

/// Which room a fact comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum FactSource {
    /// The job spec.
    Job,
    /// The sizing report.
    Sizing,
    /// The chosen equipment in the catalogue.
    Equipment,
    /// An extra input that the rulebook declares.
    Input,
}

/// A fact that formulas may read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FactDef {
    /// Dotted lower-case name, such as `line_set.length`.
    pub name: Arc<str>,
    /// What sort of value it has.
    pub kind: FactKind,
    /// What it means, in words.
    pub meaning: Arc<str>,
    /// Where it comes from.
    pub source: FactSource,
    /// Between what a number lies.
    pub bounds: Bounds,
}

impl FactDef {
    /// A number in a unit; a ratio has [`Unit::ONE`].
    pub fn number(name: &str, unit: Unit, source: FactSource, meaning: &str) -> Self {
        Self {
            name: name.into(),
            kind: FactKind::Number(unit),
            meaning: meaning.into(),
            source,
            bounds: Bounds::default(),
        }
    }

    /// A yes or no.
    pub fn flag(name: &str, source: FactSource, meaning: &str) -> Self {
        Self {
            name: name.into(),
            kind: FactKind::Flag,
            meaning: meaning.into(),
            source,
            bounds: Bounds::default(),
        }
    }

    /// One of a domain's words.
    pub fn choice(name: &str, domain: &Domain, source: FactSource, meaning: &str) -> Self {
        Self {
            name: name.into(),
            kind: FactKind::Choice(domain.clone()),
            meaning: meaning.into(),
            source,
            bounds: Bounds::default(),
        }
    }

    /// The same, between these bounds.
    #[must_use]
    pub fn within(self, bounds: Bounds) -> Self {
        Self { bounds, ..self }
    }

    /// Whether a value is of this definition's kind, and its choice one of the words.
    pub fn admits(&self, value: &FactValue) -> bool {
        match (&self.kind, value) {
            (FactKind::Number(_), FactValue::Number(_)) | (FactKind::Flag, FactValue::Flag(_)) => true,
            (FactKind::Choice(domain), FactValue::Choice(number)) => domain.word(*number).is_some(),
            _ => false,
        }
    }

    /// Whether a number lies within the bounds that are told of it.
    pub fn is_within(&self, value: &FactValue) -> bool {
        match value {
            FactValue::Number(value) => self.bounds.admits(*value),
            FactValue::Flag(_) | FactValue::Choice(_) => true,
        }
    }
}
