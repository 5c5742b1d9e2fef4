//! Versions of what the company's ledger calls things: a change is a new row.

use diesel::prelude::*;

use crate::store::audit::Change;
use crate::store::catalogue_written::{self as written, one};
use crate::store::schema::accounting_settings as t;
use crate::store::{Store, StoreFault};

/// A version of the settings.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, serde::Serialize)]
#[diesel(table_name = crate::store::schema::accounting_settings)]
pub struct SettingsRow {
    /// 1 for the first.
    pub version: i32,
    /// The settings as JSON.
    pub body: String,
    /// When it was saved.
    pub created_at: String,
    /// By whom.
    pub created_by: String,
}

impl Store {
    /// A version of the settings; the newest where none is named.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn accounting_settings(&self, version: Option<i32>) -> Result<Option<SettingsRow>, StoreFault> {
        self.read(|conn| {
            let all = t::table.select(SettingsRow::as_select());
            Ok(match version {
                Some(version) => all.find(version).first(conn),
                None => all.order(t::version.desc()).first(conn),
            }
            .optional()?)
        })
    }

    /// Saves `row` as the version after `row.version - 1`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when the newest version is another one by now.
    pub fn save_accounting_settings(&self, row: &SettingsRow) -> Result<(), StoreFault> {
        let saved = self.write(|conn| {
            let newest: Option<i32> = t::table.select(diesel::dsl::max(t::version)).first(conn)?;
            if i64::from(newest.unwrap_or(0)) + 1 != i64::from(row.version) {
                return Err(StoreFault::Changed);
            }
            diesel::insert_into(t::table).values(row).execute(conn)?;
            let before = t::table
                .find(newest.unwrap_or(0))
                .select(SettingsRow::as_select());
            let change = Change::of("accounting-settings", row.version);
            let change = match before.first(conn).optional()? {
                Some(before) => change.instead_of(&one(written::settings, &before)?)?,
                None => change,
            };
            Ok(change.wrote(&one(written::settings, row)?)?.with(()))
        });
        // Two at once read the same newest version; the key lets one of them through.
        saved.map_err(|fault| match fault {
            StoreFault::Exists => StoreFault::Changed,
            other => other,
        })
    }
}
