//! How answers are known, and what becomes of those that nobody knows.
//!
//! An unknown answer is left out of the job spec and named in `basis`. The rulebook says what takes its
//! place: an assumption, an allowance, or a refusal. The value is put in before the job spec is read, so
//! that it is held to the same bounds; the tree that is kept does not contain it, so that the same job
//! spec can be read again under a later rulebook.

use std::borrow::Cow;
use std::collections::HashSet;

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::choices::Known;
use super::fault::{Fault, FaultCode, Gathered, describe, shorten};
use super::form::{BASIS_ENTRIES, Form, Need};
use crate::quantity::nearest;

/// What becomes of an unknown answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Treat {
    /// The value is assumed, and the offer says so.
    Assume,
    /// The value is assumed and an amount is set aside.
    Allowance,
    /// The value stands in for the arithmetic, but the offer may not be issued.
    Stop,
}

/// The office's rule for one unknown answer.
#[derive(Debug, Clone, PartialEq)]
pub struct UnknownRule {
    /// JSON Pointer into the job spec; `*` stands for any entry of a list.
    pub answer: String,
    /// What becomes of it.
    pub treat: Treat,
    /// The value put in its place, as it would stand in a job spec. With none, the answer has its default
    /// or stays left out; one that is needed cannot be priced.
    pub value: Option<Value>,
    /// What the offer says.
    pub wording: String,
}

/// An unknown answer and what took its place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assumption {
    /// JSON Pointer into the job spec.
    pub answer: String,
    /// The pointer of the rule, which may have `*` in it.
    pub rule: String,
    /// What became of it.
    pub treat: Treat,
    /// The value that was put in, in normal form.
    pub value: Option<Value>,
    /// What the offer says.
    pub wording: String,
    /// The surveyor's note.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// One entry of `basis`.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BasisEntry {
    /// JSON Pointer into the job spec.
    pub answer: String,
    /// How it is known.
    pub known: Known,
    /// The surveyor's note.
    #[serde(default)]
    pub note: Option<String>,
}

/// A job spec with the rules' values in the place of its unknown answers.
pub(super) struct Filled {
    /// The job spec to read; `None` when nothing was put in.
    pub(super) job: Option<Value>,
    /// What was put in, in the order of `basis`.
    pub(super) assumptions: Vec<Assumption>,
    /// Answers whose absence needs no further fault.
    pub(super) excused: HashSet<String>,
    pub(super) faults: Gathered,
}

/// Puts the rules' values in. `prefix` is where the job spec stands in what was sent.
pub(super) fn fill(form: &Form, job: &Value, rules: &[UnknownRule], prefix: &str) -> Filled {
    let mut filled = Filled {
        job: None,
        assumptions: Vec::new(),
        excused: HashSet::new(),
        faults: Gathered::default(),
    };
    let mut named: HashSet<&str> = HashSet::new();
    let mut answers: Option<Vec<String>> = None;
    for (index, entry) in entries(job).iter().take(BASIS_ENTRIES).enumerate() {
        let Some((answer, known)) = answer_of(entry) else {
            continue;
        };
        let fault = |code, came: String, allowed: &str, message: String| Fault {
            pointer: format!("{prefix}/basis/{index}/answer"),
            code,
            came,
            allowed: allowed.to_owned(),
            message,
        };
        let shown = match answer {
            "" => "an empty text".to_owned(),
            answer => shorten(answer),
        };
        if !form.has_answer(job, answer) {
            let hint = form.no_entry(job, answer).or_else(|| {
                let known = answers.get_or_insert_with(|| form.answers());
                let near = nearest::name(answer, known.iter().map(String::as_str))?;
                Some(format!("did you mean {near}?"))
            });
            let hint = hint.map_or_else(String::new, |hint| format!("; {hint}"));
            let message = format!("{shown} is no answer of this job spec{hint}");
            let allowed = "a JSON Pointer to an answer, such as /electrical/panel_length";
            filled
                .faults
                .push(fault(FaultCode::NotAnAnswer, shown, allowed, message));
        } else if !named.insert(answer) {
            let message = format!("{shown} is named twice in basis");
            filled
                .faults
                .push(fault(FaultCode::NamedTwice, shown, "each answer once", message));
        } else if known == "unknown" {
            let note = entry.get("note").and_then(Value::as_str).map(str::to_owned);
            if let Err((code, came, allowed, message)) = filled.unknown(form, job, answer, note, rules) {
                filled.faults.push(fault(code, came, allowed, message));
            }
        }
    }
    filled
}

