//! Routes: the line set and the drain, leg by leg.

use serde::Deserialize;

use crate::job::choices::{Choice, Direction, Discharge, PenetrationConstruction, Space, Tube};
use crate::quantity::Decimal;
use crate::quantity::measure::{Dimension, Length};

/// The line set.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineSet {
    /// Legs from the unit to the condensing unit; at least one.
    pub legs: Vec<Leg>,
    /// The copper.
    pub tube: Tube,
    /// What is penetrated.
    pub penetrations: Vec<Penetration>,
}

/// One straight leg of a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Leg {
    /// Which way it goes.
    pub direction: Direction,
    /// How long it is.
    pub length: Length,
    /// The space that it passes through.
    pub space: Space,
    /// Right-angle bends on it.
    pub bends: u32,
}

/// Penetrations of one kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Penetration {
    /// What is penetrated.
    pub construction: PenetrationConstruction,
    /// It must be closed with a listed firestop.
    pub fire_rated: bool,
    /// How many.
    pub count: u32,
}

/// The drain.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drain {
    /// Legs from the outlet of the pan to the discharge; at least one.
    pub legs: Vec<DrainLeg>,
    /// Where it discharges.
    pub discharge: Discharge,
    /// How far the discharge lies below the outlet, as measured; below zero when it lies higher.
    #[serde(default)]
    pub discharge_below_outlet: Option<Length>,
}

/// One leg of the drain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DrainLeg {
    /// Which way it goes.
    pub direction: Direction,
    /// How long it is.
    pub length: Length,
    /// The space that it passes through.
    pub space: Space,
    /// Right-angle bends on it.
    pub bends: u32,
    /// How much lower the far end of a level leg may lie; none is available when it is not given.
    #[serde(default)]
    pub fall: Option<Dimension>,
}

impl DrainLeg {
    /// How much higher the far end lies than the near one, in ft.
    pub fn climb(&self) -> Decimal {
        match self.direction {
            Direction::Rise => self.length.0,
            Direction::Drop => -self.length.0,
            // 12 in to the ft.
            Direction::Level => -(self.fall.unwrap_or_default().0 / Decimal::from(12)),
        }
    }
}

/// Sums over a route.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct RouteSums {
    /// Length of all legs, ft.
    pub length: Decimal,
    /// Length of the rising legs, ft.
    pub rise: Decimal,
    /// Length of the dropping legs, ft.
    pub drop: Decimal,
    /// Bends on all legs.
    pub bends: u32,
    /// Number of legs.
    pub segments: u32,
    by_space: [Decimal; Space::WORDS.len()],
}

// The form bounds the length of a leg and their number, so that no sum comes near the range of its type.
impl RouteSums {
    fn of(legs: impl Iterator<Item = Leg>) -> Self {
        let mut sums = Self::default();
        for leg in legs {
            sums.length += leg.length.0;
            match leg.direction {
                Direction::Rise => sums.rise += leg.length.0,
                Direction::Drop => sums.drop += leg.length.0,
                Direction::Level => {}
            }
            sums.bends = sums.bends.saturating_add(leg.bends);
            sums.segments = sums.segments.saturating_add(1);
            if let Some(sum) = sums.by_space.get_mut(leg.space.index()) {
                *sum += leg.length.0;
            }
        }
        sums
    }

    /// Length in one kind of space, ft.
    pub fn in_space(&self, space: Space) -> Decimal {
        self.by_space.get(space.index()).copied().unwrap_or_default()
    }
}

impl LineSet {
    /// Sums over the legs.
    pub fn sums(&self) -> RouteSums {
        RouteSums::of(self.legs.iter().copied())
    }
}

impl Drain {
    /// Sums over the legs.
    pub fn sums(&self) -> RouteSums {
        RouteSums::of(self.legs.iter().map(|leg| Leg {
            direction: leg.direction,
            length: leg.length,
            space: leg.space,
            bends: leg.bends,
        }))
    }

    /// Height of the far end of each leg above the outlet of the pan, in ft.
    pub fn elevations(&self) -> impl Iterator<Item = Decimal> + '_ {
        self.legs.iter().scan(Decimal::ZERO, |height, leg| {
            *height += leg.climb();
            Some(*height)
        })
    }
}
