//! Checking a rulebook after an edit.

use std::fs;
use std::path::Path;

use estimate::examples::Tried;
use estimate::quantity::counted;
use estimate::rules::render;
use estimate::workbook::Workbook;
use serde_json::Value;
use tallyrule::config::DataArgs;
use tallyrule::desk::{DeskFault, strict_json, unreadable};

use super::data::{findings_told, told};
use super::{Told, job};

/// Tells every finding of the rulebook, with its place in the file.
pub fn check(file: &Path, seed: Option<&Path>, data: &DataArgs) -> Result<String, Told> {
    let name = file.display().to_string();
    let text = fs::read_to_string(file).map_err(|fault| Told(format!("{name}: {}", unreadable(&fault))))?;
    let (office, ledger) = match job::office_to_check(seed, data, file) {
        Ok(found) => found,
        Err(Told(missing)) => return Err(without_office(&missing, file, &text)),
    };
    let workbook = match office.compile_known(&text, 1, office.today(), &ledger) {
        Ok(workbook) => workbook,
        Err(DeskFault::Rulebook(findings)) => return Err(findings_told(&findings, file, &text)),
        Err(other) => return Err(told(&other)),
    };
    let warnings = workbook.warnings().len();
    let told = render(workbook.warnings(), &name, &text);
    let beside = file.parent().unwrap_or(Path::new("."));
    let folders: Vec<&Path> = std::iter::once(beside).chain(seed).collect();
    let tried = office.try_examples(&workbook, |job| read_job(&folders, job));
    let wrong: Vec<&Tried> = tried.iter().filter(|tried| !tried.fits).collect();
    if !wrong.is_empty() {
        let mut lines = told;
        for tried in &wrong {
            for difference in tried.differences() {
                lines.push_str(&format!("{name}: example {}: {difference}\n", tried.title));
            }
        }
        return Err(Told(format!(
            "{lines}{name}: no errors, {}, {} of {} worked examples do not come out",
            counted(warnings, "warning"),
            wrong.len(),
            tried.len()
        )));
    }
    let examples = tried.len();
    Ok(format!(
        "{told}{name}: no errors, {}, {examples} of {examples} worked examples come out\n",
        counted(warnings, "warning")
    ))
}

/// What is told of a rulebook where there is no office to check it against.
fn without_office(missing: &str, file: &Path, text: &str) -> Told {
    let Told(found) = findings_told(&Workbook::findings_without_catalogue(text), file, text);
    Told(format!(
        "{found}, as far as can be told without a catalogue.\nNot checked: the items, labour classes and unit classes that \
         it names, the formulas of lines of these items, tax categories, what has a price, conditions that never hold, \
         and the worked examples.\n{}\nExit code 1: a rulebook that was not checked as a whole has not passed.",
        missing.trim_end()
    ))
}

/// The request in a file that an example names, in the first of these folders that has it.
pub(super) fn read_job(folders: &[&Path], job: &str) -> Result<Value, String> {
    let mut places = folders.iter().map(|folder| folder.join(job));
    let first = places.clone().next().unwrap_or_else(|| job.into());
    let place = places.find(|place| place.is_file()).unwrap_or(first);
    let told = |fault: &dyn std::fmt::Display| format!("{}: {fault}", place.display());
    let bytes = fs::read(&place).map_err(|fault| told(&unreadable(&fault)))?;
    strict_json::read(&bytes).map_err(|fault| told(&fault))
}
