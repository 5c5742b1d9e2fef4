//! One shape for every question of the report, so that printing it is a loop.

use std::borrow::Cow;

use rust_decimal::Decimal;
use serde::Serialize;

use super::step::Step;
use super::unanswered::Unanswered;
use crate::quantity::Quantity;
use crate::sizing::finding::Finding;
use crate::sizing::finite::NotFinite;

/// A word or a sentence: fixed, or made for this job.
pub type Text = Cow<'static, str>;

/// One question, what went into it and what came out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Question {
    /// Stable name, such as `line_set`.
    pub name: &'static str,
    /// What a person reads above it.
    pub title: &'static str,
    /// Whether it could be worked out. When not, a stop of it or of the question that it builds on says why, there
    /// are no results, and formulas read stand-ins.
    pub answered: bool,
    /// How it is worked out.
    pub method: &'static str,
    /// Where method and figures come from.
    pub source: &'static str,
    /// The caution that goes with the work, where the work can hurt someone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hazard: Option<&'static str>,
    /// How far the result that matters most is from its limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<Margin>,
    /// What went in: surveyed, from the catalogue, or assumed by the office.
    pub inputs: Vec<Reading>,
    /// What came out. A name with a dot in it is that of a fact that formulas may read.
    pub results: Vec<Reading>,
    /// What was assumed, and what is left out.
    pub notes: Vec<Text>,
}

/// A named value.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Reading {
    /// Stable name.
    pub name: &'static str,
    /// What a person reads for it.
    pub title: Text,
    /// The value.
    pub value: ReadingValue,
}

/// The value of a reading.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(untagged)]
pub enum ReadingValue {
    /// A decimal and its unit: `{"value": "38.5", "unit": "ft"}`.
    Quantity(Quantity),
    /// Yes or no.
    Flag(bool),
    /// A word of a list, or a sentence.
    Text(Text),
}

/// On which side of a limit a value should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// No more than the limit.
    AtMost,
    /// No less than the limit.
    AtLeast,
}

/// A value beside its limit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Margin {
    /// What is limited, in plain words.
    pub of: &'static str,
    /// The value.
    pub value: Quantity,
    /// The limit, in the same unit.
    pub limit: Quantity,
    /// On which side the value should be.
    pub side: Side,
    /// What is left up to the limit; below zero when the value is on the wrong side.
    pub left: Quantity,
    /// Value over limit, a plain number; none for a limit of zero and for points of temperature.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub share: Option<Quantity>,
}

/// What is always the same about a question.
pub(super) struct Card {
    pub name: &'static str,
    pub title: &'static str,
    pub method: &'static str,
    pub source: &'static str,
    pub hazard: Option<&'static str>,
    /// Code of the stop that is raised when it cannot be worked out.
    pub unanswered: &'static str,
}

/// A question while it is worked out.
pub(super) struct Sheet {
    card: &'static Card,
    answered: bool,
    margin: Option<Margin>,
    inputs: Vec<Reading>,
    details: Vec<Reading>,
    notes: Vec<Text>,
    pub findings: Vec<Finding>,
}

/// A question worked out, or not: then with stand-ins for the figures.
pub(super) struct Answer<F> {
    pub sheet: Sheet,
    pub figures: F,
}

/// Works a question out. A fault leaves the inputs, raises a stop, unless what it builds on has raised one, and takes
/// the stand-ins.
pub(super) fn answer<F>(
    card: &'static Card,
    stand_in: F,
    work: impl FnOnce(&mut Sheet) -> Result<F, Unanswered>,
) -> Answer<F> {
    let mut sheet = Sheet {
        card,
        answered: true,
        margin: None,
        inputs: Vec::with_capacity(12),
        details: Vec::new(),
        notes: Vec::new(),
        findings: Vec::new(),
    };
    let figures = work(&mut sheet).unwrap_or_else(|reason| {
        sheet.refuse(&reason);
        stand_in
    });
    Answer { sheet, figures }
}

impl Sheet {
    /// A number that went in.
    pub fn input(
        &mut self,
        name: &'static str,
        title: &'static str,
        step: Step,
        value: f64,
    ) -> Result<(), NotFinite> {
        let value = ReadingValue::Quantity(step.quantity(value)?);
        self.inputs.push(Reading {
            name,
            title: title.into(),
            value,
        });
        Ok(())
    }

    /// A word that went in.
    pub fn input_text(&mut self, name: &'static str, title: &'static str, text: impl Into<Text>) {
        let value = ReadingValue::Text(text.into());
        self.inputs.push(Reading {
            name,
            title: title.into(),
            value,
        });
    }

    /// A number that came out and is no fact.
    pub fn detail(
        &mut self,
        name: &'static str,
        title: impl Into<Text>,
        step: Step,
        value: f64,
    ) -> Result<(), NotFinite> {
        let value = ReadingValue::Quantity(step.quantity(value)?);
        self.details.push(Reading {
            name,
            title: title.into(),
            value,
        });
        Ok(())
    }

    /// A word or a sentence that came out and is no fact.
    pub fn detail_text(&mut self, name: &'static str, title: &'static str, text: impl Into<Text>) {
        let value = ReadingValue::Text(text.into());
        self.details.push(Reading {
            name,
            title: title.into(),
            value,
        });
    }

    pub fn note(&mut self, note: impl Into<Text>) {
        self.notes.push(note.into());
    }

    /// The result that matters most beside its limit.
    pub fn margin(
        &mut self,
        of: &'static str,
        (side, step): (Side, Step),
        value: f64,
        limit: f64,
    ) -> Result<(), NotFinite> {
        let (value, limit) = (step.quantity(value)?, step.quantity(limit)?);
        let between = match side {
            Side::AtMost => limit.value.checked_sub(value.value),
            Side::AtLeast => value.value.checked_sub(limit.value),
        };
        let point = value.unit.dimension().is_point();
        let ratio = if point {
            None
        } else {
            value.value.checked_div(limit.value)
        };
        let share = ratio.map(|ratio| super::step::RATIO.exact(ratio));
        self.margin = Some(Margin {
            of,
            left: Quantity {
                value: between.unwrap_or(Decimal::ZERO),
                unit: if point {
                    crate::quantity::unit::Unit::F_DIFF
                } else {
                    value.unit
                },
            },
            value,
            limit,
            side,
            share,
        });
        Ok(())
    }

    fn refuse(&mut self, reason: &Unanswered) {
        let card = self.card;
        self.answered = false;
        self.margin = None;
        self.details.clear();
        let message = format!("{} could not be worked out: {reason}.", card.title);
        self.notes.push(message.clone().into());
        self.findings.clear();
        if matches!(reason, Unanswered::Needs(_)) {
            return;
        }
        self.findings
            .push(Finding::stop(card.unanswered, message, card.source));
    }

    /// The question as it is told, with the readings of its facts before its own.
    pub fn close(self, facts: impl Iterator<Item = Reading>) -> (Question, Vec<Finding>) {
        let results = if self.answered {
            facts.chain(self.details).collect()
        } else {
            Vec::new()
        };
        let card = self.card;
        let question = Question {
            name: card.name,
            title: card.title,
            answered: self.answered,
            method: card.method,
            source: card.source,
            hazard: card.hazard,
            margin: self.margin,
            inputs: self.inputs,
            results,
            notes: self.notes,
        };
        (question, self.findings)
    }
}
