//! From what the rules ask for to the lines of a bill: packs, hours, and what a person changed of them.
//!
//! In: the rules' outcome, the catalogue, the prices of a day, lines put in by hand and overrides. Out:
//! lines with stable keys, each with what is needed, what is bought and what is left over. Costs of packs
//! are compared here to choose the cheapest; amounts are made, rounded and added up in `pricing`.

mod amend;
mod assemble;
mod fault;
mod gather;
pub mod key;
pub mod line;
pub mod packs;

pub use assemble::{Unbilled, assemble};
pub use fault::{BillFault, ChangeFault};
pub use gather::group;
pub use key::{LineKey, PolicyLine, possible_keys};
pub use line::{Bill, BillCaution};
