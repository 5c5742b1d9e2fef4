//! What is told of a job's answers beside their values: which were left out and are taken as is usual, and which nobody
//! measured.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::basis::Assumption;
use super::choices::Known;
use super::form::{Around, Field, Form, LeftOut, Need, Shape, Words};
use super::read::word_of;
use super::spec::Spec;
use super::understand::Understood;
use crate::quantity::unit::Unit;
use crate::quantity::{Currency, Quantity, counted};

/// What is told of an unknown answer that the job does not need.
const NOT_NEEDED: &str = "not needed on this job";

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

/// What is told of a job's answers, but for those that the job does not need.
#[derive(Debug, Clone, PartialEq)]
pub struct Answered<'a> {
    /// What took the place of answers that nobody knows.
    pub assumptions: Vec<&'a Assumption>,
    /// Answers that nobody measured; an unknown one that the job does not need says so.
    pub not_measured: Vec<NotMeasured>,
    /// Answers that were left out, and what is taken in their place.
    pub usual_answers: Vec<&'a UsualAnswer>,
}

impl Understood {
    /// Pointers of the answers that nobody gave: unknown, or left out.
    pub fn not_known(&self) -> Vec<&str> {
        let unknown = self.assumptions.iter().map(|one| one.answer.as_str());
        let usual = self.usual_answers.iter().map(|one| one.answer.as_str());
        unknown.chain(usual).collect()
    }

    /// What is told of the answers where the job needs none of `spared`.
    pub fn answered(&self, spared: &[&str]) -> Answered<'_> {
        let needed = |answer: &str| !spared.contains(&answer);
        let mut not_measured = self.not_measured.clone();
        for answer in &mut not_measured {
            if answer.known == Known::Unknown && !needed(&answer.answer) {
                answer.value = None;
                answer.in_words = NOT_NEEDED.to_owned();
            }
        }
        let assumptions = self.assumptions.iter();
        let usual_answers = self.usual_answers.iter();
        Answered {
            assumptions: assumptions.filter(|one| needed(&one.answer)).collect(),
            not_measured,
            usual_answers: usual_answers.filter(|one| needed(&one.answer)).collect(),
        }
    }
}

impl Understood {
    /// Has what is money, such as a price a day, told in the company's currency.
    pub(super) fn told_in(&mut self, currency: Currency) {
        let usual = self.usual_answers.iter_mut();
        let usual = usual.map(|one| (&one.value, &mut one.in_words));
        let not_measured = self.not_measured.iter_mut();
        let not_measured = not_measured.map(|one| (&one.value, &mut one.in_words));
        for (value, in_words) in usual.chain(not_measured) {
            let money = value.as_ref();
            if let Some(told) = money.and_then(|value| Quantity::money_in_words(value, currency)) {
                *in_words = told;
            }
        }
    }
}

impl Form {
    /// Whether the question of `answer` arises on the job of this normal tree.
    pub(super) fn arises(&self, tree: &Value, answer: &str) -> bool {
        let group = answer.rsplit_once('/').and_then(|(group, _)| tree.pointer(group));
        let Some((field, group)) = self.field(answer).zip(group) else {
            return true;
        };
        match (&field.need, &field.left_out) {
            (Need::When { sibling, is }, _) => group
                .get(sibling)
                .and_then(word_of)
                .is_some_and(|word| is.contains(&word)),
            (_, LeftOut::Told { arises, .. }) => arises(&Around { job: tree, group }),
            _ => true,
        }
    }

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

    /// The answers that `basis` names and nobody measured, in its order. One that was left out for its default is told as
    /// usual instead.
    pub(super) fn not_measured(&self, job: &Value, tree: &Value, spec: &Spec) -> Vec<NotMeasured> {
        let given = |answer: &str| job.pointer(answer).is_some();
        let entries = spec.basis.iter().filter(|entry| match entry.known {
            Known::Measured => false,
            Known::Unknown => true,
            Known::Told | Known::Assumed => given(&entry.answer),
        });
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
                match Unit::parse(text("unit")) {
                    Ok(Unit::EACH) => text("value").to_owned(),
                    Ok(unit) => format!("{} {}", text("value"), unit.signs()),
                    Err(_) => format!("{} {}", text("value"), text("unit")),
                }
            }
            (_, Value::Object(_)) => "as given".to_owned(),
            (_, other) => other.to_string(),
        }
    }
}
