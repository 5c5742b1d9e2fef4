//! Whether an answer is needed beside the others of its group, told so that a form on a screen can follow it.

use serde_json::{Value, json};

use super::{Field, Need, Shape};
use crate::job::read::word_of;

/// Answers of the same group that stand in the place of this one.
#[derive(Debug, Clone, Copy, Default)]
pub struct Instead {
    /// It is needed while none of these is given.
    pub needed_unless: &'static [&'static str],
    /// It must be left out where one of these is given.
    pub not_beside: &'static [&'static str],
}

impl Field {
    /// It may be left out where one of `others` is given, and is needed where none is.
    pub(super) fn unless(mut self, others: &'static [&'static str]) -> Self {
        self = self.optional();
        self.instead.needed_unless = others;
        self
    }

    /// It must be left out where one of `others` is given.
    pub(super) fn not_beside(mut self, others: &'static [&'static str]) -> Self {
        self.instead.not_beside = others;
        self
    }

    /// One of it and `others` is needed, and no more than one may be given.
    pub(super) fn or_else(self, others: &'static [&'static str]) -> Self {
        self.unless(others).not_beside(others)
    }

    /// Whether it is needed among `fields`, its group: always, never, when one of them is so, or unless one is given.
    pub(in crate::job) fn needed(&self, fields: &[Self]) -> Value {
        match &self.need {
            Need::Required => json!(self.cannot_be_left_out(fields)),
            Need::When { sibling, is } => {
                let flag = fields
                    .iter()
                    .any(|field| field.name == *sibling && matches!(field.shape, Shape::Flag));
                let answer = |word: &&str| if flag { json!(*word == "true") } else { json!(word) };
                json!({"when": sibling, "is": is.iter().map(answer).collect::<Vec<_>>()})
            }
            Need::Default(_) | Need::Optional if self.instead.needed_unless.is_empty() => json!(false),
            Need::Default(_) | Need::Optional => json!({"unless": self.instead.needed_unless}),
        }
    }

    /// Whether something is missing where all of `fields`, its group, are left out. A group that must be there may be left
    /// out when all of its members may.
    fn cannot_be_left_out(&self, fields: &[Self]) -> bool {
        match (&self.need, &self.shape) {
            (Need::Required, Shape::Group(members)) => {
                members.iter().any(|member| member.cannot_be_left_out(members))
            }
            (Need::Required, _) => true,
            (Need::When { sibling, is }, _) => fields.iter().any(|field| {
                let usual = match &field.need {
                    Need::Default(value) if field.name == *sibling => word_of(value),
                    _ => None,
                };
                usual.is_some_and(|word| is.contains(&word))
            }),
            (Need::Default(_) | Need::Optional, _) => !self.instead.needed_unless.is_empty(),
        }
    }
}
