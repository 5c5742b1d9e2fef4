//! An edited rulebook: checked, and published as the next version.

use estimate::rules::Finding;

use super::{Desk, DeskFault, now};
use crate::store::{StoreFault, StoredRulebook};

impl Desk {
    /// What the check of a rulebook's text has to say. A text that would be published has no error in it.
    ///
    /// # Errors
    /// The database.
    pub fn check_rulebook(&self, text: &str) -> Result<Vec<Finding>, DeskFault> {
        match self.office()?.compile(text, 1) {
            Ok(workbook) => Ok(workbook.warnings().to_vec()),
            Err(DeskFault::Rulebook(findings)) => Ok(findings),
            Err(other) => Err(other),
        }
    }

    /// Publishes `text` as the version after `base` of the rulebook `id`.
    ///
    /// # Errors
    /// Every finding when there is an error in the text, [`DeskFault::OtherName`] when it is of another rulebook,
    /// [`DeskFault::Changed`] when `base` is not the newest version any more, or the database.
    pub fn publish_rulebook(&self, id: &str, base: u32, text: &str) -> Result<(), DeskFault> {
        let office = self.office()?;
        let current = office.rulebook(Some(id))?;
        if current.stored.version != base {
            return Err(DeskFault::Changed);
        }
        let version = base.checked_add(1).ok_or(DeskFault::Changed)?;
        let workbook = office.compile(text, version)?;
        let named = workbook.version().id;
        if named != id {
            return Err(DeskFault::OtherName {
                wanted: id.to_owned(),
                named: named.to_owned(),
            });
        }
        let stored = StoredRulebook::new(id, version, text, &now());
        self.store.publish_rulebook(&stored).map_err(|fault| match fault {
            StoreFault::Changed | StoreFault::Exists => DeskFault::Changed,
            other => DeskFault::Store(other),
        })
    }
}
