//! A surveyed job becomes a priced bill.

use estimate::estimate::{Estimate, sized};
use estimate::handoff::rule_sentences::RuleSentences;
use estimate::job::{Assumption, NotMeasured, UsualAnswer};
use estimate::sizing::SizingReport;
use estimate::workbook::Workbook;
use serde::Serialize;
use serde_json::Value;

use super::{Desk, DeskFault, Office};

/// What physics says of a job, and of which job.
#[derive(Debug, Serialize)]
pub struct SizedJob<'a> {
    /// The job as it was understood.
    pub job: &'a Value,
    /// What took the place of answers that nobody knows.
    pub assumptions: Vec<&'a Assumption>,
    /// Answers that nobody measured, and how they are known.
    pub not_measured: Vec<NotMeasured>,
    /// Answers that were left out, and what is taken in their place.
    pub usual_answers: Vec<&'a UsualAnswer>,
    /// The report.
    pub sizing: SizingReport,
}

impl Desk {
    /// Prices the job of an estimate request and shows the result to `show`.
    ///
    /// # Errors
    /// Every fault of the request, or why the job cannot be priced.
    pub fn estimate_job<T>(
        &self,
        request: &Value,
        explain: bool,
        show: impl FnOnce(&Estimate<'_>) -> T,
    ) -> Result<T, DeskFault> {
        self.office()?.estimate_job(request, explain, show)
    }

    /// Sizes the job of an estimate request and shows the result to `show`.
    ///
    /// # Errors
    /// Every fault of the request, or why the job cannot be sized.
    pub fn size_job<T>(
        &self,
        request: &Value,
        show: impl FnOnce(&SizedJob<'_>) -> T,
    ) -> Result<T, DeskFault> {
        self.office()?.size_job(request, show)
    }
}

impl Office {
    /// As [`Desk::estimate_job`], without a database.
    ///
    /// # Errors
    /// The same.
    pub fn estimate_job<T>(
        &self,
        request: &Value,
        explain: bool,
        show: impl FnOnce(&Estimate<'_>) -> T,
    ) -> Result<T, DeskFault> {
        let basis = self.basis(request)?;
        basis.estimate(&basis.read(request)?, explain, show)
    }

    /// The sentences of the rules that a request is estimated by.
    ///
    /// # Errors
    /// It names no rulebook of the office.
    pub fn rule_sentences(&self, request: &Value) -> Result<RuleSentences, DeskFault> {
        Ok(RuleSentences::of(self.named(request)?.workbook.rulebook()))
    }

    /// Prices a job by rules that need not be the published ones.
    pub(super) fn estimate_with<T>(
        &self,
        workbook: &Workbook,
        request: &Value,
        explain: bool,
        show: impl FnOnce(&Estimate<'_>) -> T,
    ) -> Result<T, DeskFault> {
        let basis = self.basis_under(workbook, request, self.day_of(request))?;
        basis.estimate(&basis.read(request)?, explain, show)
    }

    /// As [`Desk::size_job`], without a database.
    ///
    /// # Errors
    /// The same.
    pub fn size_job<T>(
        &self,
        request: &Value,
        show: impl FnOnce(&SizedJob<'_>) -> T,
    ) -> Result<T, DeskFault> {
        let basis = self.basis(request)?;
        let request = basis.read(request)?;
        let sized = sized(&request, basis.workbook, &self.catalogue).map_err(DeskFault::Estimate)?;
        let answered = sized.answered;
        Ok(show(&SizedJob {
            job: &request.job.tree,
            assumptions: answered.assumptions,
            not_measured: answered.not_measured,
            usual_answers: answered.usual_answers,
            sizing: sized.sizing,
        }))
    }
}
