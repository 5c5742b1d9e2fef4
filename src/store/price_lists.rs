//! Suppliers' price lists: mappings in versions, and the lists that were applied with what each of their rows did.

use chrono::NaiveDate;
use diesel::prelude::*;
use diesel::sql_types::{Array, Integer, Text};
use estimate::catalogue::Item;
use estimate::catalogue::price_list::{AppliedRow, Mapping};

use super::audit::Change;
use super::bulk::{NewItem, body, parse};
use super::catalogue;
use super::connection::Conn;
use super::once::RequestKey;
use super::price_list_rows::PutDown;
use super::schema::{items, price_list_mappings, price_lists};
use super::written::Rows;
use super::{Store, StoreFault, loaded, price_list_rows};

/// Rows of one statement; each has few enough columns for the engine's limit on values.
const ROWS_A_STATEMENT: usize = 1_000;

/// A version of a mapping.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredMapping {
    /// 1 for the first.
    pub version: u32,
    /// When it was saved, RFC 3339 in UTC.
    pub created_at: String,
    /// The mapping.
    pub mapping: Mapping,
}

/// A list that is to be applied.
#[derive(Debug, Clone)]
pub struct NewPriceList<'a> {
    /// Who sells.
    pub supplier: &'a str,
    /// Where the prices come from, as every one of them says.
    pub source: &'a str,
    /// The list's own first day.
    pub valid_from: NaiveDate,
    /// The mapping's name and version that it was read by, or the list that it takes back.
    pub origin: Origin,
    /// What is kept of it beside its rows, as JSON.
    pub body: String,
    /// New items, without prices.
    pub items: &'a [Item],
    /// Items with a new pack, without prices.
    pub packed_anew: &'a [Item],
    /// Its rows, each with the word for what it does.
    pub rows: &'a [(&'static str, AppliedRow)],
    /// When it is applied, RFC 3339 in UTC.
    pub created_at: &'a str,
}

/// Where an applied list comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// A supplier's file.
    File {
        /// The mapping's name.
        mapping: String,
        /// The mapping's version.
        version: u32,
        /// SHA-256 of the file's bytes, in hexadecimal digits.
        digest: String,
    },
    /// The list of this number, taken back.
    TakesBack(u32),
}

/// An applied list without its rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PriceListHead {
    /// 1 for the first.
    pub number: u32,
    /// Who sells.
    pub supplier: String,
    /// Where the prices come from.
    pub source: String,
    /// The list's own first day.
    pub valid_from: NaiveDate,
    /// Where it comes from.
    pub origin: Origin,
    /// What is kept of it beside its rows, as JSON.
    pub body: String,
    /// When it was applied, RFC 3339 in UTC.
    pub created_at: String,
}

#[derive(Queryable, Selectable, Insertable, serde::Serialize)]
#[diesel(table_name = price_lists)]
struct HeadRow {
    number: i32,
    supplier: String,
    source: String,
    valid_from: NaiveDate,
    mapping_id: Option<String>,
    mapping_version: Option<i32>,
    takes_back: Option<i32>,
    digest: Option<String>,
    body: String,
    created_at: String,
}

pub(super) fn count(number: u32) -> Result<i32, StoreFault> {
    i32::try_from(number).map_err(|fault| StoreFault::corrupt("price_lists", &number.to_string(), fault))
}

pub(super) fn number(table: &'static str, value: i32) -> Result<u32, StoreFault> {
    u32::try_from(value).map_err(|fault| StoreFault::corrupt(table, &value.to_string(), fault))
}

impl HeadRow {
    fn new(own: i32, list: &NewPriceList<'_>) -> Result<Self, StoreFault> {
        let (mapping_id, mapping_version, takes_back, digest) = match &list.origin {
            Origin::File {
                mapping,
                version,
                digest,
            } => (
                Some(mapping.clone()),
                Some(count(*version)?),
                None,
                Some(digest.clone()),
            ),
            Origin::TakesBack(other) => (None, None, Some(count(*other)?), None),
        };
        Ok(Self {
            number: own,
            supplier: list.supplier.to_owned(),
            source: list.source.to_owned(),
            valid_from: list.valid_from,
            mapping_id,
            mapping_version,
            takes_back,
            digest,
            body: list.body.clone(),
            created_at: list.created_at.to_owned(),
        })
    }

