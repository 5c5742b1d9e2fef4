//! What the office knows at one moment, checked, and shared by every request until it changes.

use std::sync::Arc;

use estimate::catalogue::{Catalogue, Company};
use estimate::pricing::policy::Policy;

use crate::store::{OfficeData, StoredRulebook};

use super::DeskFault;

/// A policy and its version.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PolicyVersion {
    /// 1 for the first.
    pub version: u32,
    /// The policy.
    pub policy: Arc<Policy>,
}

/// What the office knows at one moment.
#[derive(Debug)]
pub struct Office {
    /// The number of this state of the database.
    pub revision: i64,
    /// The company.
    pub company: Company,
    /// Items, labour classes and equipment.
    pub catalogue: Catalogue,
    /// Policies by name.
    pub policies: Vec<PolicyVersion>,
    /// Published rulebooks by name.
    pub rulebooks: Vec<StoredRulebook>,
}

impl Office {
    /// Puts together what was read from the database.
    ///
    /// # Errors
    /// What was stored does not hold together.
    pub fn new(revision: i64, data: OfficeData) -> Result<Self, DeskFault> {
        let catalogue =
            Catalogue::new(data.items, data.labour, data.equipment).map_err(DeskFault::Catalogue)?;
        let mut policies: Vec<_> = data
            .policies
            .into_iter()
            .map(|(version, policy)| PolicyVersion {
                version,
                policy: Arc::new(policy),
            })
            .collect();
        policies.sort_by(|one, other| one.policy.id.cmp(&other.policy.id));
        Ok(Self {
            revision,
            company: data.company,
            catalogue,
            policies,
            rulebooks: data.rulebooks,
        })
    }

    /// The policy of this name, or the company's own when none is named.
    ///
    /// # Errors
    /// There is none of this name.
    pub fn policy(&self, id: Option<&str>) -> Result<&PolicyVersion, DeskFault> {
        let id = id.unwrap_or(&self.company.policy);
        let found = self.policies.iter().find(|version| version.policy.id == id);
        found.ok_or_else(|| DeskFault::unknown("policy", id))
    }

    /// The rulebook of this name, or the company's own when none is named.
    ///
    /// # Errors
    /// There is none of this name.
    pub fn rulebook(&self, id: Option<&str>) -> Result<&StoredRulebook, DeskFault> {
        let id = id.unwrap_or(&self.company.rulebook);
        let found = self.rulebooks.iter().find(|rulebook| rulebook.id == id);
        found.ok_or_else(|| DeskFault::unknown("rulebook", id))
    }
}
