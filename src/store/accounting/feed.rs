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
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, serde::Serialize)]
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

/// A row of the feed with number, title and customer of its quote.
pub type TitledRow = (FeedRow, String, String, String);

/// A page of the feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FeedPage {
    /// The rows.
    pub rows: Vec<TitledRow>,
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

/// A move, with what the documents that are written with it say: read before the transaction begins, so that it is short.
pub(in crate::store) struct Move<'a> {
    moved: &'a TransitionRow,
    issued_by: Option<&'a str>,
    amounts: Option<Amounts>,
}

/// The moves among what is to be written.
///
/// # Errors
/// A document does not say what it comes to.
pub(in crate::store) fn moves(rows: &[Write]) -> Result<Vec<Move<'_>>, StoreFault> {
    let mut moves = Vec::new();
    for row in rows {
        let Write::Transition(moved) = row else { continue };
        let mut one = Move {
            moved,
            issued_by: None,
            amounts: None,
        };
        for row in rows {
            let document = match row {
                Write::Issued(issued) if (issued.change_order, issued.revision) == place(moved) => {
                    one.issued_by = Some(&issued.issued_by);
                    &issued.document
                }
                // With the alternates that were chosen. A change order has none: it moves what was issued.
                Write::Acceptance(accepted) if moved.change_order == 0 => &accepted.document,
                _ => continue,
            };
            let amounts = Amounts::of_document(document);
            one.amounts = Some(
                amounts.map_err(|fault| StoreFault::corrupt("issued_revisions", &moved.quote_id, fault))?,
            );
        }
        moves.push(one);
    }
    Ok(moves)
}

fn place(moved: &TransitionRow) -> (i32, i32) {
    (moved.change_order, moved.revision)
}

/// Puts moves into the feed. This is the last that a transaction does: from here to its commit no other can take a
/// position. The rows that were put in.
pub(in crate::store) fn record(conn: &mut Conn, moves: &[Move<'_>]) -> Result<Vec<FeedRow>, StoreFault> {
    let mut rows = Vec::with_capacity(moves.len());
    for one in moves {
        rows.push(row(conn, one)?);
    }
    let count =
        i64::try_from(rows.len()).map_err(|fault| StoreFault::corrupt("accounting_feed", "", fault))?;
    if count == 0 {
        return Ok(rows);
    }
    diesel::update(accounting_feed_end::table)
        .set(accounting_feed_end::position.eq(accounting_feed_end::position + count))
        .execute(conn)?;
    let before = end(conn)?.saturating_sub(count);
    for (position, row) in (before.saturating_add(1)..).zip(&mut rows) {
        row.position = position;
        diesel::insert_into(accounting_feed::table)
            .values(&*row)
            .execute(conn)?;
    }
    Ok(rows)
}

/// The row of a move; its position comes later. What its documents do not say is as it was when the offer was issued.
fn row(conn: &mut Conn, one: &Move<'_>) -> Result<FeedRow, StoreFault> {
    let moved = one.moved;
    let (estimator, (currency, net, tax, total)) = match (one.issued_by, one.amounts) {
        (Some(issued_by), Some(amounts)) => (issued_by.to_owned(), in_minor_units(amounts)),
        (_, amounts) => {
            let issued = row_of_issue(conn, moved)?;
            let as_issued = (issued.currency, issued.net, issued.tax, issued.total);
            (issued.estimator, amounts.map_or(as_issued, in_minor_units))
        }
    };
    Ok(FeedRow {
        position: 0,
        quote_id: moved.quote_id.clone(),
        transition: moved.position,
        change_order: moved.change_order,
        revision: moved.revision,
        state: moved.to_state.clone(),
        at: moved.moved_at.clone(),
        estimator,
        currency,
        net,
        tax,
        total,
    })
}

fn in_minor_units(amounts: Amounts) -> (String, i64, i64, i64) {
    let currency = amounts.total.currency().code().to_owned();
    (
        currency,
        amounts.net.minor(),
        amounts.tax.minor(),
        amounts.total.minor(),
    )
}

fn row_of_issue(conn: &mut Conn, moved: &TransitionRow) -> Result<FeedRow, StoreFault> {
    let found = accounting_feed::table
        .filter(accounting_feed::quote_id.eq(&moved.quote_id))
        .filter(accounting_feed::change_order.eq(moved.change_order))
        .filter(accounting_feed::revision.eq(moved.revision))
        .filter(accounting_feed::state.eq("issued"))
        .select(FeedRow::as_select())
        .first(conn)
        .optional()?;
    found.ok_or_else(|| StoreFault::corrupt("accounting_feed", &moved.quote_id, "no row of the issue"))
}

/// The rows of one state: an index gives them in the order of the feed, as it would not those of several states.
fn rows_of_state(conn: &mut Conn, filter: &FeedFilter, state: &str) -> Result<Vec<TitledRow>, StoreFault> {
    let columns = (
        FeedRow::as_select(),
        quotes::number,
        quotes::title,
        quotes::customer_id,
    );
    let mut query = accounting_feed::table
        .inner_join(quotes::table.on(quotes::id.eq(accounting_feed::quote_id)))
        .filter(accounting_feed::state.eq(state))
        .filter(accounting_feed::position.gt(filter.after))
        .order(accounting_feed::position)
        .limit(filter.limit)
        .select(columns)
        .into_boxed();
    if let Some(until) = &filter.without_receipt_until {
        let receipt = accounting_receipts::table
            .filter(accounting_receipts::quote_id.eq(accounting_feed::quote_id))
            .filter(accounting_receipts::change_order.eq(accounting_feed::change_order));
        query = query
            .filter(accounting_feed::at.le(until))
            .filter(diesel::dsl::not(diesel::dsl::exists(receipt)));
    }
    Ok(query.load(conn)?)
}

pub(in crate::store) fn of_quote(conn: &mut Conn, quote: &str) -> Result<Vec<FeedRow>, StoreFault> {
    let rows = accounting_feed::table
        .filter(accounting_feed::quote_id.eq(quote))
        .order(accounting_feed::position);
    Ok(rows.select(FeedRow::as_select()).load(conn)?)
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
            let mut rows = Vec::new();
            for state in &filter.states {
                rows.extend(rows_of_state(conn, filter, state)?);
            }
            rows.sort_by_key(|(row, ..): &TitledRow| row.position);
            rows.truncate(usize::try_from(filter.limit).unwrap_or(usize::MAX));
            Ok(FeedPage {
                rows,
                end: end(conn)?,
            })
        })
    }

    /// The rows of a quote, in their order.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn feed_of_quote(&self, quote: &str) -> Result<Vec<FeedRow>, StoreFault> {
        self.read(|conn| of_quote(conn, quote))
    }

    /// Up to so many positions behind one, in their order, and the newest of all.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn feed_positions(&self, after: i64, limit: i64) -> Result<(Vec<i64>, i64), StoreFault> {
        self.read(|conn| {
            let positions = accounting_feed::table
                .filter(accounting_feed::position.gt(after))
                .order(accounting_feed::position)
                .select(accounting_feed::position)
                .limit(limit);
            Ok((positions.load(conn)?, end(conn)?))
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
