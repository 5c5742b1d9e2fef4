//! Rules are tried before they count: checked, and run on their worked examples.

use estimate::estimate::Estimate;
use estimate::examples::Tried;
use estimate::rules::Finding;
use estimate::rules::rulebook::{Example, ExampleJob};
use estimate::workbook::Workbook;
use serde_json::Value;

use super::{Given, Which};
use crate::desk::{Desk, DeskFault, Office};

/// What there is to say of rules before they count.
#[derive(Debug)]
pub struct CheckedRules {
    /// Every finding.
    pub findings: Vec<Finding>,
    /// The worked examples; nothing where an error keeps them from being run.
    pub examples: Option<Vec<Tried>>,
}

impl CheckedRules {
    /// Whether they could be published as they stand.
    pub fn can_be_published(&self) -> bool {
        let examples = self.examples.as_ref();
        examples.is_some_and(|examples| examples.iter().all(|tried| tried.fits))
    }
}

impl Desk {
    /// What the check of a rulebook has to say, and its worked examples.
    ///
    /// # Errors
    /// The tree's faults of shape, or the database.
    pub fn check_rulebook(&self, given: &Given) -> Result<CheckedRules, DeskFault> {
        let office = self.office()?;
        let text = office.with_known_jobs(given.text()?, None)?;
        office.check(self.compile_known(&office, &text, 1, office.today()))
    }

    /// The same of a draft.
    ///
    /// # Errors
    /// There is none of this key.
    pub fn check_rulebook_draft(&self, id: &str) -> Result<CheckedRules, DeskFault> {
        let office = self.office()?;
        let text = self.stored_draft(id)?.text;
        office.check(self.compile_known(&office, &text, 1, office.today()))
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
        "its job is in the file {file}, and no example of this title is known here: put the request itself into the \
         rulebook, as `request`, or do it for every example by `tallyrule format --with-jobs`"
    ))
}

impl Office {
    /// Every finding of a rulebook, were it to count from today on, and its worked examples.
    fn check(&self, compiled: Result<Workbook, DeskFault>) -> Result<CheckedRules, DeskFault> {
        match compiled {
            Ok(workbook) => Ok(CheckedRules {
                findings: workbook.warnings().to_vec(),
                examples: Some(self.try_examples(&workbook, not_here)),
            }),
            Err(DeskFault::Rulebook(findings)) => Ok(CheckedRules {
                findings,
                examples: None,
            }),
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
