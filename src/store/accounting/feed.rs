//! The feed: every move of an offer or a change order, numbered in the order in which they were committed.

use diesel::prelude::*;
use estimate::handoff::amounts::Amounts;

use crate::store::connection::Conn;
use crate::store::quotes::{TransitionRow, Write};
use crate::store::schema::{
    accounting_feed, accounting_feed_end, accounting_receipts, accounting_refusals, quotes,
};
use crate::store::{Store, StoreFault};

/// A row of the feed.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = accounting_feed)]
pub struct FeedRow {
    /// Its place; 1 for the first, without gaps.
    pub position: i64,
    /// The quote.
    pub quote_id: String,
    /// The move, by its place under the quote.
    pub transition: i32,
    /// Which change order; 0 for the offer itself.
    pub change_order: i32,
    /// Which revision.
    pub revision: i32,
    /// The state that it came to.
    pub state: String,
    /// When.
    pub at: String,
    /// Who issued it.
    pub estimator: String,
    /// The currency of the amounts.
    pub currency: String,
    /// What it comes to before tax, in minor units; of a change order, what it moves.
    pub net: i64,
    /// Tax.
    pub tax: i64,
    /// Net and tax.
    pub total: i64,
}

/// Which rows of the feed are wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FeedFilter {
    /// The position after which the page begins.
    pub after: i64,
    /// At most so many.
    pub limit: i64,
    /// The states.
    pub states: Vec<String>,
    /// Only acceptances without a receipt, up to this moment.
    pub without_receipt_until: Option<String>,
}

/// A page of the feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FeedPage {
    /// The rows, each with number, title and customer of its quote.
    pub rows: Vec<(FeedRow, String, String, String)>,
    /// The position of the newest row of all.
    pub end: i64,
}

/// A row of a period, with what is known of its receipt.
#[derive(Debug, Clone, PartialEq, Eq, Queryable)]
pub struct HappeningRow {
    /// The state that it came to.
    pub state: String,
    /// When.
    pub at: String,
    /// Who issued it.
    pub estimator: String,
    /// Before tax, in minor units.
    pub net: i64,
    /// Tax.
    pub tax: i64,
    /// Net and tax.
    pub total: i64,
    /// The ledger's reference, where it has a receipt.
    pub receipt: Option<String>,
    /// Whether a receipt was refused.
    pub refused: bool,
}

/// What a move of an offer comes to, and who issued it.
struct Worth {
    estimator: String,
    currency: String,
    net: i64,
    tax: i64,
    total: i64,
}

impl Worth {
    fn of(estimator: &str, document: &str, quote: &str) -> Result<Self, StoreFault> {
        let amounts = Amounts::of_document(document);
        let amounts = amounts.map_err(|fault| StoreFault::corrupt("issued_revisions", quote, fault))?;
        Ok(Self {
            estimator: estimator.to_owned(),
            currency: amounts.total.currency().code().to_owned(),
            net: amounts.net.minor(),
            tax: amounts.tax.minor(),
            total: amounts.total.minor(),
        })
    }
}

/// Puts the moves among `rows` into the feed. This is the last that a transaction does: from here to its commit no other
/// can take a position.
pub(in crate::store) fn record(conn: &mut Conn, rows: &[Write]) -> Result<(), StoreFault> {
    let mut added = Vec::new();
    for row in rows {
        if let Write::Transition(moved) = row {
            added.push((moved, worth(conn, moved, rows)?));
        }
    }
    let count =
        i64::try_from(added.len()).map_err(|fault| StoreFault::corrupt("accounting_feed", "", fault))?;
    if count == 0 {
        return Ok(());
    }
    diesel::update(accounting_feed_end::table)
        .set(accounting_feed_end::position.eq(accounting_feed_end::position + count))
        .execute(conn)?;
    let before = end(conn)?.saturating_sub(count);
    for (position, (moved, worth)) in (before.saturating_add(1)..).zip(added) {
        let row = FeedRow {
            position,
            quote_id: moved.quote_id.clone(),
            transition: moved.position,
            change_order: moved.change_order,
            revision: moved.revision,
            state: moved.to_state.clone(),
            at: moved.moved_at.clone(),
            estimator: worth.estimator,
            currency: worth.currency,
            net: worth.net,
            tax: worth.tax,
            total: worth.total,
        };
        diesel::insert_into(accounting_feed::table)
            .values(&row)
            .execute(conn)?;
    }
    Ok(())
}

