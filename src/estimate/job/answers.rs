//! What is told of a job's answers beside their values: which were left out and are taken as is usual, and which nobody
//! measured.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::choices::Known;
use super::form::{Around, Field, Form, LeftOut, Shape, Words};
use super::spec::Spec;
use crate::quantity::counted;

/// An answer that was left out, and what is taken in its place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UsualAnswer {
    /// JSON Pointer into the job spec: where it would stand.
    pub answer: String,
    /// The group of the survey.
    pub group: String,
    /// The question.
    pub title: String,
    /// What is taken, as it would stand in a job spec; none where nothing would.
    pub value: Option<Value>,
    /// The same in words.
    pub in_words: String,
}

/// An answer that nobody measured, as `basis` has it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NotMeasured {
    /// JSON Pointer into the job spec.
    pub answer: String,
    /// The group of the survey.
    pub group: String,
    /// The question.
    pub title: String,
    /// How it is known.
    pub known: Known,
    /// The answer, or what took the place of an unknown one; none where nothing did.
    pub value: Option<Value>,
    /// The same in words.
    pub in_words: String,
    /// The surveyor's note.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

impl Form {
    /// Of the answers that were left out, those that matter in the job of this normal tree.
    pub(super) fn usual_answers(&self, tree: &Value, left_out: &[(String, &Field)]) -> Vec<UsualAnswer> {
        let told = left_out.iter().filter_map(|(answer, field)| {
            let LeftOut::Told { value, words, arises } = &field.left_out else {
                return None;
            };
            let around = Around {
                job: tree,
                group: answer
                    .rsplit_once('/')
                    .and_then(|(group, _)| tree.pointer(group))?,
            };
            if !arises(&around) {
                return None;
            }
            let value = value.as_ref().or_else(|| tree.pointer(answer));
            let in_words = value.map(|value| field.shape.in_words(value));
            Some(UsualAnswer {
                answer: answer.clone(),
                group: self.group_of(answer),
                title: field.title.to_string(),
                value: value.cloned(),
                in_words: in_words.or_else(|| words.map(str::to_owned)).unwrap_or_default(),
            })
        });
        told.collect()
    }

    /// The answers that `basis` names and nobody measured, in its order.
    pub(super) fn not_measured(&self, tree: &Value, spec: &Spec) -> Vec<NotMeasured> {
        let entries = spec.basis.iter().filter(|entry| entry.known != Known::Measured);
        let told = entries.filter_map(|entry| {
            let (title, shape) = self.titled(&entry.answer)?;
            let value = tree.pointer(&entry.answer);
            let in_words = value.map(|value| shape.in_words(value));
            Some(NotMeasured {
                answer: entry.answer.clone(),
                group: self.group_of(&entry.answer),
                title: title.to_owned(),
                known: entry.known,
                value: value.cloned(),
                in_words: in_words.unwrap_or_else(|| "not given".to_owned()),
                note: entry.note.clone(),
            })
        });
        told.collect()
    }

    /// What a person reads above the group of the survey in which an answer stands, and above the list of which it is
    /// an entry: `Line set, Penetrations`.
    fn group_of(&self, answer: &str) -> String {
        let group = answer.split('/').nth(1).unwrap_or_default();
        let list = answer
            .split_inclusive('/')
            .scan(0, |end, token| {
                let before = *end;
                *end += token.len();
                Some((before, token.trim_end_matches('/')))
            })
            .find(|(_, token)| token.parse::<usize>().is_ok())
            .and_then(|(end, _)| answer.get(..end)?.strip_suffix('/'));
        let titled = |pointer: &str| self.titled(pointer).map(|(title, _)| title.to_owned());
        let titles = [titled(&format!("/{group}")), list.and_then(titled)];
        titles.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

impl Shape {
    /// An answer in normal form in a few words.
    pub(crate) fn in_words(&self, value: &Value) -> String {
        match (self, value) {
            (Self::Choice(Words::Fixed(words)), Value::String(came)) => {
                let known = words.iter().find(|(word, _)| word == came);
                known.map_or(came.as_str(), |(_, title)| title).to_owned()
            }
            (_, Value::Bool(true)) => "yes".to_owned(),
            (_, Value::Bool(false)) => "no".to_owned(),
            (_, Value::String(text)) => text.clone(),
            (_, Value::Array(entries)) if entries.is_empty() => "none".to_owned(),
            (_, Value::Array(entries)) => counted(entries.len(), "entry"),
            (Self::Measure { .. }, Value::Object(members)) => {
                let text = |name: &str| members.get(name).and_then(Value::as_str).unwrap_or_default();
                format!("{} {}", text("value"), text("unit"))
            }
            (_, Value::Object(_)) => "as given".to_owned(),
            (_, other) => other.to_string(),
        }
    }
}
