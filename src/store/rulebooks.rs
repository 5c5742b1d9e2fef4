//! Versions of rulebooks, the calendar of which is current when, and retirements. A published version is never
//! changed; an edit is the next version.

use chrono::NaiveDate;
use diesel::prelude::*;
use estimate::quote::canonical::Digest;

use super::audit::Change;
use super::connection::Conn;
use super::schema::{rulebook_calendar, rulebook_drafts, rulebook_retirements, rulebooks::dsl};
use super::{RequestKey, Store, StoreFault, catalogue};

const PUBLISHED: &str = "published";

/// A published version of a rulebook, without its text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RulebookHead {
    /// The rulebook's own name.
    pub id: String,
    /// 1 for the first.
    pub version: u32,
    /// SHA-256 of the text, in hexadecimal digits.
    pub digest: String,
    /// When it was published, RFC 3339 in UTC.
    pub created_at: String,
}

/// A published version of a rulebook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredRulebook {
    /// Which one.
    pub head: RulebookHead,
    /// The text as it was handed in, byte for byte.
    pub text: String,
}

/// An entry of the calendar: from a day on a version is current.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Insertable, serde::Serialize)]
#[diesel(table_name = rulebook_calendar)]
pub struct CalendarRow {
    /// The rulebook.
    pub rulebook: String,
    /// The entry's number, from 1.
    pub position: i32,
    /// Which version.
    pub version: i32,
    /// The first day.
    pub current_from: NaiveDate,
    /// When it was entered, RFC 3339 in UTC.
    pub entered_at: String,
    /// By whom.
    pub entered_by: String,
}

/// A version that is not offered any more.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Insertable, serde::Serialize)]
#[diesel(table_name = rulebook_retirements)]
pub struct RetirementRow {
    /// The rulebook.
    pub rulebook: String,
    /// Which version.
    pub version: i32,
    /// Why.
    pub reason: String,
    /// When, RFC 3339 in UTC.
    pub retired_at: String,
    /// By whom.
    pub retired_by: String,
}

/// Every published version, and which is current when; texts are read one by one.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RulebookShelf {
    /// By name and version.
    pub versions: Vec<RulebookHead>,
    /// By name, in the order in which they were entered.
    pub calendar: Vec<CalendarRow>,
    /// Versions that are not offered any more.
    pub retired: Vec<RetirementRow>,
}

impl StoredRulebook {
    /// Version `version` of the rulebook `id`, published at `created_at`.
    pub fn new(id: &str, version: u32, text: &str, created_at: &str) -> Self {
        let head = RulebookHead {
            id: id.to_owned(),
            version,
            digest: digest(text),
            created_at: created_at.to_owned(),
        };
        Self {
            head,
            text: text.to_owned(),
        }
    }
}

impl RulebookShelf {
    /// One version, current on every day.
    pub fn single(head: &RulebookHead, entered_by: &str) -> Self {
        let row = CalendarRow {
            rulebook: head.id.clone(),
            position: 1,
            version: i32::try_from(head.version).unwrap_or(i32::MAX),
            current_from: NaiveDate::from_ymd_opt(1, 1, 1).unwrap_or_default(),
            entered_at: head.created_at.clone(),
            entered_by: entered_by.to_owned(),
        };
        Self {
            versions: vec![head.clone()],
            calendar: vec![row],
            retired: Vec::new(),
        }
    }
}

fn digest(text: &str) -> String {
    Digest::of(text.as_bytes()).to_string()
}

fn number(id: &str, version: i32) -> Result<u32, StoreFault> {
    u32::try_from(version).map_err(|fault| StoreFault::corrupt("rulebooks", id, fault))
}

fn row_number(id: &str, version: u32) -> Result<i32, StoreFault> {
    i32::try_from(version).map_err(|fault| StoreFault::corrupt("rulebooks", id, fault))
}

/// Every version, the calendar and the retirements.
pub(super) fn read(conn: &mut Conn) -> Result<RulebookShelf, StoreFault> {
    let heads: Vec<(String, i32, String, String)> = dsl::rulebooks
        .filter(dsl::state.eq(PUBLISHED))
        .select((dsl::id, dsl::version, dsl::digest, dsl::created_at))
        .order((dsl::id, dsl::version))
        .load(conn)?;
    let head = |(id, version, digest, created_at): (String, i32, String, String)| {
        let version = number(&id, version)?;
        Ok(RulebookHead {
            id,
            version,
            digest,
            created_at,
        })
    };
    Ok(RulebookShelf {
        versions: heads.into_iter().map(head).collect::<Result<_, StoreFault>>()?,
        calendar: rulebook_calendar::table
            .order((rulebook_calendar::rulebook, rulebook_calendar::position))
            .load(conn)?,
        retired: rulebook_retirements::table
            .order((rulebook_retirements::rulebook, rulebook_retirements::version))
            .load(conn)?,
    })
}

