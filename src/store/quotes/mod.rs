//! Quotes. A change is read whole, decided outside, and written in one transaction that finds the quote as it was
//! read: the quote's version is the lock of everything under it.

mod list;
mod rows;
mod snapshots;
mod written;

use diesel::prelude::*;

use super::accounting::feed;
use super::audit::Change;
use super::company;
use super::connection::{Conn, each};
use super::once::RequestKey;
use super::schema::{
    acceptances, approvals, issued_revisions, quote_counters, quotes, revisions, transitions,
};
use super::{Store, StoreFault};

pub use list::QuoteFilter;
pub use rows::{
    AcceptanceRow, ApprovalRow, IssuedHead, IssuedRow, QuoteRow, RevisionRow, StoredQuote, TransitionRow,
};
pub use snapshots::SnapshotRow;

/// One row to be written.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub enum Write {
    /// A part of what estimates are made from; nothing where it is there already.
    Snapshot(SnapshotRow),
    /// A new revision.
    Revision(RevisionRow),
    /// A revision that is there, as it is to be.
    Change(RevisionRow),
    /// A document.
    Issued(IssuedRow),
    /// A document.
    Acceptance(AcceptanceRow),
    /// An approval.
    Approval(ApprovalRow),
    /// A move.
    Transition(TransitionRow),
}

impl Store {
    /// The quote of this key, with everything under it.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn quote(&self, id: &str) -> Result<Option<StoredQuote>, StoreFault> {
        self.read(|conn| {
            let found = quotes::table
                .filter(quotes::id.eq(id))
                .select(QuoteRow::as_select());
            let Some(quote) = found.first(conn).optional()? else {
                return Ok(None);
            };
            Ok(Some(StoredQuote {
                revisions: revisions::table
                    .filter(revisions::quote_id.eq(id))
                    .order((revisions::change_order, revisions::revision))
                    .select(RevisionRow::as_select())
                    .load(conn)?,
                issued: issued_revisions::table
                    .filter(issued_revisions::quote_id.eq(id))
                    .order((issued_revisions::change_order, issued_revisions::revision))
                    .select(IssuedHead::as_select())
                    .load(conn)?,
                acceptances: acceptances::table
                    .filter(acceptances::quote_id.eq(id))
                    .order((acceptances::accepted_at, acceptances::change_order))
                    .select(AcceptanceRow::as_select())
                    .load(conn)?,
                approvals: approvals::table
                    .filter(approvals::quote_id.eq(id))
                    .order((approvals::change_order, approvals::revision, approvals::position))
                    .select(ApprovalRow::as_select())
                    .load(conn)?,
                transitions: transitions::table
                    .filter(transitions::quote_id.eq(id))
                    .order(transitions::position)
                    .select(TransitionRow::as_select())
                    .load(conn)?,
                quote,
            }))
        })
    }

    /// The document of an issued revision.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn issued_revision(
        &self,
        quote: &str,
        change_order: i32,
        revision: i32,
    ) -> Result<Option<IssuedRow>, StoreFault> {
        self.read(|conn| {
            let key = issued_revisions::quote_id
                .eq(quote)
                .and(issued_revisions::change_order.eq(change_order))
                .and(issued_revisions::revision.eq(revision));
            let found = issued_revisions::table.filter(key).select(IssuedRow::as_select());
            Ok(found.first(conn).optional()?)
        })
    }

    /// Makes a quote with the year's next number, of the pattern `numbers`. `make` turns the counter into the quote,
    /// what stands under it, and the answer; it may be asked more than once.
    ///
    /// # Errors
    /// [`StoreFault::Exists`] when the key is taken, [`StoreFault::Changed`] when numbers have another pattern by now.
    pub fn create_quote(
        &self,
        key: Option<&RequestKey>,
        year: i32,
        numbers: &str,
        make: impl Fn(i32) -> Result<(QuoteRow, Vec<Write>, String), StoreFault>,
    ) -> Result<String, StoreFault> {
        self.write_once(key, |conn| {
            company::numbers_are(conn, numbers)?;
            let counter = next_counter(conn, year)?;
            let (quote, rows, answer) = make(counter)?;
            diesel::insert_into(quotes::table).values(&quote).execute(conn)?;
            rows.iter().try_for_each(|row| write(conn, row))?;
            Ok(Change::of("quotes", &quote.id)
                .wrote(&written::rows(&quote, &rows, &[])?)?
                .with(answer))
        })
    }

    /// Writes `rows` under a quote whose version was `quote.version - 1`, and the quote as it is to be.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when the version is another by now.
    pub fn change_quote(
        &self,
        key: Option<&RequestKey>,
        quote: &QuoteRow,
        rows: &[Write],
        answer: &str,
    ) -> Result<String, StoreFault> {
        let moves = feed::moves(rows)?;
        self.write_once(key, |conn| {
            let before = present(conn, quote, rows)?;
            let old = quotes::id
                .eq(&quote.id)
                .and(quotes::version.eq(quote.version - 1));
            let changed = diesel::update(quotes::table.filter(old))
                .set((
                    quotes::title.eq(&quote.title),
                    quotes::search.eq(&quote.search),
                    quotes::state.eq(&quote.state),
                    quotes::ends_at.eq(&quote.ends_at),
                    quotes::archived.eq(quote.archived),
                    quotes::version.eq(quote.version),
                ))
                .execute(conn)?;
            if changed != 1 {
                return Err(StoreFault::Changed);
            }
            rows.iter().try_for_each(|row| write(conn, row))?;
            let told = feed::record(conn, &moves)?;
            Ok(Change::of("quotes", &quote.id)
                .before(&before)?
                .wrote(&written::rows(quote, rows, &told)?)?
                .with(answer.to_owned()))
        })
    }
}