type Refusal = (FaultCode, String, &'static str, String);

impl Filled {
    fn unknown(
        &mut self,
        form: &Form,
        job: &Value,
        answer: &str,
        note: Option<String>,
        rules: &[UnknownRule],
    ) -> Result<(), Refusal> {
        if let Some(given) = job.pointer(answer) {
            let message = format!("{answer} is marked unknown and yet given; leave one of the two out");
            return Err((
                FaultCode::UnknownButGiven,
                describe(given),
                "unknown or given",
                message,
            ));
        }
        let Some(rule) = rules.iter().find(|rule| is_rule_for(&rule.answer, answer)) else {
            self.excused.insert(answer.to_owned());
            let message = format!(
                "the rulebook has no rule for an unknown {answer}: {}",
                form.instead(answer, rules)
            );
            return Err((
                FaultCode::UnknownWithoutRule,
                "unknown".to_owned(),
                "an answer",
                message,
            ));
        };
        if let Some(value) = &rule.value {
            let copy = self.job.get_or_insert_with(|| job.clone());
            if !put(copy, answer, value) {
                self.excused.insert(answer.to_owned());
                let message = format!("{answer} cannot be put in: what holds it is not there");
                return Err((FaultCode::NotAnAnswer, "unknown".to_owned(), "an answer", message));
            }
        } else if rule.treat == Treat::Stop {
            self.excused.insert(answer.to_owned());
            let message = format!("{answer} is unknown: {}", rule.wording);
            return Err((
                FaultCode::UnknownRefused,
                "unknown".to_owned(),
                "an answer",
                message,
            ));
        }
        self.assumptions.push(Assumption {
            answer: answer.to_owned(),
            rule: rule.answer.clone(),
            treat: rule.treat,
            value: None,
            wording: rule.wording.clone(),
            note,
        });
        Ok(())
    }

    /// Answers that a rule speaks of.
    pub(super) fn by_rule(&self) -> HashSet<String> {
        self.assumptions
            .iter()
            .map(|assumption| assumption.answer.clone())
            .collect()
    }

    /// The tree without the values of the rules, which contradict nobody: where one was put in, or an answer is missing
    /// and told as unknown, stands `null`.
    pub(super) fn known<'t>(&self, tree: &'t Value) -> Cow<'t, Value> {
        let mut known = Cow::Borrowed(tree);
        for answer in &self.excused {
            put(known.to_mut(), answer, &Value::Null);
        }
        for assumption in &self.assumptions {
            if let Some(taken) = known.to_mut().pointer_mut(&assumption.answer) {
                *taken = Value::Null;
            }
        }
        known
    }

    /// Notes the values as they were understood, and takes them out of the tree that is kept.
    pub(super) fn take_out(&mut self, tree: &mut Value) {
        for assumption in &mut self.assumptions {
            assumption.value = tree.pointer(&assumption.answer).cloned();
        }
        for assumption in &self.assumptions {
            remove(tree, &assumption.answer);
        }
    }
}

fn entries(job: &Value) -> &[Value] {
    job.get("basis")
        .and_then(Value::as_array)
        .map_or(&[], Vec::as_slice)
}

fn answer_of(entry: &Value) -> Option<(&str, &str)> {
    Some((entry.get("answer")?.as_str()?, entry.get("known")?.as_str()?))
}

/// Whether the pointer of a rule, with `*` for an entry of a list, is that of `answer`.
pub(crate) fn is_rule_for(rule: &str, answer: &str) -> bool {
    if !rule.contains('*') {
        return rule == answer;
    }
    let mut rule = rule.split('/');
    let mut answer = answer.split('/');
    loop {
        match (rule.next(), answer.next()) {
            (None, None) => return true,
            (Some("*"), Some(token)) if !token.is_empty() && token.bytes().all(|b| b.is_ascii_digit()) => {}
            (Some(wanted), Some(token)) if wanted == token => {}
            _ => return false,
        }
    }
}

