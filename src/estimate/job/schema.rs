//! The form as a JSON Schema (draft 2020-12), for the contract and for forms on a screen.
//!
//! Bounds of a quantity hold in the form's unit and stand in `x-unit`, `x-minimum` and `x-maximum`,
//! because any unit of the dimension may come. An answer that is needed is marked `x-needed` and not
//! listed in `required`: it may be left out when `basis` names it as unknown. `x-order` is the place of a question among
//! its group's, since members of an object have none. `x-matters` says on which jobs an extra input matters.

use serde_json::{Map, Value, json};

use super::form::{Field, Form, Need, Shape, Words};
use crate::quantity::Decimal;
use crate::quantity::decimal::{UNIT_PRICE_SCALE, plain};
use crate::quantity::money::GIVEN_MOST;
use crate::quantity::unit::Unit;

/// The grammar of a quantity's or a cost's digits.
const DIGITS: &str = r"^-?(0|[1-9][0-9]{0,14})(\.[0-9]{1,6})?$";
/// A text that is not blank and has no control characters but line feed and tab.
const TEXT: &str = r"^[^\x00-\x08\x0b-\x1f\x7f-\x9f]*[^\s\x00-\x1f\x7f-\x9f][^\x00-\x08\x0b-\x1f\x7f-\x9f]*$";
const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";
/// Units of measure shown as examples of those that may come.
const COMMON: [&[&str]; 9] = [
    &["ft", "in", "m", "cm", "mm"],
    &["in", "ft", "cm", "mm"],
    &["mi", "km"],
    &["ft2", "m2"],
    &["ft3", "m3"],
    &["h", "min"],
    &["degF", "degC"],
    &["W", "kW"],
    &["mg/L", "gr/gal"],
];

impl Form {
    /// JSON Schema of a job spec.
    pub fn schema(&self) -> Value {
        let mut schema = whole(&self.job, "Job spec", true);
        self.tell_what_matters(&mut schema);
        schema
    }

    /// JSON Schema of an estimate request, with the job spec's in `$defs`.
    pub fn request_schema(&self) -> Value {
        let mut schema = whole(&self.request, "Estimate request", false);
        schema["$defs"]["job"] = of_shape(&self.job, true);
        self.tell_what_matters(&mut schema["$defs"]["job"]);
        schema
    }
}

impl Shape {
    /// JSON Schema of this shape, for a form of another room.
    pub(crate) fn schema(&self, title: &str) -> Value {
        whole(self, title, false)
    }
}

fn whole(shape: &Shape, title: &str, in_job: bool) -> Value {
    let mut schema = json!({"$schema": DIALECT, "title": title});
    merge(&mut schema, of_shape(shape, in_job));
    schema["$defs"] = json!({
        "digits": {
            "description": "A decimal as text, or as a JSON number read by its digits. No exponent.",
            "type": ["string", "number"],
            "pattern": DIGITS,
        },
    });
    schema
}

fn merge(schema: &mut Value, more: Value) {
    if let (Value::Object(schema), Value::Object(more)) = (schema, more) {
        schema.extend(more);
    }
}

fn digits() -> Value {
    json!({"$ref": "#/$defs/digits"})
}

fn of_shape(shape: &Shape, in_job: bool) -> Value {
    match shape {
        Shape::Text { max } => json!({"type": "string", "minLength": 1, "maxLength": max, "pattern": TEXT}),
        Shape::Code { max } => json!({"type": "string", "pattern": "^[A-Za-z0-9._/:-]+$", "maxLength": max}),
        Shape::Date => json!({"type": "string", "format": "date"}),
        Shape::Measure { unit, min, max } => {
            let mut schema = quantity(json!({"type": "string", "examples": units_like(unit)}));
            schema["x-unit"] = json!(unit.symbol());
            schema["x-minimum"] = json!(plain(*min));
            schema["x-maximum"] = json!(plain(*max));
            schema
        }
        Shape::AnyQuantity { min, max } => {
            let mut schema = quantity(json!({"type": "string", "examples": ["each", "ft"]}));
            schema["x-minimum"] = json!(plain(*min));
            schema["x-maximum"] = json!(plain(*max));
            schema
        }
        Shape::Number { min, max, scale } => {
            let bound = |bound: Decimal| serde_json::from_str::<Value>(&plain(bound)).unwrap_or(Value::Null);
            json!({
                "type": ["string", "number"],
                "pattern": format!(r"^-?(0|[1-9][0-9]{{0,14}})(\.[0-9]{{1,{scale}}})?$"),
                "minimum": bound(*min),
                "maximum": bound(*max),
            })
        }
        Shape::Money { credit } => {
            let mut schema = money();
            if !credit {
                schema["x-minimum"] = json!("0");
            }
            schema["x-maximum-minor-units"] = json!(GIVEN_MOST);
            schema
        }
        Shape::UnitCost { min, max } => {
            let mut amount = money();
            amount["x-minimum"] = json!(plain(*min));
            amount["x-maximum"] = json!(plain(*max));
            let digits = Shape::Number {
                min: *min,
                max: *max,
                scale: UNIT_PRICE_SCALE,
            };
            json!({"anyOf": [amount, of_shape(&digits, in_job)]})
        }
        Shape::Count { min, max } => json!({"type": "integer", "minimum": min, "maximum": max}),
        Shape::Flag => json!({"type": "boolean"}),
        Shape::Choice(words) => choice(words),
        Shape::Group(fields) => group(fields, in_job),
        Shape::List { item, min, max } => {
            json!({"type": "array", "items": of_shape(item, in_job), "minItems": min, "maxItems": max})
        }
        Shape::Job => json!({"$ref": "#/$defs/job"}),
        Shape::Open => json!({"type": "object"}),
    }
}

