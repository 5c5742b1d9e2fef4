//! The ledger's receipts: one for each acceptance, and those that were refused.

use diesel::prelude::*;

use crate::store::audit::{Change, Written};
use crate::store::connection::{Conn, each};
use crate::store::schema::{
    acceptances, accounting_receipts, accounting_references, accounting_refusals, quotes,
};
use crate::store::written::{Rows, differences};
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

fn refusal_key(row: &ReceiptRow) -> String {
    let ReceiptRow {
        change_order,
        reference,
        currency,
        total,
        ..
    } = row;
    format!("{change_order}/{reference}/{currency}/{total}")
}

fn find(conn: &mut Conn, quote: &str, change_order: i32) -> Result<Option<ReceiptRow>, StoreFault> {
    let found = accounting_receipts::table.find((quote, change_order));
    Ok(found.select(ReceiptRow::as_select()).first(conn).optional()?)
}

/// Whose receipt bears the reference, where one does.
fn bearer(conn: &mut Conn, reference: &str) -> Result<Option<PutReceipt>, StoreFault> {
    let found: Option<(String, i32)> = accounting_references::table
        .find(reference)
        .inner_join(quotes::table.on(quotes::id.eq(accounting_references::quote_id)))
        .select((quotes::number, accounting_references::change_order))
        .first(conn)
        .optional()?;
    Ok(found.map(|(number, change_order)| PutReceipt::Used { number, change_order }))
}

/// Where the references that are taken are not those of the receipts of a quote. A reference that two acceptances had before it
/// could be taken only once is that of the first.
fn references_unlike(
    conn: &mut Conn,
    quote: &str,
    receipts: &[ReceiptRow],
) -> Result<Vec<String>, StoreFault> {
    use accounting_references as t;
    let mut faults = Vec::new();
    for receipt in receipts {
        let reference = &receipt.reference;
        let found: Option<(String, i32)> = t::table
            .find(reference)
            .select((t::quote_id, t::change_order))
            .first(conn)
            .optional()?;
        let borne = match found {
            Some((id, order)) if (id.as_str(), order) == (quote, receipt.change_order) => true,
            Some((id, order)) => find(conn, &id, order)?.is_some_and(|first| first.reference == *reference),
            None => false,
        };
        if !borne {
            faults.push(format!(
                "the row {reference} of accounting_references, which the receipt of {} has, is missing or of another",
                receipt.change_order
            ));
        }
    }
    let taken: Vec<(String, i32)> = t::table
        .filter(t::quote_id.eq(quote))
        .select((t::reference, t::change_order))
        .load(conn)?;
    for (reference, order) in taken {
        let has = |row: &ReceiptRow| row.change_order == order && row.reference == reference;
        if !receipts.iter().any(has) {
            faults.push(format!(
                "the row {reference} of accounting_references is of a receipt that has another reference"
            ));
        }
    }
    Ok(faults)
}

/// What the audit says of the receipts of a quote, and of those that were refused, held against them.
pub(in crate::store) fn unlike_written(conn: &mut Conn, quote: &str) -> Result<Vec<String>, StoreFault> {
    use accounting_refusals as t;
    let receipts: Vec<ReceiptRow> = accounting_receipts::table
        .filter(accounting_receipts::quote_id.eq(quote))
        .select(ReceiptRow::as_select())
        .load(conn)?;
    // The columns of a refusal, in the order of a receipt's.
    let refusals: Vec<ReceiptRow> = t::table
        .filter(t::quote_id.eq(quote))
        .select((
            t::quote_id,
            t::change_order,
            t::reference,
            t::currency,
            t::total,
            t::refused_at,
            t::sent_by,
        ))
        .load(conn)?;
    let orders: Vec<i32> = acceptances::table
        .filter(acceptances::quote_id.eq(quote))
        .select(acceptances::change_order)
        .load(conn)?;
    let mut faults = references_unlike(conn, quote, &receipts)?;
    for order in orders {
        let mut taken = Rows::default();
        for row in receipts.iter().filter(|row| row.change_order == order) {
            taken.add("accounting_receipts", order, row)?;
        }
        let mut refused = Rows::default();
        for row in refusals.iter().filter(|row| row.change_order == order) {
            refused.add("accounting_refusals", refusal_key(row), row)?;
        }
        faults.extend(differences(conn, &format!("receipts/{quote}/{order}"), taken)?);
        faults.extend(differences(
            conn,
            &format!("refused-receipts/{quote}/{order}"),
            refused,
        )?);
    }
    Ok(faults)
}

impl Store {
    /// The receipt of an acceptance.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn receipt(&self, quote: &str, change_order: i32) -> Result<Option<ReceiptRow>, StoreFault> {
        self.read(|conn| find(conn, quote, change_order))
    }

    /// Puts a receipt in, unless there is one, or its reference is taken. Of two at once the second finds the first.
    ///
    /// # Errors
    /// [`StoreFault::Missing`] when nothing was accepted.
    pub fn put_receipt(&self, row: &ReceiptRow) -> Result<PutReceipt, StoreFault> {
        let put = self.write(|conn| {
            if let Some(there) = find(conn, &row.quote_id, row.change_order)? {
                return Ok(Written::nothing(PutReceipt::There(there)));
            }
            if let Some(used) = bearer(conn, &row.reference)? {
                return Ok(Written::nothing(used));
            }
            let made = each!(conn, conn => diesel::insert_into(accounting_receipts::table)
                .values(row)
                .on_conflict_do_nothing()
                .execute(conn))?;
            if made == 0 {
                // On PostgreSQL another was quicker by a moment.
                let there = find(conn, &row.quote_id, row.change_order)?;
                return Ok(Written::nothing(PutReceipt::There(
                    there.ok_or(StoreFault::Changed)?,
                )));
            }
            diesel::insert_into(accounting_references::table)
                .values((
                    accounting_references::reference.eq(&row.reference),
                    accounting_references::quote_id.eq(&row.quote_id),
                    accounting_references::change_order.eq(row.change_order),
                ))
                .execute(conn)?;
            let wrote = Rows::one("accounting_receipts", row.change_order, row)?;
            let change = Change::of("receipts", subject(row)).wrote(&wrote)?;
            Ok(change.with(PutReceipt::New))
        });
        match put {
            // On PostgreSQL another took the reference a moment before.
            Err(StoreFault::Exists) => {
                let used = self.read(|conn| bearer(conn, &row.reference))?;
                used.ok_or(StoreFault::Changed)
            }
            put => put,
        }
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
            let key = (
                &row.quote_id,
                row.change_order,
                &row.reference,
                &row.currency,
                row.total,
            );
            if t::table.find(key).count().get_result::<i64>(conn)? > 0 {
                return Ok(Written::nothing(()));
            }
            let made = each!(conn, conn => diesel::insert_into(t::table)
                .values(values)
                .on_conflict_do_nothing()
                .execute(conn))?;
            Ok(match made {
                0 => Written::nothing(()),
                _ => {
                    let wrote = Rows::one("accounting_refusals", refusal_key(row), row)?;
                    Change::of("refused-receipts", subject(row))
                        .wrote(&wrote)?
                        .with(())
                }
            })
        })
    }
}
