//! Checking a rulebook after an edit.

use std::fs;
use std::path::Path;

use estimate::quantity::counted;
use estimate::rules::{Finding, Severity, render};
use tallyrule::config::DataArgs;
use tallyrule::desk::{DeskFault, try_examples};

use super::data::told;
use super::{Told, job};

/// Tells every finding of the rulebook, with its place in the file.
pub fn check(file: &Path, seed: Option<&Path>, data: &DataArgs) -> Result<String, Told> {
    let name = file.display().to_string();
    let text = fs::read_to_string(file).map_err(|fault| Told(format!("{name}: cannot be read: {fault}")))?;
    let office = job::office_to_check(seed, data)?;
    let by_severity = |findings: &[Finding]| {
        let errors = findings
            .iter()
            .filter(|finding| finding.severity == Severity::Error)
            .count();
        (errors, findings.len().saturating_sub(errors))
    };
    let workbook = match office.compile(&text, 1) {
        Ok(workbook) => workbook,
        Err(DeskFault::Rulebook(findings)) => {
            let (errors, warnings) = by_severity(&findings);
            let told = render(&findings, &name, &text);
            return Err(Told(format!(
                "{told}{name}: {}, {}",
                counted(errors, "error"),
                counted(warnings, "warning")
            )));
        }
        Err(other) => return Err(told(&other)),
    };
    let beside = file.parent().unwrap_or(Path::new("."));
    let folders: Vec<&Path> = std::iter::once(beside).chain(seed).collect();
    let examples = workbook.rulebook().examples.len();
    let wrong = try_examples(&office, &workbook, &folders);
    if !wrong.is_empty() {
        let lines: String = wrong.iter().map(|fault| format!("{name}: {fault}\n")).collect();
        return Err(Told(format!(
            "{lines}{name}: {} of the worked examples' figures do not come out",
            wrong.len()
        )));
    }
    let (_, warnings) = by_severity(workbook.warnings());
    let told = render(workbook.warnings(), &name, &text);
    Ok(format!(
        "{told}{name}: no errors, {}, {examples} of {examples} worked examples come out\n",
        counted(warnings, "warning")
    ))
}
