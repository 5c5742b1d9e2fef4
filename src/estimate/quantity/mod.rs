//! Decimals, units, quantities, money and the one place that rounds.
//!
//! In: text from the wire. Out: values that cannot be wrong in kind. Deliberately absent: binary
//! floats, prices, and anything that knows what a job is.

pub mod decimal;
pub mod money;
pub mod rounding;

pub use decimal::Decimal;
pub use money::{Currency, Money};
