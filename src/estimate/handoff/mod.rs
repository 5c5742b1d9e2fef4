//! What leaves the house: accepted offers as accounting reads them, in open formats, and proved to the cent.
//!
//! In: stored documents of revisions and acceptances. Out: bytes and figures that add up, or a fault; nothing that
//! does not reconcile is handed over. Deliberately absent: the database, the clock, and what is booked in the end.

pub mod accepted;
pub mod amounts;
pub mod codes;
pub mod csv;
pub mod fault;
pub mod instalments;
pub mod journal;
pub mod ledger;
pub mod reconciliation;
pub mod sheet;
pub mod tax_groups;
mod ubl;
pub mod ubl_invoice;
pub mod ubl_quotation;
mod xml;
