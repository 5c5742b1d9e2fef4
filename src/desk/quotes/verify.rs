//! Everything that was ever issued, computed again and held against what is stored.

use std::collections::BTreeMap;
use std::num::NonZeroU32;

use estimate::quote::earlier::differences_of;
use estimate::quote::number::NumberPattern;

use super::work::{acceptance, at_of};
use super::{At, whole};
use crate::desk::{Desk, DeskFault};
use crate::store::StoredQuote;

/// Missing quotes that are named of one gap.
const MOST_NAMED: usize = 5;
/// Quotes that are read at once.
const AT_ONCE: i64 = 500;

/// What a verification has found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Verified {
    /// Quotes that were read.
    pub quotes: usize,
    /// Issued revisions that were computed again.
    pub revisions: usize,
    /// Acceptances that were computed again.
    pub acceptances: usize,
    /// Entries of the audit whose chain was computed again.
    pub audit_entries: usize,
    /// Everything that is not as it should be; empty when all is well.
    pub faults: Vec<String>,
}

impl Desk {
    /// Computes every issued revision and every acceptance again and tells every place that differs; checks digests,
    /// the chains of digests, that of the audit too, that states agree with the moves on record, and that numbers have no gap;
    /// and holds every row of customers, sites, surveys and quotes, of the feed and of receipts, every access key, and every
    /// price, rate, policy and setting, by itself or with those of the same seed data or price list, against what the audit
    /// says was written last.
    ///
    /// # Errors
    /// The database does not answer. What is wrong with the data is in the answer.
    pub fn verify(&self) -> Result<Verified, DeskFault> {
        let mut found = Verified::default();
        let pages = self.store.check_file()?;
        found.faults.extend(
            pages
                .iter()
                .map(|fault| format!("the data file is damaged: {fault}")),
        );
        let numbers = self.office().ok().map(|office| office.numbers.clone());
        let mut last: BTreeMap<i32, i32> = BTreeMap::new();
        let mut place = (i32::MIN, 0);
        loop {
            let page = self.store.numbers_after(place, AT_ONCE)?;
            let Some((year, counter, ..)) = page.last() else {
                break;
            };
            place = (*year, *counter);
            for (year, counter, number, id) in &page {
                let before = last.insert(*year, *counter).unwrap_or(0);
                if before.checked_add(1) != Some(*counter) {
                    let missing = missing(numbers.as_ref(), *year, (before, *counter));
                    let gap = format!("quote {number}: the number before it in {year} is {before}{missing}");
                    found.faults.push(gap);
                }
                found.quotes = found.quotes.saturating_add(1);
                self.verify_quote(id, &mut found)?;
            }
        }
        for (year, counter) in self.store.quote_counters()? {
            let newest = last.remove(&year).unwrap_or(0);
            if newest != counter {
                let missing = missing(numbers.as_ref(), year, (newest, counter.saturating_add(1)));
                let word = format!(
                    "numbers of {year}: the counter is {counter}, the newest quote {newest}{missing}"
                );
                found.faults.push(word);
            }
        }
        let uncounted = last
            .keys()
            .map(|year| format!("numbers of {year}: there is no counter"));
        found.faults.extend(uncounted);
        found.faults.extend(self.store.parties_unlike_written()?);
        found.faults.extend(self.store.catalogue_unlike_written()?);
        found.faults.extend(self.store.loaded_unlike_written()?);
        found.faults.extend(self.store.missing_things()?);
        found.faults.extend(self.store.access_keys_unlike_written()?);
        let audit = self.check_audit()?;
        found.audit_entries = audit.entries;
        found.faults.extend(audit.faults);
        self.verify_positions(&mut found)?;
        Ok(found)
    }

    fn verify_quote(&self, id: &str, found: &mut Verified) -> Result<(), DeskFault> {
        let stored = self.stored(id)?;
        moves_agree(&stored, &mut found.faults);
        self.verify_feed(&stored, found)?;
        let number = &stored.quote.number;
        let unlike = self.store.quote_unlike_written(id)?.into_iter();
        found
            .faults
            .extend(unlike.map(|fault| format!("{number}: {fault}")));
        let mut previous = BTreeMap::new();
        for issued in &stored.issued {
            let at = At {
                quote: id.to_owned(),
                change_order: u32::try_from(issued.change_order).unwrap_or_default(),
                revision: u32::try_from(issued.revision).unwrap_or_default(),
            };
            let before = previous.insert(issued.change_order, issued.digest.clone());
            let told = self.verify_revision(&stored, &at, before.as_deref());
            found.revisions = found.revisions.saturating_add(1);
            tell(&stored, &at, told, found)?;
        }
        for kept in &stored.acceptances {
            let at = at_of(&stored, kept);
            let told = self.verify_acceptance(&stored, &at);
            found.acceptances = found.acceptances.saturating_add(1);
            tell(&stored, &at, told, found)?;
        }
        Ok(())
    }

