//! Reads JSON by the form: every fault is gathered, and what is right comes out in normal form (the
//! form's units, canonical numbers, defaults filled in, members in the form's order).
//!
//! A member that has a fault stands in the tree as `null`, so that it counts as given and nothing
//! that depends on it is judged.

use std::cell::OnceCell;
use std::collections::HashSet;

use serde_json::{Map, Value};

use super::fault::{Fault, FaultCode, Gathered, describe, shorten};
use super::form::{Field, LeftOut, Need, Shape};
use crate::quantity::nearest;

mod amounts;
mod leaf;

/// What came out of a reading.
pub(super) struct Read<'a> {
    /// The normal form.
    pub(super) tree: Value,
    pub(super) faults: Gathered,
    /// Answers of a job spec that were left out and are told: where each would stand, and its question.
    pub(super) left_out: Vec<(String, &'a Field)>,
    /// Times of a job spec that are no round number of the form's unit, as they came.
    pub(super) as_came: Vec<(String, Value)>,
}

/// Walks one value by one shape.
pub(super) struct Reader<'a> {
    pointer: String,
    faults: Gathered,
    /// Where the job spec begins, when a missing answer may be marked unknown: the length of the
    /// pointer to it.
    job_at: Option<usize>,
    /// Answers in the job spec that may be missing, because a fault about them is told already.
    excused: &'a HashSet<String>,
    /// Answers that come from the office's rules for unknown answers.
    by_rule: &'a HashSet<String>,
    left_out: Vec<(String, &'a Field)>,
    as_came: Vec<(String, Value)>,
    /// Where a name that has no place here may have been meant for.
    deeper: &'a Deeper<'a>,
}

/// A form whose questions may have been written one level too high or too low.
#[derive(Default)]
pub(super) struct Deeper<'a> {
    shape: Option<(&'static str, &'a Shape)>,
    /// Names of its questions with those of the groups around them, once they are asked for.
    names: OnceCell<Vec<String>>,
}

impl<'a> Deeper<'a> {
    /// The questions of `shape`, whose names begin with `under`.
    pub(super) fn of(under: &'static str, shape: &'a Shape) -> Self {
        Self {
            shape: Some((under, shape)),
            names: OnceCell::new(),
        }
    }

    /// The one question of this name, with the names of the groups around it.
    fn name(&self, wanted: &str) -> Option<&str> {
        let names = self.names.get_or_init(|| {
            let mut found = Vec::new();
            if let Some((under, shape)) = self.shape {
                dotted(shape, under, &mut found);
            }
            found
        });
        let ends = |name: &&String| name.rsplit('.').next() == Some(wanted);
        let mut found = names.iter().filter(ends);
        found
            .next()
            .filter(|_| found.next().is_none())
            .map(String::as_str)
    }
}

impl<'a> Reader<'a> {
    /// A reader for a job spec that stands at `pointer`.
    pub(super) fn of_job(
        pointer: &str,
        excused: &'a HashSet<String>,
        by_rule: &'a HashSet<String>,
        deeper: &'a Deeper<'a>,
    ) -> Self {
        Self {
            job_at: Some(pointer.len()),
            excused,
            by_rule,
            ..Self::elsewhere(pointer, excused, deeper)
        }
    }

    /// A reader for anything else that stands at `pointer`.
    pub(super) fn elsewhere(pointer: &str, none: &'a HashSet<String>, deeper: &'a Deeper<'a>) -> Self {
        Self {
            pointer: pointer.to_owned(),
            faults: Gathered::default(),
            job_at: None,
            excused: none,
            by_rule: none,
            left_out: Vec::new(),
            as_came: Vec::new(),
            deeper,
        }
    }

