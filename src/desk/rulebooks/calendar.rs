//! Which version of a rulebook is current when, and which is not offered any more.

use chrono::{NaiveDate, Utc};
use serde_json::Value;

use super::view::versions;
use crate::desk::act::{Act, Told};
use crate::desk::{Desk, DeskFault, Office, moment};
use crate::store::{CalendarRow, RetirementRow, StoreFault};

/// Times that a decision is made anew, when others write at the same time.
const ATTEMPTS: u32 = 20;

impl Desk {
    /// The versions of a rulebook, and its calendar.
    ///
    /// # Errors
    /// There is no such rulebook.
    pub fn rulebook_versions(&self, id: &str) -> Result<Value, DeskFault> {
        versions(&*self.office()?, id)
    }

    /// Makes a version current from a day on; today when none is named.
    ///
    /// # Errors
    /// There is no such version, it is retired, its rules do not fit the catalogue any more, the day is past, or a version
    /// is current from that day on already and it does not take its place (`instead_of`).
    pub fn make_rulebook_current(
        &self,
        act: &Act,
        id: &str,
        (version, instead_of): (u32, Option<u32>),
        from: Option<NaiveDate>,
    ) -> Result<Told, DeskFault> {
        self.decided(act, |office| {
            let opened = office.rulebook_on(Some(id), Some(version), office.today());
            opened.map_err(|fault| fault.at_version("/version"))?;
            if office.shelf.retirement(id, version).is_some() {
                let what = format!("version {version} is retired; make a draft of it and publish that");
                return Err(DeskFault::Conflict(what));
            }
            let from = office.day_to_come(from)?;
            office.day_is_free(id, version, from, instead_of)?;
            let row = CalendarRow {
                rulebook: id.to_owned(),
                position: 0,
                version: i32::try_from(version).unwrap_or(i32::MAX),
                current_from: from,
                entered_at: moment(Utc::now()),
                entered_by: act.person.clone(),
            };
            let told = serde_json::json!({
                "version": version,
                "current_from": row.current_from,
                "entered_at": row.entered_at,
                "entered_by": row.entered_by,
            });
            let answer = untagged(told).text()?;
            let key = act.key.as_ref();
            Ok(self.store.enter_current(key, office.revision, &row, &answer)?)
        })
    }

    /// Retires a version: it is not offered any more, but stays usable where it is named.
    ///
    /// # Errors
    /// There is no such version, it is retired already, or it is current today.
    pub fn retire_rulebook(
        &self,
        act: &Act,
        id: &str,
        version: u32,
        reason: &str,
    ) -> Result<Told, DeskFault> {
        self.decided(act, |office| {
            office.shelf.text(id, version)?;
            if office.shelf.retirement(id, version).is_some() {
                return Err(DeskFault::Conflict(format!(
                    "version {version} is retired already"
                )));
            }
            if office.shelf.current_on(id, office.today()) == Some(version) {
                let what =
                    format!("version {version} is current: make another one current in its place first");
                return Err(DeskFault::Conflict(what));
            }
            let row = RetirementRow {
                rulebook: id.to_owned(),
                version: i32::try_from(version).unwrap_or(i32::MAX),
                reason: reason.to_owned(),
                retired_at: moment(Utc::now()),
                retired_by: act.person.clone(),
            };
            let told = serde_json::json!({
                "version": version,
                "reason": reason,
                "at": row.retired_at,
                "by": row.retired_by,
            });
            let answer = untagged(told).text()?;
            let key = act.key.as_ref();
            Ok(self.store.retire_rulebook(key, office.revision, &row, &answer)?)
        })
    }

    /// Decides on what the office knows, and anew where something was written in between.
    fn decided(
        &self,
        act: &Act,
        decide: impl Fn(&Office) -> Result<String, DeskFault>,
    ) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || {
            let mut attempt = 0;
            loop {
                match decide(&*self.office()?) {
                    Err(DeskFault::Store(StoreFault::Changed)) if attempt < ATTEMPTS => attempt += 1,
                    answer => return answer,
                }
            }
        })
    }
}

impl Office {
    /// Whether a version may be entered from a day on: two that are current from one day on are told apart by nobody.
    /// Today another version takes the place of the one before at once.
    pub(super) fn day_is_free(
        &self,
        id: &str,
        version: u32,
        from: NaiveDate,
        instead_of: Option<u32>,
    ) -> Result<(), DeskFault> {
        let entered = self.shelf.calendar(id).filter(|row| row.current_from == from);
        let entered = entered.filter_map(|row| u32::try_from(row.version).ok());
        let Some(there) = entered
            .filter(|there| self.shelf.retirement(id, *there).is_none())
            .last()
        else {
            return Ok(());
        };
        if there == version {
            let what = format!("version {version} is current from {from} on already");
            return Err(DeskFault::Conflict(what));
        }
        if from == self.today() || instead_of == Some(there) {
            return Ok(());
        }
        Err(DeskFault::Conflict(format!(
            "version {there} is to be current from {from} on: choose another day, or say \"instead_of\": {there} when \
             version {version} takes its place"
        )))
    }
}

fn untagged(body: Value) -> Told {
    Told { tag: None, body }
}
