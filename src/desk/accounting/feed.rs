//! The feed: what happened to offers, in the order in which it was committed.

use chrono::{Days, Utc};
use estimate::handoff::amounts::Amounts;
use estimate::quantity::Currency;
use estimate::quote::life::State;
use serde::Serialize;

use crate::desk::{Desk, DeskFault, moment};
use crate::store::{FeedFilter, StoreFault, TitledRow};

/// Which rows of the feed are wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FeedQuery {
    /// The position after which the page begins; 0 for the beginning.
    pub after: i64,
    /// At most so many.
    pub limit: usize,
    /// The states.
    pub states: Vec<State>,
}

/// One row of the feed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FeedEntry {
    /// Its position.
    #[serde(skip)]
    pub position: i64,
    /// What accounting calls it.
    pub number: String,
    /// The revision.
    pub name: String,
    /// The state that it came to.
    pub state: State,
    /// When.
    pub at: String,
    /// What the quote is called.
    pub title: String,
    /// Key of the customer.
    pub customer: String,
    /// Who issued it.
    pub issued_by: String,
    /// What it comes to; of a change order, what it moves.
    pub amounts: Amounts,
}

/// A page of the feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FeedTold {
    /// The rows.
    pub entries: Vec<FeedEntry>,
    /// The position after which the next page begins.
    pub next: i64,
    /// Whether there is a next page now.
    pub more: bool,
}

fn corrupt(position: i64, message: impl std::fmt::Display) -> DeskFault {
    DeskFault::Store(StoreFault::Corrupt {
        table: "accounting_feed",
        key: position.to_string(),
        message: message.to_string(),
    })
}

/// The amounts of a row.
pub(super) fn amounts(currency: Currency, (net, tax, total): (i64, i64, i64)) -> Amounts {
    Amounts {
        net: currency.minor(net),
        tax: currency.minor(tax),
        total: currency.minor(total),
    }
}

/// What accounting calls an entry.
pub(super) fn named(number: &str, change_order: i32) -> String {
    match change_order {
        0 => number.to_owned(),
        order => format!("{number}-C{order}"),
    }
}

fn entry((row, number, title, customer): TitledRow) -> Result<FeedEntry, DeskFault> {
    let bad = |message: &dyn std::fmt::Display| corrupt(row.position, message);
    let currency = Currency::parse(&row.currency).map_err(|fault| bad(&fault))?;
    let state = State::of_word(&row.state).ok_or_else(|| bad(&"a state that is none"))?;
    let number = named(&number, row.change_order);
    Ok(FeedEntry {
        position: row.position,
        name: format!("{number}-R{}", row.revision),
        number,
        state,
        at: row.at,
        title,
        customer,
        issued_by: row.estimator,
        amounts: amounts(currency, (row.net, row.tax, row.total)),
    })
}

impl Desk {
    /// A page of the feed.
    ///
    /// # Errors
    /// The position lies beyond the end: it is of another database, or of a later state of this one.
    pub fn feed(&self, query: &FeedQuery) -> Result<FeedTold, DeskFault> {
        self.feed_page(query, None)
    }

    /// Acceptances that have no receipt `days` days after they were recorded; as the settings say, where no days are given.
    ///
    /// # Errors
    /// As [`Desk::feed`].
    pub fn without_receipt(
        &self,
        after: i64,
        limit: usize,
        days: Option<u32>,
    ) -> Result<FeedTold, DeskFault> {
        let days = match days {
            Some(days) => days,
            None => self.ledger()?.settings.receipt_days,
        };
        let until = Utc::now().checked_sub_days(Days::new(days.into()));
        let until = until.map(moment).unwrap_or_default();
        let query = FeedQuery {
            after,
            limit,
            states: vec![State::Accepted],
        };
        self.feed_page(&query, Some(until))
    }

    fn feed_page(
        &self,
        query: &FeedQuery,
        without_receipt_until: Option<String>,
    ) -> Result<FeedTold, DeskFault> {
        let page = self.store.feed(&FeedFilter {
            after: query.after,
            limit: i64::try_from(query.limit).unwrap_or(i64::MAX).saturating_add(1),
            states: query.states.iter().map(|state| state.word().to_owned()).collect(),
            without_receipt_until,
        })?;
        if query.after > page.end {
            let what = "this cursor lies beyond the end of the feed: it is of another database, or this one was set \
                back to an earlier state; begin anew without a cursor";
            return Err(DeskFault::Conflict(what.to_owned()));
        }
        let more = page.rows.len() > query.limit;
        let rows = page.rows.into_iter().take(query.limit);
        let entries = rows.map(entry).collect::<Result<Vec<_>, _>>()?;
        Ok(FeedTold {
            next: entries.last().map_or(query.after, |entry| entry.position),
            entries,
            more,
        })
    }
}
