//! The catalogue's own writes, and the revision number that every write moves.

use chrono::NaiveDate;
use diesel::prelude::*;
use estimate::catalogue::item::Price;
use estimate::quantity::Decimal;
use estimate::quantity::decimal;

use super::audit::Change;
use super::catalogue_written::{self as written, one};
use super::connection::Conn;
use super::once::RequestKey;
use super::schema::{catalogue_state, item_prices, labour_rates};
use super::{Store, StoreFault};

/// A dated price of one pack.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, serde::Serialize)]
#[diesel(table_name = item_prices)]
pub(super) struct PriceRow {
    pub(super) item_code: String,
    pub(super) pack_size: String,
    pub(super) valid_from: NaiveDate,
    pub(super) amount: String,
    pub(super) source: String,
}

impl PriceRow {
    pub(super) fn new(code: &str, size: &str, price: &Price) -> Self {
        Self {
            item_code: code.to_owned(),
            pack_size: size.to_owned(),
            valid_from: price.valid_from,
            amount: decimal::plain(price.amount),
            source: price.source.clone(),
        }
    }
}

/// A dated rate of one labour class.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, serde::Serialize)]
#[diesel(table_name = labour_rates)]
pub(super) struct RateRow {
    pub(super) labour_class: String,
    pub(super) valid_from: NaiveDate,
    pub(super) body: String,
}

/// The number of the catalogue's present state.
pub(super) fn revision(conn: &mut Conn) -> Result<i64, StoreFault> {
    Ok(catalogue_state::table
        .select(catalogue_state::revision)
        .first(conn)?)
}

/// Moves the number on. Every write begins with it: it is also the lock that lets one writer in at a time.
pub(super) fn move_revision(conn: &mut Conn) -> Result<(), StoreFault> {
    diesel::update(catalogue_state::table)
        .set(catalogue_state::revision.eq(catalogue_state::revision + 1i64))
        .execute(conn)?;
    Ok(())
}

impl Store {
    /// The number of the catalogue's present state: one small read.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn revision(&self) -> Result<i64, StoreFault> {
        revision(&mut *self.connection()?)
    }

    /// Adds a dated price of the pack of `size` of the item `code`, all of whose packs have `known` prices; gives the
    /// answer that is kept for `key`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when it has more by now, [`StoreFault::Exists`] when the pack has a price from that day
    /// on, [`StoreFault::Missing`] when there is no such item; else what the database says.
    pub fn add_price(
        &self,
        key: Option<&RequestKey>,
        code: &str,
        (size, price): (Decimal, &Price),
        known: usize,
        answer: &str,
    ) -> Result<String, StoreFault> {
        let row = PriceRow::new(code, &decimal::plain(size), price);
        self.write_once(key, |conn| {
            move_revision(conn)?;
            let of_item = item_prices::table.filter(item_prices::item_code.eq(code));
            let there: i64 = of_item.count().get_result(conn)?;
            if usize::try_from(there).ok() != Some(known) {
                return Err(StoreFault::Changed);
            }
            diesel::insert_into(item_prices::table)
                .values(&row)
                .execute(conn)?;
            let change = Change::of("items", code).wrote(&one(written::price, &row)?)?;
            Ok(change.with(answer.to_owned()))
        })
    }
}