pub(super) fn insert(conn: &mut Conn, rulebook: &StoredRulebook) -> Result<(), StoreFault> {
    let head = &rulebook.head;
    let values = (
        dsl::id.eq(&head.id),
        dsl::version.eq(row_number(&head.id, head.version)?),
        dsl::state.eq(PUBLISHED),
        dsl::text.eq(&rulebook.text),
        dsl::digest.eq(&head.digest),
        dsl::created_at.eq(&head.created_at),
    );
    diesel::insert_into(dsl::rulebooks).values(values).execute(conn)?;
    Ok(())
}

/// Enters a row with the next number of its rulebook.
pub(super) fn enter(conn: &mut Conn, row: &CalendarRow) -> Result<(), StoreFault> {
    let last: Option<i32> = rulebook_calendar::table
        .filter(rulebook_calendar::rulebook.eq(&row.rulebook))
        .select(diesel::dsl::max(rulebook_calendar::position))
        .first(conn)?;
    let row = CalendarRow {
        position: last.unwrap_or(0).saturating_add(1),
        ..row.clone()
    };
    diesel::insert_into(rulebook_calendar::table)
        .values(&row)
        .execute(conn)?;
    Ok(())
}

/// Demands that nothing was written since the state `seen` was read.
fn unmoved_since(conn: &mut Conn, seen: i64) -> Result<(), StoreFault> {
    catalogue::move_revision(conn)?;
    match catalogue::revision(conn)? {
        now if now == seen.saturating_add(1) => Ok(()),
        _ => Err(StoreFault::Changed),
    }
}

impl Store {
    /// A published version with its text; none when there is no such version.
    ///
    /// # Errors
    /// The database does not answer, or the text is not the one that was published.
    pub fn rulebook(&self, id: &str, version: u32) -> Result<Option<StoredRulebook>, StoreFault> {
        let wanted = row_number(id, version)?;
        let found: Option<(String, String, String)> = self.read(|conn| {
            let key = dsl::id.eq(id).and(dsl::version.eq(wanted));
            let published = dsl::rulebooks.filter(key.and(dsl::state.eq(PUBLISHED)));
            let columns = (dsl::text, dsl::digest, dsl::created_at);
            Ok(published.select(columns).first(conn).optional()?)
        })?;
        let Some((text, kept, created_at)) = found else {
            return Ok(None);
        };
        let stored = StoredRulebook::new(id, version, &text, &created_at);
        if stored.head.digest != kept {
            let message = "a text that is not the one that was published";
            return Err(StoreFault::corrupt("rulebooks", id, message));
        }
        Ok(Some(stored))
    }

    /// Publishes `rulebook` as the version after the newest one and enters it in the calendar. `draft` is the draft
    /// that it was, with the edit that was published: it goes.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when the newest version or the draft is another by now.
    pub fn publish_rulebook(
        &self,
        key: Option<&RequestKey>,
        rulebook: &StoredRulebook,
        current: &CalendarRow,
        draft: Option<(&str, i64)>,
        answer: &str,
    ) -> Result<String, StoreFault> {
        let head = &rulebook.head;
        self.write_once(key, |conn| {
            catalogue::move_revision(conn)?;
            let newest: Option<i32> = dsl::rulebooks
                .filter(dsl::id.eq(&head.id))
                .select(diesel::dsl::max(dsl::version))
                .first(conn)?;
            if i64::from(newest.unwrap_or(0)) + 1 != i64::from(head.version) {
                return Err(StoreFault::Changed);
            }
            if let Some((id, edit)) = draft {
                let same = rulebook_drafts::id.eq(id).and(rulebook_drafts::edit.eq(edit));
                if diesel::delete(rulebook_drafts::table.filter(same)).execute(conn)? != 1 {
                    return Err(StoreFault::Changed);
                }
            }
            insert(conn, rulebook)?;
            enter(conn, current)?;
            let last = dsl::id.eq(&head.id).and(dsl::version.eq(newest.unwrap_or(0)));
            let last = dsl::rulebooks.filter(last).select(dsl::digest);
            Ok(Change::of("rulebooks", &head.id)
                .before_digest(last.first(conn).optional()?)
                .after_digest(&head.digest)
                .with(answer.to_owned()))
        })
    }

    /// Enters a row in the calendar of a rulebook as it was in the state `seen`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when something was written since.
    pub fn enter_current(
        &self,
        key: Option<&RequestKey>,
        seen: i64,
        row: &CalendarRow,
        answer: &str,
    ) -> Result<String, StoreFault> {
        self.write_once(key, |conn| {
            unmoved_since(conn, seen)?;
            enter(conn, row)?;
            let change = Change::of("rulebook-calendars", &row.rulebook);
            Ok(change.after(row)?.with(answer.to_owned()))
        })
    }

    /// Retires a version of a rulebook as it was in the state `seen`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when something was written since.
    pub fn retire_rulebook(
        &self,
        key: Option<&RequestKey>,
        seen: i64,
        row: &RetirementRow,
        answer: &str,
    ) -> Result<String, StoreFault> {
        self.write_once(key, |conn| {
            unmoved_since(conn, seen)?;
            diesel::insert_into(rulebook_retirements::table)
                .values(row)
                .execute(conn)?;
            let change = Change::of("rulebook-retirements", &row.rulebook);
            Ok(change.after(row)?.with(answer.to_owned()))
        })
    }
}
