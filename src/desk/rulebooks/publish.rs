//! A rulebook is published: checked, tried on its worked examples, and current from a day on.

use chrono::NaiveDate;
use estimate::examples::Tried;

use super::Given;
use super::try_rules::not_here;
use super::view::{published, version_tag};
use crate::desk::act::{Act, Told};
use crate::desk::{Desk, DeskFault, Office, now};
use crate::store::{CalendarRow, DraftHead, StoreFault, StoredRulebook};

/// How a draft is published.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Publication {
    /// The first day on which the version is current; today when none is named.
    pub current_from: Option<NaiveDate>,
    /// The newest version, where the draft was made from an older one: it takes its place all the same.
    pub instead_of: Option<u32>,
}

/// What is to be published.
struct Ready<'a> {
    id: &'a str,
    /// The version before.
    newest: u32,
    text: &'a str,
    from: NaiveDate,
    /// The draft that it was.
    draft: Option<&'a DraftHead>,
}

impl Desk {
    /// Publishes a draft as the next version. `matches` says whether the caller has seen the draft of this tag. The
    /// draft is gone then.
    ///
    /// # Errors
    /// Every finding when there is an error in the rules, every worked example when one does not come out; a day in the
    /// past; another version was published since the draft was made; another draft stands than was seen.
    pub fn publish_rulebook_draft(
        &self,
        act: &Act,
        id: &str,
        publication: &Publication,
        matches: impl Fn(&str) -> bool,
    ) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || {
            let stored = self.seen_draft(id, &matches)?;
            let office = self.office()?;
            let newest = office.shelf.newest(&stored.head.rulebook)?.version;
            follows(&stored.head, newest, publication.instead_of)?;
            let from = office.day_to_come(publication.current_from)?;
            let next = newest.saturating_add(1);
            office.day_is_free(&stored.head.rulebook, next, from, publication.instead_of)?;
            let ready = Ready {
                id: &stored.head.rulebook,
                newest,
                text: &stored.text,
                from,
                draft: Some(&stored.head),
            };
            self.publish(act, &office, ready)
        })
    }

    /// Publishes a rulebook as the next version, current from today on. `matches` says whether the caller has seen the
    /// version of this tag.
    ///
    /// # Errors
    /// As for a draft; another version than the newest was seen.
    pub fn publish_rulebook(
        &self,
        act: &Act,
        id: &str,
        given: &Given,
        matches: impl Fn(&str) -> bool,
    ) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || {
            let office = self.office()?;
            let newest = office.shelf.newest(id)?;
            if !matches(&version_tag(newest)) {
                return Err(office.not_the_newest(id, newest.version, &matches));
            }
            let ready = Ready {
                id,
                newest: newest.version,
                text: &office.with_known_jobs(given.text()?, None)?,
                from: office.today(),
                draft: None,
            };
            self.publish(act, &office, ready)
        })
    }

    fn publish(&self, act: &Act, office: &Office, ready: Ready<'_>) -> Result<String, DeskFault> {
        let version = ready.newest.checked_add(1).ok_or(DeskFault::Changed)?;
        let workbook = self.compile_known(office, ready.text, version, ready.from)?;
        let named = workbook.version().id;
        if named != ready.id {
            return Err(DeskFault::OtherName {
                wanted: ready.id.to_owned(),
                named: named.to_owned(),
            });
        }
        let tried = office.try_examples(&workbook, not_here);
        if tried.iter().any(|tried: &Tried| !tried.fits) {
            return Err(DeskFault::Examples(tried));
        }
        let stored = StoredRulebook::new(ready.id, version, ready.text, &now());
        let row = CalendarRow {
            rulebook: ready.id.to_owned(),
            position: 0,
            version: i32::try_from(version).unwrap_or(i32::MAX),
            current_from: ready.from,
            entered_at: stored.head.created_at.clone(),
            entered_by: act.person.clone(),
        };
        let answer = published(&stored.head, &row, tried.len()).text()?;
        let draft = ready.draft.map(|head| (head.id.as_str(), head.edit));
        let done = self
            .store
            .publish_rulebook(act.key.as_ref(), &stored, &row, draft, &answer);
        done.map_err(|fault| match fault {
            StoreFault::Changed | StoreFault::Exists => DeskFault::Changed,
            other => DeskFault::Store(other),
        })
    }
}

/// A draft follows the newest version when it was made from it, or when the caller says that it takes its place.
fn follows(draft: &DraftHead, newest: u32, instead_of: Option<u32>) -> Result<(), DeskFault> {
    let base = draft.base_version;
    if u32::try_from(base) == Ok(newest) || instead_of == Some(newest) {
        return Ok(());
    }
    Err(DeskFault::Conflict(format!(
        "the draft was made from version {base}, and the newest one is {newest}: compare the two, and say \
         \"instead_of\": {newest} when the draft takes its place"
    )))
}

impl Office {
    /// Why an edit of a version that is not the newest one is not published.
    fn not_the_newest(&self, id: &str, newest: u32, matches: impl Fn(&str) -> bool) -> DeskFault {
        let current = self.shelf.current_on(id, self.today());
        let mut heads = self.shelf.heads(id);
        let seen_current = heads.any(|head| Some(head.version) == current && matches(&version_tag(head)));
        match seen_current {
            true => DeskFault::Conflict(format!(
                "version {newest} is newer than the current one and will be current later: edit a draft instead"
            )),
            false => DeskFault::Changed,
        }
    }

    /// The day, once it is not in the past; today when none is named.
    pub(super) fn day_to_come(&self, day: Option<NaiveDate>) -> Result<NaiveDate, DeskFault> {
        let today = self.today();
        match day {
            Some(day) if day < today => Err(DeskFault::Member {
                pointer: "/current_from",
                message: format!(
                    "is {day}, in the past; today is {today}, and what was current stays what it was"
                ),
            }),
            day => Ok(day.unwrap_or(today)),
        }
    }
}
