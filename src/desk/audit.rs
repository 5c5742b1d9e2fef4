//! The audit: read, and computed again.

use super::{Desk, DeskFault};
use crate::store::{AuditChecked, AuditEntry, AuditFilter};

impl Desk {
    /// Entries of the audit.
    ///
    /// # Errors
    /// The database.
    pub fn audit_entries(&self, filter: &AuditFilter) -> Result<Vec<AuditEntry>, DeskFault> {
        Ok(self.store.audit_entries(filter)?)
    }

    /// Computes the chain of the audit again.
    ///
    /// # Errors
    /// The database.
    pub fn check_audit(&self) -> Result<AuditChecked, DeskFault> {
        Ok(self.store.check_audit()?)
    }
}
