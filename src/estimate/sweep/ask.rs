//! What is asked: the request, and the answers that vary, read with every fault told at its place.

use chrono::NaiveDate;
use serde_json::{Value, json};

use super::MOST_POINTS;
use crate::job::form::{Field, Form, Shape, list};
use crate::job::{Fault, FaultCode, Faults};
use crate::quantity::Decimal;
use crate::quantity::decimal::plain;
use crate::quantity::unit::Unit;

/// Most characters of a pointer.
const POINTER: usize = 200;
/// The finest step between two values of a measure: a millionth of its unit, the last decimal that an answer may have.
const FINEST: Decimal = Decimal::from_parts(1, 0, 0, false, 6);

/// A sweep that was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Ask {
    /// The estimate request; the varied answers in it do not count.
    pub request: Value,
    /// The day whose prices apply; today when it is not given.
    pub priced_on: Option<NaiveDate>,
    /// Id of the policy; the company's own when it is not given.
    pub policy: Option<String>,
    /// The answers that vary: one or two.
    pub vary: Vec<Vary>,
    /// Whether breaks are looked for.
    pub breaks: bool,
}

/// An answer that varies.
#[derive(Debug, Clone, PartialEq)]
pub struct Vary {
    /// JSON Pointer into the job spec.
    pub answer: String,
    /// Its values, in order.
    pub(super) values: Values,
}

/// The values of an answer.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Values {
    /// Ascending numbers.
    Numbers {
        sort: Sort,
        list: Vec<Decimal>,
        /// Breaks are narrowed down to this.
        resolution: Decimal,
    },
    /// Words, or true and false.
    Words(Vec<Value>),
}

/// The sorts of numbers in a job spec.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort {
    Measure(Unit),
    Number,
    Count,
}

impl Sort {
    /// A number as the job spec has it.
    pub(super) fn answer(self, value: Decimal) -> Value {
        match self {
            Self::Measure(unit) => json!({"value": plain(value), "unit": unit.symbol()}),
            Self::Number => Value::from(plain(value)),
            Self::Count => u64::try_from(value).map_or(Value::Null, Value::from),
        }
    }

    fn read(self, answer: &Value) -> Option<Decimal> {
        let digits = match answer.get("value").unwrap_or(answer) {
            Value::String(text) => text.clone(),
            other => other.to_string(),
        };
        Decimal::from_str_exact(&digits).ok()
    }
}

impl Values {
    pub(super) fn count(&self) -> usize {
        match self {
            Self::Numbers { list, .. } => list.len(),
            Self::Words(words) => words.len(),
        }
    }

    /// The value at a place, as the job spec has it.
    pub(super) fn answer(&self, place: usize) -> Value {
        match self {
            Self::Numbers { sort, list, .. } => {
                list.get(place).map_or(Value::Null, |value| sort.answer(*value))
            }
            Self::Words(words) => words.get(place).cloned().unwrap_or_default(),
        }
    }
}

/// Gathers faults, those of a part of the request under its pointer.
#[derive(Default)]
struct Told(Vec<Fault>);

impl Told {
    fn take<T>(&mut self, read: Result<T, Faults>) -> Option<T> {
        read.map_err(|faults| self.0.extend(faults.list)).ok()
    }

    fn say(&mut self, pointer: &str, code: FaultCode, came: String, allowed: &str) {
        let message = format!("{came} came; {allowed} is asked for");
        self.0.push(Fault {
            pointer: pointer.to_owned(),
            code,
            came,
            allowed: allowed.to_owned(),
            message,
        });
    }
}

