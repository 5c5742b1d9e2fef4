//! Decimals, units, quantities, money, facts and the one place that rounds.
//!
//! In: text from the wire. Out: values that cannot be wrong in kind. Deliberately absent: binary
//! floats, prices, and anything that knows what a job is.

pub mod amount;
mod counted;
pub mod decimal;
pub mod fact;
pub mod measure;
pub mod money;
pub mod nearest;
pub mod rounding;
pub mod unit;

pub use amount::Quantity;
pub use counted::counted;
pub use decimal::Decimal;
pub use money::{Currency, Money};