    /// Reads `value` by `shape`.
    pub(super) fn read(self, shape: &'a Shape, value: &Value) -> Read<'a> {
        self.read_as("", shape, value)
    }

    /// Reads the value of a question of this title.
    pub(super) fn read_as(mut self, title: &str, shape: &'a Shape, value: &Value) -> Read<'a> {
        let tree = self.shape(shape, title, value);
        Read {
            tree,
            faults: self.faults,
            left_out: self.left_out,
            as_came: self.as_came,
        }
    }

    fn fault(
        &mut self,
        code: FaultCode,
        came: impl Into<String>,
        allowed: impl Into<String>,
        message: String,
    ) {
        let by_rule = self.in_job().is_some_and(|pointer| covers(self.by_rule, pointer));
        let message = if by_rule {
            format!("{message} (the value comes from the rulebook's rule for unknown answers)")
        } else {
            message
        };
        self.faults.push(Fault {
            pointer: self.pointer.clone(),
            code,
            came: came.into(),
            allowed: allowed.into(),
            message,
        });
    }

    /// Does `work` one step further down.
    fn at<T>(&mut self, token: &str, work: impl FnOnce(&mut Self) -> T) -> T {
        let length = self.pointer.len();
        self.pointer.push('/');
        for sign in token.chars() {
            match sign {
                '~' => self.pointer.push_str("~0"),
                '/' => self.pointer.push_str("~1"),
                other => self.pointer.push(other),
            }
        }
        let done = work(self);
        self.pointer.truncate(length);
        done
    }

    fn shape(&mut self, shape: &'a Shape, title: &str, value: &Value) -> Value {
        match shape {
            Shape::Group(fields) => self.group(fields, title, Some(value)),
            Shape::List { item, min, max } => self.list(item, *min, *max, title, value),
            // The form that holds a job spec leaves it to the job form.
            Shape::Job => Value::Null,
            Shape::Open if value.is_object() => value.clone(),
            leaf => self.leaf(leaf, title, value).unwrap_or(Value::Null),
        }
    }

    fn group(&mut self, fields: &'a [Field], title: &str, value: Option<&Value>) -> Value {
        let empty = Map::new();
        let members = match value {
            None => &empty,
            Some(Value::Object(members)) => members,
            Some(other) => {
                self.wrong_type(title, other, "an object");
                return Value::Null;
            }
        };
        let mut tree = Map::with_capacity(fields.len());
        for field in fields {
            if let Some(read) = self.member(field, members.get(&*field.name), &tree) {
                tree.insert(field.name.to_string(), read);
            }
        }
        self.unknown_members(fields, members);
        Value::Object(tree)
    }

    /// One member of a group; `None` when it may be and is left out.
    fn member(
        &mut self,
        field: &'a Field,
        value: Option<&Value>,
        before: &Map<String, Value>,
    ) -> Option<Value> {
        self.at(&field.name, |this| match (value, &field.need, &field.shape) {
            (Some(value), ..) => Some(this.shape(&field.shape, &field.title, value)),
            (None, Need::Required, Shape::Group(fields)) => Some(this.group(fields, &field.title, None)),
            (None, Need::Required, _) => {
                this.missing(field, "");
                Some(Value::Null)
            }
            (None, Need::Default(value), _) => {
                this.note_left_out(field);
                Some(value.clone())
            }
            (None, Need::Optional, _) => {
                this.note_left_out(field);
                None
            }
            (None, Need::When { sibling, is }, _) => {
                let word = before.get(*sibling).and_then(word_of)?;
                is.contains(&word).then(|| {
                    this.missing(field, &format!(" when {sibling} is {word}"));
                    Value::Null
                })
            }
        })
    }

    /// Notes an answer of the job that is left out, unless a rule for unknown answers speaks of it.
    fn note_left_out(&mut self, field: &'a Field) {
        let LeftOut::Told { .. } = field.left_out else {
            return;
        };
        let place = self.in_job().filter(|pointer| !covers(self.by_rule, pointer));
        if let Some(place) = place.map(str::to_owned) {
            self.left_out.push((place, field));
        }
    }

    /// The pointer into the job spec, when it is one that is read.
    fn in_job(&self) -> Option<&str> {
        self.job_at.and_then(|at| self.pointer.get(at..))
    }

    fn missing(&mut self, field: &Field, when: &str) {
        let title = &field.title;
        let allowed = leaf::allowed(&field.shape);
        let (code, message) = match self.in_job() {
            Some(pointer) if covers(self.excused, pointer) => return,
            Some(pointer) if covers(self.by_rule, pointer) => (
                FaultCode::UnknownRefused,
                format!(
                    "{title} must be given{when}: it was marked unknown, and the rules have no value for it"
                ),
            ),
            Some(pointer) if pointer != "/title" && !pointer.starts_with("/basis") => (
                FaultCode::Missing,
                format!(
                    "{title} must be given{when}: {allowed}; or, where the rules have a value for it, name it in \
                     basis as {{\"answer\": \"{pointer}\", \"known\": \"unknown\"}}"
                ),
            ),
            _ => (
                FaultCode::Missing,
                format!("{title} must be given{when}: {allowed}"),
            ),
        };
        self.fault(code, "nothing", allowed, message);
    }

    fn unknown_members(&mut self, fields: &[Field], members: &Map<String, Value>) {
        for (name, value) in members {
            if fields.iter().any(|field| field.name == *name) {
                continue;
            }
            self.at(name, |this| {
                let known = fields.iter().map(|field| &*field.name);
                let near = this
                    .elsewhere_in_form(name)
                    .or_else(|| nearest::name(name, known.clone()));
                let hint = near
                    .map(|near| format!("; did you mean {near}?"))
                    .unwrap_or_default();
                let allowed = match known.collect::<Vec<_>>() {
                    known if known.is_empty() => "nothing: there are no questions here".to_owned(),
                    known => known.join(", "),
                };
                let message = format!("there is no {} here{hint}", shorten(name));
                this.fault(FaultCode::UnknownField, describe(value), allowed, message);
            });
        }
    }

    /// Where a name that has no place here was meant for: a question of the job one level too high or too low. What stands
    /// in an entry of a list, or beside the job, is no such question.
    fn elsewhere_in_form(&self, name: &str) -> Option<&'a str> {
        let in_groups = match self.in_job() {
            Some(place) => !place.split('/').any(|token| token.parse::<usize>().is_ok()),
            None => self.pointer.matches('/').count() == 1,
        };
        let deeper: &'a Deeper<'a> = self.deeper;
        deeper.name(name).filter(|found| in_groups && *found != name)
    }

    fn list(&mut self, item: &'a Shape, min: usize, max: usize, title: &str, value: &Value) -> Value {
        let Value::Array(entries) = value else {
            self.wrong_type(title, value, "a list");
            return Value::Null;
        };
        let came = match entries.len() {
            1 => "1 entry".to_owned(),
            count => format!("{count} entries"),
        };
        let allowed = format!("{min} to {max} entries");
        if entries.len() > max {
            // Nothing of an overlong list is read: its faults could be as many as it has entries.
            let message = format!("{title}: {came} came; the most is {max}");
            self.fault(FaultCode::TooMany, came, allowed, message);
            return Value::Null;
        }
        if entries.len() < min {
            let message = format!("{title}: {came} came; the least is {min}");
            self.fault(FaultCode::TooFew, came, allowed, message);
            return Value::Null;
        }
        let read = entries
            .iter()
            .enumerate()
            .map(|(index, entry)| self.at(&index.to_string(), |this| this.shape(item, title, entry)))
            .collect();
        Value::Array(read)
    }

    fn wrong_type(&mut self, title: &str, value: &Value, wanted: &str) {
        let came = describe(value);
        let subject = if title.is_empty() { "the value" } else { title };
        let message = if value.is_null() && title.is_empty() {
            format!("null is nothing: it must be {wanted}")
        } else if value.is_null() {
            format!("{subject}: null is no answer; leave it out instead, or give {wanted}")
        } else {
            format!("{subject} must be {wanted}; {came} came")
        };
        self.fault(FaultCode::WrongType, came, wanted, message);
    }
}

impl Shape {
    /// Reads `value`, which stands at `pointer` of what was sent, for a form of another room.
    pub(crate) fn read(&self, value: &Value, pointer: &str) -> (Value, Gathered) {
        let (none, nowhere) = (HashSet::new(), Deeper::default());
        let read = Reader::elsewhere(pointer, &none, &nowhere).read(self, value);
        (read.tree, read.faults)
    }
}

/// Names of all questions in a shape, each behind those of the groups around it: `unit.mounting`. Entries of lists have
/// no name.
fn dotted(shape: &Shape, under: &str, found: &mut Vec<String>) {
    let Shape::Group(fields) = shape else {
        return;
    };
    for field in fields {
        let dot = if under.is_empty() { "" } else { "." };
        let name = format!("{under}{dot}{}", field.name);
        dotted(&field.shape, &name, found);
        found.push(name);
    }
}

/// Whether `pointer` is one of the answers or inside one.
fn covers(answers: &HashSet<String>, pointer: &str) -> bool {
    let inside = |answer: &String| {
        let rest = pointer.strip_prefix(answer.as_str());
        rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
    };
    answers.iter().any(inside)
}

/// The word of a choice or flag in a normal tree.
pub(super) fn word_of(value: &Value) -> Option<&str> {
    match value {
        Value::String(word) => Some(word),
        Value::Bool(true) => Some("true"),
        Value::Bool(false) => Some("false"),
        _ => None,
    }
}
