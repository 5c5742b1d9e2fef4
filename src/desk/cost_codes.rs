//! The cost codes that the company knows: those of its goods, its people and its policies, and those that its ledger
//! has an account for. A new one is told to the ledger first.

use std::collections::BTreeSet;

use estimate::quantity::nearest;

use super::{Desk, DeskFault, Office};

impl Desk {
    /// Why a cost code cannot be taken; nothing where it is known.
    pub(super) fn unknown_cost_code(&self, office: &Office, code: &str) -> Result<Option<String>, DeskFault> {
        let ledger = self.ledger()?.settings;
        let accounts = [&ledger.sales, &ledger.cost]
            .into_iter()
            .flat_map(|table| table.by_name.keys());
        let mut known: BTreeSet<&str> = accounts.map(String::as_str).collect();
        known.extend(
            office
                .catalogue
                .items()
                .iter()
                .map(|item| item.cost_code.as_str()),
        );
        known.extend(
            office
                .catalogue
                .labour()
                .iter()
                .map(|class| class.cost_code.as_str()),
        );
        for version in &office.policies {
            let lines = &version.policy.policy().lines;
            let codes = [&lines.freight, &lines.consumables, &lines.use_tax];
            known.extend(codes.map(|line| line.cost_code.as_str()));
        }
        if known.contains(code) {
            return Ok(None);
        }
        let hint = nearest::hint(code, known.iter().copied());
        Ok(Some(format!(
            "`{code}` is no cost code of an item, a labour class or a policy, and the ledger has no account for \
             it{hint}"
        )))
    }
}
