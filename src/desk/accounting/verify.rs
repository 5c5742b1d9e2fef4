//! The feed held against the moves and the documents that it tells of.

use estimate::handoff::amounts::Amounts;

use crate::desk::{Desk, DeskFault, Verified};
use crate::store::{FeedRow, StoredQuote, TransitionRow};

/// Positions that are read at once.
const AT_ONCE: i64 = 10_000;

impl Desk {
    /// Tells every move of a quote that is not in the feed as it was made, or comes to something else there.
    pub(in crate::desk) fn verify_feed(
        &self,
        stored: &StoredQuote,
        found: &mut Verified,
    ) -> Result<(), DeskFault> {
        let rows = self.store.feed_of_quote(&stored.quote.id)?;
        let number = &stored.quote.number;
        let told = |moved: &TransitionRow| rows.iter().find(|row| row.transition == moved.position);
        for moved in &stored.transitions {
            match told(moved) {
                None => found
                    .faults
                    .push(format!("{number}: move {} is not in the feed", moved.position)),
                Some(row) if !is_of(row, moved) => {
                    let word = format!(
                        "{number}: the feed tells move {} otherwise than it was made",
                        moved.position
                    );
                    found.faults.push(word);
                }
                Some(row) => {
                    if self.amounts_of(stored, row)? != Some((row.net, row.tax, row.total)) {
                        let word = format!(
                            "{number}: in the feed, move {} comes to another amount",
                            moved.position
                        );
                        found.faults.push(word);
                    }
                }
            }
        }
        Ok(())
    }

    /// Tells a gap in the positions of the feed, and an end that is not that of its newest row.
    pub(in crate::desk) fn verify_positions(&self, found: &mut Verified) -> Result<(), DeskFault> {
        let mut last = 0_i64;
        loop {
            let (positions, end) = self.store.feed_positions(last, AT_ONCE)?;
            for position in &positions {
                if last.checked_add(1) != Some(*position) {
                    found
                        .faults
                        .push(format!("the feed goes from {last} to {position}"));
                }
                last = *position;
            }
            if positions.is_empty() {
                if last != end {
                    found
                        .faults
                        .push(format!("the feed ends at {last} and says {end}"));
                }
                return Ok(());
            }
        }
    }

    /// What the documents say that a row comes to, in minor units; none where they cannot be read, which is told elsewhere.
    fn amounts_of(&self, stored: &StoredQuote, row: &FeedRow) -> Result<Option<(i64, i64, i64)>, DeskFault> {
        let accepted = stored
            .acceptances
            .iter()
            .find(|kept| row.state == "accepted" && row.change_order == 0 && kept.change_order == 0);
        let amounts = match accepted {
            Some(kept) => Amounts::of_document(&kept.document),
            None => {
                let issued = self
                    .store
                    .issued_revision(&stored.quote.id, row.change_order, row.revision)?;
                let Some(issued) = issued else { return Ok(None) };
                Amounts::of_document(&issued.document)
            }
        };
        Ok(amounts
            .ok()
            .map(|amounts| (amounts.net.minor(), amounts.tax.minor(), amounts.total.minor())))
    }
}

fn is_of(row: &FeedRow, moved: &TransitionRow) -> bool {
    (row.change_order, row.revision, &row.state, &row.at)
        == (
            moved.change_order,
            moved.revision,
            &moved.to_state,
            &moved.moved_at,
        )
}
