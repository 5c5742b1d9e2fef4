//! What is told of an answer that was left out: nothing may stand in for it in silence where it moves the job.

use serde_json::{Value, json};

use super::{Field, Shape};

/// What is told of an answer that was left out.
#[derive(Debug, Clone)]
pub enum LeftOut {
    /// Nothing: it is no answer about the work, or another is given in its place.
    Silent,
    /// What is taken in its place.
    Told {
        /// The value of an answer that has no default but is reckoned with, in normal form.
        value: Option<Value>,
        /// What is taken where no value is.
        words: Option<&'static str>,
        /// Whether the question arises on the job.
        arises: fn(&Around<'_>) -> bool,
    },
}

impl LeftOut {
    /// The default is told on every job.
    pub(in crate::job) fn usual() -> Self {
        Self::Told {
            value: None,
            words: None,
            arises: |_| true,
        }
    }
}

/// What stands around an answer that was left out, in normal form.
#[derive(Debug, Clone, Copy)]
pub struct Around<'j> {
    /// The whole job spec.
    pub job: &'j Value,
    /// The group in which the answer would stand.
    pub group: &'j Value,
}

impl Around<'_> {
    /// The answer beside it is another word than this.
    pub(super) fn beside_is_not(&self, name: &str, word: &str) -> bool {
        self.group[name] != word
    }

    /// The answer beside it is this word.
    pub(super) fn beside_is(&self, name: &str, word: &str) -> bool {
        self.group[name] == word
    }

    /// The flag beside it is set.
    pub(super) fn beside_is_set(&self, name: &str) -> bool {
        self.group[name] == true
    }

    /// A leg of the line set or of the drain passes through this space.
    pub(super) fn route_in(&self, space: &str) -> bool {
        self.drain_in(space) || self.passes("line_set", space)
    }

    /// A leg of the drain does.
    pub(super) fn drain_in(&self, space: &str) -> bool {
        self.passes("drain", space)
    }

    /// A leg of the drain rises: the water is pumped, whatever the others fall.
    pub(super) fn drain_rises(&self) -> bool {
        let mut legs = self.job["drain"]["legs"].as_array().into_iter().flatten();
        legs.any(|leg| leg["direction"] == "rise")
    }

    fn passes(&self, route: &str, space: &str) -> bool {
        let mut legs = self.job[route]["legs"].as_array().into_iter().flatten();
        legs.any(|leg| leg["space"] == space)
    }
}

impl Field {
    /// It may be left out, and then these words say what is reckoned with.
    pub(super) fn or_words(mut self, words: &'static str) -> Self {
        self = self.optional();
        self.left_out = LeftOut::Told {
            value: None,
            words: Some(words),
            arises: |_| true,
        };
        self
    }

    /// It may be left out, and then this measure in the form's own unit is reckoned with.
    pub(super) fn or_reckoned(mut self, value: &str) -> Self {
        let unit = match &self.shape {
            Shape::Measure { unit, .. } => unit.symbol(),
            _ => String::new(),
        };
        self = self.optional();
        self.left_out = LeftOut::Told {
            value: Some(json!({"value": value, "unit": unit})),
            words: None,
            arises: |_| true,
        };
        self
    }

    /// What is taken is told on such jobs only.
    pub(super) fn told_where(mut self, on: fn(&Around<'_>) -> bool) -> Self {
        if let LeftOut::Told { arises, .. } = &mut self.left_out {
            *arises = on;
        }
        self
    }

    /// What is taken is not told: it is a way to ask, and no answer about the work.
    pub(super) fn untold(mut self) -> Self {
        self.left_out = LeftOut::Silent;
        self
    }
}
