//! What leaves the house: papers, lists and drawings for customer, crew and purchasing, and accepted offers as accounting
//! reads them, in open formats, proved to the cent.
//!
//! In: stored documents of revisions and acceptances, or an estimate that was just made. Out: bytes, words and figures
//! that add up, or a fault; nothing that does not reconcile is handed over. What a customer reads has no field for a
//! cost, a margin, a wage or an internal note. Deliberately absent: files, page layout, the database, the clock, and
//! what is booked in the end.

pub mod accepted;
pub mod amounts;
pub mod answers;
mod changes;
pub mod charts;
pub mod codes;
pub mod contrast;
pub mod csv;
pub mod drawing;
pub mod fault;
pub mod figure;
mod head;
pub mod house_style;
pub mod instalments;
pub mod job_sheet;
pub mod journal;
pub mod ledger;
mod measured;
pub mod measures;
pub mod offer;
pub mod paper;
pub mod paper_fault;
mod pattern;
pub mod proof;
pub mod proposal;
pub mod purchase_list;
pub mod reconciliation;
pub mod routes;
pub mod rule_sentences;
pub mod scope;
pub mod sheet;
pub mod survey;
pub mod tax_groups;
mod ubl;
pub mod ubl_invoice;
mod ubl_lines;
mod ubl_party;
pub mod ubl_quotation;
pub mod unprintable;
pub mod words;
mod xml;
