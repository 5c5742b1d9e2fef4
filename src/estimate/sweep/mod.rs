//! One or two answers of a job varied: what the job costs at each point, and where it jumps.
//!
//! In: an estimate request, which answers vary and over what, and what the office prices with. Out: a point for
//! each combination, and the breaks between neighbours: the place at which other packs are bought, another size or
//! unit is taken, a line comes or goes. Breaks are looked for between neighbours that differ: what jumps and jumps back
//! between two neighbours is not seen. A point that cannot be estimated says why in its place. Points are worked
//! out side by side; how many threads there are changes nothing in the result.

mod ask;
mod breaks;
mod features;
mod point;
mod run;

pub use ask::{Ask, Vary};
pub use breaks::{Break, Jump, What};
pub use point::{Outcome, Point, PointError, PointFault, UnitTaken};
pub use run::{Sweep, SweepInputs, VariedAnswer, sweep};

/// The most points of a sweep.
pub const MOST_POINTS: usize = 10_000;
/// So many estimates more are made at the most, to narrow breaks down: shared out evenly over the neighbours that differ.
const MOST_NARROWING: usize = 20_000;
/// The most breaks that are told.
const MOST_BREAKS: usize = 2_000;
