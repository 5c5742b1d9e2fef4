//! What each row of an applied price list did.

use chrono::NaiveDate;
use diesel::prelude::*;
use diesel::sql_types::{Array, Date, Integer, Nullable, Text};
use estimate::catalogue::price_list::AppliedRow;
use estimate::quantity::Decimal;
use estimate::quantity::decimal::{self, QUANTITY_SCALE, UNIT_PRICE_SCALE};

use super::catalogue::PriceRow;
use super::connection::Conn;
use super::price_lists::{count, number};
use super::schema::{item_prices, price_list_rows};
use super::written::{Rows, Together};
use super::{Store, StoreFault};

#[derive(Queryable, Selectable, Insertable)]
#[diesel(table_name = price_list_rows, treat_none_as_default_value = false)]
struct RowRow {
    price_list: i32,
    position: i32,
    kind: String,
    item_code: String,
    pack_size: String,
    valid_from: NaiveDate,
    amount: String,
    replaced: Option<String>,
}

impl RowRow {
    /// What the audit puts down of it.
    fn told(&self) -> impl serde::Serialize + '_ {
        let Self {
            position,
            kind,
            item_code,
            pack_size,
            valid_from,
            amount,
            replaced,
            ..
        } = self;
        (position, kind, item_code, pack_size, valid_from, amount, replaced)
    }

    /// What the audit puts down of the price that it became.
    fn price_told<'a>(&'a self, source: &'a str) -> impl serde::Serialize + 'a {
        (
            &self.item_code,
            &self.pack_size,
            self.valid_from,
            &self.amount,
            source,
        )
    }

    fn applied(self) -> Result<(String, AppliedRow), StoreFault> {
        let read = |text: &str, scale: u32| -> Result<Decimal, StoreFault> {
            decimal::parse(text, scale)
                .map_err(|fault| StoreFault::corrupt("price_list_rows", &self.item_code, fault))
        };
        let row = AppliedRow {
            row: number("price_list_rows", self.position)?,
            pack: read(&self.pack_size, QUANTITY_SCALE)?,
            valid_from: self.valid_from,
            amount: read(&self.amount, UNIT_PRICE_SCALE)?,
            replaced: self
                .replaced
                .as_deref()
                .map(|text| read(text, UNIT_PRICE_SCALE))
                .transpose()?,
            code: self.item_code.clone(),
        };
        Ok((self.kind, row))
    }
}

impl Store {
    /// At most `limit` rows of an applied list after the row `after`, those of one kind or all, by row; each with the
    /// word for what it did.
    ///
    /// # Errors
    /// The database does not answer, or a row holds what cannot be read.
    pub fn price_list_rows(
        &self,
        own: u32,
        kind: Option<&str>,
        after: u32,
        limit: i64,
    ) -> Result<Vec<(String, AppliedRow)>, StoreFault> {
        let mut conn = self.connection()?;
        let mut rows = price_list_rows::table
            .filter(price_list_rows::price_list.eq(i32::try_from(own).unwrap_or(-1)))
            .filter(price_list_rows::position.gt(i32::try_from(after).unwrap_or(i32::MAX)))
            .select(RowRow::as_select())
            .order(price_list_rows::position)
            .limit(limit)
            .into_boxed();
        if let Some(kind) = kind {
            rows = rows.filter(price_list_rows::kind.eq(kind.to_owned()));
        }
        let rows: Vec<RowRow> = rows.load(&mut *conn)?;
        rows.into_iter().map(RowRow::applied).collect()
    }
}

/// PostgreSQL takes a column as one array, which spares it thousands of values a statement to tell apart.
const PRICES_OF_ARRAYS: &str = "INSERT INTO item_prices (item_code, pack_size, valid_from, amount, source) \
    SELECT c, p, d, a, $5 FROM unnest($1, $2, $3, $4) AS t (c, p, d, a)";
const ROWS_OF_ARRAYS: &str = "INSERT INTO price_list_rows \
    (price_list, position, kind, item_code, pack_size, valid_from, amount, replaced) \
    SELECT $1, n, k, c, p, d, a, r FROM unnest($2, $3, $4, $5, $6, $7, $8) AS t (n, k, c, p, d, a, r)";

/// Rows that are read at once.
const AT_ONCE: i64 = 10_000;

/// The rows of a list and the prices that they became, as the audit puts them down.
pub(super) struct PutDown {
    rows: Together,
    prices: Together,
}

impl PutDown {
    /// Nothing of the list `own` yet.
    pub(super) fn of(own: i32) -> Self {
        Self {
            rows: Together::new("price_list_rows", format_args!("{own}/*")),
            prices: Together::new("item_prices", format_args!("{own}/*")),
        }
    }

