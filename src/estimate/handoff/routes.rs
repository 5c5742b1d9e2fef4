//! Routes as places: where each leg begins and ends, unfolded into one plane, in mm.

use super::paper_fault::PaperFault;
use super::survey::{Leg, Survey};
use crate::job::choices::Direction;
use crate::quantity::rounding::{Mode, count};
use crate::quantity::unit::Unit;
use crate::quantity::{Decimal, Quantity};

/// Side that is drawn for a cellar of which only the volume is known, as a part of its height; mm.
const USUAL_HEIGHT: i64 = 2_400;
/// Longest length that is drawn, mm: a hundred times the longest leg that the form takes.
const LONGEST: i64 = 10_000_000;

/// A place in the unfolded plane: `x` away from the ceiling unit, `y` above where the route begins. In mm.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Place {
    /// Along the route.
    pub x: i64,
    /// Upward.
    pub y: i64,
}

/// A leg and where it lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Run<'s> {
    /// The leg.
    pub leg: &'s Leg,
    /// Where it begins.
    pub from: Place,
    /// Where it ends.
    pub to: Place,
}

/// The legs one behind the other.
///
/// # Errors
/// A length is not one, or beyond what is drawn.
pub fn unfold(legs: &[Leg]) -> Result<Vec<Run<'_>>, PaperFault> {
    let mut at = Place::default();
    let mut runs = Vec::with_capacity(legs.len());
    for leg in legs {
        let (from, length) = (at, millimetres(&leg.length)?);
        let fall = leg.fall.as_ref().map(millimetres).transpose()?.unwrap_or(0);
        match leg.direction {
            Direction::Rise => at.y += length,
            Direction::Drop => at.y -= length,
            Direction::Level => {
                at.x += length;
                at.y -= fall;
            }
        }
        runs.push(Run { leg, from, to: at });
    }
    Ok(runs)
}

/// A length in whole mm.
///
/// # Errors
/// It is not a length, or beyond what is drawn.
pub fn millimetres(length: &Quantity) -> Result<i64, PaperFault> {
    let millimetre = Unit::parse("mm")?;
    let value = length.unit.convert(length.value, &millimetre)?;
    count(value, 0, Mode::HalfUp)
        .filter(|whole| whole.abs() <= LONGEST)
        .ok_or(PaperFault::TooLarge("a length"))
}

/// Width and height of the cellar, mm: its length and height, or those of a cellar of its volume with a square
/// floor.
///
/// # Errors
/// A side is no length.
pub fn cellar(survey: &Survey) -> Result<(i64, i64), PaperFault> {
    let cellar = &survey.cellar;
    if let (Some(length), Some(height)) = (&cellar.length, &cellar.height) {
        return Ok((millimetres(length)?, millimetres(height)?));
    }
    let volume = cellar
        .volume
        .as_ref()
        .ok_or_else(|| PaperFault::unreadable("job", "the cellar has neither sides nor a volume"))?;
    let litres = volume.unit.convert(volume.value, &Unit::parse("L")?)?;
    let litres = count(litres, 0, Mode::HalfUp).ok_or(PaperFault::TooLarge("the volume"))?;
    // 1 L is 1,000,000 mm³.
    let floor = litres.saturating_mul(1_000_000) / USUAL_HEIGHT;
    Ok((floor.max(1).isqrt(), USUAL_HEIGHT))
}

/// The length of all legs, in the unit of the first.
///
/// # Errors
/// A length is not one, or the sum does not fit.
pub fn total(legs: &[Leg]) -> Result<Option<Quantity>, PaperFault> {
    let Some(first) = legs.first() else {
        return Ok(None);
    };
    let unit = first.length.unit;
    let mut value = Decimal::ZERO;
    for leg in legs {
        let more = leg.length.unit.convert(leg.length.value, &unit)?;
        value = value.checked_add(more).ok_or(PaperFault::TooLarge("the route"))?;
    }
    Ok(Some(Quantity { value, unit }))
}