/// What a move comes to: as issued; of an accepted offer with its alternates, as accepted.
fn worth(conn: &mut Conn, moved: &TransitionRow, rows: &[Write]) -> Result<Worth, StoreFault> {
    let quote = &moved.quote_id;
    let place = (moved.change_order, moved.revision);
    for row in rows {
        match row {
            Write::Issued(issued) if (issued.change_order, issued.revision) == place => {
                return Worth::of(&issued.issued_by, &issued.document, quote);
            }
            _ => {}
        }
    }
    let issued = accounting_feed::table
        .filter(accounting_feed::quote_id.eq(quote))
        .filter(accounting_feed::change_order.eq(moved.change_order))
        .filter(accounting_feed::revision.eq(moved.revision))
        .filter(accounting_feed::state.eq("issued"))
        .select(FeedRow::as_select())
        .first(conn)
        .optional()?;
    let issued =
        issued.ok_or_else(|| StoreFault::corrupt("accounting_feed", quote, "no row of the issue"))?;
    let accepted = rows.iter().find_map(|row| match row {
        // A change order has no alternates: what it moves is what was issued.
        Write::Acceptance(accepted) if place.0 == 0 => Some(&accepted.document),
        _ => None,
    });
    if let Some(document) = accepted {
        return Worth::of(&issued.estimator, document, quote);
    }
    Ok(Worth {
        estimator: issued.estimator,
        currency: issued.currency,
        net: issued.net,
        tax: issued.tax,
        total: issued.total,
    })
}

fn end(conn: &mut Conn) -> Result<i64, StoreFault> {
    Ok(accounting_feed_end::table
        .select(accounting_feed_end::position)
        .first(conn)?)
}

impl Store {
    /// A page of the feed, of one state of the database: every row up to the newest has been committed.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn feed(&self, filter: &FeedFilter) -> Result<FeedPage, StoreFault> {
        self.read(|conn| {
            let receipt = accounting_receipts::table
                .filter(accounting_receipts::quote_id.eq(accounting_feed::quote_id))
                .filter(accounting_receipts::change_order.eq(accounting_feed::change_order));
            let mut query = accounting_feed::table
                .inner_join(quotes::table.on(quotes::id.eq(accounting_feed::quote_id)))
                .filter(accounting_feed::position.gt(filter.after))
                .order(accounting_feed::position)
                .limit(filter.limit)
                .select((
                    FeedRow::as_select(),
                    quotes::number,
                    quotes::title,
                    quotes::customer_id,
                ))
                .into_boxed();
            query = match filter.states.as_slice() {
                // One state alone lets an index give the rows in their order.
                [state] => query.filter(accounting_feed::state.eq(state)),
                states => query.filter(accounting_feed::state.eq_any(states)),
            };
            if let Some(until) = &filter.without_receipt_until {
                query = query
                    .filter(accounting_feed::at.le(until))
                    .filter(diesel::dsl::not(diesel::dsl::exists(receipt)));
            }
            Ok(FeedPage {
                rows: query.load(conn)?,
                end: end(conn)?,
            })
        })
    }

    /// What happened from a moment on and before another.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn happenings(&self, from: &str, before: &str) -> Result<Vec<HappeningRow>, StoreFault> {
        self.read(|conn| {
            let same = accounting_receipts::quote_id
                .eq(accounting_feed::quote_id)
                .and(accounting_receipts::change_order.eq(accounting_feed::change_order));
            let refused = accounting_refusals::table
                .filter(accounting_refusals::quote_id.eq(accounting_feed::quote_id))
                .filter(accounting_refusals::change_order.eq(accounting_feed::change_order));
            let query = accounting_feed::table
                .left_join(accounting_receipts::table.on(same))
                .filter(accounting_feed::at.ge(from))
                .filter(accounting_feed::at.lt(before))
                .order(accounting_feed::position)
                .select((
                    accounting_feed::state,
                    accounting_feed::at,
                    accounting_feed::estimator,
                    accounting_feed::net,
                    accounting_feed::tax,
                    accounting_feed::total,
                    accounting_receipts::reference.nullable(),
                    diesel::dsl::exists(refused),
                ));
            Ok(query.load(conn)?)
        })
    }

    /// The key of the quote of this number.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn quote_of_number(&self, number: &str) -> Result<Option<String>, StoreFault> {
        self.read(|conn| {
            let found = quotes::table.filter(quotes::number.eq(number)).select(quotes::id);
            Ok(found.first(conn).optional()?)
        })
    }
}