impl Ask {
    /// Reads what is asked, by the form of the rulebook that the request names.
    ///
    /// # Errors
    /// Every fault at once, each with its JSON Pointer. Those of the request itself are told when it is estimated.
    pub fn read(form: &Form, body: &Value) -> Result<Self, Faults> {
        let mut told = Told::default();
        let frame = Shape::Group(vec![
            Field::new("request", "Estimate request", Shape::Open),
            Field::new("vary", "Answers that vary", list(Shape::Open, 1, 2)),
            Field::new("breaks", "Whether breaks are looked for", Shape::Flag).or(true),
        ]);
        let Some(tree) = told.take(form.read_part(&frame, body, "")) else {
            return Err(Faults { list: told.0 });
        };
        let request = tree.get("request").cloned().unwrap_or_default();
        let frame = told
            .take(form.read_frame(&request, "/request"))
            .unwrap_or_default();
        let text = |name: &str| frame.get(name).and_then(Value::as_str);
        let mut vary: Vec<Vary> = Vec::new();
        let entries = tree.get("vary").and_then(Value::as_array);
        for (place, entry) in entries.into_iter().flatten().enumerate() {
            let at = format!("/vary/{place}");
            let Some(read) = read_vary(form, &request, entry, &at, &mut told) else {
                continue;
            };
            if vary.iter().any(|other| other.answer == read.answer) {
                let allowed = "two different answers";
                told.say(
                    &format!("{at}/answer"),
                    FaultCode::NamedTwice,
                    read.answer.clone(),
                    allowed,
                );
            }
            vary.push(read);
        }
        let points: usize = vary.iter().map(|vary| vary.values.count()).product();
        if points > MOST_POINTS {
            let allowed = format!("at most {MOST_POINTS} points");
            told.say("/vary", FaultCode::TooMany, format!("{points} points"), &allowed);
        }
        if !told.0.is_empty() {
            return Err(Faults { list: told.0 });
        }
        Ok(Self {
            priced_on: text("priced_on").and_then(|day| day.parse().ok()),
            policy: text("policy").map(str::to_owned),
            request,
            vary,
            breaks: tree.get("breaks").and_then(Value::as_bool).unwrap_or(true),
        })
    }
}

fn read_vary(form: &Form, request: &Value, entry: &Value, at: &str, told: &mut Told) -> Option<Vary> {
    let named = entry.get("answer").and_then(Value::as_str).unwrap_or_default();
    let pointer = format!("{at}/answer");
    let shape = form.answer(named);
    let mut fields = vec![Field::new("answer", "Which answer", Shape::Text { max: POINTER })];
    let (sort, step) = match shape {
        Some(Shape::Measure { unit, min, max }) => {
            let unit_of_step = unit.degree_difference().unwrap_or(*unit);
            let step = Shape::Measure {
                unit: unit_of_step,
                min: FINEST,
                max: *max - *min,
            };
            (Some((Sort::Measure(*unit), FINEST)), Some(step))
        }
        Some(Shape::Number { min, max, scale }) => {
            let step = Shape::Number {
                min: Decimal::new(1, *scale),
                max: *max - *min,
                scale: *scale,
            };
            (Some((Sort::Number, Decimal::new(1, *scale))), Some(step))
        }
        Some(Shape::Count { max, .. }) => {
            let step = Shape::Count { min: 1, max: *max };
            (Some((Sort::Count, Decimal::ONE)), Some(step))
        }
        Some(Shape::Choice(_) | Shape::Flag) => (None, None),
        _ => {
            let allowed = "a JSON Pointer into the job spec to a measure, number, count, choice or yes/no";
            told.say(&pointer, FaultCode::NotAnAnswer, format!("`{named}`"), allowed);
            return None;
        }
    };
    let shape = shape?.clone();
    if let Some(step) = &step {
        fields.push(Field::new("from", "First value", shape.clone()).optional());
        fields.push(Field::new("to", "Last value", shape.clone()).optional());
        fields.push(Field::new("step", "Step", step.clone()).optional());
        fields.push(Field::new("resolution", "How far breaks are narrowed down", step.clone()).optional());
    }
    fields.push(Field::new("values", "Values", list(shape, 1, MOST_POINTS)).optional());
    let read = told.take(form.read_part(&Shape::Group(fields), entry, at));
    let parent = named.rsplit_once('/').map_or("", |(parent, _)| parent);
    let stands = request
        .pointer(&format!("/job{parent}"))
        .is_some_and(Value::is_object);
    if !stands {
        let allowed = "an answer whose group is in the job of the request";
        told.say(&pointer, FaultCode::NotAnAnswer, format!("`{named}`"), allowed);
    }
    let read = read.filter(|_| stands)?;
    let values = match sort {
        Some((sort, finest)) => {
            let (sort, read) = as_asked(sort, entry, read);
            numbers((sort, finest), &read, at, told)?
        }
        None => words(&read, at, told)?,
    };
    Some(Vary {
        answer: named.to_owned(),
        values,
    })
}

