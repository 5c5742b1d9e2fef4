//! A rulebook from a tree of JSON, of the shape that it is written in: the tree becomes canonical text, the text is
//! read, and each fault is told at its place in the tree.

use serde_json::{Map, Value, json};

use super::super::finding::Finding;
use super::part::{PartKind, Tree};
use super::write::{self, compose};
use super::{Rulebook, parse_toml};

/// A fault of a tree's shape.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TreeFault {
    /// JSON Pointer of the place.
    pub pointer: String,
    /// Stable short name of the kind of fault.
    pub code: &'static str,
    /// What is wrong, in words.
    pub message: String,
    /// What was found there.
    pub found: Option<String>,
    /// What would have been right.
    pub expected: Option<String>,
}

/// The members of the tree beside the lists of parts.
const HEAD: [&str; 5] = ["id", "title", "adopted_codes", "shared_items", "max_factor"];

/// Reads a rulebook from a tree. Its source is the canonical text.
///
/// # Errors
/// Every fault of shape, each with its JSON Pointer.
pub fn parse_tree(tree: &Value) -> Result<Rulebook, Vec<TreeFault>> {
    let mut faults = Vec::new();
    let Some(members) = tree.as_object() else {
        return Err(vec![wrong("", tree, "an object")]);
    };
    let lists: Vec<&str> = PartKind::lists().map(|(_, list)| list).collect();
    for (name, value) in members {
        let place = write::child("", name);
        if lists.contains(&name.as_str()) {
            entries(value, &place, &mut faults);
        } else if !HEAD.contains(&name.as_str()) {
            let known = HEAD.iter().chain(&lists).copied().collect::<Vec<_>>();
            faults.push(TreeFault {
                pointer: place,
                code: "unknown_field",
                message: format!("there is no field `{name}` here"),
                found: None,
                expected: Some(known.join(", ")),
            });
        }
    }
    match read(members, "") {
        Ok(rules) if faults.is_empty() => Ok(rules),
        Ok(_) => Err(faults),
        Err(more) => {
            faults.extend(more);
            Err(faults)
        }
    }
}

/// Tells of a list that is none, and of entries that are no objects.
fn entries(list: &Value, place: &str, faults: &mut Vec<TreeFault>) {
    let Some(entries) = list.as_array() else {
        return faults.push(wrong(place, list, "a list"));
    };
    let odd = entries.iter().enumerate().filter(|(_, entry)| !entry.is_object());
    faults.extend(odd.map(|(index, entry)| wrong(&format!("{place}/{index}"), entry, "an object")));
}

/// Reads one part from its tree, and gives it back with its members in order.
///
/// # Errors
/// Every fault of shape, each with its JSON Pointer in the part.
pub(super) fn parse_part(kind: PartKind, part: &Value) -> Result<Value, Vec<TreeFault>> {
    if !part.is_object() {
        return Err(vec![wrong("", part, "an object")]);
    }
    let (list, entry, place) = match kind.list() {
        Some(list) => (list, part.clone(), format!("/{list}/0")),
        None => {
            let assembly = json!({"code": "-", "title": "-", "section": "-", "line": [part]});
            ("assemblies", assembly, "/assemblies/0/line/0".to_owned())
        }
    };
    let tree = json!({"id": "-", "title": "-", list: [entry]});
    let members = tree.as_object().cloned().unwrap_or_default();
    let rules = read(&members, &place)?;
    let read = Tree::of(&rules).0;
    Ok(Value::Object(read).pointer(&place).cloned().unwrap_or_default())
}

/// Reads a tree whose lists hold objects. Faults are told under `place`.
fn read(members: &Map<String, Value>, place: &str) -> Result<Rulebook, Vec<TreeFault>> {
    let written = write::unread(members);
    let composed = compose(&written.lines, &[]);
    let nothing = |pointer: &String| TreeFault {
        pointer: short(pointer, place),
        code: "wrong_sort",
        message: "null is no value here; leave the member out".to_owned(),
        found: Some("null".to_owned()),
        expected: None,
    };
    let mut faults: Vec<TreeFault> = written.nothing.iter().map(nothing).collect();
    match parse_toml(&composed.text) {
        Ok(rules) if faults.is_empty() => {
            let canonical = compose(&write::rulebook(&Tree::of(&rules).0).lines, &[]).text;
            // The canonical text says the same; only its places are others.
            Ok(parse_toml(&canonical).unwrap_or(rules))
        }
        Ok(_) => Err(faults),
        Err(findings) => {
            let told = findings.into_iter().map(|finding| {
                let at = composed.pointer(finding.span.start);
                told(finding, at, place)
            });
            faults.extend(told);
            Err(faults)
        }
    }
}

fn told(finding: Finding, at: &str, place: &str) -> TreeFault {
    let missing = finding.code == "missing_field";
    let pointer = match finding.field.as_str() {
        field if missing && !field.is_empty() => write::child(at, field),
        _ => at.to_owned(),
    };
    TreeFault {
        pointer: short(&pointer, place),
        code: finding.code,
        message: finding.message,
        found: finding.found,
        expected: finding.expected,
    }
}

fn short(pointer: &str, place: &str) -> String {
    pointer.strip_prefix(place).unwrap_or(pointer).to_owned()
}

fn wrong(pointer: &str, value: &Value, expected: &str) -> TreeFault {
    let found = match value {
        Value::Null => "null",
        Value::Bool(_) => "a boolean",
        Value::Number(_) => "a number",
        Value::String(_) => "a text",
        Value::Array(_) => "a list",
        Value::Object(_) => "an object",
    };
    TreeFault {
        pointer: pointer.to_owned(),
        code: "wrong_sort",
        message: format!("{found} came, {expected} is asked for"),
        found: Some(found.to_owned()),
        expected: Some(expected.to_owned()),
    }
}
