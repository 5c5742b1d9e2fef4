//! JSON Pointers (RFC 6901) and the differences between two documents by them.

use std::collections::HashMap;

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

/// How entries of two lists are held against one another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pairing {
    /// By where they stand.
    Place,
    /// By what they are called.
    Name,
}

/// Every place at which `to` differs from `from`, the smallest that holds the whole difference, in the order
/// of the documents. Lists are compared entry by entry. A measure (`value` and `unit`, or `amount` and
/// `currency`) is one place, so that a change of 3 ft to 3 m is not told as a change of the unit alone.
pub fn differences(from: &Value, to: &Value) -> Vec<Difference> {
    let mut found = Vec::new();
    walk(
        &mut String::new(),
        Some(from),
        Some(to),
        Pairing::Place,
        &mut found,
    );
    found
}

/// The same, where entries of a list that have a name or a code are compared with the entry of the same name, wherever it
/// stands. Pointers are into `to`; of an entry that is gone, into `from`.
pub fn named_differences(from: &Value, to: &Value) -> Vec<Difference> {
    let mut found = Vec::new();
    walk(
        &mut String::new(),
        Some(from),
        Some(to),
        Pairing::Name,
        &mut found,
    );
    found
}

fn walk(
    at: &mut String,
    from: Option<&Value>,
    to: Option<&Value>,
    pairing: Pairing,
    found: &mut Vec<Difference>,
) {
    match (from, to) {
        (Some(one), Some(other)) if one == other => {}
        (Some(Value::Object(one)), Some(Value::Object(other))) if !(measure(one) && measure(other)) => {
            let new = other.iter().filter(|(name, _)| !one.contains_key(*name));
            let names = one.iter().chain(new).map(|(name, _)| name);
            for name in names {
                let token = escape(name);
                step(at, &token, (one.get(name), other.get(name)), pairing, found);
            }
        }
        (Some(Value::Array(one)), Some(Value::Array(other))) => {
            for (index, pair) in pairs(one, other, pairing) {
                step(at, &index.to_string(), pair, pairing, found);
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

fn step(
    at: &mut String,
    token: &str,
    (from, to): (Option<&Value>, Option<&Value>),
    pairing: Pairing,
    found: &mut Vec<Difference>,
) {
    let length = at.len();
    at.push('/');
    at.push_str(token);
    walk(at, from, to, pairing, found);
    at.truncate(length);
}

/// What stands at one place of two documents.
type Pair<'a> = (Option<&'a Value>, Option<&'a Value>);

/// Entries of two lists that are held against one another, with the place of each pair.
fn pairs<'a>(one: &'a [Value], other: &'a [Value], pairing: Pairing) -> Vec<(usize, Pair<'a>)> {
    if pairing == Pairing::Place {
        let places = 0..one.len().max(other.len());
        return places
            .map(|index| (index, (one.get(index), other.get(index))))
            .collect();
    }
    let (before, after) = (names(one), names(other));
    let mut rest: HashMap<&str, (usize, &Value)> = HashMap::new();
    for (index, (name, entry)) in before.iter().zip(one).enumerate() {
        rest.insert(name, (index, entry));
    }
    let mut pairs = Vec::new();
    for (index, (name, entry)) in after.iter().zip(other).enumerate() {
        let same = rest.remove(name.as_str()).map(|(_, entry)| entry);
        pairs.push((index, (same, Some(entry))));
    }
    let gone = before.iter().filter_map(|name| rest.remove(name.as_str()));
    pairs.extend(gone.map(|(index, entry)| (index, (Some(entry), None))));
    pairs
}

/// What each entry of a list is called, once each: by name or code and title, else by its place.
fn names(entries: &[Value]) -> Vec<String> {
    let mut times: HashMap<String, usize> = HashMap::new();
    let named = |(index, entry): (usize, &Value)| {
        let text = |member: &str| entry.get(member).and_then(Value::as_str);
        let name = match text("name").or_else(|| text("code")) {
            Some(name) => format!("{name}\n{}", text("title").unwrap_or_default()),
            None => format!("\n\n{index}"),
        };
        let time = times.entry(name.clone()).or_default();
        *time = time.saturating_add(1);
        format!("{name}\n{time}")
    };
    entries.iter().enumerate().map(named).collect()
}

fn measure(members: &Map<String, Value>) -> bool {
    let has = |names: [&str; 2]| members.len() == 2 && names.iter().all(|name| members.contains_key(*name));
    has(["value", "unit"]) || has(["amount", "currency"])
}
