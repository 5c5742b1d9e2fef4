//! The worked examples of a rulebook: what was expected of a job beside what came, with the reason where they differ.
//!
//! In: an example and the estimate of its job, with explanations. Out: one row for each figure. Deliberately absent:
//! where the job is read from, and what becomes of a rulebook whose examples do not come out.

use std::fmt;

use serde::Serialize;
use serde_json::Value;

use crate::bill::line::Content;
use crate::estimate::Estimate;
use crate::pricing::Line;
use crate::quantity::Decimal;
use crate::quantity::decimal::plain;
use crate::quantity::unit::Unit;
use crate::rules::outcome::Level;
use crate::rules::rulebook::{Example, Expectation};

/// An example that was tried.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tried {
    /// The example's title.
    pub title: String,
    /// Whether everything came out as expected.
    pub fits: bool,
    /// Why the job could not be estimated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fault: Option<String>,
    /// What was expected, in the order of the example.
    pub figures: Vec<Figure>,
}

/// One thing that was expected, and what came.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figure {
    /// What it is, such as `hours of labour:MOUNT/hang`.
    pub what: String,
    /// What was expected.
    pub expected: String,
    /// What came; nothing when there is no such line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub came: Option<String>,
    /// Whether it is the same.
    pub fits: bool,
    /// How what came came about: the line with its explanation, the totals, or what was told. Where it does not fit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trace: Option<Value>,
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let came = self.came.as_deref().unwrap_or("no such line");
        write!(f, "{}: {} is expected, {came} came", self.what, self.expected)
    }
}

impl Tried {
    /// An example whose job could not be estimated.
    pub fn failed(example: &Example, fault: String) -> Self {
        Self {
            title: example.title.to_string(),
            fits: false,
            fault: Some(fault),
            figures: Vec::new(),
        }
    }

    /// An example beside the estimate of its job.
    pub fn of(example: &Example, estimate: &Estimate<'_>) -> Self {
        let figures: Vec<Figure> = example
            .expect
            .iter()
            .map(|expected| figure(estimate, expected))
            .collect();
        Self {
            title: example.title.to_string(),
            fits: figures.iter().all(|figure| figure.fits),
            fault: None,
            figures,
        }
    }

    /// The example's own tree with what came in the place of every figure that was expected to be another. What was
    /// expected to be told, to be there or not to be there stays.
    pub fn corrected(&self, mut example: Value) -> Value {
        let expected = example.get_mut("expect").and_then(Value::as_array_mut);
        for (figure, expected) in self.figures.iter().zip(expected.into_iter().flatten()) {
            let mut figures = ["quantity", "hours", "price", "total_hours", "total"].into_iter();
            let named = figures.find_map(|name| Some(name).filter(|name| expected.get(name).is_some()));
            if let (false, Some(name), Some(came)) = (figure.fits, named, &figure.came)
                && let Some(figure) = expected.get_mut(name)
            {
                *figure = Value::String(came.clone());
            }
        }
        example
    }

    /// Each thing that did not come out, as a sentence.
    pub fn differences(&self) -> Vec<String> {
        let figures = self.figures.iter().filter(|figure| !figure.fits);
        self.fault
            .iter()
            .cloned()
            .chain(figures.map(Figure::to_string))
            .collect()
    }
}

fn figure(estimate: &Estimate<'_>, expected: &Expectation) -> Figure {
    let line = |key: &str| {
        let mut lines = estimate.priced.lines.iter();
        lines.find(|line| line.bill.key.to_string() == key)
    };
    let totals = &estimate.priced.totals;
    match expected {
        Expectation::Quantity {
            line: key,
            quantity,
            unit,
        } => {
            let line = line(key);
            let what = format!("quantity of {} in {}", key.as_str(), unit.as_str());
            number(what, quantity, line.and_then(|line| in_unit(&line, unit)), line)
        }
        Expectation::Hours { line: key, hours } => {
            let line = line(key);
            number(
                format!("hours of {}", key.as_str()),
                hours,
                line.and_then(|line| hours_of(&line)),
                line,
            )
        }
        Expectation::Price { line: key, price } => {
            let line = line(key);
            let came = line.map(|line| line.price.decimal());
            number(format!("price of {}", key.as_str()), price, came, line)
        }
        Expectation::Present { present } => word(format!("line {}", present.as_str()), true, line(present)),
        Expectation::Absent { absent } => word(format!("line {}", absent.as_str()), false, line(absent)),
        Expectation::TotalHours { total_hours } => number(
            "hours in all".to_owned(),
            total_hours,
            Some(totals.hours),
            Some(totals),
        ),
        Expectation::Total { total } => number(
            "total".to_owned(),
            total,
            Some(totals.total.decimal()),
            Some(totals),
        ),
        Expectation::Caution { caution } => raised(estimate, Level::Caution, caution),
        Expectation::Stop { stop } => raised(estimate, Level::Stop, stop),
        Expectation::Missing { missing } => {
            let told = estimate.not_priced.iter().any(|one| one.code == missing.as_str());
            let what = format!("word that nothing is priced for {}", missing.as_str());
            said(what, told, &estimate.not_priced)
        }
    }
}

fn number(what: String, expected: &str, came: Option<Decimal>, of: Option<impl Serialize>) -> Figure {
    let fits = came.is_some() && Decimal::from_str_exact(expected).ok() == came;
    Figure {
        what,
        expected: expected.to_owned(),
        came: came.map(plain),
        fits,
        trace: trace(fits, of),
    }
}

/// A line that must be there, or must not.
fn word(what: String, wanted: bool, line: Option<Line<'_, '_>>) -> Figure {
    let of = |there: bool| if there { "present" } else { "absent" };
    let fits = line.is_some() == wanted;
    Figure {
        what,
        expected: of(wanted).to_owned(),
        came: Some(of(line.is_some()).to_owned()),
        fits,
        trace: trace(fits, line),
    }
}

fn raised(estimate: &Estimate<'_>, level: Level, code: &str) -> Figure {
    let mut cautions = estimate.cautions.iter();
    let told = cautions.any(|caution| caution.code == code && caution.level == level);
    let what = match level {
        Level::Caution => format!("caution {code}"),
        Level::Stop => format!("stop {code}"),
    };
    said(what, told, &estimate.cautions)
}

fn said(what: String, told: bool, all: &impl Serialize) -> Figure {
    Figure {
        what,
        expected: "told".to_owned(),
        came: Some(if told { "told" } else { "not told" }.to_owned()),
        fits: told,
        trace: trace(told, Some(all)),
    }
}

fn trace(fits: bool, of: Option<impl Serialize>) -> Option<Value> {
    if fits {
        return None;
    }
    serde_json::to_value(of?).ok()
}

/// The needed quantity of a line, without waste, in `unit`.
fn in_unit(line: &Line<'_, '_>, unit: &str) -> Option<Decimal> {
    let unit = Unit::parse(unit).ok()?;
    match &line.bill.content {
        Content::Goods(goods) => goods
            .item
            .unit
            .convert(goods.quantity, &unit)
            .ok()
            .map(|value| value.normalize()),
        Content::Sum(sum) => sum.quantity.and_then(|of| of.unit.convert(of.value, &unit).ok()),
        Content::Work(_) => None,
    }
}

fn hours_of(line: &Line<'_, '_>) -> Option<Decimal> {
    match &line.bill.content {
        Content::Work(work) => Some(work.hours),
        _ => None,
    }
}