/// Measures in the unit in which they were all asked for; where they were not, in the form's own.
fn as_asked(sort: Sort, entry: &Value, read: Value) -> (Sort, Value) {
    let Sort::Measure(own) = sort else {
        return (sort, read);
    };
    let members = ["from", "to"].into_iter().filter_map(|name| entry.get(name));
    let listed = entry.get("values").and_then(Value::as_array);
    let points: Vec<Option<Unit>> = members.chain(listed.into_iter().flatten()).map(unit_of).collect();
    let Some(Some(asked)) = points.first().copied() else {
        return (sort, read);
    };
    let difference = asked.degree_difference().unwrap_or(asked);
    let steps = ["step", "resolution"]
        .into_iter()
        .filter_map(|name| entry.get(name));
    let same = points.iter().all(|unit| *unit == Some(asked));
    if asked == own || !same || !steps.map(unit_of).all(|unit| unit == Some(difference)) {
        return (sort, read);
    }
    (Sort::Measure(asked), entry.clone())
}

fn unit_of(measure: &Value) -> Option<Unit> {
    Unit::parse(measure.get("unit")?.as_str()?).ok()
}

fn words(read: &Value, at: &str, told: &mut Told) -> Option<Values> {
    let words = read.get("values").and_then(Value::as_array).cloned();
    if words.is_none() {
        told.say(
            at,
            FaultCode::Missing,
            "no `values`".to_owned(),
            "a list of `values`",
        );
    }
    words.map(Values::Words)
}

fn numbers((sort, finest): (Sort, Decimal), read: &Value, at: &str, told: &mut Told) -> Option<Values> {
    let number = |name: &str| read.get(name).and_then(|value| sort.read(value));
    let resolution = number("resolution").unwrap_or(finest);
    let listed = read.get("values").and_then(Value::as_array);
    let list = match (listed, number("from"), number("to"), number("step")) {
        (Some(values), None, None, None) => values.iter().filter_map(|value| sort.read(value)).collect(),
        (None, Some(from), Some(to), Some(step)) => range(from, to, step, at, told)?,
        _ => {
            let allowed = "either `from`, `to` and `step`, or a list of `values`";
            told.say(
                at,
                FaultCode::Missing,
                "neither of the two, or both".to_owned(),
                allowed,
            );
            return None;
        }
    };
    if list
        .windows(2)
        .any(|pair| matches!(pair, [one, next] if one >= next))
    {
        let allowed = "numbers ascending, each once";
        told.say(
            &format!("{at}/values"),
            FaultCode::OutOfBounds,
            "another order".to_owned(),
            allowed,
        );
        return None;
    }
    Some(Values::Numbers {
        sort,
        list,
        resolution,
    })
}

/// From the first value by steps up to the last.
fn range(from: Decimal, to: Decimal, step: Decimal, at: &str, told: &mut Told) -> Option<Vec<Decimal>> {
    if to < from {
        let allowed = format!("{} or more", plain(from));
        told.say(&format!("{at}/to"), FaultCode::OutOfBounds, plain(to), &allowed);
        return None;
    }
    let steps = (to - from)
        .checked_div(step)
        .and_then(|steps| usize::try_from(steps.trunc()).ok());
    match steps.filter(|steps| *steps < MOST_POINTS) {
        Some(steps) => (0..=steps)
            .map(|count| step.checked_mul(Decimal::from(count))?.checked_add(from))
            .collect(),
        None => {
            let came = "a step that gives too many points".to_owned();
            let allowed = format!("at most {MOST_POINTS} points");
            told.say(&format!("{at}/step"), FaultCode::TooMany, came, &allowed);
            None
        }
    }
}
