//! From which day a new version of a policy or of a rate may hold, so that days which are over keep their price.

use chrono::NaiveDate;

use super::Office;

/// What the caller says is meant, though it looks like a slip.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Meant {
    /// Days that are over are priced otherwise.
    pub backdated: bool,
    /// It costs five times what it did before or more, or a fifth or less.
    pub factor: bool,
    /// It costs nothing.
    pub zero: bool,
}

impl Office {
    /// Why a version may not hold from `from` on, behind one that holds from `newest` on.
    pub(super) fn cannot_begin(&self, newest: NaiveDate, from: NaiveDate, meant: Meant) -> Option<String> {
        let today = self.today();
        let reason = if meant.backdated {
            return None;
        } else if from < today {
            format!("is {from}, in the past (today is {today})")
        } else if from <= newest {
            format!("is {from}, and the newest version holds from {newest} on")
        } else {
            return None;
        };
        Some(format!(
            "{reason}: days that have been priced already would cost something else; choose a later day, or say \
             accept=backdated in the address when that is meant"
        ))
    }
}
