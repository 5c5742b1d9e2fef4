//! A route as the survey gives it, leg by leg, and its profile: distance and height along the way.

use super::finite::{Finite, NotFinite};
use super::range::{InputFault, within};

/// Most legs of one route; a survey has about ten.
pub const MOST_LEGS: usize = 200;
/// Longest leg taken, ft.
const LONGEST_LEG_FT: f64 = 2_000.0;
/// Most bends taken in one leg.
const MOST_BENDS: u32 = 200;

/// Where a leg goes, walking from the indoor unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Direction {
    /// Along, neither up nor down but for the pitch that the trade gives it.
    Level,
    /// Straight up.
    Rise,
    /// Straight down.
    Drop,
}

/// A straight piece of a route.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Where it goes.
    pub direction: Direction,
    /// Its length, ft.
    pub length_ft: f64,
    /// Bends of 90° in it and at its far end.
    pub bends: u32,
}

/// A place on a route.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Legs walked before it: 0 at the start, the number of legs at the end.
    pub after_leg: usize,
    /// Distance walked from the start, ft.
    pub distance_ft: Finite,
    /// Height above the start, ft; negative below it.
    pub height_ft: Finite,
}

/// The ends of all legs in order, the start first.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    places: Vec<Place>,
}

impl Profile {
    /// Walks legs given as (length, height gained), both in ft.
    pub(super) fn walk(steps: impl ExactSizeIterator<Item = (f64, f64)>) -> Result<Self, NotFinite> {
        let mut here = START;
        let mut places = Vec::with_capacity(steps.len() + 1);
        places.push(here);
        for (length_ft, gain_ft) in steps {
            here = Place {
                after_leg: here.after_leg + 1,
                distance_ft: Finite::new(here.distance_ft.get() + length_ft, "distance along a route")?,
                height_ft: Finite::new(here.height_ft.get() + gain_ft, "height along a route")?,
            };
            places.push(here);
        }
        Ok(Profile { places })
    }

    /// All places, the start first.
    #[must_use]
    pub fn places(&self) -> &[Place] {
        &self.places
    }

    /// The far end.
    #[must_use]
    pub fn end(&self) -> Place {
        self.places.last().copied().unwrap_or(START)
    }

    /// The highest place; the first of them where several are equally high.
    #[must_use]
    pub fn highest(&self) -> Place {
        self.places.iter().copied().fold(START, |top, place| {
            if place.height_ft > top.height_ft {
                place
            } else {
                top
            }
        })
    }
}

const START: Place = Place {
    after_leg: 0,
    distance_ft: Finite::ZERO,
    height_ft: Finite::ZERO,
};

/// Checks legs and gives the profile of the route.
///
/// # Errors
/// No legs, more than [`MOST_LEGS`], a length that is not above zero or too long, too many bends.
pub fn profile(legs: &[Leg]) -> Result<Profile, InputFault> {
    check_legs(legs)?;
    Ok(Profile::walk(
        legs.iter().map(|leg| (leg.length_ft, gain_ft(leg))),
    )?)
}

/// Checks the legs of a route without walking them.
///
/// # Errors
/// As [`profile`].
pub(super) fn check_legs(legs: &[Leg]) -> Result<(), InputFault> {
    if legs.is_empty() {
        return Err(InputFault::Unusable {
            field: "route",
            why: "it has no legs",
        });
    }
    if legs.len() > MOST_LEGS {
        return Err(InputFault::Unusable {
            field: "route",
            why: "it has more than 200 legs",
        });
    }
    for leg in legs {
        within(
            "length of a leg",
            leg.length_ft,
            (f64::MIN_POSITIVE, LONGEST_LEG_FT),
            "ft",
        )?;
        within(
            "bends in a leg",
            f64::from(leg.bends),
            (0.0, f64::from(MOST_BENDS)),
            "bends",
        )?;
    }
    Ok(())
}

/// Height gained along a leg, ft.
#[must_use]
pub fn gain_ft(leg: &Leg) -> f64 {
    match leg.direction {
        Direction::Level => 0.0,
        Direction::Rise => leg.length_ft,
        Direction::Drop => -leg.length_ft,
    }
}
