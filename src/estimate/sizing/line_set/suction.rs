//! The suction line: small enough that the gas carries the oil home, large enough that it loses little.

use std::fmt;

use super::fitting::{Fitting, Runs};
use super::flow::{FOOT_M, FPM_M_S, RefrigerantFlow};
use super::tube::{Tube, TubeKind, TubeSize};
use super::{LineSetFault, Targets};
use crate::sizing::finding::Finding;
use crate::sizing::finite::Finite;

/// Where the velocities and the loss come from.
pub const SUCTION_SOURCE: &str = "trade article on refrigeration piping: at most 2 °F, at least 500 ft/min \
     level and 1,000 ft/min in risers, at most 4,000 ft/min; the unit's data sheet governs";

/// A loss above this share of the absolute pressure changes the density more than the method allows.
const INCOMPRESSIBLE_SHARE: f64 = 0.10;

/// A size that was tried, with what it does.
#[derive(Clone, Debug, PartialEq)]
pub struct SuctionCandidate {
    /// Tube of the level runs, drops and short rises.
    pub main: Tube,
    /// Tube of the risers; one size smaller than `main` where the gas would be too slow.
    pub riser: Tube,
    /// Length of straight tube with the same friction, ft.
    pub equivalent_length_ft: Finite,
    /// Friction loss at the greatest output, Pa; the weight of the gas column is not counted.
    pub friction_pa: Finite,
    /// The same loss as saturated temperature, K.
    pub loss_k: Finite,
    /// Velocity in the level runs at the least output, ft/min.
    pub level_velocity_fpm: Finite,
    /// Velocity in the risers at the least output, ft/min; none without a riser.
    pub riser_velocity_fpm: Option<Finite>,
    /// Greatest velocity anywhere, at the greatest output, ft/min.
    pub greatest_velocity_fpm: Finite,
    /// Why the size does not do; empty when it does.
    pub refusals: Vec<SuctionRefusal>,
}

impl SuctionCandidate {
    /// Whether the size does.
    #[must_use]
    pub fn fits(&self) -> bool {
        self.refusals.is_empty()
    }

    /// Whether the risers are of another size than the rest.
    #[must_use]
    pub fn riser_reduced(&self) -> bool {
        self.riser.size() != self.main.size()
    }
}

/// Why a suction size does not do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SuctionRefusal {
    /// The friction costs more saturated temperature than allowed, K.
    LossTooGreat {
        /// What it costs.
        loss_k: Finite,
        /// What is allowed.
        limit_k: Finite,
    },
    /// Too slow in the level runs, ft/min.
    LevelTooSlow {
        /// The velocity.
        fpm: Finite,
        /// The least.
        least_fpm: Finite,
    },
    /// Too slow in a riser, ft/min.
    RiserTooSlow {
        /// The velocity.
        fpm: Finite,
        /// The least.
        least_fpm: Finite,
    },
    /// Too fast, ft/min.
    TooFast {
        /// The velocity.
        fpm: Finite,
        /// The greatest.
        most_fpm: Finite,
    },
}

impl fmt::Display for SuctionRefusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SuctionRefusal::LossTooGreat { loss_k, limit_k } => write!(
                f,
                "line loses {:.1} °F of saturated temperature, {:.1} °F over the {:.1} °F allowed",
                loss_k.get() * 1.8,
                (loss_k.get() - limit_k.get()) * 1.8,
                limit_k.get() * 1.8
            ),
            SuctionRefusal::LevelTooSlow { fpm, least_fpm } => write!(
                f,
                "gas runs level at {:.0} ft/min, {:.0} ft/min under the {:.0} ft/min that carry the oil",
                fpm.get(),
                least_fpm.get() - fpm.get(),
                least_fpm.get()
            ),
            SuctionRefusal::RiserTooSlow { fpm, least_fpm } => write!(
                f,
                "gas rises at {:.0} ft/min, {:.0} ft/min under the {:.0} ft/min that carry the oil",
                fpm.get(),
                least_fpm.get() - fpm.get(),
                least_fpm.get()
            ),
            SuctionRefusal::TooFast { fpm, most_fpm } => write!(
                f,
                "gas runs at {:.0} ft/min, {:.0} ft/min over the {:.0} ft/min that are quiet",
                fpm.get(),
                fpm.get() - most_fpm.get(),
                most_fpm.get()
            ),
        }
    }
}

