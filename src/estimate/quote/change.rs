//! A change to an estimate request: what an alternate or a change order does to the job.

use std::collections::HashSet;

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::merge::{clashes, patched, with_idle_nulls};

/// A change to a request. It is applied to the request as it was written, so that a patch meets the units and
/// the names that a person sees there.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// A JSON Merge Patch (RFC 7396) of the job spec.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<Map<String, Value>>,
    /// Answers to the rulebook's extra inputs: the same as a patch of `/extra` of the job spec.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub extra: Option<Map<String, Value>>,
    /// Lines put in by hand, behind those of the request.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub manual_lines: Vec<Value>,
    /// Figures replaced by hand. Those of a line take the place of all that the request has for that line, and the others
    /// of the request stay; an empty list takes every one of them away.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overrides: Option<Vec<Value>>,
}

impl Change {
    /// The request with this change made to it.
    pub fn apply(&self, request: &Value) -> Value {
        let mut changed = match request {
            Value::Object(members) => members.clone(),
            _ => Map::new(),
        };
        if let Some(patch) = self.job_patch() {
            let job = changed.get("job").unwrap_or(&Value::Null);
            let job = patched(job, &patch);
            changed.insert("job".to_owned(), job);
        }
        if !self.manual_lines.is_empty() {
            let mut lines = match changed.get("manual_lines") {
                Some(Value::Array(lines)) => lines.clone(),
                _ => Vec::new(),
            };
            lines.extend(self.manual_lines.iter().cloned());
            changed.insert("manual_lines".to_owned(), Value::Array(lines));
        }
        if let Some(overrides) = &self.overrides {
            let kept = kept(request, overrides).into_iter().chain(overrides);
            changed.insert("overrides".to_owned(), Value::Array(kept.cloned().collect()));
        }
        Value::Object(changed)
    }

    /// The changed request with `null` wherever the change takes away what is not there; none where it does not.
    pub fn with_idle_nulls(&self, request: &Value) -> Option<Value> {
        let before = request.get("job").unwrap_or(&Value::Null);
        let job = with_idle_nulls(before, &self.job_patch()?)?;
        let mut changed = self.apply(request);
        if let Value::Object(members) = &mut changed {
            members.insert("job".to_owned(), job);
        }
        Some(changed)
    }

    /// Places of the request that both changes set, each to something else, as JSON Pointers.
    pub fn clashes(&self, other: &Change) -> Vec<String> {
        let mut found = Vec::new();
        if let (Some(one), Some(other)) = (self.job_patch(), other.job_patch()) {
            found.extend(
                clashes(&one, &other)
                    .into_iter()
                    .map(|place| format!("/job{place}")),
            );
        }
        if let (Some(one), Some(other)) = (&self.overrides, &other.overrides)
            && replace_otherwise(one, other)
        {
            found.push("/overrides".to_owned());
        }
        found
    }

    /// Where in this change the place `pointer` of the changed `request` was set. The request's own manual lines and the
    /// overrides that it keeps stand in front of the change's.
    pub fn place(&self, request: &Value, pointer: &str) -> String {
        let in_list = |list: &str, before: usize| {
            let rest = pointer.strip_prefix(list)?.strip_prefix('/')?;
            let (number, rest) = rest.split_at(rest.find('/').unwrap_or(rest.len()));
            let own = number.parse::<usize>().ok()?.checked_sub(before);
            Some(own.map_or_else(String::new, |own| format!("{list}/{own}{rest}")))
        };
        let lines = entries(request, "manual_lines").len();
        let overrides = match &self.overrides {
            Some(overrides) => kept(request, overrides).len(),
            None => entries(request, "overrides").len(),
        };
        let placed = in_list("/manual_lines", lines).or_else(|| in_list("/overrides", overrides));
        if let Some(place) = placed {
            return place;
        }
        match pointer.strip_prefix("/job/extra") {
            Some(rest) if self.extra.is_some() => format!("/extra{rest}"),
            _ => pointer.to_owned(),
        }
    }

    fn job_patch(&self) -> Option<Value> {
        let extra = self.extra.as_ref().map(|extra| {
            let mut patch = Map::new();
            patch.insert("extra".to_owned(), Value::Object(extra.clone()));
            Value::Object(patch)
        });
        match (&self.job, extra) {
            (None, extra) => extra,
            (Some(job), None) => Some(Value::Object(job.clone())),
            (Some(job), Some(extra)) => Some(composed(&Value::Object(job.clone()), &extra)),
        }
    }
}

fn entries<'a>(request: &'a Value, list: &str) -> &'a [Value] {
    let entries = request.get(list).and_then(Value::as_array);
    entries.map_or(&[], Vec::as_slice)
}

fn line(entry: &Value) -> Option<&str> {
    entry.get("line").and_then(Value::as_str)
}

/// The overrides of `request` that stay beside those of a change.
fn kept<'a>(request: &'a Value, overrides: &[Value]) -> Vec<&'a Value> {
    if overrides.is_empty() {
        return Vec::new();
    }
    let anew: HashSet<&str> = overrides.iter().filter_map(line).collect();
    let stays = |entry: &&Value| line(entry).is_none_or(|line| !anew.contains(line));
    entries(request, "overrides").iter().filter(stays).collect()
}

/// Whether the order of two lists of overrides makes a difference: they replace figures of the same line, each otherwise,
/// or one takes away all that the other puts in.
fn replace_otherwise(one: &[Value], other: &[Value]) -> bool {
    if one.is_empty() || other.is_empty() {
        return one.len() != other.len();
    }
    let of = |list: &'_ [Value], wanted: &str| -> Vec<Value> {
        let same = list.iter().filter(|entry| line(entry) == Some(wanted));
        same.cloned().collect()
    };
    let mut shared = one.iter().filter_map(line);
    shared.any(|line| {
        let then = of(other, line);
        !then.is_empty() && of(one, line) != then
    })
}

/// One patch that does what `first` and then `second` do. Unlike a document, a patch keeps its nulls.
fn composed(first: &Value, second: &Value) -> Value {
    match (first, second) {
        (Value::Object(one), Value::Object(other)) => {
            let mut members = one.clone();
            for (name, value) in other {
                let both = match one.get(name) {
                    Some(before) => composed(before, value),
                    None => value.clone(),
                };
                members.insert(name.clone(), both);
            }
            Value::Object(members)
        }
        _ => second.clone(),
    }
}
