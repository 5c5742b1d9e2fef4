//! What the check of a rulebook has to say, with its place in the file.

use super::formula::Flaw;
use super::span::{Span, line_and_column};
use serde::Serialize;

/// How grave a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The rulebook cannot be run.
    Error,
    /// The rulebook runs, but something in it is probably not meant.
    Warning,
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// Error or warning.
    pub severity: Severity,
    /// Stable short name of the kind of finding, such as `unknown_name`.
    pub code: &'static str,
    /// The part of the rulebook, such as `assembly LINE-SET, line 2`.
    pub part: String,
    /// The field of that part, such as `quantity`; empty when the part itself is meant.
    pub field: String,
    /// Line in the file, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The place in the file, in bytes.
    pub span: Span,
    /// What is wrong, in words.
    pub message: String,
    /// What was found there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found: Option<String>,
    /// What would have been right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expected: Option<String>,
    /// What was probably meant.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub suggestion: Option<String>,
}

/// The most findings that are kept; more than these help nobody. An error takes the place of a warning.
const MAX_FINDINGS: usize = 500;

/// Collects findings about one file.
#[derive(Debug)]
pub(crate) struct Findings<'f> {
    file: &'f str,
    list: Vec<Finding>,
}

impl<'f> Findings<'f> {
    pub(crate) fn new(file: &'f str) -> Self {
        Self {
            file,
            list: Vec::new(),
        }
    }

    pub(crate) fn file(&self) -> &'f str {
        self.file
    }

    /// Adds an error whose flaw has its span in the file.
    pub(crate) fn error(&mut self, part: &str, field: &str, flaw: Flaw) {
        self.add(Severity::Error, part, field, flaw);
    }

    /// Adds a warning whose flaw has its span in the file.
    pub(crate) fn warning(&mut self, part: &str, field: &str, flaw: Flaw) {
        self.add(Severity::Warning, part, field, flaw);
    }

    fn add(&mut self, severity: Severity, part: &str, field: &str, flaw: Flaw) {
        if self.list.len() >= MAX_FINDINGS {
            let last = self
                .list
                .iter()
                .rposition(|finding| finding.severity == Severity::Warning);
            match last.filter(|_| severity == Severity::Error) {
                Some(last) => drop(self.list.remove(last)),
                None => return,
            }
        }
        let words = *flaw.words;
        let (line, column) = line_and_column(self.file, flaw.span.start);
        self.list.push(Finding {
            severity,
            code: flaw.code,
            part: part.to_owned(),
            field: field.to_owned(),
            line,
            column,
            span: flaw.span,
            message: words.message,
            found: words.found,
            expected: words.expected,
            suggestion: words.suggestion,
        });
    }

    pub(crate) fn has_errors(&self) -> bool {
        self.list
            .iter()
            .any(|finding| finding.severity == Severity::Error)
    }

    /// All findings in the order of the file.
    pub(crate) fn sorted(mut self) -> Vec<Finding> {
        self.list
            .sort_by_key(|finding| (finding.span.start, finding.severity));
        self.list
    }
}
