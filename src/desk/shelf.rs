//! Published rulebooks: every version, opened when it is first asked for, and which one is current on which day.

use std::collections::BTreeSet;
use std::fmt;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use estimate::workbook::Workbook;

use super::DeskFault;
use crate::store::{CalendarRow, RetirementRow, RulebookHead, RulebookShelf, Store, StoredRulebook};

/// A published rulebook, compiled.
#[derive(Debug)]
pub struct RulebookVersion {
    /// As it is stored.
    pub stored: StoredRulebook,
    /// As it runs.
    pub workbook: Workbook,
}

/// Where the texts of versions come from.
pub enum Texts {
    /// They are at hand.
    Held(Vec<StoredRulebook>),
    /// They are read from the database, each when it is first asked for.
    Stored(Arc<Store>),
}

impl fmt::Debug for Texts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Held(_) => "Held",
            Self::Stored(_) => "Stored",
        })
    }
}

impl Texts {
    fn get(&self, id: &str, version: u32) -> Result<Option<StoredRulebook>, DeskFault> {
        match self {
            Self::Held(texts) => {
                let mut texts = texts.iter();
                Ok(texts
                    .find(|stored| stored.head.id == id && stored.head.version == version)
                    .cloned())
            }
            Self::Stored(store) => Ok(store.rulebook(id, version)?),
        }
    }
}

#[derive(Debug)]
struct Shelved {
    head: RulebookHead,
    opened: OnceLock<RulebookVersion>,
    /// Held by the one that opens it; the others wait instead of doing the same.
    opening: Mutex<()>,
}

/// Published rulebooks, by name and version.
#[derive(Debug)]
pub struct Shelf {
    versions: Vec<Shelved>,
    calendar: Vec<CalendarRow>,
    retired: Vec<RetirementRow>,
    texts: Texts,
    /// Where the company is: its days begin there.
    zone: Tz,
}

impl Shelf {
    /// What is stored of published rulebooks.
    pub fn new(stored: RulebookShelf, texts: Texts, zone: Tz) -> Self {
        let shelved = |head| Shelved {
            head,
            opened: OnceLock::new(),
            opening: Mutex::new(()),
        };
        Self {
            versions: stored.versions.into_iter().map(shelved).collect(),
            calendar: stored.calendar,
            retired: stored.retired,
            texts,
            zone,
        }
    }

    /// The names of the rulebooks.
    pub fn ids(&self) -> impl Iterator<Item = &str> + Clone {
        let ids: BTreeSet<&str> = self
            .versions
            .iter()
            .map(|version| version.head.id.as_str())
            .collect();
        let ids: Vec<&str> = ids.into_iter().collect();
        ids.into_iter()
    }

    /// The versions of a rulebook, the first one first; none where there is no such rulebook.
    pub fn heads(&self, id: &str) -> impl Iterator<Item = &RulebookHead> {
        let heads = self.versions.iter().map(|version| &version.head);
        heads.filter(move |head| head.id == id)
    }

    /// The newest version of a rulebook.
    ///
    /// # Errors
    /// There is none of this name.
    pub fn newest(&self, id: &str) -> Result<&RulebookHead, DeskFault> {
        let newest = self.heads(id).last();
        newest.ok_or_else(|| DeskFault::unknown("rulebook", id))
    }

    /// The entries of a rulebook's calendar, in the order in which they were made.
    pub fn calendar(&self, id: &str) -> impl Iterator<Item = &CalendarRow> {
        self.calendar.iter().filter(move |row| row.rulebook == id)
    }

    /// The retirement of a version, if it is retired.
    pub fn retirement(&self, id: &str, version: u32) -> Option<&RetirementRow> {
        let mut retired = self.retired.iter();
        retired.find(|row| row.rulebook == id && u32::try_from(row.version) == Ok(version))
    }

