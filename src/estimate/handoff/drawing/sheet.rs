//! The elevation on paper: strokes and shapes in hundredths of a mm, labels in their places.

use super::WIDTH_MM;
use super::elevation::Elevation;
use super::labels::{Entry, Label, Placed, place};
use super::plane::{Area, Point};
use super::scale::{Legs, Paper};
use super::wanted::wanted;
use crate::handoff::figure::Reader;
use crate::handoff::paper_fault::PaperFault;
use crate::handoff::routes::Place;
use crate::handoff::survey::Survey;

/// Width of the sheet, hundredths of a mm.
pub const WIDTH: i64 = WIDTH_MM as i64 * 100;
/// Half of a small symbol.
pub const SYMBOL: i64 = 110;
/// Air over the sheet's highest thing, and under its lowest.
const AIR: i64 = 200;
/// Room that a line takes on both sides of its middle.
const STROKE: i64 = 45;

/// How a stroke is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    LineSet,
    Drain,
    Cable,
    Wall,
    Thin,
}

/// What is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shape {
    Path(Vec<Point>, Stroke),
    Box(Area, Stroke),
    Circle(Point, i64),
    Diamond(Point),
    Triangle(Point),
}

/// The sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    pub height: i64,
    /// Lower edge of figure and labels; under it stand the strokes' names and the scale.
    pub figure_bottom: i64,
    pub scale: i64,
    pub shapes: Vec<Shape>,
    pub labels: Vec<Label>,
    /// What the labels stand for, where they are numbers.
    pub key: Vec<Entry>,
    /// Length of the scale's bar on paper, and what it is in the building.
    pub bar: (i64, String),
}

impl Shape {
    /// The rectangle around it.
    fn bounds(&self) -> Area {
        match self {
            Self::Path(points, _) => points.iter().fold(
                Area::around(points.first().copied().unwrap_or_default(), 0),
                |sum, point| sum.and(&Area::around(*point, STROKE)),
            ),
            Self::Box(area, _) => *area,
            Self::Circle(middle, radius) => Area::around(*middle, *radius),
            Self::Diamond(middle) | Self::Triangle(middle) => Area::around(*middle, SYMBOL),
        }
    }

    fn raised(self, by: i64) -> Self {
        match self {
            Self::Path(points, stroke) => {
                Self::Path(points.into_iter().map(|point| point.raised(by)).collect(), stroke)
            }
            Self::Box(area, stroke) => Self::Box(area.raised(by), stroke),
            Self::Circle(middle, radius) => Self::Circle(middle.raised(by), radius),
            Self::Diamond(middle) => Self::Diamond(middle.raised(by)),
            Self::Triangle(middle) => Self::Triangle(middle.raised(by)),
        }
    }
}

/// Puts the elevation on paper.
pub fn lay_out(elevation: &Elevation, survey: &Survey, reader: Reader) -> Result<Sheet, PaperFault> {
    let paper = Paper::of(elevation)?;
    let line_set = paper.path(&elevation.line_set, 1);
    let drain = paper.path(&elevation.drain, -1);
    let shapes = shapes(elevation, &paper, &line_set, &drain);
    let wanted = wanted(elevation, survey, reader, &paper, (&line_set, &drain))?;
    let sheet = Area {
        left: 100,
        top: 100,
        right: WIDTH - 100,
        bottom: paper.height - 100,
    };
    let placed = place(&wanted, &taken(&shapes), sheet);
    Ok(trimmed(shapes, placed, paper.scale, paper.bar(reader)?))
}

/// The sheet without the room over and under the figure that no label took.
fn trimmed(shapes: Vec<Shape>, placed: Placed, scale: i64, bar: (i64, String)) -> Sheet {
    let bounds: Vec<Area> = shapes.iter().map(Shape::bounds).collect();
    let tops = bounds.iter().chain(placed.labels.iter().map(|label| &label.area));
    let by = tops.map(|area| area.top).min().unwrap_or(AIR) - AIR;
    let lowest = bounds.iter().map(|area| area.bottom).chain([placed.bottom]).max();
    let figure_bottom = lowest.unwrap_or(0) - by + AIR;
    let label = |label: Label| Label {
        area: label.area.raised(by),
        of: label.of.raised(by),
        leader: label.leader.map(|(from, to)| (from.raised(by), to.raised(by))),
        ..label
    };
    let entry = |entry: Entry| Entry {
        number: entry.number.raised(by),
        area: entry.area.raised(by),
        ..entry
    };
    Sheet {
        height: figure_bottom + 800,
        figure_bottom,
        scale,
        shapes: shapes.into_iter().map(|shape| shape.raised(by)).collect(),
        labels: placed.labels.into_iter().map(label).collect(),
        key: placed.key.into_iter().map(entry).collect(),
        bar,
    }
}

