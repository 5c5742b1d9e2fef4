//! The jobs of worked examples: put into the rulebook itself, so that they need no files beside it.

use estimate::rules::parse_toml;
use estimate::rules::rulebook::{Example, ExampleJob, PartKind, put_part};
use serde_json::Value;

use crate::desk::{DeskFault, Office};

/// The text with the request of every example in it that names a file; `read` gives the content of the file for the
/// example of this title, or nothing where the file is to stay named.
///
/// # Errors
/// The text has no sound shape, or a file cannot be read: its name and why.
pub fn with_jobs(
    text: &str,
    read: impl Fn(&str, &str) -> Result<Option<Value>, String>,
) -> Result<Result<String, String>, DeskFault> {
    let rules = parse_toml(text).map_err(DeskFault::Rulebook)?;
    let mut text = text.to_owned();
    for example in &rules.examples {
        let ExampleJob::File(file) = &example.job else {
            continue;
        };
        let request = match read(&example.title, file) {
            Ok(Some(request)) => request,
            Ok(None) => continue,
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

impl Office {
    /// The text of rules that were handed in, over REST, where there are no files: an example that names one takes the
    /// job that the example of its title has in `beside`, or in the newest version. Seed data names files, and loading it
    /// puts the jobs into the text; so its text can be edited and sent as it is.
    pub(super) fn with_known_jobs(&self, text: String, beside: Option<&str>) -> Result<String, DeskFault> {
        let Ok(rules) = parse_toml(&text) else {
            // Its check tells what is wrong with it.
            return Ok(text);
        };
        let names_file = |example: &Example| matches!(example.job, ExampleJob::File(_));
        if !rules.examples.iter().any(names_file) {
            return Ok(text);
        }
        let newest = self.shelf.newest(&rules.id).ok();
        let newest = newest.and_then(|head| self.shelf.text(&rules.id, head.version).ok());
        let known = [beside, newest.as_ref().map(|stored| stored.text.as_str())];
        let known: Vec<Example> = known
            .into_iter()
            .flatten()
            .filter_map(|text| parse_toml(text).ok())
            .flat_map(|rules| rules.examples)
            .collect();
        let job = |title: &str, _: &str| {
            let jobs = known.iter().filter(|example| *example.title == *title);
            let mut requests = jobs.filter_map(|example| match &example.job {
                ExampleJob::Request(request) => Some(request.clone()),
                ExampleJob::File(_) => None,
            });
            Ok(requests.next())
        };
        with_jobs(&text, job)?.map_err(DeskFault::Defect)
    }
}
