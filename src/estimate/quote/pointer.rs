//! JSON Pointers (RFC 6901) and the differences between two documents by them.

use serde::Serialize;
use serde_json::{Map, Value};

/// One place at which two documents differ.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Difference {
    /// Where, as a JSON Pointer.
    pub pointer: String,
    /// What stood there; nothing where the place is new.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<Value>,
    /// What stands there now; nothing where the place is gone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub to: Option<Value>,
}

/// A member's name as a token of a pointer.
pub fn escape(name: &str) -> String {
    name.replace('~', "~0").replace('/', "~1")
}

/// Every place at which `to` differs from `from`, the smallest that holds the whole difference, in the order
/// of the documents. Lists are compared entry by entry. A measure (`value` and `unit`, or `amount` and
/// `currency`) is one place, so that a change of 3 ft to 3 m is not told as a change of the unit alone.
pub fn differences(from: &Value, to: &Value) -> Vec<Difference> {
    let mut found = Vec::new();
    walk(&mut String::new(), Some(from), Some(to), &mut found);
    found
}

fn walk(at: &mut String, from: Option<&Value>, to: Option<&Value>, found: &mut Vec<Difference>) {
    match (from, to) {
        (Some(one), Some(other)) if one == other => {}
        (Some(Value::Object(one)), Some(Value::Object(other))) if !(measure(one) && measure(other)) => {
            let new = other.iter().filter(|(name, _)| !one.contains_key(*name));
            let names = one.iter().chain(new).map(|(name, _)| name);
            for name in names {
                step(at, &escape(name), one.get(name), other.get(name), found);
            }
        }
        (Some(Value::Array(one)), Some(Value::Array(other))) => {
            for index in 0..one.len().max(other.len()) {
                step(at, &index.to_string(), one.get(index), other.get(index), found);
            }
        }
        (None, None) => {}
        (from, to) => found.push(Difference {
            pointer: at.clone(),
            from: from.cloned(),
            to: to.cloned(),
        }),
    }
}

fn step(at: &mut String, token: &str, from: Option<&Value>, to: Option<&Value>, found: &mut Vec<Difference>) {
    let length = at.len();
    at.push('/');
    at.push_str(token);
    walk(at, from, to, found);
    at.truncate(length);
}

fn measure(members: &Map<String, Value>) -> bool {
    let has = |names: [&str; 2]| members.len() == 2 && names.iter().all(|name| members.contains_key(*name));
    has(["value", "unit"]) || has(["amount", "currency"])
}
