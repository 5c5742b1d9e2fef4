//! From the bill's quantities and hours to money: cost, price, tax and payment schedule.
//!
//! In: the bill, prices of a day, the policy. Out: amounts that reconcile to the cent. Money enters here
//! and nowhere before.

pub mod policy;
