//! The liquid line: it must reach the expansion valve as liquid, without a bubble.

use super::fitting::Fitting;
use super::flow::{FOOT_M, FPM_M_S, RefrigerantFlow};
use super::tube::{Tube, TubeKind, TubeSize};
use super::{LineSetFault, Targets, tube_of};
use crate::sizing::finding::Finding;
use crate::sizing::finite::Finite;
use crate::sizing::range::InputFault;
use crate::sizing::route::{Leg, Place, Profile};

/// Where the limits of the liquid line come from.
pub const LIQUID_SOURCE: &str = "common practice, no source: at most 2 °F of subcooling lost to friction, \
     at most 300 ft/min near a solenoid valve; the unit's data sheet governs";

/// Standard gravity, m/s².
const GRAVITY_M_S2: f64 = 9.80665;

/// A liquid size that was tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiquidCandidate {
    /// The tube.
    pub tube: Tube,
    /// Length of straight tube with the same friction, ft.
    pub equivalent_length_ft: Finite,
    /// Friction loss, Pa.
    pub friction_pa: Finite,
    /// The same loss as subcooling, K.
    pub loss_k: Finite,
    /// Velocity, ft/min.
    pub velocity_fpm: Finite,
    /// Whether loss and velocity are within their limits.
    pub fits: bool,
}

/// The chosen liquid line.
#[derive(Clone, Debug, PartialEq)]
pub struct LiquidLine {
    /// The size taken.
    pub chosen: LiquidCandidate,
    /// Subcooling still free under the friction limit, K; negative when over.
    pub loss_margin_k: Finite,
    /// Height by which the liquid climbs from the condensing unit to the worst place, ft; negative
    /// when it falls.
    pub climb_to_worst_ft: Finite,
    /// Pressure lost from the condensing unit to the worst place: friction and height, Pa.
    pub pressure_loss_pa: Finite,
    /// Least subcooling left anywhere on the way, K; at or below zero the liquid flashes. Heat taken
    /// up or given off on the way is not counted.
    pub subcooling_left_k: Finite,
}

/// What every candidate of one line set shares.
pub(super) struct LiquidTask<'a> {
    pub flow: &'a RefrigerantFlow,
    pub legs: &'a [Leg],
    pub profile: &'a Profile,
    pub kind: TubeKind,
    pub targets: &'a Targets,
}