    fn take(&mut self, row: &RowRow, source: &str) -> Result<(), StoreFault> {
        self.rows.take(&row.told())?;
        self.prices.take(&row.price_told(source))
    }

    /// Both put down.
    pub(super) fn end(self, all: &mut Rows) {
        all.add_together(self.rows);
        all.add_together(self.prices);
    }
}

/// The same of what is stored.
pub(super) fn stored(conn: &mut Conn, own: i32) -> Result<PutDown, StoreFault> {
    let mut put_down = PutDown::of(own);
    let mut last = 0;
    loop {
        let of_price = item_prices::item_code
            .eq(price_list_rows::item_code)
            .and(item_prices::pack_size.eq(price_list_rows::pack_size))
            .and(item_prices::valid_from.eq(price_list_rows::valid_from));
        let found: Vec<(RowRow, Option<PriceRow>)> = price_list_rows::table
            .left_join(item_prices::table.on(of_price))
            .filter(price_list_rows::price_list.eq(own))
            .filter(price_list_rows::position.gt(last))
            .order(price_list_rows::position)
            .limit(AT_ONCE)
            .select((RowRow::as_select(), Option::<PriceRow>::as_select()))
            .load(conn)?;
        let Some((newest, _)) = found.last() else {
            return Ok(put_down);
        };
        last = newest.position;
        for (row, price) in &found {
            put_down.rows.take(&row.told())?;
            if let Some(price) = price {
                let PriceRow {
                    item_code,
                    pack_size,
                    valid_from,
                    amount,
                    source,
                } = price;
                put_down
                    .prices
                    .take(&(item_code, pack_size, valid_from, amount, source))?;
            }
        }
    }
}

/// Writes rows of the list `own`, in their order: a dated price each, and what the row did.
pub(super) fn insert(
    conn: &mut Conn,
    own: i32,
    source: &str,
    rows: &[&(&'static str, AppliedRow)],
    put_down: &mut PutDown,
) -> Result<(), StoreFault> {
    let mut stored = Vec::with_capacity(rows.len());
    for (kind, row) in rows {
        stored.push(RowRow {
            price_list: own,
            position: count(row.row)?,
            kind: (*kind).to_owned(),
            item_code: row.code.clone(),
            pack_size: decimal::plain(row.pack),
            valid_from: row.valid_from,
            amount: decimal::plain(row.amount),
            replaced: row.replaced.map(decimal::plain),
        });
    }
    stored.iter().try_for_each(|row| put_down.take(row, source))?;
    match conn {
        Conn::Sqlite(conn) => {
            let price = |row: &RowRow| PriceRow {
                item_code: row.item_code.clone(),
                pack_size: row.pack_size.clone(),
                valid_from: row.valid_from,
                amount: row.amount.clone(),
                source: source.to_owned(),
            };
            let prices: Vec<PriceRow> = stored.iter().map(price).collect();
            diesel::insert_into(item_prices::table)
                .values(&prices)
                .execute(conn)?;
            diesel::insert_into(price_list_rows::table)
                .values(&stored)
                .execute(conn)?;
        }
        Conn::Pg(conn) => {
            let positions: Vec<i32> = stored.iter().map(|row| row.position).collect();
            let kinds: Vec<&str> = stored.iter().map(|row| row.kind.as_str()).collect();
            let codes: Vec<&str> = stored.iter().map(|row| row.item_code.as_str()).collect();
            let packs: Vec<&str> = stored.iter().map(|row| row.pack_size.as_str()).collect();
            let days: Vec<NaiveDate> = stored.iter().map(|row| row.valid_from).collect();
            let amounts: Vec<&str> = stored.iter().map(|row| row.amount.as_str()).collect();
            let replaced: Vec<Option<&str>> = stored.iter().map(|row| row.replaced.as_deref()).collect();
            diesel::sql_query(PRICES_OF_ARRAYS)
                .bind::<Array<Text>, _>(&codes)
                .bind::<Array<Text>, _>(&packs)
                .bind::<Array<Date>, _>(&days)
                .bind::<Array<Text>, _>(&amounts)
                .bind::<Text, _>(source)
                .execute(conn)?;
            diesel::sql_query(ROWS_OF_ARRAYS)
                .bind::<Integer, _>(own)
                .bind::<Array<Integer>, _>(&positions)
                .bind::<Array<Text>, _>(&kinds)
                .bind::<Array<Text>, _>(&codes)
                .bind::<Array<Text>, _>(&packs)
                .bind::<Array<Date>, _>(&days)
                .bind::<Array<Text>, _>(&amounts)
                .bind::<Array<Nullable<Text>>, _>(&replaced)
                .execute(conn)?;
        }
    }
    Ok(())
}