    /// The version of a rulebook that is current on a day: of the calendar's entries the one with the latest day that
    /// is not after it, and of two of one day the later entry. Before the first day it is the version of the first
    /// day. A retired version is passed over from the day on which it was retired: what was current before stays so.
    pub fn current_on(&self, id: &str, day: NaiveDate) -> Option<u32> {
        let offered = || {
            let version = |row: &CalendarRow| u32::try_from(row.version).ok();
            self.calendar(id)
                .filter_map(move |row| Some((row, version(row)?)))
                .filter(|(_, version)| {
                    let retired = self.retirement(id, *version);
                    retired.is_none_or(|row| {
                        day_of(&row.retired_at, self.zone).is_some_and(|retired| day < retired)
                    })
                })
        };
        let held = offered().filter(|(row, _)| row.current_from <= day);
        let held = held.max_by_key(|(row, _)| (row.current_from, row.position));
        let first = || offered().min_by_key(|(row, _)| (row.current_from, -row.position));
        held.or_else(first).map(|(_, version)| version)
    }

    /// Since when a version is the office's word on `day`; none where it is not published. One that is not current by
    /// then is so since it was published.
    pub fn since(&self, id: &str, version: u32, day: NaiveDate) -> Option<NaiveDate> {
        let published = self.heads(id).find(|head| head.version == version)?;
        let entries = self
            .calendar(id)
            .filter(|row| u32::try_from(row.version) == Ok(version) && row.current_from <= day);
        let from = entries.map(|row| row.current_from).max();
        from.or_else(|| day_of(&published.created_at, self.zone))
    }

    /// Whether a version is current on `day`, or will be later.
    pub fn is_wanted_from(&self, id: &str, version: u32, day: NaiveDate) -> bool {
        let later = self.calendar(id).map(|row| row.current_from);
        let mut days = later.filter(|from| *from > day).chain([day]);
        days.any(|day| self.current_on(id, day) == Some(version))
    }

    /// A version, opened by `compile`.
    pub(super) fn version(
        &self,
        id: &str,
        version: u32,
        compile: impl FnOnce(&str) -> Result<Workbook, DeskFault>,
    ) -> Result<&RulebookVersion, DeskFault> {
        let shelved = self.shelved(id, version)?;
        if let Some(opened) = shelved.opened.get() {
            return Ok(opened);
        }
        let _alone = shelved.opening.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(opened) = shelved.opened.get() {
            return Ok(opened);
        }
        let stored = self.text(id, version)?;
        let workbook = compile(&stored.text)?;
        Ok(shelved
            .opened
            .get_or_init(|| RulebookVersion { stored, workbook }))
    }

    /// The text of a version.
    ///
    /// # Errors
    /// There is none, or it cannot be read.
    pub fn text(&self, id: &str, version: u32) -> Result<StoredRulebook, DeskFault> {
        let shelved = self.shelved(id, version)?;
        if let Some(opened) = shelved.opened.get() {
            return Ok(opened.stored.clone());
        }
        let stored = self.texts.get(id, version)?;
        stored.ok_or_else(|| DeskFault::Defect(format!("the text of {id} {version} is not there")))
    }

    /// The text of a version, where it has been opened.
    pub(super) fn opened(&self, id: &str, version: u32) -> Option<&str> {
        let opened = self.shelved(id, version).ok()?.opened.get()?;
        Some(&opened.stored.text)
    }

    fn shelved(&self, id: &str, version: u32) -> Result<&Shelved, DeskFault> {
        let mut found = self.versions.iter();
        let found = found.find(|shelved| shelved.head.id == id && shelved.head.version == version);
        found.ok_or_else(|| {
            let there: Vec<String> = self.heads(id).map(|head| head.version.to_string()).collect();
            match there.is_empty() {
                true => DeskFault::unknown("rulebook", id),
                false => DeskFault::UnknownVersion {
                    pointer: None,
                    rulebook: id.to_owned(),
                    version,
                    there: there.join(", "),
                },
            }
        })
    }
}

/// The day of a moment, as rows keep it, where the company is.
fn day_of(moment: &str, zone: Tz) -> Option<NaiveDate> {
    let moment = DateTime::parse_from_rfc3339(moment).ok()?;
    Some(moment.with_timezone(&zone).date_naive())
}
