//! The formula language: text to tokens to a tree. What the names mean is checked elsewhere.
//!
//! ```text
//! formula    = "if" formula "then" formula "else" formula | or
//! or         = and { "or" and }
//! and        = not { "and" not }
//! not        = "not" not | comparison
//! comparison = sum [ ("=" | "<>" | "<" | "<=" | ">" | ">=") sum ]      never chained
//! sum        = product { ("+" | "-") product }
//! product    = factor { ("*" | "/") factor }
//! factor     = "-" factor | number [ unit | "%" ] | name | unit | "true" | "false" | quoted word
//!            | function "(" formula { "," formula } ")" | table "[" formula { "," formula } "]"
//!            | "(" formula ")"
//! ```
//!
//! A unit by itself is one of that unit. Behind a number, units joined by `*` and `/` without a space
//! are one unit: `0.35 h/each` is a rate, and `x / 250 ft2/gal` divides by a coverage; `x / 6 ft * each`
//! divides by a length and multiplies by a count.

mod fact_tests;
mod flaw;
mod meaning;
mod parse;
mod print;
mod token;
mod tree;

pub(crate) use fact_tests::tests;
pub use flaw::{Flaw, FlawWords};
pub(crate) use meaning::meaning;
pub(crate) use parse::KEYWORDS;
pub use parse::{MAX_DEPTH, MAX_LENGTH, MAX_NODES, parse};
pub use tree::{Call, Compare, Expr, Function, Join, Node, Sum};
