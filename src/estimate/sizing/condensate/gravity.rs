//! Fall of a drain that runs by itself, and the size of its pipe.

use super::{CODE_SOURCE, DrainLeg};
use crate::sizing::finding::Finding;
use crate::sizing::finite::{Finite, NotFinite};
use crate::sizing::range::InputFault;
use crate::sizing::route::Direction;

/// Least fall of a drain, in per ft of run.
pub const LEAST_FALL_IN_PER_FT: f64 = 0.125;

/// Rounding of inches and feet must not decide between gravity and a pump.
const SLACK_IN: f64 = 1e-9;

/// One ton of cooling, W.
const TON_W: f64 = 12_000.0 * 0.293_071_070_172_222;

/// Fall that a route needs and has.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fall {
    /// Fall that its level runs need, in.
    pub needed_in: Finite,
    /// Fall there is: measured along level runs, and in its drops, in.
    pub available_in: Finite,
    /// Fall that level runs without a measured fall must take from the drops, in.
    pub borrowed_in: Finite,
    /// Why gravity will not do; none when it will.
    pub obstacle: Option<Obstacle>,
}

impl Fall {
    /// Whether the water runs by itself.
    #[must_use]
    pub fn suffices(&self) -> bool {
        self.obstacle.is_none()
    }
}

/// Why the water does not run by itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Obstacle {
    /// A leg goes up.
    Rises {
        /// Which leg, counted from 0.
        leg: usize,
    },
    /// A level leg has too little fall.
    FallsTooLittle {
        /// Which leg, counted from 0.
        leg: usize,
        /// By how much, in.
        short_in: Finite,
    },
    /// The drops do not have the fall that the level runs need.
    NotEnoughDrop {
        /// By how much, in.
        short_in: Finite,
    },
}

impl std::fmt::Display for Obstacle {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Obstacle::Rises { leg } => write!(f, "leg {} goes up", leg + 1),
            Obstacle::FallsTooLittle { leg, short_in } => {
                write!(f, "leg {} lacks {:.2} in of fall", leg + 1, short_in.get())
            }
            Obstacle::NotEnoughDrop { short_in } => {
                write!(f, "the route lacks {:.2} in of fall", short_in.get())
            }
        }
    }
}

/// Compares the fall of a route with 1/8 in per ft.
///
/// A level leg whose fall was measured stands on its own. The others are pitched when built: what they
/// need is taken from the drops of the route, which become shorter by it.
pub(super) fn fall(legs: &[DrainLeg]) -> Result<Fall, InputFault> {
    let (mut needed_in, mut available_in, mut borrowed_in, mut drops_in) = (0.0, 0.0, 0.0, 0.0);
    let mut obstacle = None;
    for (leg, place) in legs.iter().zip(0..) {
        match leg.direction {
            Direction::Rise => {
                obstacle.get_or_insert(Obstacle::Rises { leg: place });
            }
            Direction::Drop => drops_in += leg.length_ft * 12.0,
            Direction::Level => {
                let need_in = leg.length_ft * LEAST_FALL_IN_PER_FT;
                needed_in += need_in;
                match leg.fall_in {
                    None => borrowed_in += need_in,
                    Some(fall_in) => {
                        available_in += fall_in;
                        if fall_in + SLACK_IN < need_in && obstacle.is_none() {
                            let short_in = Finite::new(need_in - fall_in, "fall that is lacking")?;
                            obstacle = Some(Obstacle::FallsTooLittle { leg: place, short_in });
                        }
                    }
                }
            }
        }
    }
    if obstacle.is_none() && borrowed_in > drops_in + SLACK_IN {
        let short_in = Finite::new(borrowed_in - drops_in, "fall that is lacking")?;
        obstacle = Some(Obstacle::NotEnoughDrop { short_in });
    }
    Ok(Fall {
        needed_in: Finite::new(needed_in, "fall needed")?,
        available_in: Finite::new(available_in + drops_in, "fall available")?,
        borrowed_in: Finite::new(borrowed_in, "fall taken from the drops")?,
        obstacle,
    })
}

pub(super) fn tell_borrowed(fall: &Fall, findings: &mut Vec<Finding>) {
    let borrowed_in = fall.borrowed_in.get();
    if borrowed_in > 0.0 {
        findings.push(Finding::caution(
            "condensate.fall_not_measured",
            format!(
                "Level runs of the drain need {borrowed_in:.2} in of fall that was not measured; it is taken from the drops. Check that there is room to pitch them."
            ),
            CODE_SOURCE,
        ));
    }
}

/// Pipe sizes by cooling output: IMC Table 307.2.2, tons and nominal inches.
const PIPES: [(f64, f64, &str); 5] = [
    (20.0, 0.75, "3/4"),
    (40.0, 1.0, "1"),
    (90.0, 1.25, "1-1/4"),
    (125.0, 1.5, "1-1/2"),
    (250.0, 2.0, "2"),
];

/// Least pipe for an output, and never smaller than the pan's outlet.
pub(super) fn pipe_size(
    capacity_w: f64,
    pan_outlet_in: f64,
    findings: &mut Vec<Finding>,
) -> Result<&'static str, NotFinite> {
    let tons = Finite::new(capacity_w / TON_W, "cooling output in tons")?.get();
    let fits = PIPES
        .iter()
        .find(|(to_tons, inner_in, _)| tons <= *to_tons && *inner_in >= pan_outlet_in);
    if let Some((_, _, pipe)) = fits {
        return Ok(pipe);
    }
    findings.push(Finding::stop(
        "condensate.pipe_beyond_table",
        format!(
            "The pan outlet of {pan_outlet_in:.2} in is larger than the 2 in at which the pipe table ends."
        ),
        CODE_SOURCE,
    ));
    Ok("2")
}
