//! House styles: a change is a new version.

use diesel::prelude::*;
use estimate::handoff::house_style::HouseStyle;

use super::audit::Change;
use super::bulk::{body, parse};
use super::catalogue_written::{self as written, one};
use super::connection::Conn;
use super::schema::house_styles::dsl;
use super::{Store, StoreFault};

/// A version of a house style.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredStyle {
    /// Its name.
    pub id: String,
    /// 1 for the first.
    pub version: u32,
    /// When it was saved, RFC 3339 in UTC.
    pub created_at: String,
    /// The style.
    pub style: HouseStyle,
}

impl Store {
    /// Every version of every house style, by name and version.
    ///
    /// # Errors
    /// The database does not answer, or a row holds what cannot be read.
    pub fn house_styles(&self) -> Result<Vec<StoredStyle>, StoreFault> {
        let mut conn = self.connection()?;
        let columns = (dsl::id, dsl::version, dsl::created_at, dsl::body);
        let select = dsl::house_styles.select(columns).order((dsl::id, dsl::version));
        let rows: Vec<(String, i32, String, String)> = select.load(&mut *conn)?;
        let stored = |(id, version, created_at, text): (String, i32, String, String)| {
            Ok(StoredStyle {
                version: u32::try_from(version)
                    .map_err(|fault| StoreFault::corrupt("house_styles", &id, fault))?,
                created_at,
                style: parse("house_styles", &id, &text)?,
                id,
            })
        };
        rows.into_iter().map(stored).collect()
    }

    /// Saves `stored` as the version after `stored.version - 1`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when the newest version is another one by now.
    pub fn save_house_style(&self, stored: &StoredStyle) -> Result<(), StoreFault> {
        let version = whole(stored)?;
        self.write(|conn| {
            let newest: Option<i32> = dsl::house_styles
                .filter(dsl::id.eq(&stored.id))
                .select(diesel::dsl::max(dsl::version))
                .first(conn)?;
            if newest.unwrap_or(0).saturating_add(1) != version {
                return Err(StoreFault::Changed);
            }
            let row = insert(conn, stored)?;
            let last = dsl::id.eq(&stored.id).and(dsl::version.eq(newest.unwrap_or(0)));
            let last = dsl::house_styles.filter(last).select(StyleRow::as_select());
            let change = Change::of("house-styles", &stored.id);
            let change = match last.first(conn).optional()? {
                Some(before) => change.instead_of(&one(written::style, &before)?)?,
                None => change,
            };
            Ok(change.wrote(&one(written::style, &row)?)?.with(()))
        })
    }
}

fn whole(stored: &StoredStyle) -> Result<i32, StoreFault> {
    i32::try_from(stored.version).map_err(|fault| StoreFault::corrupt("house_styles", &stored.id, fault))
}

/// A version as it is stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, serde::Serialize)]
#[diesel(table_name = super::schema::house_styles)]
pub(super) struct StyleRow {
    pub(super) id: String,
    pub(super) version: i32,
    body: String,
    created_at: String,
}

/// Puts a version in, and gives its row.
pub(super) fn insert(conn: &mut Conn, stored: &StoredStyle) -> Result<StyleRow, StoreFault> {
    let row = StyleRow {
        id: stored.id.clone(),
        version: whole(stored)?,
        body: body("house_styles", &stored.id, &stored.style)?,
        created_at: stored.created_at.clone(),
    };
    diesel::insert_into(dsl::house_styles)
        .values(&row)
        .execute(conn)?;
    Ok(row)
}