/// The chosen suction line.
#[derive(Clone, Debug, PartialEq)]
pub struct SuctionLine {
    /// The size taken.
    pub chosen: SuctionCandidate,
    /// Saturated temperature still free under the limit, K; negative when over.
    pub loss_margin_k: Finite,
}

/// What every candidate of one line set shares.
pub(super) struct SuctionTask<'a> {
    pub flow: &'a RefrigerantFlow,
    pub runs: &'a Runs,
    pub kind: TubeKind,
    pub targets: &'a Targets,
}

impl SuctionTask<'_> {
    /// Takes the stub's size if it does, else the smallest that does, else the stub's size with its faults told.
    pub fn choose(
        &self,
        tubes: &[Tube],
        stub: TubeSize,
        findings: &mut Vec<Finding>,
    ) -> Result<SuctionLine, LineSetFault> {
        let mut sizes = with_smaller(tubes);
        let at_stub = sizes.find(|(main, _)| main.size() == stub);
        let (main, smaller) = at_stub.ok_or(LineSetFault::NoStubTube {
            line: "suction",
            size: stub,
        })?;
        let at_stub = self.try_size(main, smaller)?;
        let instead = if at_stub.fits() {
            None
        } else {
            self.smallest_that_does(tubes)?
        };
        let chosen = instead.unwrap_or_else(|| at_stub.clone());
        self.tell(&chosen, &at_stub, findings);
        let limit_k = self.targets.suction_loss_k;
        let loss_margin_k = Finite::new(limit_k - chosen.loss_k.get(), "margin of the suction loss")?;
        Ok(SuctionLine {
            chosen,
            loss_margin_k,
        })
    }

    fn smallest_that_does(&self, tubes: &[Tube]) -> Result<Option<SuctionCandidate>, LineSetFault> {
        for (main, smaller) in with_smaller(tubes) {
            let candidate = self.try_size(main, smaller)?;
            if candidate.fits() {
                return Ok(Some(candidate));
            }
        }
        Ok(None)
    }

    fn try_size(&self, main: &Tube, smaller: Option<&Tube>) -> Result<SuctionCandidate, LineSetFault> {
        let needs_smaller_riser = self.runs.risers > 0
            && self.runs.level_ft > 0.0
            && self.velocity_fpm(main, self.flow.least_capacity_w) < self.targets.riser_velocity_fpm;
        match smaller {
            Some(riser) if needs_smaller_riser => self.evaluate(main, riser),
            _ => self.evaluate(main, main),
        }
    }

    fn velocity_fpm(&self, tube: &Tube, capacity_w: f64) -> f64 {
        self.flow.suction(tube, capacity_w).velocity_m_s() / FPM_M_S
    }

    /// Works out one pair of sizes.
    pub fn evaluate(&self, main: &Tube, riser: &Tube) -> Result<SuctionCandidate, LineSetFault> {
        let turn = Fitting::turn(self.kind);
        let level_ft = self.runs.level_ft + f64::from(self.runs.level_bends) * turn.equivalent_ft(main);
        let riser_ft = self.runs.riser_ft
            + f64::from(self.runs.riser_bends) * turn.equivalent_ft(riser)
            + f64::from(self.runs.traps) * Fitting::OilTrap.equivalent_ft(riser);
        let most_w = self.flow.greatest_capacity_w;
        let loss = |tube: &Tube| self.flow.suction(tube, most_w).loss_pa_per_m();
        let level_loss = loss(main);
        let riser_loss = if riser == main { level_loss } else { loss(riser) };
        let friction_pa = FOOT_M * (level_ft * level_loss + riser_ft * riser_loss);
        let level_fpm = self.velocity_fpm(main, self.flow.least_capacity_w);
        let riser_fpm = (self.runs.risers > 0).then(|| self.velocity_fpm(riser, self.flow.least_capacity_w));
        let mut candidate = SuctionCandidate {
            main: *main,
            riser: *riser,
            equivalent_length_ft: Finite::new(level_ft + riser_ft, "equivalent length of the suction line")?,
            friction_pa: Finite::new(friction_pa, "friction of the suction line")?,
            loss_k: Finite::new(
                friction_pa * self.flow.dew_slope_k_per_pa,
                "loss of the suction line",
            )?,
            level_velocity_fpm: Finite::new(level_fpm, "velocity in the suction line")?,
            riser_velocity_fpm: riser_fpm
                .map(|fpm| Finite::new(fpm, "velocity in a suction riser"))
                .transpose()?,
            greatest_velocity_fpm: Finite::new(
                self.velocity_fpm(riser, most_w),
                "greatest velocity in the suction line",
            )?,
            refusals: Vec::new(),
        };
        candidate.refusals = self.refusals(&candidate)?;
        Ok(candidate)
    }

    fn refusals(&self, candidate: &SuctionCandidate) -> Result<Vec<SuctionRefusal>, LineSetFault> {
        let limit_k = Finite::new(self.targets.suction_loss_k, "limit of the suction loss")?;
        let least_level = Finite::new(self.targets.level_velocity_fpm, "least level velocity")?;
        let least_riser = Finite::new(self.targets.riser_velocity_fpm, "least riser velocity")?;
        let most_fpm = Finite::new(self.targets.greatest_velocity_fpm, "greatest velocity")?;
        let mut refusals = Vec::new();
        if candidate.loss_k > limit_k {
            refusals.push(SuctionRefusal::LossTooGreat {
                loss_k: candidate.loss_k,
                limit_k,
            });
        }
        let level = candidate.level_velocity_fpm;
        if self.runs.level_ft > 0.0 && level < least_level {
            refusals.push(SuctionRefusal::LevelTooSlow {
                fpm: level,
                least_fpm: least_level,
            });
        }
        if let Some(riser) = candidate.riser_velocity_fpm.filter(|fpm| *fpm < least_riser) {
            refusals.push(SuctionRefusal::RiserTooSlow {
                fpm: riser,
                least_fpm: least_riser,
            });
        }
        if candidate.greatest_velocity_fpm > most_fpm {
            refusals.push(SuctionRefusal::TooFast {
                fpm: candidate.greatest_velocity_fpm,
                most_fpm,
            });
        }
        Ok(refusals)
    }

    fn tell(&self, chosen: &SuctionCandidate, at_stub: &SuctionCandidate, findings: &mut Vec<Finding>) {
        let size = chosen.main.size();
        if !chosen.fits() {
            findings.push(Finding::caution(
                "line_set.suction_no_size_fits",
                format!(
                    "No suction size does; in {size} the {}. Ask the unit's data sheet.",
                    told(chosen)
                ),
                SUCTION_SOURCE,
            ));
        } else if size != at_stub.main.size() {
            findings.push(Finding::caution(
                "line_set.suction_not_stub_size",
                format!(
                    "Suction line in {size} instead of the unit's {}: there the {}.",
                    at_stub.main.size(),
                    told(at_stub)
                ),
                SUCTION_SOURCE,
            ));
        }
        if chosen.riser_reduced() {
            findings.push(Finding::caution(
                "line_set.riser_reduced",
                format!(
                    "Risers in {} instead of {size}: in {size} the gas would rise at {:.0} ft/min, under {:.0} ft/min.",
                    chosen.riser.size(),
                    self.velocity_fpm(&chosen.main, self.flow.least_capacity_w),
                    self.targets.riser_velocity_fpm
                ),
                SUCTION_SOURCE,
            ));
        }
        let share = chosen.friction_pa.get() / self.flow.suction_pressure_pa;
        if share > INCOMPRESSIBLE_SHARE {
            findings.push(Finding::caution(
                "line_set.loss_beyond_method",
                format!(
                    "The suction line loses {:.0} % of its pressure; the method takes the gas as of one density and holds to {:.0} %.",
                    share * 100.0,
                    INCOMPRESSIBLE_SHARE * 100.0
                ),
                "usual limit of Darcy–Weisbach for gases, from memory",
            ));
        }
    }
}

/// Each tube and the next smaller one.
fn with_smaller(tubes: &[Tube]) -> impl Iterator<Item = (&Tube, Option<&Tube>)> {
    let smaller = std::iter::once(None).chain(tubes.iter().map(Some));
    tubes.iter().zip(smaller)
}

fn told(candidate: &SuctionCandidate) -> String {
    let reasons: Vec<String> = candidate.refusals.iter().map(ToString::to_string).collect();
    reasons.join("; ")
}
