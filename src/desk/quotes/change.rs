//! A change of a quote: read whole, decided, written in one transaction.

use chrono::{DateTime, Utc};
use estimate::quote::draft::Draft;
use estimate::quote::life::{Event, OfferState, Standing, State};
use estimate::quote::validity::{Validity, Zone};

use serde_json::Value;

use super::work::offer_draft;
use super::{Act, At, Told, whole};
use crate::desk::act::anew;
use crate::desk::{Desk, DeskFault, Office, kept_key, moment};
use crate::store::{
    IssuedHead, IssuedRow, PartyKind, PartyRow, RevisionRow, StoreFault, StoredQuote, TransitionRow, Write,
};

/// What a decision comes to.
#[derive(Default)]
pub(super) struct Decided {
    /// What is to be written.
    pub(super) rows: Vec<Write>,
    /// The revision that is told, or none for the quote.
    pub(super) told: Option<At>,
    /// What is to be known of the papers of the revision that is told.
    pub(super) paper_notes: Vec<String>,
}

/// A quote as it is read, at a moment.
pub(super) struct Present<'a> {
    pub(super) stored: &'a StoredQuote,
    pub(super) office: &'a Office,
    pub(super) zone: Zone,
    pub(super) now: DateTime<Utc>,
    pub(super) person: &'a str,
}

impl Desk {
    pub(super) fn stored(&self, id: &str) -> Result<StoredQuote, DeskFault> {
        self.store
            .quote(&kept_key(id))?
            .ok_or_else(|| DeskFault::unknown("quote", id))
    }

    /// Changes a quote as `decide` says of its present state.
    pub(super) fn change(
        &self,
        act: &Act,
        id: &str,
        decide: impl Fn(&Present<'_>) -> Result<Decided, DeskFault>,
    ) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || anew(|| self.attempt(act, id, &decide)))
    }

    fn attempt(
        &self,
        act: &Act,
        id: &str,
        decide: impl Fn(&Present<'_>) -> Result<Decided, DeskFault>,
    ) -> Result<String, DeskFault> {
        let office = self.office()?;
        let mut stored = self.stored(id)?;
        let now = Utc::now();
        let decided = decide(&Present {
            stored: &stored,
            office: &office,
            zone: office.zone()?,
            now,
            person: &act.person,
        })?;
        decided.rows.iter().for_each(|row| apply(&mut stored, row));
        sum_up(&mut stored);
        self.call(&mut stored)?;
        stored.quote.version = stored.quote.version.saturating_add(1);
        let told = match &decided.told {
            Some(at) => noted(self.revision_told(&stored, at, now)?, decided.paper_notes),
            None => self.quote_told(&stored, now)?,
        };
        let answer = told.text()?;
        Ok(self
            .store
            .change_quote(act.key.as_ref(), &stored.quote, &decided.rows, &answer)?)
    }

    /// Calls a quote what its leading revision is called, and lets it be found by that, and by its customer and site as
    /// they are now.
    fn call(&self, stored: &mut StoredQuote) -> Result<(), DeskFault> {
        let Some(leading) = leading(stored) else {
            return Ok(());
        };
        let title = title(&offer_draft(leading)?);
        let customer = self.party_row(PartyKind::Customer, &stored.quote.customer_id)?;
        let site = self.party_row(PartyKind::Site, &stored.quote.site_id)?;
        stored.quote.search = searched(&stored.quote.number, &title, [&customer, &site]);
        stored.quote.title = title;
        Ok(())
    }
}

impl Office {
    pub(in crate::desk) fn zone(&self) -> Result<Zone, DeskFault> {
        Zone::parse(&self.company.time_zone).map_err(|fault| DeskFault::Company {
            field: "time_zone",
            message: fault.to_string(),
        })
    }
}

impl Present<'_> {
    /// The row of a revision.
    pub(super) fn row(&self, at: &At) -> Result<&RevisionRow, DeskFault> {
        row(self.stored, at)
    }

    /// A move of a revision: the row as it is to be, and the record of the move.
    pub(super) fn moved(
        &self,
        row: &RevisionRow,
        event: Event,
        reason: Option<&str>,
        position: usize,
    ) -> Result<(RevisionRow, TransitionRow), DeskFault> {
        let standing = standing(row)?;
        let to = standing.after(event, self.now)?;
        let number = self.stored.transitions.len().saturating_add(position);
        let after = RevisionRow {
            state: to.word().to_owned(),
            version: row.version.saturating_add(1),
            changed_at: moment(self.now),
            changed_by: self.person.to_owned(),
            ..row.clone()
        };
        let record = TransitionRow {
            quote_id: row.quote_id.clone(),
            position: i32::try_from(number).unwrap_or(i32::MAX),
            change_order: row.change_order,
            revision: row.revision,
            event: event.word().to_owned(),
            from_state: row.state.clone(),
            to_state: after.state.clone(),
            moved_at: moment(self.now),
            moved_by: self.person.to_owned(),
            reason: reason.map(str::to_owned),
        };
        Ok((after, record))
    }
}

