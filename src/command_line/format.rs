//! The canonical text of a rulebook.

use std::fs;
use std::path::Path;

use estimate::rules::{Finding, format_toml, render};
use tallyrule::desk::{DeskFault, unreadable, with_jobs};

use super::Told;
use super::check::read_job;

/// Prints the canonical text of the rulebook in `file`, or writes it there. `jobs` puts the jobs of its worked
/// examples into it.
pub fn format(file: &Path, write: bool, jobs: bool) -> Result<String, Told> {
    let name = file.display().to_string();
    let text = fs::read_to_string(file).map_err(|fault| Told(format!("{name}: {}", unreadable(&fault))))?;
    let findings = |findings: Vec<Finding>| Told(render(&findings, &name, &text));
    let whole = match jobs {
        false => text.clone(),
        true => match with_jobs(&text, |_, job| {
            read_job(&[file.parent().unwrap_or(Path::new("."))], job).map(Some)
        }) {
            Ok(whole) => whole.map_err(|fault| Told(format!("{name}: {fault}")))?,
            Err(DeskFault::Rulebook(list)) => return Err(findings(list)),
            Err(other) => return Err(Told(other.to_string())),
        },
    };
    let formatted = format_toml(&whole).map_err(findings)?;
    if !write {
        return Ok(formatted);
    }
    if formatted == text {
        return Ok(format!("{name} is in its canonical form\n"));
    }
    fs::write(file, &formatted).map_err(|fault| Told(format!("{name}: cannot be written: {fault}")))?;
    Ok(format!("{name} was formatted\n"))
}