    fn verify_revision(
        &self,
        stored: &StoredQuote,
        at: &At,
        before: Option<&str>,
    ) -> Result<Vec<String>, DeskFault> {
        let (revision, _, _) = self.document(at)?;
        let mut faults = Vec::new();
        let row = super::change::row(stored, at)?;
        let name = super::view::name(stored, row);
        if revision.name.to_string() != name {
            faults.push(format!("the document is that of {}", revision.name));
        }
        let previous = revision.previous.map(|digest| digest.to_string());
        if previous.as_deref() != before {
            faults.push("the chain of digests is broken before it".to_owned());
        }
        if row.ends_at.as_deref() != Some(super::change::end(&revision.validity).as_str()) {
            faults.push("its row ends at another time than its document says".to_owned());
        }
        let sources = &revision.made_from;
        // What the office knows now may stand in for a snapshot elsewhere; here the snapshots themselves count.
        for digest in [sources.catalogue, sources.rulebook.digest, sources.policy.digest] {
            self.content(digest)?;
        }
        let office = self.past(sources)?;
        let anew = revision.verify(|request| office.price_issued(request, sources.priced_on))?;
        faults.extend(
            anew.iter()
                .map(|place| format!("{} is computed otherwise", place.pointer)),
        );
        Ok(faults)
    }

    fn verify_acceptance(&self, stored: &StoredQuote, at: &At) -> Result<Vec<String>, DeskFault> {
        let (order, revision) = (whole(at.change_order)?, whole(at.revision)?);
        let is_meant =
            |row: &&crate::store::AcceptanceRow| row.change_order == order && row.revision == revision;
        let Some(kept) = stored.acceptances.iter().find(is_meant) else {
            return Ok(Vec::new());
        };
        let (record, _) = acceptance(kept)?;
        let (revision, digest, _) = self.document(at)?;
        let mut faults = Vec::new();
        if record.revision != digest {
            faults.push("the acceptance is of another document".to_owned());
        }
        let sources = &revision.made_from;
        let anew = self
            .past(sources)?
            .price_issued(&record.request, sources.priced_on)?;
        let told = differences_of(record.format, &record.estimate, anew.tree());
        faults.extend(
            told.iter()
                .map(|place| format!("acceptance: /estimate{} is computed otherwise", place.pointer)),
        );
        Ok(faults)
    }
}

/// The quotes between two counters of a year, by the numbers that they had if the pattern is what it was.
fn missing(numbers: Option<&NumberPattern>, year: i32, (before, next): (i32, i32)) -> String {
    let named = |counter: i32| {
        let counter = NonZeroU32::new(u32::try_from(counter).ok()?)?;
        let number = numbers?.number(u16::try_from(year).ok()?, counter).ok()?;
        Some(number.as_str().to_owned())
    };
    let between = before.saturating_add(1)..next;
    let names: Vec<String> = between.clone().take(MOST_NAMED).filter_map(named).collect();
    if names.is_empty() {
        return String::new();
    }
    let more = if between.count() > names.len() {
        ", …"
    } else {
        ""
    };
    let are = if names.len() == 1 { "is" } else { "are" };
    format!("; {}{more} {are} missing", names.join(", "))
}

/// Puts what was found into the answer. A database that does not answer ends the whole.
fn tell(
    stored: &StoredQuote,
    at: &At,
    told: Result<Vec<String>, DeskFault>,
    found: &mut Verified,
) -> Result<(), DeskFault> {
    let name = super::change::row(stored, at).map(|row| super::view::name(stored, row));
    let name = name.unwrap_or_else(|_| stored.quote.number.clone());
    match told {
        Ok(faults) => found
            .faults
            .extend(faults.into_iter().map(|fault| format!("{name}: {fault}"))),
        Err(DeskFault::Store(fault)) if !matches!(fault, crate::store::StoreFault::Corrupt { .. }) => {
            return Err(fault.into());
        }
        Err(fault) => found.faults.push(format!("{name}: {fault}")),
    }
    Ok(())
}

/// The states of the revisions are those that the moves on record lead to.
fn moves_agree(stored: &StoredQuote, faults: &mut Vec<String>) {
    for row in &stored.revisions {
        let moves = stored
            .transitions
            .iter()
            .filter(|moved| moved.change_order == row.change_order && moved.revision == row.revision);
        let mut state = "draft";
        let mut broken = false;
        for moved in moves {
            broken |= moved.from_state != state;
            state = &moved.to_state;
        }
        let is_issued = stored
            .issued
            .iter()
            .any(|issued| issued.change_order == row.change_order && issued.revision == row.revision);
        let name = super::view::name(stored, row);
        if broken || state != row.state {
            faults.push(format!(
                "{name}: it is {}, the moves on record lead to {state}",
                row.state
            ));
        }
        if is_issued == (row.state == "draft") {
            let word = if is_issued { "a document" } else { "no document" };
            faults.push(format!("{name}: it is {} and there is {word}", row.state));
        }
    }
    let numbers = stored.transitions.iter().map(|moved| moved.position);
    if !numbers.eq(1..=i32::try_from(stored.transitions.len()).unwrap_or_default()) {
        faults.push(format!("{}: a move is missing", stored.quote.number));
    }
}
