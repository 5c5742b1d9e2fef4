//! The ledger's receipts: one for each acceptance, and those that were refused.

use diesel::prelude::*;

use crate::store::audit::{Change, Written};
use crate::store::connection::each;
use crate::store::schema::{accounting_receipts, accounting_references, accounting_refusals, quotes};
use crate::store::{Store, StoreFault};

/// The ledger's word that it has an acceptance.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, serde::Serialize)]
#[diesel(table_name = accounting_receipts)]
pub struct ReceiptRow {
    /// The quote.
    pub quote_id: String,
    /// Which change order; 0 for the offer itself.
    pub change_order: i32,
    /// The ledger's own reference.
    pub reference: String,
    /// The currency of the total.
    pub currency: String,
    /// What the ledger has it with, in minor units.
    pub total: i64,
    /// When it was said.
    pub received_at: String,
    /// By whom.
    pub received_by: String,
}

/// What became of a receipt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PutReceipt {
    /// It is new.
    New,
    /// There is one, as it was said before.
    There(ReceiptRow),
    /// The reference is that of another acceptance.
    Used {
        /// Number of its quote.
        number: String,
        /// Which change order; 0 for the offer itself.
        change_order: i32,
    },
}

/// The acceptance that a receipt is of.
fn subject(row: &ReceiptRow) -> String {
    format!("{}/{}", row.quote_id, row.change_order)
}

impl Store {
    /// The receipt of an acceptance.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn receipt(&self, quote: &str, change_order: i32) -> Result<Option<ReceiptRow>, StoreFault> {
        self.read(|conn| {
            let found = accounting_receipts::table.find((quote, change_order));
            Ok(found.select(ReceiptRow::as_select()).first(conn).optional()?)
        })
    }

    /// Puts a receipt in, unless there is one, or its reference is taken. Of two at once the second finds the first.
    ///
    /// # Errors
    /// [`StoreFault::Missing`] when nothing was accepted.
    pub fn put_receipt(&self, row: &ReceiptRow) -> Result<PutReceipt, StoreFault> {
        let put = self.write(|conn| {
            let made = each!(conn, conn => diesel::insert_into(accounting_receipts::table)
                .values(row)
                .on_conflict_do_nothing()
                .execute(conn))?;
            if made == 1 {
                diesel::insert_into(accounting_references::table)
                    .values((
                        accounting_references::reference.eq(&row.reference),
                        accounting_references::quote_id.eq(&row.quote_id),
                        accounting_references::change_order.eq(row.change_order),
                    ))
                    .execute(conn)?;
                let change = Change::of("receipts", subject(row)).after(row)?;
                return Ok(change.with(PutReceipt::New));
            }
            let found = accounting_receipts::table.find((&row.quote_id, row.change_order));
            let there = found.select(ReceiptRow::as_select()).first(conn)?;
            Ok(Written::nothing(PutReceipt::There(there)))
        });
        match put {
            Err(StoreFault::Exists) => self.bearer(&row.reference),
            put => put,
        }
    }

    /// Whose receipt bears the reference.
    fn bearer(&self, reference: &str) -> Result<PutReceipt, StoreFault> {
        self.read(|conn| {
            let (number, change_order): (String, i32) = accounting_references::table
                .find(reference)
                .inner_join(quotes::table.on(quotes::id.eq(accounting_references::quote_id)))
                .select((quotes::number, accounting_references::change_order))
                .first(conn)?;
            Ok(PutReceipt::Used { number, change_order })
        })
    }

    /// Keeps that a receipt was refused; the same one again is kept once.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn keep_refusal(&self, row: &ReceiptRow) -> Result<(), StoreFault> {
        use accounting_refusals as t;
        let values = (
            t::quote_id.eq(&row.quote_id),
            t::change_order.eq(row.change_order),
            t::reference.eq(&row.reference),
            t::currency.eq(&row.currency),
            t::total.eq(row.total),
            t::refused_at.eq(&row.received_at),
            t::sent_by.eq(&row.received_by),
        );
        self.write(|conn| {
            let made = each!(conn, conn => diesel::insert_into(t::table)
                .values(values)
                .on_conflict_do_nothing()
                .execute(conn))?;
            Ok(match made {
                0 => Written::nothing(()),
                _ => Change::of("refused-receipts", subject(row)).after(row)?.with(()),
            })
        })
    }
}
