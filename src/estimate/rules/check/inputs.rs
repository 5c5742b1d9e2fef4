//! Extra inputs: the questions that a rulebook adds to the job spec.

use super::super::formula::Flaw;
use super::super::rulebook::{Input, Text};
use crate::job::{ExtraInput, ExtraKind};
use crate::quantity::decimal::{self, QUANTITY_SCALE};
use crate::quantity::fact::{Bounds, Domain, FactDef, FactSource};
use crate::quantity::nearest;
use crate::quantity::unit::Unit;
use rust_decimal::Decimal;

/// A flaw and the field that it is in.
pub(super) type InputFlaw = (&'static str, Flaw);

/// What `type` may say.
const KINDS: [&str; 4] = ["quantity", "number", "flag", "choice"];

/// The input as the job spec's form takes it.
pub(super) fn extra(input: &Input) -> Result<ExtraInput, Vec<InputFlaw>> {
    let mut flaws = Vec::new();
    let kind = match &*input.kind {
        "quantity" => number(input, true, &mut flaws),
        "number" => number(input, false, &mut flaws),
        "flag" => flag(input, &mut flaws),
        "choice" => choice(input, &mut flaws),
        other => {
            let flaw = input
                .kind
                .whole("unknown_word", format!("`{other}` is no type of input"));
            flaws.push((
                "type",
                flaw.expected(KINDS.join(", "))
                    .suggest(nearest::name(other, KINDS)),
            ));
            None
        }
    };
    let numeric = matches!(&*input.kind, "quantity" | "number");
    for (field, text) in [("min", &input.min), ("max", &input.max)] {
        if let Some(text) = text.as_ref().filter(|_| !numeric) {
            flaws.push((
                field,
                text.whole("unknown_field", format!("only a number has `{field}`")),
            ));
        }
    }
    if let Some(unit) = input.unit.as_ref().filter(|_| &*input.kind != "quantity") {
        flaws.push(("unit", unit.whole("unknown_field", "only a quantity has a unit")));
    }
    if let Some(word) = input.words.first().filter(|_| &*input.kind != "choice") {
        flaws.push(("words", word.whole("unknown_field", "only a choice has words")));
    }
    match kind {
        Some(kind) if flaws.is_empty() => Ok(ExtraInput {
            name: input.name.shared(),
            title: input.title.shared(),
            kind,
            when: None,
        }),
        _ => Err(flaws),
    }
}

/// The fact that the answer becomes.
pub(super) fn fact(input: &ExtraInput) -> FactDef {
    let (name, source) = (format!("input.{}", input.name), FactSource::Input);
    match &input.kind {
        ExtraKind::Number { unit, min, max, .. } => {
            FactDef::number(&name, *unit, source, &input.title).within(Bounds::between(*min, *max))
        }
        ExtraKind::Flag { .. } => FactDef::flag(&name, source, &input.title),
        ExtraKind::Choice { domain, .. } => FactDef::choice(&name, domain, source, &input.title),
    }
}

fn number(input: &Input, quantity: bool, flaws: &mut Vec<InputFlaw>) -> Option<ExtraKind> {
    let unit = match (&input.unit, quantity) {
        (Some(text), true) => match Unit::parse(text) {
            Ok(unit) => Some(unit),
            Err(fault) => {
                flaws.push(("unit", text.whole("unknown_unit", fault.to_string())));
                None
            }
        },
        (None, true) => {
            flaws.push((
                "unit",
                input.name.whole("missing_field", "a quantity needs a `unit`"),
            ));
            None
        }
        (_, false) => Some(Unit::ONE),
    };
    let mut bound = |field: &'static str, text: &Option<Text>| match text {
        Some(text) => figure(field, text, flaws),
        None => {
            flaws.push((
                field,
                input
                    .name
                    .whole("missing_field", format!("a number needs `{field}`")),
            ));
            None
        }
    };
    let (min, max) = (bound("min", &input.min), bound("max", &input.max));
    let default = match &input.default {
        None => Some(None),
        Some(text) => figure("default", text, flaws).map(Some),
    };
    let (unit, min, max, default) = (unit?, min?, max?, default?);
    if let (true, Some(text)) = (min > max, &input.max) {
        flaws.push((
            "max",
            text.whole("order", "the greatest value is below the least"),
        ));
    }
    if let (Some(value), Some(text)) = (default, &input.default)
        && (value < min || value > max)
    {
        let flaw = text.whole("bounds", format!("the default {value} is not within bounds"));
        flaws.push(("default", flaw.expected(format!("{min} to {max}"))));
    }
    Some(ExtraKind::Number {
        unit,
        min,
        max,
        default,
    })
}

fn figure(field: &'static str, text: &Text, flaws: &mut Vec<InputFlaw>) -> Option<Decimal> {
    match decimal::parse(text, QUANTITY_SCALE) {
        Ok(value) => Some(value),
        Err(fault) => {
            flaws.push((
                field,
                text.whole("number", format!("`{}` {fault}", text.as_str())),
            ));
            None
        }
    }
}

fn flag(input: &Input, flaws: &mut Vec<InputFlaw>) -> Option<ExtraKind> {
    let default = match input.default.as_deref() {
        None => None,
        Some("true") => Some(true),
        Some("false") => Some(false),
        Some(other) => {
            let flaw = input
                .default
                .as_ref()?
                .whole("unknown_word", format!("`{other}` is neither true nor false"));
            flaws.push(("default", flaw.expected("true or false")));
            return None;
        }
    };
    Some(ExtraKind::Flag { default })
}

fn choice(input: &Input, flaws: &mut Vec<InputFlaw>) -> Option<ExtraKind> {
    if input.words.len() < 2 {
        flaws.push((
            "words",
            input
                .name
                .whole("missing_field", "a choice needs two or more `words`"),
        ));
        return None;
    }
    for (at, word) in input.words.iter().enumerate() {
        if input.words.iter().take(at).any(|earlier| earlier == word) {
            flaws.push((
                "words",
                word.whole("duplicate", format!("the word `{}` stands twice", word.as_str())),
            ));
        }
    }
    let name = format!("input.{}", input.name.as_str());
    let domain = Domain::new(&name, input.words.iter().map(Text::as_str));
    let default = match &input.default {
        None => None,
        Some(text) => {
            let number = domain.number(text);
            if number.is_none() {
                let words: Vec<&str> = input.words.iter().map(Text::as_str).collect();
                let flaw = text.whole(
                    "unknown_word",
                    format!("`{}` is none of the words", text.as_str()),
                );
                flaws.push(("default", flaw.expected(words.join(", "))));
            }
            number
        }
    };
    Some(ExtraKind::Choice { domain, default })
}
