//! On which jobs an extra input matters, told so that a form on a screen can follow it without the formula language.

use std::sync::Arc;

use serde_json::{Map, Value, json};

use super::facts::answer_of;
use super::form::{Form, Need, Shape};
use crate::quantity::Decimal;
use crate::quantity::decimal::plain;
use crate::quantity::unit::Unit;

/// The condition of an extra input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Matters {
    /// As the rulebook writes it.
    pub formula: Arc<str>,
    /// The same as tests of single facts, all of which must hold; none where it says more than that.
    pub all: Option<Vec<FactTest>>,
}

/// What one fact must be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FactTest {
    /// Its name.
    pub fact: Arc<str>,
    /// The test.
    pub test: Test,
}

/// A test of one fact.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Test {
    /// A choice is this word, or a flag is `true` or `false`.
    Is(Arc<str>),
    /// A choice is another word.
    IsNot(Arc<str>),
    /// A number lies beside this one.
    Lies(Beside, Decimal, Unit),
}

/// How a number lies beside another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// Equal to it.
    Equal,
    /// Not equal to it.
    Unequal,
    /// Less than it.
    Under,
    /// No more than it.
    AtMost,
    /// More than it.
    Over,
    /// No less than it.
    AtLeast,
}

impl Beside {
    fn word(self) -> &'static str {
        match self {
            Self::Equal => "equal",
            Self::Unequal => "not_equal",
            Self::Under => "under",
            Self::AtMost => "at_most",
            Self::Over => "over",
            Self::AtLeast => "at_least",
        }
    }
}

impl Form {
    /// Writes into the schema of a job spec on which jobs each extra input matters.
    pub(super) fn tell_what_matters(&self, job: &mut Value) {
        for input in self.extra() {
            let place = format!("/properties/extra/properties/{}", input.name);
            if let (Some(matters), Some(schema)) = (&input.when, job.pointer_mut(&place)) {
                schema["x-matters"] = self.matters(matters);
            }
        }
    }

    fn matters(&self, matters: &Matters) -> Value {
        let mut told = Map::new();
        told.insert("formula".to_owned(), json!(&*matters.formula));
        let tests = matters.all.iter().flatten();
        let tests: Option<Vec<Value>> = tests.map(|test| self.of_answer(test)).collect();
        if let Some(all) = tests.filter(|tests| !tests.is_empty()) {
            told.insert("all".to_owned(), Value::Array(all));
        }
        Value::Object(told)
    }

    /// A test of a fact as one of the answer that it is; none of a fact that is worked out, or of an answer that need not be
    /// there, whose fact then stands for nothing.
    fn of_answer(&self, test: &FactTest) -> Option<Value> {
        let answer = answer_of(&test.fact)?;
        let holders = answer
            .match_indices('/')
            .skip(1)
            .filter_map(|(end, _)| answer.get(..end));
        let mut places = holders.chain([answer.as_str()]);
        let is_there = |pointer: &str| {
            let field = self.field(pointer);
            field.is_some_and(|field| matches!(field.need, Need::Required | Need::Default(_)))
        };
        if !places.all(is_there) {
            return None;
        }
        let is = match (self.answer(&answer)?, &test.test) {
            (Shape::Flag, Test::Is(word)) => vec![&**word],
            (Shape::Choice(words), Test::Is(word)) => vec![words.iter().find(|known| *known == &**word)?],
            (Shape::Choice(words), Test::IsNot(word)) => {
                words.position(word)?;
                words.iter().filter(|known| *known != &**word).collect()
            }
            (Shape::Measure { .. }, Test::Lies(how, value, unit)) => {
                let bound = json!({"value": plain(*value), "unit": unit.symbol()});
                return Some(json!({"when": answer, (how.word()): bound}));
            }
            (Shape::Count { .. } | Shape::Number { .. }, Test::Lies(how, value, _)) => {
                return Some(json!({"when": answer, (how.word()): plain(*value)}));
            }
            _ => return None,
        };
        Some(json!({"when": answer, "is": is}))
    }
}
