//! A surveyed job becomes a priced bill.

use estimate::estimate::{Estimate, Inputs, estimate};
use estimate::job::{Assumption, Request};
use estimate::sizing::{self, SizingReport};
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
    pub assumptions: &'a [Assumption],
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
        self.estimate_with(&self.named(request)?.workbook, request, explain, show)
    }

    /// Prices a job by rules that need not be the published ones.
    pub(super) fn estimate_with<T>(
        &self,
        workbook: &Workbook,
        request: &Value,
        explain: bool,
        show: impl FnOnce(&Estimate<'_>) -> T,
    ) -> Result<T, DeskFault> {
        let request = workbook.read(request)?;
        let day = request.priced_on.unwrap_or_else(|| self.today());
        let policy = self
            .policy_on(request.policy.as_deref(), day)
            .map_err(|fault| fault.at("/policy"))?;
        let prices = self.prices_on(day);
        let estimate = estimate(Inputs {
            request: &request,
            workbook,
            catalogue: &self.catalogue,
            prices: &prices,
            policy: &policy.policy,
            policy_version: policy.version,
            explain,
        })?;
        Ok(show(&estimate))
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
        let request: Request = self.named(request)?.workbook.read(request)?;
        let sizing = sizing::size(&request.job.spec, &self.catalogue)
            .map_err(|fault| DeskFault::Estimate(fault.into()))?;
        Ok(show(&SizedJob {
            job: &request.job.tree,
            assumptions: &request.job.assumptions,
            sizing,
        }))
    }

    /// The rulebook that a request names: known before the request is read, since its extra inputs are part of the
    /// form.
    pub(super) fn named(&self, request: &Value) -> Result<&super::RulebookVersion, DeskFault> {
        self.named_at(request, ["/rulebook", "/rulebook_version"])
    }

    /// The same, where the request names rulebook and version at these places of what was sent.
    pub(super) fn named_at(
        &self,
        request: &Value,
        [rulebook, version]: [&'static str; 2],
    ) -> Result<&super::RulebookVersion, DeskFault> {
        let day = Request::named_day(request).unwrap_or_else(|| self.today());
        let named = (Request::named_rulebook(request), Request::named_version(request));
        self.rulebook_on(named.0, named.1, day)
            .map_err(|fault| fault.at(rulebook).at_version(version))
    }
}
