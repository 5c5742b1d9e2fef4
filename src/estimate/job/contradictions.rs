//! Answers that exclude each other, or that no building allows. All are told at once.
//!
//! They are looked for in the normal tree, also when other answers have faults: a member with a fault, and one that
//! nobody knows, is `null` there, and what depends on it is not judged. What needs the catalogue (is the void deep
//! enough for this class?) is the sizing report's matter.

mod cellar;
mod drain;
mod site;
mod works;

use serde_json::Value;

use super::fault::{Fault, FaultCode, Gathered};
use crate::quantity::Decimal;

/// Finds every contradiction in a tree in normal form. `prefix` is where the job spec stands.
pub(super) fn find(tree: &Value, prefix: &str, faults: &mut Gathered) {
    if !tree.is_object() {
        return;
    }
    let mut answers = Answers { tree, prefix, faults };
    cellar::find(&mut answers);
    works::unit(&mut answers);
    works::condenser(&mut answers);
    drain::find(&mut answers);
    works::finishes(&mut answers);
    works::ceiling(&mut answers);
    site::find(&mut answers);
    works::tax(&mut answers);
}

/// The answers of a normal tree, and where to say what is wrong with them.
struct Answers<'a> {
    tree: &'a Value,
    prefix: &'a str,
    faults: &'a mut Gathered,
}

impl<'a> Answers<'a> {
    /// The answer at a pointer whose tokens are names without escapes.
    fn at(&self, pointer: &str) -> Option<&'a Value> {
        pointer
            .split('/')
            .skip(1)
            .try_fold(self.tree, |at, name| at.get(name))
    }

    /// It was given, be it with a fault.
    fn given(&self, pointer: &str) -> bool {
        self.at(pointer).is_some()
    }

    /// It was given, and has no fault.
    fn known(&self, pointer: &str) -> bool {
        self.at(pointer).is_some_and(|answer| !answer.is_null())
    }

    fn word(&self, pointer: &str) -> Option<&'a str> {
        self.at(pointer)?.as_str()
    }

    fn number(&self, pointer: &str) -> Option<Decimal> {
        number(self.at(pointer)?)
    }

    /// The number at a pointer that may go through a list.
    fn number_at(&self, pointer: &str) -> Option<Decimal> {
        number(self.tree.pointer(pointer)?)
    }

    fn list(&self, pointer: &str) -> &'a [Value] {
        self.at(pointer)
            .and_then(Value::as_array)
            .map_or(&[], Vec::as_slice)
    }

    fn say(&mut self, pointer: &str, came: impl Into<String>, allowed: &str, message: String) {
        self.faults.push(Fault {
            pointer: format!("{}{pointer}", self.prefix),
            code: FaultCode::Contradiction,
            came: came.into(),
            allowed: allowed.to_owned(),
            message,
        });
    }
}

/// The number of a measure, a plain number or a count in normal form.
fn number(value: &Value) -> Option<Decimal> {
    match value.get("value").unwrap_or(value) {
        Value::String(digits) => Decimal::from_str_exact(digits).ok(),
        Value::Number(count) => count.as_u64().map(Decimal::from),
        _ => None,
    }
}
