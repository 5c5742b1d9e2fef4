//! Worked examples: the job, and what must come out of it.

use super::super::finding::Findings;
use super::super::formula::Flaw;
use super::fields::Fields;
use super::read::{each, name};
use super::{Example, ExampleJob, Expectation};

pub(super) fn example(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Example> {
    let title = name(fields, findings, "title", "example");
    let job = job(fields, findings);
    let expect = each(fields, findings, "expect", expectation);
    Some(Example {
        title: title?,
        job: job?,
        expect,
    })
}

/// Exactly one of `job` and `request`.
fn job(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<ExampleJob> {
    let file = fields.maybe_text(findings, "job");
    let request = fields.tree(findings, "request");
    match (file, request) {
        (Some(file), None) => Some(ExampleJob::File(file)),
        (None, Some(request)) => Some(ExampleJob::Request(request)),
        (None, None) => {
            if !fields.has("job") && !fields.has("request") {
                fields.missing(findings, "request");
            }
            None
        }
        (Some(file), Some(_)) => {
            let flaw = Flaw::new(file.span(), "ambiguous", "`job` and `request` are both given")
                .expected("one of the two");
            findings.error(fields.part(), "job", flaw);
            None
        }
    }
}

/// What is expected without a figure of a line.
const SINGLE: [&str; 7] = [
    "present",
    "absent",
    "total_hours",
    "total",
    "caution",
    "stop",
    "missing",
];

fn expectation(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Expectation> {
    if fields.has("line") {
        return of_line(fields, findings);
    }
    let Some(field) = SINGLE.into_iter().find(|field| fields.has(field)) else {
        let flaw =
            Flaw::new(fields.span(), "missing_field", "it is not clear what is expected").expected(format!(
                "`line` with `quantity` and `unit`, with `hours` or with `price`, or one of {}",
                SINGLE.join(", ")
            ));
        findings.error(fields.part(), "expect", flaw);
        return None;
    };
    let value = fields.value(findings, field)?;
    Some(match field {
        "present" => Expectation::Present { present: value },
        "absent" => Expectation::Absent { absent: value },
        "total_hours" => Expectation::TotalHours { total_hours: value },
        "total" => Expectation::Total { total: value },
        "caution" => Expectation::Caution { caution: value },
        "stop" => Expectation::Stop { stop: value },
        _ => Expectation::Missing { missing: value },
    })
}

/// A figure of a line: its hours, its price, or its quantity.
fn of_line(fields: &mut Fields<'_>, findings: &mut Findings<'_>) -> Option<Expectation> {
    let line = fields.text(findings, "line");
    if fields.has("hours") {
        let hours = fields.value(findings, "hours");
        return Some(Expectation::Hours {
            line: line?,
            hours: hours?,
        });
    }
    if fields.has("price") {
        let price = fields.value(findings, "price");
        return Some(Expectation::Price {
            line: line?,
            price: price?,
        });
    }
    let (quantity, unit) = (fields.value(findings, "quantity"), fields.text(findings, "unit"));
    Some(Expectation::Quantity {
        line: line?,
        quantity: quantity?,
        unit: unit?,
    })
}
