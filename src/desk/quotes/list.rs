//! Quotes in lists, and the pass that finds those whose last day is over.

use chrono::{NaiveDate, Utc};
use estimate::quote::life::{Event, State};
use serde_json::{Value, json};

use super::change::{Decided, standing};
use super::view::ends;
use super::{Act, Told};
use crate::desk::{Desk, DeskFault, age_of_answers, moment};
use crate::store::{QuoteFilter, QuoteRow, Write};

/// Quotes that one pass of expiry looks at.
const EXPIRED_AT_ONCE: i64 = 200;

/// Which quotes are wanted, the newest numbers first.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct QuoteQuery {
    /// Year and counter after which the page begins.
    pub after: Option<(i32, i32)>,
    /// At most so many.
    pub limit: i64,
    /// The state now.
    pub state: Option<State>,
    /// Of this customer.
    pub customer: Option<String>,
    /// From this survey.
    pub survey: Option<String>,
    /// Of exactly this number.
    pub number: Option<String>,
    /// Made on this day or later.
    pub from: Option<NaiveDate>,
    /// Made on this day or earlier.
    pub to: Option<NaiveDate>,
    /// A text that occurs in number, title, customer or site.
    pub text: Option<String>,
    /// Those that are put away instead of the others.
    pub archived: bool,
}

/// A page of quotes.
#[derive(Debug)]
pub struct QuotePage {
    /// The rows.
    pub rows: Vec<Value>,
    /// Year and counter after which the next page begins.
    pub next: Option<(i32, i32)>,
}

/// A quote in a list.
pub(super) fn row(quote: &QuoteRow, now: &str) -> Value {
    let ended = quote.state == State::Issued.word()
        && quote.ends_at.as_deref().is_some_and(|kept| ends(kept).0 <= now);
    let state = if ended {
        State::Expired.word()
    } else {
        &quote.state
    };
    let mut told = json!({
        "id": quote.id,
        "number": quote.number,
        "title": quote.title,
        "state": state,
        "customer": quote.customer_id,
        "site": quote.site_id,
        "valid_until": quote.ends_at.as_deref().map(|kept| ends(kept).1),
        "archived": quote.archived,
        "created_on": quote.created_on,
        "created_at": quote.created_at,
        "created_by": quote.created_by,
    });
    if let (Some(survey), Value::Object(members)) = (&quote.survey_id, &mut told) {
        members.insert("survey".to_owned(), json!(survey));
    }
    told
}

impl Desk {
    /// A page of quotes.
    ///
    /// # Errors
    /// The database.
    pub fn quotes(&self, query: &QuoteQuery) -> Result<QuotePage, DeskFault> {
        let now = moment(Utc::now());
        let mut rows = self.store.quotes(&QuoteFilter {
            after: query.after,
            limit: query.limit.saturating_add(1),
            state: query.state.map(|state| state.word().to_owned()),
            customer: query.customer.clone(),
            survey: query.survey.clone(),
            number: query.number.clone(),
            from: query.from.map(|day| day.to_string()),
            to: query.to.map(|day| day.to_string()),
            text: query.text.clone(),
            archived: query.archived,
            now: now.clone(),
        })?;
        let limit = usize::try_from(query.limit).unwrap_or(usize::MAX);
        let more = rows.len() > limit;
        rows.truncate(limit);
        let last = rows.last().filter(|_| more);
        Ok(QuotePage {
            next: last.map(|row| (row.year, row.counter)),
            rows: rows.iter().map(|quote| row(quote, &now)).collect(),
        })
    }

    /// Puts a quote away, or takes it out again.
    ///
    /// # Errors
    /// There is none of this key.
    pub fn archive_quote(&self, act: &Act, id: &str, archived: bool) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || {
            let mut stored = self.stored(id)?;
            stored.quote.archived = archived;
            stored.quote.version = stored.quote.version.saturating_add(1);
            let answer = self.quote_told(&stored, Utc::now())?.text()?;
            Ok(self
                .store
                .change_quote(act.key.as_ref(), &stored.quote, &[], &answer)?)
        })
    }

    /// Stores the expiry of every offer whose last day is over, and forgets answers that nobody will ask for again.
    /// How many offers expired.
    ///
    /// # Errors
    /// The database.
    pub fn expire(&self) -> Result<usize, DeskFault> {
        let now = Utc::now();
        self.store.forget_answers(&moment(age_of_answers(now)))?;
        let act = Act {
            person: "expiry".to_owned(),
            key: None,
        };
        let mut expired = 0_usize;
        for id in self.store.quotes_past_their_end(&moment(now), EXPIRED_AT_ONCE)? {
            self.change(&act, &id, |present| {
                let mut rows = Vec::new();
                for row in &present.stored.revisions {
                    if standing(row)?.expiry_is_due(present.now) {
                        let (after, record) = present.moved(row, Event::Expire, None, rows.len() / 2 + 1)?;
                        rows.extend([Write::Change(after), Write::Transition(record)]);
                    }
                }
                Ok(Decided {
                    rows,
                    ..Decided::default()
                })
            })?;
            expired = expired.saturating_add(1);
        }
        Ok(expired)
    }
}
