//! The office's rules: formulas with units, tables, assemblies; checked when saved, then run.
//!
//! In: a rulebook as text, the names that it may use, and the facts of a job. Out: findings with
//! their place in the file, or a program; from that, what the job needs. Deliberately absent: packs
//! and prices (a need is not yet a line), and any way to run a rulebook that has not passed its check.

mod check;
pub mod comparison;
mod decide;
pub mod finding;
pub mod formula;
pub mod outcome;
mod program;
mod render;
pub mod rulebook;
mod run;
pub mod span;
mod text;
pub mod trace;

pub use check::{
    Checked, Names, check_toml, compile, doubtful_cost_codes, reopen, unknown_cost_codes, unpriced, untested,
};
pub use finding::{Finding, Severity};
pub use outcome::Outcome;
pub use program::Program;
pub use render::render;
pub use rulebook::{Rulebook, format_toml, parse_toml, to_toml};
pub use run::{RunFault, RunInput, RunReason};
