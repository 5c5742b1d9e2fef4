//! Checking a rulebook after an edit.

use std::fs;
use std::path::Path;

use estimate::rules::{Severity, render};
use tallyrule::config::DataArgs;
use tallyrule::desk;

use super::data::told;
use super::{Told, job};

/// Tells every finding of the rulebook, with its place in the file.
pub fn check(file: &Path, seed: Option<&Path>, data: &DataArgs) -> Result<String, Told> {
    let name = file.display().to_string();
    let text = fs::read_to_string(file).map_err(|fault| Told(format!("{name}: cannot be read: {fault}")))?;
    let office = job::office_to_check(seed, data)?;
    let findings = desk::findings(&office, &text).map_err(|fault| told(&fault))?;
    let errors = findings
        .iter()
        .filter(|finding| finding.severity == Severity::Error)
        .count();
    let warnings = findings.len().saturating_sub(errors);
    let told = render(&findings, &name, &text);
    if errors > 0 {
        return Err(Told(format!(
            "{told}{name}: {errors} errors, {warnings} warnings"
        )));
    }
    Ok(format!("{told}{name}: no errors, {warnings} warnings\n"))
}