fn money() -> Value {
    json!({
        "type": "object",
        "properties": {"amount": digits(), "currency": {"type": "string", "pattern": "^[A-Z]{3}$"}},
        "required": ["amount", "currency"],
        "additionalProperties": false,
    })
}

fn quantity(unit: Value) -> Value {
    json!({
        "type": "object",
        "properties": {"value": digits(), "unit": unit},
        "required": ["value", "unit"],
        "additionalProperties": false,
    })
}

fn choice(words: &Words) -> Value {
    match words {
        Words::Fixed(words) => json!({
            "oneOf": words.iter().map(|(word, title)| json!({"const": word, "title": title})).collect::<Vec<_>>(),
        }),
        Words::Given(words) => json!({"enum": words.iter().map(AsRef::as_ref).collect::<Vec<&str>>()}),
    }
}

/// `in_job`: an answer that is needed may be unknown instead.
fn group(fields: &[Field], in_job: bool) -> Value {
    let mut properties = Map::new();
    let mut required: Vec<&str> = Vec::new();
    let mut conditions: Vec<Value> = Vec::new();
    for (place, field) in fields.iter().enumerate() {
        // Entries of basis are no answers: they cannot be unknown themselves.
        let inside = in_job && field.name != "basis";
        let mut schema = json!({"title": field.title, "x-order": place.saturating_add(1)});
        if !field.help.is_empty() {
            schema["description"] = json!(field.help);
        }
        merge(&mut schema, of_shape(&field.shape, inside));
        match &field.need {
            Need::Required if !in_job || field.name == "title" => required.push(&field.name),
            Need::Required if !matches!(field.shape, Shape::Group(_)) => schema["x-needed"] = json!(true),
            Need::Required | Need::Optional => {}
            Need::Default(value) => schema["default"] = value.clone(),
            Need::When { sibling, is } => {
                schema["x-needed"] = json!({"when": sibling, "is": is});
                if !in_job {
                    conditions.push(condition(&field.name, sibling, is));
                }
            }
        }
        properties.insert(field.name.to_string(), schema);
    }
    let mut schema = json!({"type": "object", "properties": properties, "additionalProperties": false});
    if !required.is_empty() {
        schema["required"] = json!(required);
    }
    if !conditions.is_empty() {
        schema["allOf"] = json!(conditions);
    }
    schema
}

fn condition(name: &str, sibling: &str, is: &[&str]) -> Value {
    json!({
        "if": {"properties": {sibling: {"enum": is}}, "required": [sibling]},
        "then": {"required": [name]},
    })
}

/// Units of the same dimension that people use, the form's own first.
fn units_like(unit: &Unit) -> Vec<String> {
    let own = unit.symbol();
    let others = COMMON
        .iter()
        .find(|group| group.first() == Some(&own.as_str()))
        .copied()
        .unwrap_or_default();
    let metric = match own.as_str() {
        "h*ft2*F_diff/Btu" => Some("m2*K/W"),
        "Btu/h/ft2/F_diff" => Some("W/m2/K"),
        _ => None,
    };
    let rest = others
        .iter()
        .copied()
        .filter(|other| *other != own)
        .chain(metric)
        .map(str::to_owned);
    std::iter::once(own.clone()).chain(rest).collect()
}
