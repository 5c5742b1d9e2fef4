//! The rows of a quote as the audit puts them down, and what is stored held against that.

use diesel::prelude::*;

use super::{AcceptanceRow, ApprovalRow, IssuedRow, QuoteRow, RevisionRow, TransitionRow, Write};
use crate::store::accounting::{FeedRow, feed, receipts};
use crate::store::connection::Conn;
use crate::store::schema::{acceptances, approvals, issued_revisions, quotes, revisions, transitions};
use crate::store::written::{Rows, differences};
use crate::store::{Store, StoreFault};

/// The rows that a write puts in. A snapshot is known by its digest, wherever it is named.
pub(super) fn rows(quote: &QuoteRow, rows: &[Write], told: &[FeedRow]) -> Result<Rows, StoreFault> {
    let mut all = Rows::default();
    all.add("quotes", &quote.number, quote)?;
    for row in rows {
        match row {
            Write::Snapshot(_) => {}
            Write::Revision(row) | Write::Change(row) => revision(&mut all, row)?,
            Write::Issued(row) => issued(&mut all, row)?,
            Write::Acceptance(row) => acceptance(&mut all, row)?,
            Write::Approval(row) => approval(&mut all, row)?,
            Write::Transition(row) => transition(&mut all, row)?,
        }
    }
    told.iter().try_for_each(|row| entry(&mut all, row))?;
    Ok(all)
}

fn revision(all: &mut Rows, row: &RevisionRow) -> Result<(), StoreFault> {
    all.add("revisions", place(row.change_order, row.revision), row)
}

fn issued(all: &mut Rows, row: &IssuedRow) -> Result<(), StoreFault> {
    all.add("issued_revisions", place(row.change_order, row.revision), row)
}

fn acceptance(all: &mut Rows, row: &AcceptanceRow) -> Result<(), StoreFault> {
    all.add("acceptances", place(row.change_order, row.revision), row)
}

fn approval(all: &mut Rows, row: &ApprovalRow) -> Result<(), StoreFault> {
    let key = format!("{}/{}", place(row.change_order, row.revision), row.position);
    all.add("approvals", key, row)
}

fn transition(all: &mut Rows, row: &TransitionRow) -> Result<(), StoreFault> {
    all.add("transitions", row.position, row)
}

fn entry(all: &mut Rows, row: &FeedRow) -> Result<(), StoreFault> {
    all.add("accounting_feed", row.position, row)
}

fn place(change_order: i32, revision: i32) -> String {
    format!("{change_order}/{revision}")
}

/// Every row of a table that is of the quote, put down by `$put`.
macro_rules! each_row {
    ($conn:expr, $table:ident, $row:ty, $quote:expr, $all:expr, $put:ident) => {{
        let rows: Vec<$row> = $table::table
            .filter($table::quote_id.eq($quote))
            .select(<$row>::as_select())
            .load($conn)?;
        rows.iter().try_for_each(|row| $put($all, row))?;
    }};
}

impl Store {
    /// Everything in which the rows of a quote, its place in the feed and its receipts are not what the audit says was
    /// written last.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn quote_unlike_written(&self, id: &str) -> Result<Vec<String>, StoreFault> {
        self.read(|conn| {
            let found = quotes::table.filter(quotes::id.eq(id));
            let quote: QuoteRow = found.select(QuoteRow::as_select()).first(conn)?;
            let mut all = stored(conn, id)?;
            all.add("quotes", &quote.number, &quote)?;
            let mut faults = differences(conn, &format!("quotes/{id}"), all)?;
            faults.extend(receipts::unlike_written(conn, id)?);
            Ok(faults)
        })
    }
}

fn stored(conn: &mut Conn, id: &str) -> Result<Rows, StoreFault> {
    let mut all = Rows::default();
    each_row!(conn, revisions, RevisionRow, id, &mut all, revision);
    each_row!(conn, issued_revisions, IssuedRow, id, &mut all, issued);
    each_row!(conn, acceptances, AcceptanceRow, id, &mut all, acceptance);
    each_row!(conn, approvals, ApprovalRow, id, &mut all, approval);
    each_row!(conn, transitions, TransitionRow, id, &mut all, transition);
    let told = feed::of_quote(conn, id)?;
    told.iter().try_for_each(|row| entry(&mut all, row))?;
    Ok(all)
}