    fn head(self) -> Result<PriceListHead, StoreFault> {
        let own = number("price_lists", self.number)?;
        let origin = match (self.mapping_id, self.mapping_version, self.takes_back) {
            (Some(mapping), Some(version), None) => Origin::File {
                mapping,
                version: number("price_lists", version)?,
                digest: self.digest.unwrap_or_default(),
            },
            (None, None, Some(other)) => Origin::TakesBack(number("price_lists", other)?),
            _ => {
                return Err(StoreFault::corrupt(
                    "price_lists",
                    &own.to_string(),
                    "a list of no origin",
                ));
            }
        };
        Ok(PriceListHead {
            number: own,
            supplier: self.supplier,
            source: self.source,
            valid_from: self.valid_from,
            origin,
            body: self.body,
            created_at: self.created_at,
        })
    }
}

impl Store {
    /// The newest version of each mapping, by name.
    ///
    /// # Errors
    /// The database does not answer, or a row holds what cannot be read.
    pub fn price_list_mappings(&self) -> Result<Vec<StoredMapping>, StoreFault> {
        use price_list_mappings::dsl;
        let mut conn = self.connection()?;
        let columns = (dsl::id, dsl::version, dsl::created_at, dsl::body);
        let select = dsl::price_list_mappings
            .select(columns)
            .order((dsl::id, dsl::version.desc()));
        let rows: Vec<(String, i32, String, String)> = select.load(&mut *conn)?;
        let mut found: Vec<StoredMapping> = Vec::new();
        for (id, version, created_at, text) in rows {
            if found.last().is_some_and(|stored| stored.mapping.id == id) {
                continue;
            }
            found.push(StoredMapping {
                version: number("price_list_mappings", version)?,
                created_at,
                mapping: parse("price_list_mappings", &id, &text)?,
            });
        }
        Ok(found)
    }

    /// Saves `stored` as the version after `stored.version - 1`; gives the answer that is kept for `key`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when the newest version is another one by now.
    pub fn save_price_list_mapping(
        &self,
        key: Option<&RequestKey>,
        stored: &StoredMapping,
        answer: &str,
    ) -> Result<String, StoreFault> {
        use price_list_mappings::dsl;
        let id = &stored.mapping.id;
        let text = body("price_list_mappings", id, &stored.mapping)?;
        let version = count(stored.version)?;
        self.write_once(key, |conn| {
            catalogue::move_revision(conn)?;
            let newest: Option<i32> = dsl::price_list_mappings
                .filter(dsl::id.eq(id))
                .select(diesel::dsl::max(dsl::version))
                .first(conn)?;
            if newest.unwrap_or(0).saturating_add(1) != version {
                return Err(StoreFault::Changed);
            }
            let values = (
                dsl::id.eq(id),
                dsl::version.eq(version),
                dsl::body.eq(&text),
                dsl::created_at.eq(&stored.created_at),
            );
            diesel::insert_into(dsl::price_list_mappings)
                .values(values)
                .execute(conn)?;
            Ok(Change::of("price-list-mappings", id)
                .after(&text)?
                .with(answer.to_owned()))
        })
    }

    /// Applies `list`, all of it or nothing, to the catalogue of this `revision`; gives the answer that `tell` makes of
    /// its number, which is kept for `key`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when the catalogue is of another revision by now.
    pub fn apply_price_list(
        &self,
        key: Option<&RequestKey>,
        list: &NewPriceList<'_>,
        revision: i64,
        tell: impl Fn(u32) -> Result<String, StoreFault>,
    ) -> Result<String, StoreFault> {
        self.write_once(key, |conn| {
            // The move is the lock: whoever comes second sees the number that the first one left.
            catalogue::move_revision(conn)?;
            if catalogue::revision(conn)? != revision.saturating_add(1) {
                return Err(StoreFault::Changed);
            }
            let newest: Option<i32> = price_lists::table
                .select(diesel::dsl::max(price_lists::number))
                .first(conn)?;
            let own = newest.unwrap_or(0).saturating_add(1);
            let head = HeadRow::new(own, list)?;
            diesel::insert_into(price_lists::table)
                .values(&head)
                .execute(conn)?;
            insert_new_items(conn, list.items)?;
            for item in list.packed_anew {
                let text = body("items", &item.code, item)?;
                let row = items::table.filter(items::code.eq(&item.code));
                diesel::update(row).set(items::body.eq(text)).execute(conn)?;
            }
            let mut rows: Vec<&(&str, AppliedRow)> = list.rows.iter().collect();
            rows.sort_by_key(|(_, row)| row.row);
            let mut put_down = PutDown::of(own);
            for rows in rows.chunks(ROWS_A_STATEMENT) {
                price_list_rows::insert(conn, own, list.source, rows, &mut put_down)?;
            }
            let mut written = Rows::one("price_lists", own, &head)?;
            put_down.end(&mut written);
            if !list.items.is_empty() || !list.packed_anew.is_empty() {
                written.add_together(loaded::items(conn)?);
            }
            Ok(Change::of("price-lists", own)
                .wrote(&written)?
                .with(tell(number("price_lists", own)?)?))
        })
    }

