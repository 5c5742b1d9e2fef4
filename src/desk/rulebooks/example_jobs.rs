//! The jobs of worked examples: put into the rulebook itself, so that they need no files beside it.

use estimate::rules::parse_toml;
use estimate::rules::rulebook::{ExampleJob, PartKind, put_part};
use serde_json::Value;

use crate::desk::DeskFault;

/// The text with the request of every example in it that names a file; `read` gives the content of the file.
///
/// # Errors
/// The text has no sound shape, or a file cannot be read: its name and why.
pub fn with_jobs(
    text: &str,
    read: impl Fn(&str) -> Result<Value, String>,
) -> Result<Result<String, String>, DeskFault> {
    let rules = parse_toml(text).map_err(DeskFault::Rulebook)?;
    let mut text = text.to_owned();
    for example in &rules.examples {
        let ExampleJob::File(file) = &example.job else {
            continue;
        };
        let request = match read(file) {
            Ok(request) => request,
            Err(fault) => return Ok(Err(format!("{}: {fault}", file.as_str()))),
        };
        let Some(Value::Object(mut part)) = rules.part(PartKind::Example, &example.title) else {
            continue;
        };
        part.shift_remove("job");
        part.insert("request".to_owned(), request);
        text = put_part(&text, PartKind::Example, &example.title, &Value::Object(part))?;
    }
    Ok(Ok(text))
}
