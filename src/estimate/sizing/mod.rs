//! What physics says of a surveyed job, one file per question.
//!
//! In: plain inputs with the unit in each field's name. Out: typed results whose numbers are
//! [`finite::Finite`], each with its method, its source and the margin to its limit. What lies outside
//! a method's range is an error or a note, never a silent extrapolation. Binary floats live here and
//! nowhere else in this package; deliberately absent are money, prices and the office's rules.

pub mod finite;

pub mod finding;

pub mod range;

mod crossing;

pub mod air;

pub mod refrigerant;

pub mod heat_rate;

pub mod envelope;

pub mod infiltration;

pub mod cellar_load;

pub mod class;
pub mod pipe_flow;

pub mod route;

pub mod line_set;

pub mod condensate;

pub mod controls;

pub mod wiring;

pub mod hanging;

pub mod charge_limit;

pub mod sweating;

pub mod report;

pub mod facts;

pub use report::{SizingFault, SizingReport, size};
