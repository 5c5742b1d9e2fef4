//! Quotes in lists, and what a pass over all of them needs.

use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{Bool, Text};

use super::QuoteRow;
use crate::store::connection::Conn;
use crate::store::schema::{quote_counters, quotes, revisions};
use crate::store::text::{few_have, pattern, trigrams};
use crate::store::{Store, StoreFault};

/// Which quotes are wanted. The newest numbers come first.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct QuoteFilter {
    /// Year and counter after which the page begins.
    pub after: Option<(i32, i32)>,
    /// At most so many.
    pub limit: i64,
    /// The state now.
    pub state: Option<String>,
    /// Of this customer.
    pub customer: Option<String>,
    /// From this survey.
    pub survey: Option<String>,
    /// Of exactly this number.
    pub number: Option<String>,
    /// Made on this day or later.
    pub from: Option<String>,
    /// Made on this day or earlier.
    pub to: Option<String>,
    /// A text that occurs in number, title, customer or site.
    pub text: Option<String>,
    /// Those that are put away instead of the others.
    pub archived: bool,
    /// Now.
    pub now: String,
}

impl Store {
    /// How many quotes are in each state; those that are put away do not count.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn quotes_by_state(&self) -> Result<Vec<(String, i64)>, StoreFault> {
        let query = quotes::table
            .filter(quotes::archived.eq(false))
            .group_by(quotes::state)
            .select((quotes::state, diesel::dsl::count_star()))
            .order(quotes::state);
        self.read(|conn| Ok(query.load(conn)?))
    }

    /// The quotes that a filter leaves.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn quotes(&self, filter: &QuoteFilter) -> Result<Vec<QuoteRow>, StoreFault> {
        let mut query = quotes::table
            .select(QuoteRow::as_select())
            .filter(quotes::archived.eq(filter.archived))
            .order((quotes::year.desc(), quotes::counter.desc()))
            .limit(filter.limit)
            .into_boxed();
        if let Some((year, counter)) = filter.after {
            // The first part alone lets an index begin at the place; the second leaves out what was shown.
            let shown = quotes::year.eq(year).and(quotes::counter.ge(counter));
            query = query
                .filter(quotes::year.le(year))
                .filter(diesel::dsl::not(shown));
        }
        match filter.state.as_deref() {
            // An offer whose last day is over has expired, whether or not that was stored.
            Some("issued") => {
                query = query
                    .filter(quotes::state.eq("issued"))
                    .filter(quotes::ends_at.gt(&filter.now));
            }
            Some("expired") => {
                let over = quotes::state
                    .eq("issued")
                    .and(quotes::ends_at.le(&filter.now).assume_not_null());
                query = query.filter(quotes::state.eq("expired").or(over));
            }
            Some(state) => query = query.filter(quotes::state.eq(state)),
            None => {}
        }
        if let Some(customer) = &filter.customer {
            query = query.filter(quotes::customer_id.eq(customer));
        }
        if let Some(survey) = &filter.survey {
            query = query.filter(quotes::survey_id.eq(survey));
        }
        if let Some(number) = &filter.number {
            query = query.filter(quotes::number.eq(number));
        }
        if let Some(from) = &filter.from {
            query = query.filter(quotes::created_on.ge(from));
        }
        if let Some(to) = &filter.to {
            query = query.filter(quotes::created_on.le(to));
        }
        if let Some(text) = filter.text.as_deref().map(pattern) {
            query = query.filter(quotes::search.like(text).escape('\\'));
        }
        self.read(|conn| {
            // PostgreSQL weighs by itself where to begin; SQLite is told.
            if let (Conn::Sqlite(conn), Some(trigrams)) = (&mut *conn, filter.text.as_deref().and_then(trigrams))
                && few_have(conn, "quote_texts", &trigrams)?
            {
                let numbers = "(quotes.year, quotes.counter) IN (SELECT rowid / 10000000000, rowid % 10000000000 \
                    FROM quote_texts WHERE quote_texts MATCH ";
                query = query.filter(sql::<Bool>(numbers).bind::<Text, _>(trigrams).sql(")"));
            }
            Ok(query.load(conn)?)
        })
    }

    /// The number of a quote that comes from a survey and is of another site than this.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn quote_of_survey_elsewhere(&self, survey: &str, site: &str) -> Result<Option<String>, StoreFault> {
        self.read(|conn| {
            let found = quotes::table
                .filter(quotes::survey_id.eq(survey))
                .filter(quotes::site_id.ne(site))
                .order((quotes::year, quotes::counter))
                .select(quotes::number);
            Ok(found.first(conn).optional()?)
        })
    }

    /// Keys of quotes with a revision whose end is past and not stored.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn quotes_past_their_end(&self, now: &str, limit: i64) -> Result<Vec<String>, StoreFault> {
        self.read(|conn| {
            let due = revisions::table
                .filter(revisions::state.eq("issued"))
                .filter(revisions::ends_at.le(now))
                .select(revisions::quote_id)
                .distinct();
            Ok(due.limit(limit).load(conn)?)
        })
    }

    /// Year, counter, number and key of quotes in the order of their numbers, after `after`.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn numbers_after(
        &self,
        (year, counter): (i32, i32),
        limit: i64,
    ) -> Result<Vec<(i32, i32, String, String)>, StoreFault> {
        self.read(|conn| {
            let later = quotes::year
                .gt(year)
                .or(quotes::year.eq(year).and(quotes::counter.gt(counter)));
            let found = quotes::table
                .filter(later)
                .order((quotes::year, quotes::counter))
                .select((quotes::year, quotes::counter, quotes::number, quotes::id));
            Ok(found.limit(limit).load(conn)?)
        })
    }

    /// The last counter of every year.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn quote_counters(&self) -> Result<Vec<(i32, i32)>, StoreFault> {
        self.read(|conn| {
            let all = quote_counters::table.select((quote_counters::year, quote_counters::counter));
            Ok(all.order(quote_counters::year).load(conn)?)
        })
    }
}
