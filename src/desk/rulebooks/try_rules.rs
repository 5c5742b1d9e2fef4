//! Rules are tried before they count: checked, and run on their worked examples.

use estimate::estimate::Estimate;
use estimate::examples::Tried;
use estimate::rules::Finding;
use estimate::rules::rulebook::{Example, ExampleJob};
use estimate::workbook::Workbook;
use serde_json::Value;

use super::{Given, Which};
use crate::desk::{Desk, DeskFault, Office};

impl Desk {
    /// What the check of a rulebook has to say. One that would be published has no error in it.
    ///
    /// # Errors
    /// The tree's faults of shape, or the database.
    pub fn check_rulebook(&self, given: &Given) -> Result<Vec<Finding>, DeskFault> {
        self.office()?.check(&given.text()?)
    }

    /// The same of a draft.
    ///
    /// # Errors
    /// There is none of this key.
    pub fn check_rulebook_draft(&self, id: &str) -> Result<Vec<Finding>, DeskFault> {
        self.office()?.check(&self.stored_draft(id)?.text)
    }

    /// What comes out of the worked examples of a draft or a version.
    ///
    /// # Errors
    /// There is no such thing, or its rules have errors.
    pub fn try_rulebook(&self, which: &Which) -> Result<Vec<Tried>, DeskFault> {
        let office = self.office()?;
        match which {
            Which::Draft(id) => {
                let workbook = office.compile(&self.stored_draft(id)?.text, 1)?;
                Ok(office.try_examples(&workbook, not_here))
            }
            Which::Version(id, version) => {
                let opened = office.rulebook_on(Some(id), Some(*version), office.today())?;
                Ok(office.try_examples(&opened.workbook, not_here))
            }
        }
    }
}

/// Only the command line reads files.
pub(super) fn not_here(file: &str) -> Result<Value, String> {
    Err(format!(
        "its job is in the file {file}, which is not here: put the request itself into the rulebook, as `request`"
    ))
}

impl Office {
    /// Every finding of the text of a rulebook, were it to count from today on.
    fn check(&self, text: &str) -> Result<Vec<Finding>, DeskFault> {
        match self.compile_priced(text, 1, self.today()) {
            Ok(workbook) => Ok(workbook.warnings().to_vec()),
            Err(DeskFault::Rulebook(findings)) => Ok(findings),
            Err(other) => Err(other),
        }
    }

    /// Runs every worked example. `read` gives the request in a file.
    pub fn try_examples(
        &self,
        workbook: &Workbook,
        read: impl Fn(&str) -> Result<Value, String>,
    ) -> Vec<Tried> {
        let tried = |example: &Example| {
            let request = match &example.job {
                ExampleJob::Request(request) => Ok(request.clone()),
                ExampleJob::File(file) => read(file),
            };
            let outcome = request.and_then(|request| {
                let compare = |estimate: &Estimate<'_>| Tried::of(example, estimate);
                self.estimate_with(workbook, &request, true, compare)
                    .map_err(told)
            });
            outcome.unwrap_or_else(|fault| Tried::failed(example, fault))
        };
        workbook.rulebook().examples.iter().map(tried).collect()
    }
}

/// A fault with what is in it.
fn told(fault: DeskFault) -> String {
    match &fault {
        DeskFault::Input(faults) => {
            let told = faults.list.iter();
            let told: Vec<String> = told
                .map(|fault| format!("{}: {}", fault.pointer, fault.message))
                .collect();
            told.join("; ")
        }
        other => other.to_string(),
    }
}