    /// At most `limit` applied lists after `after`, by number.
    ///
    /// # Errors
    /// The database does not answer, or a row holds what cannot be read.
    pub fn price_lists(&self, after: u32, limit: i64) -> Result<Vec<PriceListHead>, StoreFault> {
        let mut conn = self.connection()?;
        let rows: Vec<HeadRow> = price_lists::table
            .filter(price_lists::number.gt(i32::try_from(after).unwrap_or(i32::MAX)))
            .select(HeadRow::as_select())
            .order(price_lists::number)
            .limit(limit)
            .load(&mut *conn)?;
        rows.into_iter().map(HeadRow::head).collect()
    }

    /// One applied list.
    ///
    /// # Errors
    /// [`StoreFault::Missing`] when there is none of this number.
    pub fn price_list(&self, own: u32) -> Result<PriceListHead, StoreFault> {
        let mut conn = self.connection()?;
        let row = price_lists::table
            .filter(price_lists::number.eq(i32::try_from(own).unwrap_or(-1)))
            .select(HeadRow::as_select())
            .first(&mut *conn)?;
        HeadRow::head(row)
    }
}

/// A list as it is stored, with its rows and their prices, as the audit puts them down.
pub(super) fn stored(conn: &mut Conn, own: i32) -> Result<Rows, StoreFault> {
    let found = price_lists::table.filter(price_lists::number.eq(own));
    let mut all = Rows::default();
    if let Some(head) = found.select(HeadRow::as_select()).first(conn).optional()? {
        all.add("price_lists", own, &head)?;
    }
    price_list_rows::stored(conn, own)?.end(&mut all);
    Ok(all)
}

/// The numbers of all lists.
pub(super) fn numbers(conn: &mut Conn) -> Result<Vec<i32>, StoreFault> {
    Ok(price_lists::table
        .select(price_lists::number)
        .order(price_lists::number)
        .load(conn)?)
}

/// PostgreSQL takes a column as one array, which spares it thousands of values a statement to tell apart.
const ITEMS_OF_ARRAYS: &str = "INSERT INTO items (code, position, body) SELECT * FROM unnest($1, $2, $3)";

fn insert_new_items(conn: &mut Conn, new: &[Item]) -> Result<(), StoreFault> {
    if new.is_empty() {
        return Ok(());
    }
    let last: Option<i32> = items::table
        .select(diesel::dsl::max(items::position))
        .first(conn)?;
    let mut position = last.unwrap_or(-1);
    for chunk in new.chunks(ROWS_A_STATEMENT) {
        let mut rows = Vec::with_capacity(chunk.len());
        for item in chunk {
            position = position.saturating_add(1);
            rows.push(NewItem {
                code: &item.code,
                position,
                body: body("items", &item.code, item)?,
            });
        }
        match conn {
            Conn::Sqlite(conn) => diesel::insert_into(items::table).values(&rows).execute(conn)?,
            Conn::Pg(conn) => {
                let codes: Vec<&str> = rows.iter().map(|row| row.code).collect();
                let positions: Vec<i32> = rows.iter().map(|row| row.position).collect();
                let bodies: Vec<&str> = rows.iter().map(|row| row.body.as_str()).collect();
                diesel::sql_query(ITEMS_OF_ARRAYS)
                    .bind::<Array<Text>, _>(&codes)
                    .bind::<Array<Integer>, _>(&positions)
                    .bind::<Array<Text>, _>(&bodies)
                    .execute(conn)?
            }
        };
    }
    Ok(())
}