/// Sets the member at `pointer`, making the groups above it; entries of lists must be there.
fn put(tree: &mut Value, pointer: &str, value: &Value) -> bool {
    let Some((parents, last)) = pointer.rsplit_once('/') else {
        return false;
    };
    let mut at = tree;
    for token in parents.split('/').skip(1) {
        let next = match at {
            Value::Object(members) => Some(members.entry(token).or_insert_with(|| Value::Object(Map::new()))),
            Value::Array(entries) => token
                .parse::<usize>()
                .ok()
                .and_then(|index| entries.get_mut(index)),
            _ => None,
        };
        match next {
            Some(next) => at = next,
            None => return false,
        }
    }
    match at {
        Value::Object(members) => {
            members.insert(last.to_owned(), value.clone());
            true
        }
        _ => false,
    }
}

fn remove(tree: &mut Value, pointer: &str) {
    let Some((parent, token)) = pointer.rsplit_once('/') else {
        return;
    };
    if let Some(Value::Object(members)) = tree.pointer_mut(parent) {
        members.shift_remove(token);
    }
}

impl Form {
    /// What to do with an answer that no rule speaks of.
    fn instead(&self, answer: &str, rules: &[UnknownRule]) -> String {
        let inside = format!("{answer}/");
        let parts: Vec<&str> = rules
            .iter()
            .filter(|rule| rule.answer.starts_with(&inside))
            .map(|rule| rule.answer.as_str())
            .collect();
        if !parts.is_empty() {
            return format!("name what is not known of it, {}", parts.join(", "));
        }
        if self.may_be_left_out(answer) {
            return "leave it out, it need not be given".to_owned();
        }
        "it must be given".to_owned()
    }

    /// Of a pointer to an answer in a list, which entry is not there.
    fn no_entry(&self, job: &Value, pointer: &str) -> Option<String> {
        self.answer(pointer)?;
        let mut reached = String::new();
        for token in pointer.split('/').skip(1) {
            let entries = job.pointer(&reached).and_then(Value::as_array);
            if let Some(entries) = entries.filter(|_| job.pointer(&format!("{reached}/{token}")).is_none()) {
                return Some(match entries.len() {
                    0 => format!("{reached} has no entries"),
                    1 => format!("{reached} has one entry, {reached}/0"),
                    count => format!(
                        "{reached} has {count} entries, {reached}/0 to {reached}/{}",
                        count - 1
                    ),
                });
            }
            reached = format!("{reached}/{token}");
        }
        None
    }

    /// Answers that were measured, told or assumed, and yet are not given; the rulebook's or the form's own value that stands
    /// in for one is none of these.
    pub(super) fn known_but_missing(&self, job: &Value, prefix: &str) -> Vec<Fault> {
        let named = entries(job).iter().take(BASIS_ENTRIES).enumerate();
        let missing = named.filter_map(|(index, entry)| {
            let (answer, known) = answer_of(entry)?;
            let has_default = matches!(self.field(answer)?.need, Need::Default(_));
            if known == "unknown"
                || has_default
                || !self.has_answer(job, answer)
                || job.pointer(answer).is_some()
            {
                return None;
            }
            Some(Fault {
                pointer: format!("{prefix}/basis/{index}/answer"),
                code: FaultCode::Missing,
                came: "nothing".to_owned(),
                allowed: "an answer, or known = unknown".to_owned(),
                message: format!(
                    "{answer} is marked {known}, but no answer is given: give it, or mark it unknown"
                ),
            })
        });
        missing.collect()
    }

    /// Whether `pointer` names an answer of the form, and every list entry on the way to it is there.
    fn has_answer(&self, job: &Value, pointer: &str) -> bool {
        let mut reached = String::new();
        let entry_is_there = |token: &str| {
            reached.push('/');
            reached.push_str(token);
            let is_entry = token.bytes().all(|b| b.is_ascii_digit());
            token != "*" && (!is_entry || job.pointer(&reached).is_some())
        };
        self.answer(pointer).is_some() && pointer.split('/').skip(1).all(entry_is_there)
    }
}
