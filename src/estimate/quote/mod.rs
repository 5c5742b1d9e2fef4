//! From an estimate to an offer that can be revised, compared, issued, accepted and changed afterwards, and
//! that nobody can alter.
//!
//! In: drafts, estimates as documents, and, as values, the time and who acts. Out: canonical bytes with their
//! digest, the next state, comparisons and reasons. Whoever holds rulebook, catalogue and policy gives an
//! estimator; this room decides what is estimated and what the answers mean. Deliberately absent: clock,
//! database, and what a person may do.

pub mod acceptance;
pub mod alternates;
pub mod approval;
pub mod canonical;
pub mod causes;
pub mod change;
pub mod change_order;
pub mod comparison;
pub mod country;
pub mod draft;
pub mod earlier;
pub mod estimated;
pub mod impact;
pub mod life;
pub mod merge;
pub mod moved;
pub mod number;
pub mod party;
pub mod pointer;
pub mod revision;
pub mod validity;
