//! A new version of a policy, or a new policy.

use chrono::NaiveDate;
use estimate::pricing::policy::Policy;
use estimate::pricing::{CheckedPolicy, PolicyFault, slips};

use super::act::Told;
use super::{Desk, DeskFault, Meant, Office, PolicyVersion, now};
use crate::store::{RequestKey, StoreFault, StoredPolicy};

impl Desk {
    /// Saves a new policy that holds from `valid_from` on, once for `key`. `tell` makes the answer of its first version.
    ///
    /// # Errors
    /// Every fault of the policy, [`DeskFault::Taken`] when there is one of this name, or the database.
    pub fn create_policy(
        &self,
        key: Option<&RequestKey>,
        policy: &Policy,
        valid_from: NaiveDate,
        tell: impl Fn(&PolicyVersion) -> Result<Told, DeskFault>,
    ) -> Result<Told, DeskFault> {
        self.once(key, || {
            let saved = self.save_policy(key, policy, (1, valid_from), tell);
            saved.map_err(|fault| match fault {
                DeskFault::Changed => DeskFault::taken("policy", &policy.id),
                other => other,
            })
        })
    }

    /// Saves the next version of a policy, which holds from `valid_from` on, once for `key`; days that are over keep what
    /// they cost unless it is `meant`. `matches` says whether the
    /// caller has seen the policy of this tag, on whatever day.
    ///
    /// # Errors
    /// Every fault of the policy, no policy of this name, [`DeskFault::Changed`] when it is another by now, or the
    /// database.
    pub fn edit_policy(
        &self,
        key: Option<&RequestKey>,
        policy: &Policy,
        (valid_from, meant): (NaiveDate, Meant),
        matches: impl Fn(&str) -> bool,
        tell: impl Fn(&PolicyVersion) -> Result<Told, DeskFault>,
    ) -> Result<Told, DeskFault> {
        self.once(key, || {
            let office = self.office()?;
            let versions: Vec<&PolicyVersion> = office.policy_versions(&policy.id).collect();
            let newest = versions
                .last()
                .ok_or_else(|| DeskFault::unknown("policy", &policy.id))?;
            // Any version of the newest state may have been read: the tag is of the state first.
            let mut tags = versions.iter().map(|version| version.tag(newest.version));
            if !tags.any(|tag| matches(&tag)) {
                return Err(DeskFault::Changed);
            }
            let latest = versions.iter().map(|version| version.valid_from).max();
            let latest = latest.unwrap_or(newest.valid_from);
            if let Some(message) = office.cannot_begin(latest, valid_from, meant) {
                let pointer = "/valid_from";
                return Err(DeskFault::Member { pointer, message });
            }
            let version = newest.version.saturating_add(1);
            self.save_policy(key, policy, (version, valid_from), tell)
        })
    }

    fn save_policy(
        &self,
        key: Option<&RequestKey>,
        policy: &Policy,
        (version, valid_from): (u32, NaiveDate),
        tell: impl Fn(&PolicyVersion) -> Result<Told, DeskFault>,
    ) -> Result<String, DeskFault> {
        let office = self.office()?;
        let checked = CheckedPolicy::new(policy.clone(), office.company.currency);
        let mut more = office.untaxed(policy);
        more.extend(slips(policy));
        more.extend(self.unknown_of_policy(&office, policy)?);
        let checked = match checked {
            Ok(checked) if more.is_empty() => checked,
            Ok(_) => return Err(DeskFault::NewPolicy(more)),
            Err(mut faults) => {
                more.retain(|slip| faults.iter().all(|fault| fault.pointer != slip.pointer));
                faults.extend(more);
                return Err(DeskFault::NewPolicy(faults));
            }
        };
        let created_at = now();
        let stored = StoredPolicy {
            version,
            valid_from,
            created_at: created_at.clone(),
            policy: policy.clone(),
        };
        let answer = tell(&PolicyVersion {
            version,
            valid_from,
            created_at,
            policy: checked,
        })?;
        let saved = self.store.save_policy(key, &stored, &answer.text()?);
        saved.map_err(|fault| match fault {
            StoreFault::Changed | StoreFault::Exists => DeskFault::Changed,
            other => DeskFault::Store(other),
        })
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
