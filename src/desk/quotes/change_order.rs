//! Change orders: begun on an accepted quote, and then like any other offer.

use serde_json::Value;

use super::change::Decided;
use super::create::new_row;
use super::work::at_of;
use super::{Act, At, Told};
use crate::desk::{Desk, DeskFault};
use crate::store::Write;

impl Desk {
    /// Begins a change order on an accepted quote: its first draft. It is priced by the rules, the prices and the
    /// policy of the contract.
    ///
    /// # Errors
    /// The quote has not been accepted, or every fault of the draft.
    pub fn begin_change_order(&self, act: &Act, quote: &str, content: &Value) -> Result<Told, DeskFault> {
        self.change(act, quote, |present| {
            let accepted = present
                .stored
                .acceptances
                .iter()
                .find(|kept| kept.change_order == 0);
            let Some(accepted) = accepted else {
                let what = "a change order needs an accepted offer";
                return Err(DeskFault::Conflict(what.to_owned()));
            };
            let (offer, ..) = self.document(&at_of(present.stored, accepted))?;
            let text = self.read_change(present.stored, content, &offer.made_from)?;
            let orders = present.stored.revisions.iter().map(|row| row.change_order);
            let number = orders.max().unwrap_or_default().saturating_add(1);
            let who = (present.person, present.now);
            let row = new_row(quote, (number, 1), text, &offer.made_from, who)?;
            Ok(Decided {
                rows: vec![Write::Revision(row)],
                told: Some(At {
                    quote: quote.to_owned(),
                    change_order: u32::try_from(number).unwrap_or_default(),
                    revision: 1,
                }),
                ..Decided::default()
            })
        })
    }
}
