//! Pure bytes and words out: what leaves the office once an estimate stands.
//!
//! In: the documents of issued revisions, or an estimate that was just made. Out: the contents of papers, lists
//! and drawings, with every figure as text. Deliberately absent: files, page layout, and any figure that was not
//! in the estimate. What a customer reads has no field for a cost, a margin, a wage or an internal note.

pub mod charts;
pub mod drawing;
pub mod fault;
pub mod figure;
mod head;
pub mod house_style;
pub mod job_sheet;
pub mod offer;
pub mod paper;
pub mod proposal;
pub mod purchase_list;
pub mod routes;
pub mod scope;
pub mod survey;
pub mod words;
