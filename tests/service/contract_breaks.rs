//! What a change of the contract breaks for who wrote a client against the contract before.
//!
//! Of what is sent, everything that was taken must still be taken; of what is answered, everything that was promised must
//! still come. Whatever is added without being demanded breaks nothing.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value};

/// Which way a shape goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Way {
    Sent,
    Answered,
}

/// Both documents, and what was found.
struct Comparing<'a> {
    before: &'a Value,
    after: &'a Value,
    open: BTreeSet<(String, String, Way)>,
    found: Vec<String>,
}

/// Everything that breaks, with its place.
pub fn breaks(before: &Value, after: &Value) -> Vec<String> {
    let mut comparing = Comparing {
        before,
        after,
        open: BTreeSet::new(),
        found: Vec::new(),
    };
    for (path, item) in members(&before["paths"]) {
        for (method, operation) in members(item) {
            let place = format!("{} {path}", method.to_uppercase());
            match after["paths"].get(path).and_then(|item| item.get(method)) {
                None => comparing.found.push(format!("{place} is gone")),
                Some(now) => comparing.operation(&place, operation, now),
            }
        }
    }
    comparing.found
}

fn members(value: &Value) -> impl Iterator<Item = (&String, &Value)> {
    value.as_object().into_iter().flatten()
}

fn entries(value: &Value) -> impl Iterator<Item = &Value> {
    value.as_array().into_iter().flatten()
}

/// The texts of a list, or the one text.
fn words(value: &Value) -> BTreeSet<String> {
    match value {
        Value::String(word) => BTreeSet::from([word.clone()]),
        other => entries(other)
            .map(|entry| entry.as_str().map_or_else(|| entry.to_string(), str::to_owned))
            .collect(),
    }
}

/// What is in `one` and not in `other`, with commas.
fn without(one: &BTreeSet<String>, other: &BTreeSet<String>) -> Option<String> {
    let lost: Vec<&str> = one.difference(other).map(String::as_str).collect();
    (!lost.is_empty()).then(|| lost.join(", "))
}

impl Comparing<'_> {
    fn operation(&mut self, place: &str, before: &Value, after: &Value) {
        if before["operationId"] != after["operationId"] {
            self.found.push(format!("{place}: its operationId is another"));
        }
        let keys = |operation: &Value| {
            entries(&operation["security"])
                .map(Value::to_string)
                .collect::<BTreeSet<_>>()
        };
        let (were, are) = (keys(before), keys(after));
        if !are.is_empty() && (were.is_empty() || without(&were, &are).is_some()) {
            self.found.push(format!("{place}: another key is needed"));
        }
        if let Some(lost) = without(&words(&before["x-roles"]), &words(&after["x-roles"])) {
            self.found.push(format!("{place}: no longer for {lost}"));
        }
        self.parameters(place, before, after);
        self.body(place, &before["requestBody"], &after["requestBody"]);
        for (status, response) in members(&before["responses"]) {
            let place = format!("{place} {status}");
            match after["responses"].get(status) {
                None => self.found.push(format!("{place} is gone")),
                Some(now) => {
                    if let Some(lost) = without(&names(&response["headers"]), &names(&now["headers"])) {
                        self.found.push(format!("{place}: no header {lost} any more"));
                    }
                    self.content(&place, &response["content"], &now["content"], Way::Answered);
                }
            }
        }
    }

    fn parameters(&mut self, place: &str, before: &Value, after: &Value) {
        let by_name = |operation: &Value| -> BTreeMap<String, Value> {
            let named = |one: &Value| {
                format!(
                    "{} {}",
                    one["in"].as_str().unwrap(),
                    one["name"].as_str().unwrap()
                )
            };
            entries(&operation["parameters"])
                .map(|one| (named(one), one.clone()))
                .collect()
        };
        let (were, are) = (by_name(before), by_name(after));
        let needed = |one: &Value| one["required"] == Value::Bool(true);
        for (name, parameter) in &were {
            let place = format!("{place}, {name}");
            match are.get(name) {
                None => self.found.push(format!("{place} is gone")),
                Some(now) => {
                    if needed(now) && !needed(parameter) {
                        self.found.push(format!("{place} is needed now"));
                    }
                    if parameter["schema"]["default"] != now["schema"]["default"] {
                        self.found.push(format!("{place} has another default"));
                    }
                    self.shape(&place, &parameter["schema"], &now["schema"], Way::Sent);
                }
            }
        }
        let new = are
            .iter()
            .filter(|(name, parameter)| needed(parameter) && !were.contains_key(*name));
        self.found
            .extend(new.map(|(name, _)| format!("{place}, {name} is new and needed")));
    }

    fn body(&mut self, place: &str, before: &Value, after: &Value) {
        let needed = |body: &Value| body["required"] == Value::Bool(true);
        if needed(after) && !needed(before) {
            self.found.push(format!("{place}: a body is needed now"));
        }
        self.content(place, &before["content"], &after["content"], Way::Sent);
    }

    fn content(&mut self, place: &str, before: &Value, after: &Value, way: Way) {
        for (kind, media) in members(before) {
            match after.get(kind) {
                None => self.found.push(format!("{place}: no {kind} any more")),
                Some(now) => self.shape(&format!("{place} {kind}"), &media["schema"], &now["schema"], way),
            }
        }
    }

    /// Compares two shapes, each under the shapes of its own document.
    fn shape(&mut self, place: &str, before: &Value, after: &Value, way: Way) {
        let (was, is) = (&before["$ref"], &after["$ref"]);
        if was.is_string() || is.is_string() {
            let pair = (was.to_string(), is.to_string(), way);
            // A shape that is seen again, in itself or elsewhere, is compared once.
            if was.is_string() && is.is_string() && !self.open.insert(pair) {
                return;
            }
        }
        let (before, after) = (resolved(self.before, before), resolved(self.after, after));
        let (was, is) = (alternatives(&before), alternatives(&after));
        if was.len() > 1 || is.len() > 1 {
            let (from, to) = if way == Way::Sent {
                (&was, &is)
            } else {
                (&is, &was)
            };
            for one in from {
                let fits = |other: &Value| match way {
                    Way::Sent => self.fits(one, other, way),
                    Way::Answered => self.fits(other, one, way),
                };
                if !to.iter().any(|other| fits(other)) {
                    self.found.push(format!("{place}: another set of shapes"));
                }
            }
            return;
        }
        self.plain(place, &before, &after, way);
    }

    /// Whether one shape may take the place of another.
    fn fits(&self, before: &Value, after: &Value, way: Way) -> bool {
        let mut apart = Comparing {
            before: self.before,
            after: self.after,
            open: self.open.clone(),
            found: Vec::new(),
        };
        apart.shape("", before, after, way);
        apart.found.is_empty()
    }

    fn plain(&mut self, place: &str, before: &Value, after: &Value, way: Way) {
        let lost = |name: &str| {
            let (was, is) = (words(&before[name]), words(&after[name]));
            let (from, to) = if way == Way::Sent { (was, is) } else { (is, was) };
            // Nothing said is everything.
            if to.is_empty() {
                None
            } else if from.is_empty() {
                Some("what else was".to_owned())
            } else {
                without(&from, &to)
            }
        };
        for name in ["type", "enum", "const"] {
            if let Some(lost) = lost(name) {
                let which = if way == Way::Sent {
                    "no longer takes"
                } else {
                    "may answer now"
                };
                self.found.push(format!("{place}: {which} {lost} ({name})"));
            }
        }
        if way == Way::Sent {
            self.found
                .extend(narrower(before, after).map(|name| format!("{place}: {name} is narrower")));
        }
        self.members_of(place, before, after, way);
        for name in ["items", "additionalProperties"] {
            let (was, is) = (&before[name], &after[name]);
            if was.is_object() && is.is_object() {
                self.shape(&format!("{place}/*"), was, is, way);
            }
        }
        for (place_of, (was, is)) in entries(&before["allOf"])
            .zip(entries(&after["allOf"]))
            .enumerate()
        {
            self.shape(&format!("{place} ({place_of})"), was, is, way);
        }
    }

    fn members_of(&mut self, place: &str, before: &Value, after: &Value, way: Way) {
        let (were, are) = (words(&before["required"]), words(&after["required"]));
        let lost = if way == Way::Sent {
            without(&are, &were)
        } else {
            without(&were, &are)
        };
        if let Some(lost) = lost {
            let which = if way == Way::Sent { "needs" } else { "may lack" };
            self.found.push(format!("{place}: {which} {lost} now"));
        }
        for (name, was) in members(&before["properties"]) {
            let place = format!("{place}/{name}");
            match after["properties"].get(name) {
                None => self.found.push(format!("{place} is gone")),
                Some(is) => self.shape(&place, was, is, way),
            }
        }
        let closed = |shape: &Value| shape["additionalProperties"] == Value::Bool(false);
        if way == Way::Sent && closed(after) && !closed(before) {
            self.found.push(format!("{place}: takes no other members now"));
        }
    }
}

