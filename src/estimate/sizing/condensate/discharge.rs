//! Where the water may go, and what each place asks for.

use crate::sizing::finding::Finding;
use crate::sizing::finite::{Finite, NotFinite};

/// Where the indirect-waste rules come from.
pub const DISCHARGE_SOURCE: &str =
    "IPC 314.2.1 and chapter 8, indirect waste (from memory); the local plumbing code governs";

/// Where the water goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Discharge {
    /// Floor drain with a trap.
    FloorDrain,
    /// Standpipe of a laundry.
    LaundryStandpipe,
    /// Receptor made for indirect waste, also a mop sink.
    CondensateReceptor,
    /// Branch of a sink's tailpiece, above its trap.
    SinkTail,
    /// Open ground or gravel.
    Outdoors,
}

/// What a discharge asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DischargeNeeds {
    /// Height of the free air gap over the receptor's flood rim, in; none where the place asks for
    /// none.
    pub air_gap_in: Option<Finite>,
    /// What to build there, in plain words.
    pub advice: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

/// What a place asks of a drain that ends in a pipe of `pipe_in`.
///
/// An air gap is twice the pipe's opening and at least 1 in (from memory).
pub(super) fn needs(
    place: Discharge,
    pipe_in: f64,
    findings: &mut Vec<Finding>,
) -> Result<DischargeNeeds, NotFinite> {
    let gap = Finite::new((2.0 * pipe_in).max(1.0), "air gap")?;
    let (air_gap_in, advice) = match place {
        Discharge::FloorDrain => (
            Some(gap),
            "End free above the grate; see that the drain's own trap does not dry out.",
        ),
        Discharge::LaundryStandpipe => (
            Some(gap),
            "End free above the standpipe's rim; leave room for the washer's hose.",
        ),
        Discharge::CondensateReceptor => (Some(gap), "End free above the receptor's rim."),
        Discharge::SinkTail => (
            None,
            "Branch into the tailpiece above the sink's trap, the tube looped high.",
        ),
        Discharge::Outdoors => (
            None,
            "End free and in sight, away from walks, walls and where ice would form.",
        ),
    };
    match place {
        Discharge::SinkTail => findings.push(Finding::caution(
            "condensate.sink_tail_by_local_code",
            "Some officials refuse a condensate branch in a sink's tailpiece: ask before it is priced as settled."
                .to_owned(),
            DISCHARGE_SOURCE,
        )),
        Discharge::Outdoors => findings.push(Finding::caution(
            "condensate.outdoors",
            "Discharge outdoors must not wet a street, a walk or a neighbour, and may freeze or stain.".to_owned(),
            DISCHARGE_SOURCE,
        )),
        Discharge::FloorDrain | Discharge::LaundryStandpipe | Discharge::CondensateReceptor => {}
    }
    Ok(DischargeNeeds {
        air_gap_in,
        advice,
        source: DISCHARGE_SOURCE,
    })
}
