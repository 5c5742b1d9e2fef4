//! A sizing report: each figure under its question, and where method and figures come from.

use estimate::quantity::unit::Unit;
use estimate::quantity::{Quantity, decimal};
use estimate::sizing::finding::Level;
use estimate::sizing::report::{Margin, Question, ReadingValue, Side};
use serde_json::Value;

use super::answers::answers;
use super::figure;
use super::table::{Column, Table, WIDTH, wrapped};
use super::{heading, list};
use crate::desk::SizedJob;

/// What physics says of a job, as text.
pub fn sized_job(sized: &SizedJob<'_>) -> String {
    let title = sized.job.get("title").and_then(Value::as_str).unwrap_or_default();
    let report = &sized.sizing;
    let mut out = wrapped(title, "", WIDTH);
    let equipment = &report.equipment;
    let stand_in = if equipment.for_figuring_only {
        " (for figuring only: no class could be chosen)"
    } else {
        ""
    };
    let unit = format!(
        "{} × {}, class {}{stand_in}",
        equipment.count, equipment.title, equipment.class
    );
    out.push_str(&wrapped(&unit, "", WIDTH));
    for asked in &report.questions {
        heading(&mut out, asked.title);
        out.push_str(&question(asked));
    }
    let findings = report.findings.iter().map(|finding| {
        let level = match finding.level {
            Level::Caution => "caution",
            Level::Stop => "STOP",
        };
        format!(
            "{level} {}: {} [{}]",
            finding.code, finding.message, finding.source
        )
    });
    list(&mut out, "Cautions", findings);
    out.push_str(&answers(
        &sized.not_measured,
        &sized.assumptions,
        &sized.usual_answers,
    ));
    out.push('\n');
    out.push_str(&wrapped(report.disclaimer, "", WIDTH));
    out
}

fn question(question: &Question) -> String {
    let mut table = Table::new(&[Column::Text(""), Column::Right("")]);
    for reading in &question.results {
        match &reading.value {
            ReadingValue::Quantity(quantity) => table.row([reading.title.to_string(), shown(quantity)]),
            ReadingValue::Flag(flag) => {
                table.row([
                    reading.title.to_string(),
                    if *flag { "yes" } else { "no" }.to_owned(),
                ]);
            }
            ReadingValue::Text(text) if text.chars().count() <= LONGEST_CELL => {
                table.row([reading.title.to_string(), text.to_string()]);
            }
            ReadingValue::Text(text) => table.note(format!("{}: {text}", reading.title)),
        }
    }
    let mut out = table.text();
    if !question.answered {
        out.push_str("Could not be worked out; see Cautions.\n");
    }
    if let Some(margin) = &question.margin {
        out.push_str(&wrapped(&limit(margin), "", WIDTH));
    }
    for note in &question.notes {
        out.push_str(&wrapped(&format!("Note: {note}"), "", WIDTH));
    }
    if let Some(hazard) = question.hazard {
        out.push_str(&wrapped(&format!("Take care: {hazard}"), "", WIDTH));
    }
    out.push_str(&wrapped(&format!("Method: {}", question.method), "", WIDTH));
    out.push_str(&wrapped(&format!("Source: {}", question.source), "", WIDTH));
    out
}

/// A plain number stands without a unit.
fn shown(quantity: &Quantity) -> String {
    if quantity.unit == Unit::ONE {
        decimal::plain(quantity.value)
    } else {
        quantity.to_string()
    }
}

/// Longest text that stands in a cell; a longer one goes under the table's rows.
const LONGEST_CELL: usize = 30;

fn limit(margin: &Margin) -> String {
    let side = match margin.side {
        Side::AtMost => "at most",
        Side::AtLeast => "at least",
    };
    format!(
        "Limit: {} {}, {side} {}; {} left",
        margin.of,
        ratio(&margin.value),
        ratio(&margin.limit),
        ratio(&margin.left)
    )
}

/// A limited value; a plain ratio in percent.
fn ratio(value: &Quantity) -> String {
    if value.unit == Unit::ONE {
        figure::percent(value.value)
    } else {
        figure::quantity(value)
    }
}
