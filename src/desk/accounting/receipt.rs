//! The ledger's receipt: its word that it has an acceptance, with its own reference and total.

use chrono::Utc;
use estimate::quantity::{Currency, Money};
use serde::Serialize;

use super::feed::named;
use crate::desk::{Desk, DeskFault, moment};
use crate::store::{PutReceipt, ReceiptRow, StoreFault};

/// What the ledger says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Receipt {
    /// Its own reference.
    pub reference: String,
    /// What it has the acceptance with, tax included.
    pub total: Money,
}

/// A receipt as it is told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReceiptTold {
    /// The ledger's own reference.
    pub reference: String,
    /// What the ledger has it with.
    pub total: Money,
    /// When it was said.
    pub received_at: String,
    /// By whom.
    pub received_by: String,
}

/// A row as it is told.
pub(super) fn told(row: &ReceiptRow) -> Result<ReceiptTold, DeskFault> {
    let currency = Currency::parse(&row.currency).map_err(|fault| {
        DeskFault::Store(StoreFault::Corrupt {
            table: "accounting_receipts",
            key: row.quote_id.clone(),
            message: fault.to_string(),
        })
    })?;
    Ok(ReceiptTold {
        reference: row.reference.clone(),
        total: currency.minor(row.total),
        received_at: row.received_at.clone(),
        received_by: row.received_by.clone(),
    })
}

/// Whether two references are one, but for white space: earlier programs kept it as it came.
fn same(one: &str, other: &str) -> bool {
    one.split_whitespace().eq(other.split_whitespace())
}

impl Desk {
    /// Takes the ledger's receipt of an acceptance; whether it is new. The same one again is the one that is there.
    ///
    /// # Errors
    /// Nothing of this number was accepted; the total is another; there is a receipt with another reference; or the
    /// reference is that of another acceptance.
    pub fn put_receipt(
        &self,
        person: &str,
        number: &str,
        receipt: &Receipt,
    ) -> Result<(ReceiptTold, bool), DeskFault> {
        let found = self.found_acceptance(number)?;
        let row = ReceiptRow {
            quote_id: found.quote,
            change_order: found.change_order,
            reference: receipt.reference.clone(),
            currency: receipt.total.currency().code().to_owned(),
            total: receipt.total.minor(),
            received_at: moment(Utc::now()),
            received_by: person.to_owned(),
        };
        let ours = found.accepted.amounts.total;
        if receipt.total != ours {
            self.store.keep_refusal(&row)?;
            return Err(DeskFault::ReceiptDiffers {
                ours,
                theirs: receipt.total,
            });
        }
        match self.store.put_receipt(&row)? {
            PutReceipt::New => Ok((told(&row)?, true)),
            PutReceipt::There(there) if same(&there.reference, &row.reference) => Ok((told(&there)?, false)),
            PutReceipt::There(there) => {
                self.store.keep_refusal(&row)?;
                let word = format!(
                    "{number} has a receipt with the reference {}, and came again with {}",
                    there.reference, row.reference
                );
                Err(DeskFault::Conflict(word))
            }
            PutReceipt::Used {
                number: other,
                change_order,
            } => {
                self.store.keep_refusal(&row)?;
                let other = named(&other, change_order);
                let word = format!(
                    "the reference {} is that of {other}: one entry of the ledger is the receipt of one acceptance. Is \
                     {number} booked twice, or is the reference another?",
                    row.reference
                );
                Err(DeskFault::Conflict(word))
            }
        }
    }

    /// What was accepted under this number comes to, tax included.
    ///
    /// # Errors
    /// Nothing of this number was accepted.
    pub fn accepted_total(&self, number: &str) -> Result<Money, DeskFault> {
        Ok(self.found_acceptance(number)?.accepted.amounts.total)
    }

    /// The ledger's receipt of an acceptance.
    ///
    /// # Errors
    /// Nothing of this number was accepted, or there is no receipt.
    pub fn receipt(&self, number: &str) -> Result<ReceiptTold, DeskFault> {
        let found = self.found_acceptance(number)?;
        let row = self.store.receipt(&found.quote, found.change_order)?;
        told(&row.ok_or_else(|| DeskFault::unknown("receipt of", number))?)
    }
}