/// Where a route ends.
pub fn end(legs: &Legs, paper: &Paper, or: Place) -> Point {
    legs.last().map_or(paper.point(or), |(_, to)| *to)
}

/// The condensing unit, at the end of its line set.
pub fn condenser(elevation: &Elevation, paper: &Paper, line_set: &Legs) -> Area {
    let drawn = paper.area(&elevation.condenser);
    let left = end(line_set, paper, Place::default()).x;
    Area {
        left,
        right: left + drawn.right - drawn.left,
        ..drawn
    }
}

/// Where a place of the drain is drawn.
pub fn corner(elevation: &Elevation, paper: &Paper, drain: &Legs, place: Place) -> Point {
    let at = elevation.drain.iter().position(|stretch| stretch.to == place);
    let leg = at.and_then(|at| drain.get(at));
    leg.map_or(paper.point(place), |(_, to)| *to)
}

fn shapes(elevation: &Elevation, paper: &Paper, line_set: &Legs, drain: &Legs) -> Vec<Shape> {
    let points = |legs: &Legs| {
        let mut points: Vec<Point> = legs.iter().flat_map(|(from, to)| [*from, *to]).collect();
        points.dedup();
        points
    };
    let condenser = condenser(elevation, paper, line_set);
    let unit = paper.area(&elevation.unit);
    let controller = paper.point(elevation.controller);
    let cable = Point {
        x: controller.x,
        y: unit.bottom,
    };
    let mut shapes = vec![
        Shape::Box(paper.area(&elevation.cellar), Stroke::Wall),
        Shape::Box(unit, Stroke::Thin),
        Shape::Path(
            vec![
                controller,
                cable,
                Point {
                    x: unit.left,
                    ..cable
                },
            ],
            Stroke::Cable,
        ),
        Shape::Path(points(line_set), Stroke::LineSet),
        Shape::Path(points(drain), Stroke::Drain),
        Shape::Box(condenser, Stroke::Thin),
        Shape::Circle(
            Point {
                x: (condenser.left + condenser.right) / 2,
                y: (condenser.top + condenser.bottom) / 2,
            },
            (condenser.bottom - condenser.top) / 3,
        ),
        Shape::Box(Area::around(controller, SYMBOL), Stroke::Thin),
        Shape::Triangle(end(drain, paper, elevation.discharge)),
    ];
    shapes.extend(
        elevation
            .antisiphon
            .map(|place| Shape::Diamond(corner(elevation, paper, drain, place))),
    );
    shapes.extend(
        elevation
            .probe
            .map(|place| Shape::Circle(paper.point(place), SYMBOL / 2)),
    );
    shapes
}

/// Where something stands that no label may stand on.
fn taken(shapes: &[Shape]) -> Vec<Area> {
    let mut taken = Vec::new();
    for shape in shapes {
        match shape {
            Shape::Path(points, _) => {
                let pairs = points.iter().zip(points.iter().skip(1));
                taken.extend(pairs.map(|(from, to)| Area::between(*from, *to, STROKE)));
            }
            // Labels may stand inside the cellar, but not on its walls.
            Shape::Box(area, Stroke::Wall) => {
                let corners = [
                    (area.left, area.top, area.right, area.top),
                    (area.left, area.bottom, area.right, area.bottom),
                    (area.left, area.top, area.left, area.bottom),
                    (area.right, area.top, area.right, area.bottom),
                ];
                taken.extend(corners.map(|(x1, y1, x2, y2)| {
                    Area::between(Point { x: x1, y: y1 }, Point { x: x2, y: y2 }, STROKE)
                }));
            }
            Shape::Box(area, _) => taken.push(*area),
            Shape::Circle(middle, radius) => taken.push(Area::around(*middle, *radius)),
            Shape::Diamond(middle) | Shape::Triangle(middle) => taken.push(Area::around(*middle, SYMBOL)),
        }
    }
    taken
}