impl LiquidTask<'_> {
    /// Takes the stub's size if it does, else the smallest that does, else the stub's size with its
    /// fault told.
    pub fn choose(
        &self,
        tubes: &[Tube],
        stub: TubeSize,
        findings: &mut Vec<Finding>,
    ) -> Result<LiquidLine, LineSetFault> {
        let at_stub = self.evaluate(tube_of(tubes, stub)?)?;
        let instead = if at_stub.fits {
            None
        } else {
            self.smallest_that_does(tubes)?
        };
        let chosen = instead.unwrap_or(at_stub);
        self.tell_size(&chosen, &at_stub, findings);
        let worst = self.worst(&chosen);
        let left_k = self.flow.subcooling_k - worst.loss_pa * self.flow.bubble_slope_k_per_pa;
        let line = LiquidLine {
            loss_margin_k: Finite::new(
                self.targets.liquid_loss_k - chosen.loss_k.get(),
                "margin of the liquid line's loss",
            )?,
            climb_to_worst_ft: Finite::new(worst.climb_ft, "climb of the liquid")?,
            pressure_loss_pa: Finite::new(worst.loss_pa, "pressure loss of the liquid")?,
            subcooling_left_k: Finite::new(left_k, "subcooling left")?,
            chosen,
        };
        self.tell_subcooling(&line, findings);
        Ok(line)
    }

    fn smallest_that_does(&self, tubes: &[Tube]) -> Result<Option<LiquidCandidate>, InputFault> {
        for tube in tubes {
            let candidate = self.evaluate(tube)?;
            if candidate.fits {
                return Ok(Some(candidate));
            }
        }
        Ok(None)
    }

    /// Works out one size.
    pub fn evaluate(&self, tube: &Tube) -> Result<LiquidCandidate, InputFault> {
        let turn_ft = Fitting::turn(self.kind).equivalent_ft(tube);
        let equivalent_ft: f64 = self
            .legs
            .iter()
            .map(|leg| leg.length_ft + f64::from(leg.bends) * turn_ft)
            .sum();
        let flow = self.flow.liquid(tube);
        let friction_pa = equivalent_ft * FOOT_M * flow.loss_pa_per_m();
        let loss_k = friction_pa * self.flow.bubble_slope_k_per_pa;
        let velocity_fpm = flow.velocity_m_s() / FPM_M_S;
        Ok(LiquidCandidate {
            tube: *tube,
            equivalent_length_ft: Finite::new(equivalent_ft, "equivalent length of the liquid line")?,
            friction_pa: Finite::new(friction_pa, "friction of the liquid line")?,
            loss_k: Finite::new(loss_k, "loss of the liquid line")?,
            velocity_fpm: Finite::new(velocity_fpm, "velocity in the liquid line")?,
            fits: loss_k <= self.targets.liquid_loss_k && velocity_fpm <= self.targets.liquid_velocity_fpm,
        })
    }

    /// The place with the greatest pressure loss, walking with the liquid: from the condensing unit,
    /// the far end of the route, back to the evaporator.
    fn worst(&self, chosen: &LiquidCandidate) -> Worst {
        let pa_per_ft = self.flow.liquid(&chosen.tube).loss_pa_per_m() * FOOT_M;
        let turn_ft = Fitting::turn(self.kind).equivalent_ft(&chosen.tube);
        let start = self.profile.end();
        let mut worst = Worst {
            loss_pa: 0.0,
            climb_ft: 0.0,
        };
        let mut walked_ft = 0.0;
        // The place before each leg, the last leg first.
        let arrivals = self.profile.places().iter().take(self.legs.len()).rev();
        for (leg, place) in self.legs.iter().rev().zip(arrivals) {
            walked_ft += leg.length_ft + f64::from(leg.bends) * turn_ft;
            let climb_ft = climb(start, *place);
            let weight_pa = self.flow.liquid_density_kg_m3 * GRAVITY_M_S2 * climb_ft * FOOT_M;
            let loss_pa = walked_ft * pa_per_ft + weight_pa;
            if loss_pa > worst.loss_pa {
                worst = Worst { loss_pa, climb_ft };
            }
        }
        worst
    }

    fn tell_size(&self, chosen: &LiquidCandidate, at_stub: &LiquidCandidate, findings: &mut Vec<Finding>) {
        let figures = |candidate: &LiquidCandidate| {
            format!(
                "{} loses {:.1} °F of subcooling ({:.1} °F allowed) at {:.0} ft/min ({:.0} ft/min allowed)",
                candidate.tube.size(),
                candidate.loss_k.get() * 1.8,
                self.targets.liquid_loss_k * 1.8,
                candidate.velocity_fpm.get(),
                self.targets.liquid_velocity_fpm
            )
        };
        if !chosen.fits {
            findings.push(Finding::caution(
                "line_set.liquid_no_size_fits",
                format!(
                    "No liquid size does: {}. Ask the unit's data sheet.",
                    figures(chosen)
                ),
                LIQUID_SOURCE,
            ));
        } else if chosen.tube.size() != at_stub.tube.size() {
            findings.push(Finding::caution(
                "line_set.liquid_not_stub_size",
                format!(
                    "Liquid line in {} instead of the unit's size: {}.",
                    chosen.tube.size(),
                    figures(at_stub)
                ),
                LIQUID_SOURCE,
            ));
        }
    }

    fn tell_subcooling(&self, line: &LiquidLine, findings: &mut Vec<Finding>) {
        let left_k = line.subcooling_left_k.get();
        if left_k <= 0.0 {
            findings.push(Finding::stop(
                "line_set.liquid_flashes",
                format!(
                    "The liquid boils on its way: {:.1} °F of subcooling, {:.1} °F lost to friction and a climb of {:.1} ft, \
                     {:.1} °F too much.",
                    self.flow.subcooling_k * 1.8,
                    (self.flow.subcooling_k - left_k) * 1.8,
                    line.climb_to_worst_ft.get(),
                    -left_k * 1.8
                ),
                "pressure balance: friction and ρ g h against the slope of the bubble line",
            ));
        } else if left_k < self.targets.subcooling_left_k {
            findings.push(Finding::caution(
                "line_set.little_subcooling",
                format!(
                    "Only {:.1} °F of subcooling left after friction and a climb of {:.1} ft, {:.1} °F under the usual {:.1} °F.",
                    left_k * 1.8,
                    line.climb_to_worst_ft.get(),
                    (self.targets.subcooling_left_k - left_k) * 1.8,
                    self.targets.subcooling_left_k * 1.8
                ),
                "common practice, no source",
            ));
        }
    }
}

struct Worst {
    loss_pa: f64,
    climb_ft: f64,
}

fn climb(from: Place, to: Place) -> f64 {
    to.height_ft.get() - from.height_ft.get()
}
