//! Whether two spellings of a field say the same.

use serde_json::{Map, Value};

use super::super::formula;
use super::FieldChange;
use crate::quantity::decimal::{self, plain};
use crate::quantity::unit::Unit;

/// The most decimals of a figure that is compared by value.
const FIGURE_SCALE: u32 = 12;

/// The fields of two parts that do not say the same.
pub(super) fn changed_fields(before: &Map<String, Value>, after: &Map<String, Value>) -> Vec<FieldChange> {
    let gone = before.keys().filter(|field| !after.contains_key(*field));
    let fields = after.keys().chain(gone);
    fields
        .filter(|field| meaning(field, before.get(*field)) != meaning(field, after.get(*field)))
        .map(|field| FieldChange {
            field: field.clone(),
            before: before.get(field).cloned(),
            after: after.get(field).cloned(),
        })
        .collect()
}

/// What a field says, the same for every spelling.
pub(super) fn meaning(field: &str, value: Option<&Value>) -> Value {
    let Some(value) = value else {
        return left_out(field);
    };
    match (field, value) {
        (
            "when" | "formula" | "quantity" | "waste" | "hours" | "crew" | "amount" | "item_from" | "add",
            Value::String(text),
        ) => of_formula(text).into(),
        ("message", Value::String(text)) => of_message(text).into(),
        ("min" | "max" | "default" | "max_factor" | "unit", Value::String(text)) => of_figure(text).into(),
        // Which names they are counts, not their order.
        ("words" | "factors" | "covered_by" | "shared_items", Value::Array(names)) => {
            let mut names: Vec<String> = names.iter().map(Value::to_string).collect();
            names.sort_unstable();
            names.into()
        }
        ("expect", Value::Array(expected)) => {
            let mut expected: Vec<String> = expected.iter().map(|one| of_answer(one).to_string()).collect();
            expected.sort_unstable();
            expected.into()
        }
        ("value" | "keys", value) => of_answer(value),
        (_, value) => value.clone(),
    }
}

/// What it means that a field is not there.
fn left_out(field: &str) -> Value {
    match field {
        "when" => "true".into(),
        "waste" => "0".into(),
        "crew" => "1".into(),
        _ => Value::Null,
    }
}

/// A text that is no formula, as a draft may have it, stands for itself.
pub(super) fn of_formula(text: &str) -> String {
    formula::meaning(text).unwrap_or_else(|| text.to_owned())
}

/// A figure, a percentage or a unit; any other text stands for itself.
pub(super) fn of_figure(text: &str) -> String {
    let percent = text.strip_suffix('%').map(str::trim_end);
    let figure = decimal::parse(percent.unwrap_or(text), FIGURE_SCALE).ok();
    let value = match percent {
        Some(_) => figure.and_then(|value| value.checked_mul(decimal::Decimal::new(1, 2))),
        None => figure,
    };
    match (value, Unit::parse(text)) {
        (Some(value), _) => plain(value),
        (None, Ok(unit)) => unit.to_string(),
        (None, Err(_)) => text.to_owned(),
    }
}

/// Words with formulas in braces between them.
fn of_message(text: &str) -> String {
    let mut said = String::new();
    let mut rest = text;
    while let Some((words, behind)) = rest.split_once('{') {
        let Some((inner, behind)) = behind.split_once('}') else {
            break;
        };
        said.push_str(words);
        said.push('{');
        said.push_str(&of_formula(inner));
        said.push('}');
        rest = behind;
    }
    said.push_str(rest);
    said
}

/// An answer of a job spec or a result: its figures and units by what they say.
fn of_answer(value: &Value) -> Value {
    match value {
        Value::String(text) => of_figure(text).into(),
        Value::Number(number) => of_figure(&number.to_string()).into(),
        Value::Array(values) => values.iter().map(of_answer).collect(),
        Value::Object(members) => members
            .iter()
            .map(|(name, value)| (name.clone(), of_answer(value)))
            .collect::<Map<_, _>>()
            .into(),
        other => other.clone(),
    }
}
