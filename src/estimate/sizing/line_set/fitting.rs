//! Bends, traps and joints of a line: their equivalent length and how many there are.

use super::tube::{Tube, TubeKind};
use crate::sizing::route::{Direction, Leg};

/// Where the equivalent lengths come from.
pub const FITTING_SOURCE: &str = "published equivalent-length constants, Le = K × inner diameter; \
     a field bend as a long-radius elbow, 0.65 of a short one (from memory)";

/// Risers lower than this are held to the velocity of level runs and get no trap
/// (common practice, no source).
pub const RISER_FROM_FT: f64 = 5.0;

/// A thing in a line that costs more pressure than straight tube.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fitting {
    /// Short-radius elbow of 90°.
    Elbow90,
    /// Elbow of 45°.
    Elbow45,
    /// Tube bent on site, as a long-radius elbow.
    FieldBend,
    /// Straight through a tee.
    TeeRun,
    /// Out of the branch of a tee.
    TeeBranch,
    /// Oil trap, as three elbows of 90°.
    OilTrap,
}

impl Fitting {
    /// Equivalent length in inner diameters.
    #[must_use]
    pub const fn diameters(self) -> f64 {
        match self {
            Fitting::Elbow90 => 30.0,
            Fitting::Elbow45 => 16.0,
            Fitting::FieldBend => 0.65 * 30.0,
            Fitting::TeeRun => 20.0,
            Fitting::TeeBranch => 60.0,
            Fitting::OilTrap => 3.0 * 30.0,
        }
    }

    /// Equivalent length in a tube, ft.
    #[must_use]
    pub fn equivalent_ft(self, tube: &Tube) -> f64 {
        self.diameters() * tube.inner_in() / 12.0
    }

    /// What a 90° turn is in a kind of tube.
    #[must_use]
    pub const fn turn(kind: TubeKind) -> Self {
        match kind {
            TubeKind::CoilAnnealed => Fitting::FieldBend,
            TubeKind::StraightDrawn => Fitting::Elbow90,
        }
    }
}

/// Legs of a route sorted for the suction gas: what stands as a riser and what does not.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Runs {
    pub level_ft: f64,
    pub level_bends: u32,
    pub riser_ft: f64,
    pub riser_bends: u32,
    pub risers: u32,
    pub traps: u32,
}

impl Runs {
    /// Sorts legs; neighbouring rises count as one riser.
    pub fn of(legs: &[Leg], trap_every_ft: f64) -> Self {
        let mut runs = Runs::default();
        for group in legs.chunk_by(|a, b| a.direction == b.direction) {
            let length_ft: f64 = group.iter().map(|leg| leg.length_ft).sum();
            let bends = group.iter().map(|leg| leg.bends).sum::<u32>();
            let rises = group.first().is_some_and(|leg| leg.direction == Direction::Rise);
            if rises && length_ft >= RISER_FROM_FT {
                runs.riser_ft += length_ft;
                runs.riser_bends += bends;
                runs.risers += 1;
                runs.traps += oil_traps(length_ft, trap_every_ft);
            } else {
                runs.level_ft += length_ft;
                runs.level_bends += bends;
            }
        }
        runs
    }
}

/// Oil traps of one riser: at its foot and about every `every_ft` above; none under
/// [`RISER_FROM_FT`]. Source: common practice, 1 + ⌊(riser − 1) / 20⌋ for every 20 ft.
#[must_use]
pub fn oil_traps(riser_ft: f64, every_ft: f64) -> u32 {
    if riser_ft < RISER_FROM_FT {
        return 0;
    }
    // Bounded by the longest route over the shortest spacing, so the conversion loses nothing.
    1 + ((riser_ft - 1.0) / every_ft).floor() as u32
}

/// Brazed joints of one line, by what makes them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Joints {
    /// One at each unit.
    pub ends: u32,
    /// Couplings between pieces of tube; two joints each.
    pub couplings: u32,
    /// Elbow fittings; two joints each.
    pub elbows: u32,
    /// Oil traps; two joints each.
    pub traps: u32,
    /// Reducers at the ends of risers of another size; two joints each.
    pub reducers: u32,
}

impl Joints {
    /// Sockets to braze.
    #[must_use]
    pub const fn brazed(&self) -> u32 {
        self.ends + 2 * (self.couplings + self.elbows + self.traps + self.reducers)
    }

    /// Counts the joints of a line of `legs` out of pieces `piece_ft` long.
    ///
    /// Coils are cut along the whole line and bent; straight lengths are cut leg by leg and turned
    /// with elbow fittings.
    pub(super) fn of(legs: &[Leg], kind: TubeKind, piece_ft: f64, traps: u32, reducers: u32) -> Self {
        let (couplings, elbows) = match kind {
            TubeKind::CoilAnnealed => (couplings(legs.iter().map(|leg| leg.length_ft).sum(), piece_ft), 0),
            TubeKind::StraightDrawn => (
                legs.iter().map(|leg| couplings(leg.length_ft, piece_ft)).sum(),
                legs.iter().map(|leg| leg.bends).sum(),
            ),
        };
        Joints {
            ends: 2,
            couplings,
            elbows,
            traps,
            reducers,
        }
    }
}

/// Couplings in a straight stretch: one fewer than its pieces.
fn couplings(length_ft: f64, piece_ft: f64) -> u32 {
    ((length_ft / piece_ft).ceil() as u32).saturating_sub(1)
}
