//! JSON Merge Patch (RFC 7396), and which places two patches both set.

use serde_json::{Map, Value};

use super::pointer::escape;

/// `target` with `patch` applied (RFC 7396, section 2): members of an object are merged, `null` takes a member
/// away, anything else takes the place of what was there.
pub fn patched(target: &Value, patch: &Value) -> Value {
    let Value::Object(changes) = patch else {
        return patch.clone();
    };
    let mut members = match target {
        Value::Object(members) => members.clone(),
        _ => Map::new(),
    };
    for (name, change) in changes {
        if change.is_null() {
            members.shift_remove(name);
        } else {
            let before = members.get(name).unwrap_or(&Value::Null);
            let after = patched(before, change);
            members.insert(name.clone(), after);
        }
    }
    Value::Object(members)
}

/// As [`patched`], but for members that the patch takes away and the target has not: they stay as `null`. None where there
/// is no such member.
pub fn with_idle_nulls(target: &Value, patch: &Value) -> Option<Value> {
    let Value::Object(changes) = patch else {
        return None;
    };
    let mut members = match patched(target, patch) {
        Value::Object(members) => members,
        _ => Map::new(),
    };
    let mut any = false;
    for (name, change) in changes {
        let before = target.get(name);
        let idle = match (before, change) {
            (None, Value::Null) => Some(Value::Null),
            (_, Value::Object(_)) => with_idle_nulls(before.unwrap_or(&Value::Null), change),
            _ => None,
        };
        if let Some(idle) = idle {
            any = true;
            members.insert(name.clone(), idle);
        }
    }
    any.then_some(Value::Object(members))
}

/// Places that both patches set, each to something else: the later patch wins there. As JSON Pointers, in the
/// order of the first patch. Where this is empty, the order of the two makes no difference.
pub fn clashes(one: &Value, other: &Value) -> Vec<String> {
    let mut found = Vec::new();
    compare(&mut String::new(), one, other, &mut found);
    found
}

fn compare(at: &mut String, one: &Value, other: &Value, found: &mut Vec<String>) {
    match (one, other) {
        (Value::Object(one), Value::Object(other)) => {
            for (name, value) in one {
                if let Some(second) = other.get(name) {
                    let length = at.len();
                    at.push('/');
                    at.push_str(&escape(name));
                    compare(at, value, second, found);
                    at.truncate(length);
                }
            }
        }
        (one, other) if one == other => {}
        _ => found.push(at.clone()),
    }
}
