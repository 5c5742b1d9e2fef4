//! The records of an acceptance, found by what accounting calls it.

use estimate::handoff::accepted::{Accepted, read_entry_number};

use super::whole;
use super::work::{acceptance, at_of};
use crate::desk::{Desk, DeskFault};

/// An acceptance that was found.
pub(in crate::desk) struct FoundAcceptance {
    /// The quote.
    pub(in crate::desk) quote: String,
    /// Which change order; 0 for the offer itself.
    pub(in crate::desk) change_order: i32,
    /// What was accepted.
    pub(in crate::desk) accepted: Accepted,
}

impl Desk {
    /// The accepted offer or change order of this number, once every digest is right and every sum comes out.
    pub(in crate::desk) fn found_acceptance(&self, number: &str) -> Result<FoundAcceptance, DeskFault> {
        let unknown = || DeskFault::unknown("accepted quote", number);
        let (quote, order) = read_entry_number(number);
        let change_order = whole(order)?;
        let id = self.store.quote_of_number(quote)?.ok_or_else(unknown)?;
        let stored = self.stored(&id)?;
        let kept = stored
            .acceptances
            .iter()
            .find(|kept| kept.change_order == change_order);
        let kept = kept.ok_or_else(unknown)?;
        let (record, digest) = acceptance(kept)?;
        let (revision, ..) = self.document(&at_of(&stored, kept))?;
        let mut before = None;
        if let Some(change) = &revision.change {
            let contract = change.contract.to_string();
            let contract = stored.acceptances.iter().find(|kept| kept.digest == contract);
            before = contract.map(acceptance).transpose()?;
        }
        let before = before.as_ref().map(|(record, digest)| (record, *digest));
        let accepted = Accepted::of(&revision, &record, digest, before)?;
        Ok(FoundAcceptance {
            quote: id,
            change_order,
            accepted,
        })
    }
}
