//! What the company buys, who works for it and which units it installs.
//!
//! In: the office's data, dated. Out: the same, looked up by code, and what holds on a given day.
//! Deliberately absent: which of it a job needs (that is `rules`) and money added up (`pricing`).

pub mod company;
pub mod equipment;
pub mod item;
pub mod labour;

pub use company::Company;
pub use equipment::Equipment;
pub use item::Item;
pub use labour::LabourClass;