/// Bounds of what is sent that are tighter, or that are new.
fn narrower<'a>(before: &'a Value, after: &'a Value) -> impl Iterator<Item = &'static str> + 'a {
    let number = |shape: &Value, name: &str| {
        shape[name]
            .as_str()
            .map_or_else(|| shape[name].as_f64(), |text| text.parse().ok())
    };
    let least = [
        "minimum",
        "exclusiveMinimum",
        "minLength",
        "minItems",
        "minProperties",
    ];
    let most = [
        "maximum",
        "exclusiveMaximum",
        "maxLength",
        "maxItems",
        "maxProperties",
    ];
    let other = ["pattern", "format", "multipleOf", "uniqueItems"];
    let least = least
        .into_iter()
        .filter(move |name| match (number(before, name), number(after, name)) {
            (was, Some(is)) => {
                was.is_none_or(|was| is > was)
                    && !(was.is_none() && is == 0.0 && name.starts_with("min") && *name != "minimum")
            }
            (_, None) => false,
        });
    let most = most
        .into_iter()
        .filter(move |name| match (number(before, name), number(after, name)) {
            (was, Some(is)) => was.is_none_or(|was| is < was),
            (_, None) => false,
        });
    let other = other
        .into_iter()
        .filter(|name| !after[*name].is_null() && before[*name] != after[*name]);
    least.chain(most).chain(other)
}

/// A shape without its reference; what stands beside a reference stays.
fn resolved(document: &Value, shape: &Value) -> Value {
    let Some(pointer) = shape["$ref"]
        .as_str()
        .and_then(|reference| reference.strip_prefix('#'))
    else {
        return shape.clone();
    };
    let mut whole = resolved(document, document.pointer(pointer).unwrap_or(&Value::Null));
    let beside: Map<String, Value> = members(shape)
        .filter(|(name, _)| *name != "$ref")
        .map(|(name, value)| (name.clone(), value.clone()))
        .collect();
    if let Some(whole) = whole.as_object_mut() {
        whole.extend(beside);
    }
    whole
}

/// The shapes of which a value has one.
fn alternatives(shape: &Value) -> Vec<&Value> {
    let listed = entries(&shape["anyOf"]).chain(entries(&shape["oneOf"]));
    let listed: Vec<&Value> = listed.collect();
    if listed.is_empty() { vec![shape] } else { listed }
}

fn names(value: &Value) -> BTreeSet<String> {
    members(value).map(|(name, _)| name.to_lowercase()).collect()
}
