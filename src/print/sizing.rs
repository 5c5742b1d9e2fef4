//! A sizing report: each figure under its question.

use serde_json::Value;

use super::heading;
use super::table::{Column, Table, WIDTH, wrapped};
use crate::desk::SizedJob;

/// What physics says of a job, as text.
///
/// # Errors
/// The report cannot be written as JSON, which would be a defect.
pub fn sized_job(sized: &SizedJob<'_>) -> Result<String, serde_json::Error> {
    let title = sized.job.get("title").and_then(Value::as_str).unwrap_or_default();
    let mut out = wrapped(title, "", WIDTH);
    let report = serde_json::to_value(&sized.sizing)?;
    for (question, answer) in report.as_object().into_iter().flatten() {
        heading(&mut out, &words(question));
        let mut table = Table::new(&[Column::Left(""), Column::Text("")]);
        rows(&mut table, "", answer);
        out.push_str(&table.text());
    }
    Ok(out)
}

/// A member's name as words.
fn words(name: &str) -> String {
    name.replace('_', " ")
}

/// A row for each leaf, named by the way to it.
fn rows(table: &mut Table, name: &str, value: &Value) {
    let inside = |member: &str| match name {
        "" => words(member),
        name => format!("{name}, {}", words(member)),
    };
    match value {
        Value::Object(members) => match (members.get("value"), members.get("unit")) {
            (Some(Value::String(number)), Some(Value::String(unit))) if members.len() == 2 => {
                table.row([name.to_owned(), format!("{number} {unit}")]);
            }
            _ => members
                .iter()
                .for_each(|(member, value)| rows(table, &inside(member), value)),
        },
        Value::Array(entries) => {
            (1..)
                .zip(entries)
                .for_each(|(number, entry)| rows(table, &inside(&number.to_string()), entry));
        }
        Value::Null => {}
        Value::Bool(flag) => table.row([name.to_owned(), if *flag { "yes" } else { "no" }.to_owned()]),
        Value::String(text) => table.row([name.to_owned(), text.clone()]),
        Value::Number(number) => table.row([name.to_owned(), number.to_string()]),
    }
}
