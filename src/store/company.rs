//! The company's own settings, while it works.

use diesel::prelude::*;
use estimate::catalogue::Company;

use super::audit::Change;
use super::catalogue;
use super::connection::Conn;
use super::schema::{company, quote_counters, quotes};
use super::{Store, StoreFault};

/// Numbers that are read at once.
const AT_ONCE: i64 = 5_000;

fn read(text: &str) -> Result<Company, StoreFault> {
    serde_json::from_str(text).map_err(|fault| StoreFault::corrupt("company", "1", fault))
}

/// Holds the pattern of numbers against the one that a number is about to be made by. It stays so to the end of the
/// transaction.
pub(super) fn numbers_are(conn: &mut Conn, pattern: &str) -> Result<(), StoreFault> {
    let body = company::table.select(company::body);
    let text: String = match conn {
        Conn::Sqlite(conn) => body.first(conn)?,
        Conn::Pg(conn) => body.for_share().first(conn)?,
    };
    if read(&text)?.quote_numbers == pattern {
        return Ok(());
    }
    Err(StoreFault::Changed)
}

impl Store {
    /// Gives the numbers of quotes another pattern from now on. `place` reads a number as one of the new pattern: year
    /// and counter.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when the pattern is not `before` any more, [`StoreFault::NumberTaken`] when a number that
    /// was given away would come again.
    pub fn change_quote_numbers(
        &self,
        before: &str,
        after: &str,
        place: impl Fn(&str) -> Option<(i32, i32)>,
    ) -> Result<(), StoreFault> {
        self.write(|conn| {
            catalogue::move_revision(conn)?;
            let text: String = company::table.select(company::body).first(conn)?;
            let mut body = read(&text)?;
            if body.quote_numbers != before {
                return Err(StoreFault::Changed);
            }
            body.quote_numbers = after.to_owned();
            let body = serde_json::to_string(&body);
            let body = body.map_err(|fault| StoreFault::corrupt("company", "1", fault))?;
            // From here to the commit nobody makes a quote: whoever does holds this row.
            diesel::update(company::table)
                .set(company::body.eq(body))
                .execute(conn)?;
            nothing_comes_again(conn, &place)?;
            let change = Change::of("company", "quote-numbers").before(&before)?;
            Ok(change.after(&after)?.with(()))
        })
    }

    /// The last counter of a year; 0 where it has none.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn quote_counter(&self, year: i32) -> Result<i32, StoreFault> {
        self.read(|conn| {
            let row = quote_counters::table.filter(quote_counters::year.eq(year));
            let found = row.select(quote_counters::counter).first(conn).optional()?;
            Ok(found.unwrap_or(0))
        })
    }
}

/// No number that was given away is one that is still to come: of its year, behind the last counter.
fn nothing_comes_again(
    conn: &mut Conn,
    place: impl Fn(&str) -> Option<(i32, i32)>,
) -> Result<(), StoreFault> {
    let counters: Vec<(i32, i32)> = quote_counters::table
        .select((quote_counters::year, quote_counters::counter))
        .load(conn)?;
    let last = |year: i32| {
        let found = counters.iter().find(|(other, _)| *other == year);
        found.map_or(0, |(_, counter)| *counter)
    };
    let mut after = String::new();
    loop {
        let page = quotes::table
            .filter(quotes::number.gt(&after))
            .order(quotes::number);
        let page: Vec<String> = page.select(quotes::number).limit(AT_ONCE).load(conn)?;
        for number in &page {
            if place(number).is_some_and(|(year, counter)| counter > last(year)) {
                return Err(StoreFault::NumberTaken(number.clone()));
            }
        }
        match page.into_iter().next_back() {
            Some(number) => after = number,
            None => return Ok(()),
        }
    }
}