/// The row of a revision.
pub(super) fn row<'a>(stored: &'a StoredQuote, at: &At) -> Result<&'a RevisionRow, DeskFault> {
    let (order, revision) = (whole(at.change_order)?, whole(at.revision)?);
    let found = stored
        .revisions
        .iter()
        .find(|row| row.change_order == order && row.revision == revision);
    found.ok_or_else(|| DeskFault::unknown("revision", &at.revision.to_string()))
}

pub(super) fn state(row: &RevisionRow) -> Result<State, DeskFault> {
    State::of_word(&row.state).ok_or_else(|| corrupt(row, "a state that is none"))
}

fn corrupt(row: &RevisionRow, message: &str) -> DeskFault {
    DeskFault::Store(StoreFault::Corrupt {
        table: "revisions",
        key: format!("{} {} {}", row.quote_id, row.change_order, row.revision),
        message: message.to_owned(),
    })
}

/// A revision in time. Its validity is known to the day by its document and to the moment by its row.
pub(super) fn standing(row: &RevisionRow) -> Result<Standing, DeskFault> {
    let Ok(state) = OfferState::new(state(row)?) else {
        return Ok(Standing::Draft);
    };
    let validity = row.ends_at.as_deref().and_then(|kept| {
        let (_, day_and_zone) = kept.split_once(' ')?;
        let (day, zone) = day_and_zone.split_once(' ')?;
        Some(Validity {
            until: day.parse().ok()?,
            time_zone: Zone::parse(zone).ok()?,
        })
    });
    let validity = validity.ok_or_else(|| corrupt(row, "an end that is none"))?;
    Ok(Standing::Offer { state, validity })
}

/// When an offer ends, as rows keep it: the moment first, so that text order is time order, then the last day and
/// the zone that it is a day of.
pub(super) fn end(validity: &Validity) -> String {
    format!(
        "{} {} {}",
        moment(validity.ends()),
        validity.until,
        validity.time_zone
    )
}

/// `row` as it stands after it was written.
fn apply(stored: &mut StoredQuote, row: &Write) {
    match row {
        Write::Snapshot(_) => {}
        Write::Revision(row) => {
            stored.revisions.push(row.clone());
            stored
                .revisions
                .sort_by_key(|row| (row.change_order, row.revision));
        }
        Write::Change(row) => {
            let same =
                |old: &&mut RevisionRow| old.change_order == row.change_order && old.revision == row.revision;
            if let Some(old) = stored.revisions.iter_mut().find(same) {
                *old = row.clone();
            }
        }
        Write::Issued(row) => stored.issued.push(head(row)),
        Write::Acceptance(row) => stored.acceptances.push(row.clone()),
        Write::Approval(row) => stored.approvals.push(row.clone()),
        Write::Transition(row) => stored.transitions.push(row.clone()),
    }
}

fn head(row: &IssuedRow) -> IssuedHead {
    IssuedHead {
        change_order: row.change_order,
        revision: row.revision,
        digest: row.digest.clone(),
        issued_at: row.issued_at.clone(),
        issued_by: row.issued_by.clone(),
    }
}

/// A revision as it is told, with what is to be known of its papers.
fn noted(mut told: Told, paper_notes: Vec<String>) -> Told {
    if let Some(body) = told.body.as_object_mut().filter(|_| !paper_notes.is_empty()) {
        body.insert("paper_notes".to_owned(), paper_notes.into());
    }
    told
}

/// What a draft's job is called.
pub(super) fn title(draft: &Draft) -> String {
    let title = draft.request.pointer("/job/title").and_then(Value::as_str);
    title.unwrap_or_default().to_owned()
}

/// What a quote is found by.
pub(super) fn searched(number: &str, title: &str, [customer, site]: [&PartyRow; 2]) -> String {
    format!("{number}\n{title}\n{}{}", customer.search, site.search).to_lowercase()
}

/// The revision that speaks for the offer: the accepted one, else the one with the customer, else the newest.
fn leading(stored: &StoredQuote) -> Option<&RevisionRow> {
    let offer = || stored.revisions.iter().filter(|row| row.change_order == 0);
    let of = |word: &str| offer().find(|row| row.state == word);
    of("accepted")
        .or_else(|| of("issued"))
        .or_else(|| offer().next_back())
}

/// The offer in a word: as its leading revision is.
fn sum_up(stored: &mut StoredQuote) {
    let Some(leading) = leading(stored) else { return };
    (stored.quote.state, stored.quote.ends_at) = (leading.state.clone(), leading.ends_at.clone());
}

/// As [`sum_up`], of a new quote.
pub(super) fn summed_up(mut stored: StoredQuote, rows: &[Write]) -> StoredQuote {
    rows.iter().for_each(|row| apply(&mut stored, row));
    sum_up(&mut stored);
    stored
}
