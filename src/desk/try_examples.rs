//! The worked examples of a rulebook: jobs with known results, run before the rules may count.

use std::fs;
use std::path::Path;

use estimate::bill::line::Content;
use estimate::estimate::Estimate;
use estimate::pricing::Line;
use estimate::quantity::Decimal;
use estimate::quantity::unit::Unit;
use estimate::rules::outcome::Level;
use estimate::rules::rulebook::{Example, Expectation};
use estimate::workbook::Workbook;

use super::{Office, strict_json};

/// A worked example that does not come out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("example {example}: {message}")]
pub struct ExampleFault {
    /// The example's title.
    pub example: String,
    /// What was expected, and what came.
    pub message: String,
}

/// Runs every example of `workbook`, whose jobs are files under the first of `folders` that has them, and tells what
/// does not come out.
pub fn try_examples(office: &Office, workbook: &Workbook, folders: &[&Path]) -> Vec<ExampleFault> {
    let mut faults = Vec::new();
    for example in &workbook.rulebook().examples {
        let told = run(office, workbook, folders, example).unwrap_or_else(|message| vec![message]);
        let title = example.title.to_string();
        faults.extend(told.into_iter().map(|message| ExampleFault {
            example: title.clone(),
            message,
        }));
    }
    faults
}

fn run(
    office: &Office,
    workbook: &Workbook,
    folders: &[&Path],
    example: &Example,
) -> Result<Vec<String>, String> {
    let places = folders.iter().map(|folder| folder.join(example.job.as_str()));
    let file = places
        .clone()
        .find(|file| file.is_file())
        .or_else(|| places.clone().next())
        .unwrap_or_else(|| example.job.as_str().into());
    let bytes = fs::read(&file).map_err(|fault| format!("{}: cannot be read: {fault}", file.display()))?;
    let request = strict_json::read(&bytes).map_err(|fault| format!("{}: {fault}", file.display()))?;
    let compare = |estimate: &Estimate<'_>| {
        example
            .expect
            .iter()
            .filter_map(|expected| differs(estimate, expected))
            .collect()
    };
    office
        .estimate_with(workbook, &request, false, compare)
        .map_err(|fault| fault.to_string())
}

/// What came instead of what was expected; `None` when it came out.
fn differs(estimate: &Estimate<'_>, expected: &Expectation) -> Option<String> {
    let line = |key: &str| {
        estimate
            .priced
            .lines
            .iter()
            .find(|line| line.bill.key.to_string() == key)
    };
    let raised = |code: &str, level: Level| {
        let mut raised = estimate.cautions.iter();
        raised.any(|caution| caution.code == code && caution.level == level)
    };
    let lacks = |has: bool, what: &str, name: &str| {
        (!has).then(|| format!("{what} {name} is expected and did not come"))
    };
    match expected {
        Expectation::Quantity {
            line: key,
            quantity,
            unit,
        } => {
            let came = line(key).and_then(|line| in_unit(line, unit));
            let (key, unit) = (key.as_str(), unit.as_str());
            different(&format!("quantity of {key} in {unit}"), quantity, came)
        }
        Expectation::Hours { line: key, hours } => different(
            &format!("hours of {}", key.as_str()),
            hours,
            line(key).and_then(hours_of),
        ),
        Expectation::Absent { absent } => {
            line(absent).map(|line| format!("line {} came and is expected to be absent", line.bill.key))
        }
        Expectation::TotalHours { total_hours } => {
            different("hours in all", total_hours, Some(estimate.priced.totals.hours))
        }
        Expectation::Total { total } => {
            different("total", total, Some(estimate.priced.totals.total.decimal()))
        }
        Expectation::Caution { caution } => lacks(raised(caution, Level::Caution), "caution", caution),
        Expectation::Stop { stop } => lacks(raised(stop, Level::Stop), "stop", stop),
        Expectation::Missing { missing } => {
            let told = estimate.not_priced.iter().any(|one| one.code == missing.as_str());
            lacks(told, "the word that nothing is priced for", missing)
        }
    }
}

fn different(what: &str, expected: &str, came: Option<Decimal>) -> Option<String> {
    let wanted = Decimal::from_str_exact(expected).ok();
    match came {
        Some(came) if wanted == Some(came) => None,
        Some(came) => Some(format!("{what}: {expected} is expected, {came} came")),
        None => Some(format!("{what}: {expected} is expected, no such line came")),
    }
}

/// The needed quantity of a line, without waste, in `unit`.
fn in_unit(line: &Line<'_>, unit: &str) -> Option<Decimal> {
    let unit = Unit::parse(unit).ok()?;
    match &line.bill.content {
        Content::Goods(goods) => goods
            .unit
            .convert(goods.quantity, &unit)
            .ok()
            .map(|value| value.normalize()),
        Content::Sum(sum) => sum.quantity.and_then(|of| of.unit.convert(of.value, &unit).ok()),
        Content::Work(_) => None,
    }
}

fn hours_of(line: &Line<'_>) -> Option<Decimal> {
    match &line.bill.content {
        Content::Work(work) => Some(work.hours),
        _ => None,
    }
}
