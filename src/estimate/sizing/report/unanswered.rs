//! Why a question could not be worked out: every fault of this room under one roof.

use crate::sizing::condensate::CondensateFault;
use crate::sizing::controls::LeadFault;
use crate::sizing::finite::NotFinite;
use crate::sizing::hanging::HangingFault;
use crate::sizing::line_set::LineSetFault;
use crate::sizing::range::InputFault;
use crate::sizing::refrigerant::{PropertyError, UnknownRefrigerant};
use crate::sizing::wiring::CircuitFault;

/// Why a question could not be worked out, in words that name the input.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(super) enum Unanswered {
    #[error(transparent)]
    Input(#[from] InputFault),
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    #[error(transparent)]
    LineSet(#[from] LineSetFault),
    #[error(transparent)]
    Condensate(#[from] CondensateFault),
    #[error(transparent)]
    Lead(#[from] LeadFault),
    #[error(transparent)]
    Circuit(#[from] CircuitFault),
    #[error(transparent)]
    Hanging(#[from] HangingFault),
    #[error(transparent)]
    Property(#[from] PropertyError),
    #[error(transparent)]
    Refrigerant(#[from] UnknownRefrigerant),
    /// What it builds on could not be worked out, which is told there.
    #[error("it needs {0}, which could not be worked out")]
    Needs(&'static str),
    #[error("{0}")]
    Other(String),
}
