//! A draft of a rulebook is thrown away.

use crate::desk::{Desk, DeskFault};

impl Desk {
    /// Discards a draft. `matches` says whether the caller has seen the draft of this tag.
    ///
    /// # Errors
    /// There is none of this key, or another draft stands than was seen.
    pub fn discard_rulebook_draft(&self, id: &str, matches: impl Fn(&str) -> bool) -> Result<(), DeskFault> {
        let stored = self.seen_draft(id, matches)?;
        let discarded = self.store.discard_rulebook_draft(id, stored.head.edit);
        self.or_stale(id, discarded)
    }
}
