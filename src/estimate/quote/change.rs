//! A change to an estimate request: what an alternate or a change order does to the job.

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
    /// Figures replaced by hand, in the place of all those of the request.
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
            changed.insert("overrides".to_owned(), Value::Array(overrides.clone()));
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
            && one != other
        {
            found.push("/overrides".to_owned());
        }
        found
    }

    /// Where in this change the place `pointer` of the changed request was set. `lines` of the request's own manual
    /// lines stand in front of the change's.
    pub fn place(&self, lines: usize, pointer: &str) -> String {
        if let Some(rest) = pointer.strip_prefix("/manual_lines/") {
            let (number, rest) = rest.split_at(rest.find('/').unwrap_or(rest.len()));
            let own = number
                .parse::<usize>()
                .ok()
                .and_then(|number| number.checked_sub(lines));
            return own.map_or_else(String::new, |own| format!("/manual_lines/{own}{rest}"));
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
