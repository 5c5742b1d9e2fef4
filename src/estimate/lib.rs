//! The pure estimating core: a surveyed job in, a priced bill of materials and labour hours out.
//!
//! No clock, no I/O, no web, no database and no randomness: the same inputs give the same bytes on
//! every machine. The rooms below are named in the order in which a job passes through them, and
//! each room uses only those above it.

pub mod quantity;

pub mod job;

pub mod catalogue;

pub mod sizing;

pub mod rules;

pub mod bill;

pub mod pricing;

pub mod workbook;

pub mod estimate;

pub mod examples;

pub mod quote;

pub mod handoff;

pub mod sweep;
