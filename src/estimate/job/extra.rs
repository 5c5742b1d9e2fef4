//! Extra inputs: questions that a rulebook adds to the form.

use std::sync::Arc;

use serde_json::{Value, json};

use super::form::{Field, LeftOut, Need, Shape, Words};
use super::matters::Matters;
use crate::quantity::Decimal;
use crate::quantity::decimal::{QUANTITY_SCALE, plain};
use crate::quantity::fact::{Bounds, Domain, FactDef, FactKind, FactSource, FactValue, WordNumber};
use crate::quantity::unit::Unit;

/// A question that a rulebook adds. Its answer stands at `/extra/<name>` and is the fact `input.<name>`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExtraInput {
    /// Lower-case name.
    pub name: Arc<str>,
    /// What a person reads.
    pub title: Arc<str>,
    /// What an answer looks like, and the answer taken when none is given.
    pub kind: ExtraKind,
    /// On which jobs it matters; on all, when absent.
    pub when: Option<Matters>,
}

/// What the answer to an extra input looks like; with no `default` it must be answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ExtraKind {
    /// A quantity in any unit of the dimension; a plain number when `unit` is [`Unit::ONE`].
    Number {
        /// The unit in which it is kept and in which bounds and default are given.
        unit: Unit,
        /// Least value.
        min: Decimal,
        /// Greatest value.
        max: Decimal,
        /// Value when it is left out.
        default: Option<Decimal>,
    },
    /// Yes or no.
    Flag {
        /// Value when it is left out.
        default: Option<bool>,
    },
    /// A word.
    Choice {
        /// The words and the name of their list.
        domain: Domain,
        /// Number of the word taken when it is left out.
        default: Option<WordNumber>,
    },
}

impl ExtraInput {
    pub(super) fn field(&self) -> Field {
        let (shape, default) = match &self.kind {
            ExtraKind::Number {
                unit,
                min,
                max,
                default,
            } if *unit == Unit::ONE => (
                Shape::Number {
                    min: *min,
                    max: *max,
                    scale: QUANTITY_SCALE,
                },
                default.map(|value| Value::String(plain(value))),
            ),
            ExtraKind::Number {
                unit,
                min,
                max,
                default,
            } => (
                Shape::Measure {
                    unit: *unit,
                    min: *min,
                    max: *max,
                },
                default.map(|value| json!({"value": plain(value), "unit": unit.symbol()})),
            ),
            ExtraKind::Flag { default } => (Shape::Flag, default.map(Value::Bool)),
            ExtraKind::Choice { domain, default } => (
                Shape::Choice(Words::Given(Arc::clone(&domain.words))),
                default.and_then(|number| domain.word(number)).map(Value::from),
            ),
        };
        Field {
            name: self.name.to_string().into(),
            title: self.title.to_string().into(),
            shape,
            left_out: match default {
                Some(_) => LeftOut::usual(),
                None => LeftOut::Silent,
            },
            need: default.map_or(Need::Required, Need::Default),
            help: "".into(),
        }
    }

    pub(super) fn fact(&self) -> FactDef {
        FactDef {
            name: format!("input.{}", self.name).into(),
            kind: match &self.kind {
                ExtraKind::Number { unit, .. } => FactKind::Number(*unit),
                ExtraKind::Flag { .. } => FactKind::Flag,
                ExtraKind::Choice { domain, .. } => FactKind::Choice(domain.clone()),
            },
            meaning: Arc::clone(&self.title),
            source: FactSource::Input,
            bounds: match &self.kind {
                ExtraKind::Number { min, max, .. } => Bounds::between(*min, *max),
                ExtraKind::Flag { .. } | ExtraKind::Choice { .. } => Bounds::default(),
            },
        }
    }

    /// The answer in a normal tree as a fact's value; `None` when it is not of this input's kind.
    pub(super) fn value(&self, answer: &Value) -> Option<FactValue> {
        match &self.kind {
            ExtraKind::Number { .. } => {
                let text = answer.get("value").unwrap_or(answer).as_str()?;
                Decimal::from_str_exact(text).ok().map(FactValue::Number)
            }
            ExtraKind::Flag { .. } => answer.as_bool().map(FactValue::Flag),
            ExtraKind::Choice { domain, .. } => domain.number(answer.as_str()?).map(FactValue::Choice),
        }
    }
}
