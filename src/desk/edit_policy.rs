//! A new version of a policy, or a new policy.

use chrono::NaiveDate;
use estimate::pricing::policy::Policy;
use estimate::pricing::{CheckedPolicy, PolicyFault};

use super::{Desk, DeskFault, Office, now};
use crate::store::{StoreFault, StoredPolicy};

impl Desk {
    /// Saves `policy` as the version after `base`, 0 for a new policy, that holds from `valid_from` on.
    ///
    /// # Errors
    /// Every fault of the policy; [`DeskFault::Changed`], or [`DeskFault::Taken`] for a new one, when the newest version
    /// is another by now; or the database.
    pub fn save_policy(&self, policy: Policy, valid_from: NaiveDate, base: u32) -> Result<u32, DeskFault> {
        let office = self.office()?;
        let mut faults = match CheckedPolicy::new(policy.clone(), office.company.currency) {
            Ok(_) => Vec::new(),
            Err(faults) => faults,
        };
        faults.extend(office.untaxed(&policy));
        if !faults.is_empty() {
            return Err(DeskFault::NewPolicy(faults));
        }
        let version = base.saturating_add(1);
        let id = policy.id.clone();
        let stored = StoredPolicy {
            version,
            valid_from,
            created_at: now(),
            policy,
        };
        self.store.save_policy(&stored).map_err(|fault| match fault {
            StoreFault::Changed | StoreFault::Exists if base == 0 => DeskFault::taken("policy", &id),
            StoreFault::Changed | StoreFault::Exists => DeskFault::Changed,
            other => DeskFault::Store(other),
        })?;
        Ok(version)
    }
}

impl Office {
    /// Tax categories that items or labour classes are of and the policy does not know.
    fn untaxed(&self, policy: &Policy) -> Vec<PolicyFault> {
        let known = |code: &str| policy.tax.categories.iter().any(|category| category.code == code);
        let items = self
            .catalogue
            .items()
            .iter()
            .map(|item| (&item.tax_category, "item", &item.code));
        let labour = self.catalogue.labour().iter();
        let labour = labour.map(|class| (&class.tax_category, "labour class", &class.code));
        let mut missing: Vec<(&String, String)> = Vec::new();
        for (category, what, code) in items.chain(labour).filter(|(category, _, _)| !known(category)) {
            if !missing.iter().any(|(told, _)| *told == category) {
                missing.push((
                    category,
                    format!("{category} is missing: the {what} {code} is of it"),
                ));
            }
        }
        let fault = |(_, message)| PolicyFault {
            pointer: "/tax/categories".to_owned(),
            message,
        };
        missing.into_iter().map(fault).collect()
    }
}
