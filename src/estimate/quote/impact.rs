//! What another rulebook does to one job: the job estimated under both, and what moved.
//!
//! In: the request, two rulebooks ready to work with, and what does not change between them: catalogue, prices
//! and policy. Out: both estimates, or why one of them cannot be made, and everything in which they differ.

use serde_json::Value;
use thiserror::Error;

use super::comparison::{Compared, Comparison};
use super::estimated::{EstimateShape, Estimated};
use super::moved::MovedFault;
use crate::catalogue::Catalogue;
use crate::catalogue::prices::PriceBook;
use crate::estimate::{EstimateFault, Inputs, estimate};
use crate::job::JobFault;
use crate::pricing::CheckedPolicy;
use crate::workbook::Workbook;

/// A job to try rulebooks on, and what it is priced with.
#[derive(Debug, Clone, Copy)]
pub struct Trial<'a> {
    /// The request as it was written. What it names of the office is not looked at.
    pub request: &'a Value,
    /// Items, labour classes and equipment.
    pub catalogue: &'a Catalogue,
    /// The prices of the day, read out of the same catalogue.
    pub prices: &'a PriceBook,
    /// The pricing policy.
    pub policy: &'a CheckedPolicy,
    /// The policy's version.
    pub policy_version: u32,
}

/// Why a job cannot be estimated under a rulebook.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TrialFault {
    /// The request is not one under this rulebook.
    #[error(transparent)]
    Request(#[from] JobFault),
    /// A stage could not do its work.
    #[error(transparent)]
    Estimate(#[from] EstimateFault),
    /// The estimate does not add up.
    #[error(transparent)]
    Shape(#[from] EstimateShape),
}

/// One job under two rulebooks.
#[derive(Debug, Clone, PartialEq)]
pub struct Impact {
    /// Under the first.
    pub before: Result<Estimated, TrialFault>,
    /// Under the second.
    pub after: Result<Estimated, TrialFault>,
    /// Everything in which the two differ, where both could be made.
    pub comparison: Option<Comparison>,
}

impl Trial<'_> {
    /// Estimates the job under a rulebook.
    ///
    /// # Errors
    /// See [`TrialFault`].
    pub fn under(&self, workbook: &Workbook) -> Result<Estimated, TrialFault> {
        let request = workbook.read(self.request)?;
        let estimate = estimate(Inputs {
            request: &request,
            workbook,
            catalogue: self.catalogue,
            prices: self.prices,
            policy: self.policy,
            policy_version: self.policy_version,
            explain: None,
        })?;
        Ok(Estimated::of(&estimate)?)
    }

    /// Estimates the job under two rulebooks and compares.
    ///
    /// # Errors
    /// A difference does not fit.
    pub fn impact(&self, before: &Workbook, after: &Workbook) -> Result<Impact, MovedFault> {
        let (before, after) = (self.under(before), self.under(after));
        let comparison = match (&before, &after) {
            (Ok(from), Ok(to)) => Some(Comparison::between(self.side(from), self.side(to))?),
            _ => None,
        };
        Ok(Impact {
            before,
            after,
            comparison,
        })
    }

    fn side<'a>(&'a self, estimated: &'a Estimated) -> Compared<'a> {
        Compared {
            request: self.request,
            estimated,
            exclusions: &[],
        }
    }
}