/// A quote and those of its revisions that are about to be changed, as they are stored.
fn present(
    conn: &mut Conn,
    quote: &QuoteRow,
    rows: &[Write],
) -> Result<(QuoteRow, Vec<RevisionRow>), StoreFault> {
    let found = quotes::table.filter(quotes::id.eq(&quote.id));
    let found = found.select(QuoteRow::as_select()).first(conn)?;
    let mut changed = Vec::new();
    for row in rows {
        if let Write::Change(row) = row {
            let key = revisions::quote_id
                .eq(&row.quote_id)
                .and(revisions::change_order.eq(row.change_order))
                .and(revisions::revision.eq(row.revision));
            let old = revisions::table.filter(key).select(RevisionRow::as_select());
            changed.push(old.first(conn)?);
        }
    }
    Ok((found, changed))
}

/// The year's next counter. On PostgreSQL the row stays locked to the end of the transaction, so that a number that
/// was drawn and not used is drawn again.
fn next_counter(conn: &mut Conn, year: i32) -> Result<i32, StoreFault> {
    use quote_counters::dsl;
    let row = dsl::quote_counters.filter(dsl::year.eq(year));
    let on = each!(conn, conn => diesel::update(row)
        .set(dsl::counter.eq(dsl::counter + 1))
        .returning(dsl::counter)
        .get_result(conn)
        .optional())?;
    if let Some(counter) = on {
        return Ok(counter);
    }
    // Of two at once on PostgreSQL the second waits for the first, and its whole decision is made anew.
    let first = diesel::insert_into(dsl::quote_counters).values((dsl::year.eq(year), dsl::counter.eq(1)));
    match first.execute(conn).map_err(StoreFault::from) {
        Ok(_) => Ok(1),
        Err(StoreFault::Exists) => Err(StoreFault::Changed),
        Err(other) => Err(other),
    }
}

fn write(conn: &mut Conn, row: &Write) -> Result<(), StoreFault> {
    match row {
        Write::Snapshot(row) => snapshots::insert(conn, row)?,
        Write::Revision(row) => diesel::insert_into(revisions::table).values(row).execute(conn)?,
        Write::Change(row) => change_revision(conn, row)?,
        Write::Issued(row) => diesel::insert_into(issued_revisions::table)
            .values(row)
            .execute(conn)?,
        Write::Acceptance(row) => diesel::insert_into(acceptances::table)
            .values(row)
            .execute(conn)?,
        Write::Approval(row) => diesel::insert_into(approvals::table).values(row).execute(conn)?,
        Write::Transition(row) => diesel::insert_into(transitions::table)
            .values(row)
            .execute(conn)?,
    };
    Ok(())
}

fn change_revision(conn: &mut Conn, row: &RevisionRow) -> Result<usize, StoreFault> {
    let old = revisions::quote_id
        .eq(&row.quote_id)
        .and(revisions::change_order.eq(row.change_order))
        .and(revisions::revision.eq(row.revision))
        .and(revisions::version.eq(row.version - 1));
    let changed = diesel::update(revisions::table.filter(old))
        .set((
            revisions::state.eq(&row.state),
            revisions::ends_at.eq(&row.ends_at),
            revisions::version.eq(row.version),
            revisions::draft.eq(&row.draft),
            revisions::sources.eq(&row.sources),
            revisions::authors.eq(&row.authors),
            revisions::changed_at.eq(&row.changed_at),
            revisions::changed_by.eq(&row.changed_by),
        ))
        .execute(conn)?;
    match changed {
        1 => Ok(1),
        _ => Err(StoreFault::Changed),
    }
}
