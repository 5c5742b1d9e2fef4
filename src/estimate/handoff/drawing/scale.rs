//! From the building to the sheet: a scale that fits, and routes whose legs lie beside one another.

use super::elevation::{Block, Elevation, Stretch};
use super::plane::{Area, Point};
use super::sheet::WIDTH;
use crate::handoff::figure::{Reader, quantity};
use crate::handoff::paper_fault::PaperFault;
use crate::handoff::routes::{self, Place};

/// Widest and highest figure; around it labels find room.
const FIGURE: (i64, i64) = (14_000, 6_600);
/// Air over and under the figure.
const MARGIN: i64 = 1_300;
/// Scales in use, as 1 to this.
const SCALES: [i64; 21] = [
    20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500, 600, 750, 1_000, 2_000, 5_000, 10_000,
];
/// Side step between two upright legs that would lie on one another, and the most of all of them together.
const JOG: i64 = 180;
const JOGS: i64 = 5_000;

/// A route on paper, leg by leg.
pub type Legs = Vec<(Point, Point)>;

/// From the building to the sheet.
pub struct Paper {
    /// 1 to this.
    pub scale: i64,
    /// Height of the figure with the air over and under it.
    pub height: i64,
    left: i64,
    top: i64,
    offset: i64,
    jog: i64,
}

impl Paper {
    /// The largest scale in use at which all of it fits.
    pub fn of(elevation: &Elevation) -> Result<Self, PaperFault> {
        let bounds: Block = elevation.bounds();
        let (wide, high) = (bounds.right - bounds.left, bounds.top - bounds.bottom);
        let (right, left) = (turns(&elevation.line_set), turns(&elevation.drain));
        let jog = JOG.min(JOGS / (right + left).max(1));
        let room = FIGURE.0 - (right + left) * jog;
        let fits = |scale: &i64| wide * 100 / scale <= room && high * 100 / scale <= FIGURE.1;
        let scale = SCALES.into_iter().find(fits);
        let scale = scale.ok_or(PaperFault::TooLarge("the route"))?;
        Ok(Self {
            scale,
            height: high * 100 / scale + 2 * MARGIN,
            left: bounds.left,
            top: bounds.top,
            offset: (WIDTH - wide * 100 / scale - (right + left) * jog) / 2 + left * jog,
            jog,
        })
    }

    /// A place on paper.
    pub fn point(&self, place: Place) -> Point {
        Point {
            x: self.offset + (place.x - self.left) * 100 / self.scale,
            y: MARGIN + (self.top - place.y) * 100 / self.scale,
        }
    }

    /// A block on paper.
    pub fn area(&self, block: &Block) -> Area {
        let corner = |x, y| self.point(Place { x, y });
        Area::between(
            corner(block.left, block.bottom),
            corner(block.right, block.top),
            0,
        )
    }

    /// A route leg by leg, to the right or to the left. An upright leg that would go back over the one before stands
    /// beside it.
    pub fn path(&self, route: &[Stretch], side: i64) -> Legs {
        let mut shift = 0;
        let mut before: Option<&Stretch> = None;
        let mut legs = Vec::with_capacity(route.len());
        for stretch in route {
            if before.is_some_and(|before| turns_back(before, stretch)) {
                shift += side * self.jog;
            }
            let moved = |place| {
                let point = self.point(place);
                Point {
                    x: point.x + shift,
                    ..point
                }
            };
            legs.push((moved(stretch.from), moved(stretch.to)));
            before = Some(stretch);
        }
        legs
    }

    /// A bar of a round length, in the reader's unit.
    pub fn bar(&self, reader: Reader) -> Result<(i64, String), PaperFault> {
        let unit = reader.measures.length()?;
        let rounds = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000];
        for round in rounds {
            let length = crate::quantity::Quantity {
                value: round.into(),
                unit,
            };
            let paper = routes::millimetres(&length)? * 100 / self.scale;
            if paper >= 1_000 {
                return Ok((paper, quantity(&length)));
            }
        }
        Err(PaperFault::TooLarge("the route"))
    }
}

fn turns_back(before: &Stretch, stretch: &Stretch) -> bool {
    let upright = |one: &Stretch| one.from.x == one.to.x;
    let up = |one: &Stretch| one.to.y > one.from.y;
    upright(before) && upright(stretch) && up(before) != up(stretch)
}

/// How often a route turns back over itself.
fn turns(route: &[Stretch]) -> i64 {
    let pairs = route.iter().zip(route.iter().skip(1));
    pairs
        .map(|(before, stretch)| i64::from(turns_back(before, stretch)))
        .sum()
}
