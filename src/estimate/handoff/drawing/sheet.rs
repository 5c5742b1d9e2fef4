//! The elevation on paper: a scale that fits, strokes and shapes in hundredths of a mm, labels in their places.

use super::elevation::{Block, Elevation, Stretch};
use super::labels::{Area, Label, Point, Wanted, place};
use super::{WIDTH_MM, lettering};
use crate::handoff::figure;
use crate::handoff::paper_fault::PaperFault;
use crate::handoff::routes::{self, Place};
use crate::handoff::survey::{Leg, Survey};
use crate::handoff::words::Language;
use crate::job::choices::Direction;
use crate::quantity::unit::Unit;

/// Width of the sheet, hundredths of a mm.
pub const WIDTH: i64 = WIDTH_MM as i64 * 100;
/// Widest and highest figure; around it labels find room.
const FIGURE: (i64, i64) = (14_000, 6_600);
/// Air over and under the figure.
const MARGIN: i64 = 1_300;
/// Scales in use, as 1 to this.
const SCALES: [i64; 21] = [
    20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500, 600, 750, 1_000, 2_000, 5_000, 10_000,
];
/// Side step between two upright legs that would lie on one another.
const JOG: i64 = 180;
/// Half of a small symbol.
const SYMBOL: i64 = 110;
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
    /// Length of the scale's bar on paper, and what it is in the building.
    pub bar: (i64, String),
}

/// Puts the elevation on paper.
pub fn lay_out(elevation: &Elevation, survey: &Survey, language: Language) -> Result<Sheet, PaperFault> {
    let bounds = elevation.bounds();
    let paper = Paper::of(&bounds)?;
    let line_set = paper.path(&elevation.line_set);
    let drain = paper.path(&elevation.drain);
    let shapes = shapes(elevation, &paper, &line_set, &drain);
    let wanted = wanted(elevation, survey, language, &paper, (&line_set, &drain))?;
    let sheet = Area {
        left: 100,
        top: 100,
        right: WIDTH - 100,
        bottom: paper.height - 100,
    };
    let (labels, lower) = place(wanted, taken(&shapes), sheet);
    Ok(Sheet {
        height: lower + 900,
        figure_bottom: lower + 100,
        scale: paper.scale,
        shapes,
        labels,
        bar: paper.bar(survey)?,
    })
}

/// From the building to the sheet.
struct Paper {
    scale: i64,
    left: i64,
    top: i64,
    offset: i64,
    height: i64,
}

impl Paper {
    fn of(bounds: &Block) -> Result<Self, PaperFault> {
        let (wide, high) = (bounds.right - bounds.left, bounds.top - bounds.bottom);
        let fits = |scale: &i64| wide * 100 / scale <= FIGURE.0 && high * 100 / scale <= FIGURE.1;
        let scale = SCALES.into_iter().find(fits);
        let scale = scale.ok_or(PaperFault::TooLarge("the route"))?;
        Ok(Self {
            scale,
            left: bounds.left,
            top: bounds.top,
            offset: (WIDTH - wide * 100 / scale) / 2,
            height: high * 100 / scale + 2 * MARGIN,
        })
    }

    fn point(&self, place: Place) -> Point {
        Point {
            x: self.offset + (place.x - self.left) * 100 / self.scale,
            y: MARGIN + (self.top - place.y) * 100 / self.scale,
        }
    }

    fn area(&self, block: &Block) -> Area {
        let corner = |x, y| self.point(Place { x, y });
        Area::between(
            corner(block.left, block.bottom),
            corner(block.right, block.top),
            0,
        )
    }

    /// A route leg by leg. An upright leg that would go back over the one before stands beside it.
    fn path(&self, route: &[Stretch]) -> Vec<(Point, Point)> {
        let mut shift = 0;
        let mut before: Option<&Stretch> = None;
        let mut legs = Vec::with_capacity(route.len());
        for stretch in route {
            let upright = |one: &Stretch| one.from.x == one.to.x;
            let back = before.filter(|before| upright(before) && upright(stretch));
            if back.is_some_and(|before| (before.to.y > before.from.y) != (stretch.to.y > stretch.from.y)) {
                shift += if stretch.from.x < 0 { -JOG } else { JOG };
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

    /// A bar of a round length, in the unit in which the survey speaks.
    fn bar(&self, survey: &Survey) -> Result<(i64, String), PaperFault> {
        let unit = length_unit(survey)?;
        let rounds = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000];
        for round in rounds {
            let length = crate::quantity::Quantity {
                value: round.into(),
                unit,
            };
            let paper = routes::millimetres(&length)? * 100 / self.scale;
            if paper >= 1_000 {
                return Ok((paper, figure::quantity(&length)));
            }
        }
        Err(PaperFault::TooLarge("the route"))
    }
}

/// Metres where the survey speaks of them, else feet.
fn length_unit(survey: &Survey) -> Result<Unit, PaperFault> {
    let metre = Unit::parse("m")?;
    let first = survey.line_set.legs.first();
    Ok(if first.is_some_and(|leg| leg.length.unit == metre) {
        metre
    } else {
        Unit::FT
    })
}

type Legs = Vec<(Point, Point)>;

fn shapes(elevation: &Elevation, paper: &Paper, line_set: &Legs, drain: &Legs) -> Vec<Shape> {
    let points = |legs: &Legs| {
        let mut points: Vec<Point> = legs.iter().flat_map(|(from, to)| [*from, *to]).collect();
        points.dedup();
        points
    };
    let shifted = |legs: &Legs, or: Place| legs.last().map_or(paper.point(or), |(_, to)| *to);
    let end = shifted(line_set, Place::default());
    let condenser = {
        let drawn = paper.area(&elevation.condenser);
        Area {
            left: end.x,
            right: end.x + drawn.right - drawn.left,
            ..drawn
        }
    };
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
        Shape::Box(Area::between(controller, controller, SYMBOL), Stroke::Thin),
        Shape::Triangle(shifted(drain, elevation.discharge)),
    ];
    let corner = |place: Place| {
        let at = elevation.drain.iter().position(|stretch| stretch.to == place);
        let leg = at.and_then(|at| drain.get(at));
        leg.map_or(paper.point(place), |(_, to)| *to)
    };
    shapes.extend(elevation.antisiphon.map(|place| Shape::Diamond(corner(place))));
    shapes.extend(
        elevation
            .probe
            .map(|place| Shape::Circle(paper.point(place), SYMBOL / 2)),
    );
    shapes
}

/// Where something stands that no label may stand on.
fn taken(shapes: &[Shape]) -> Vec<Area> {
    let around = |point: Point, half: i64| Area::between(point, point, half);
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
            Shape::Circle(middle, radius) => taken.push(around(*middle, *radius)),
            Shape::Diamond(middle) | Shape::Triangle(middle) => taken.push(around(*middle, SYMBOL)),
        }
    }
    taken
}

/// The labels, those of things before those of legs.
fn wanted(
    elevation: &Elevation,
    survey: &Survey,
    language: Language,
    paper: &Paper,
    (line_set, drain): (&Legs, &Legs),
) -> Result<Vec<Wanted>, PaperFault> {
    let words = language.words();
    let unit = length_unit(survey)?;
    let small = |point: Point| Area::between(point, point, SYMBOL);
    let cellar = paper.area(&elevation.cellar);
    let foot = Point {
        x: (cellar.left + cellar.right) / 2,
        y: cellar.bottom,
    };
    let end = |legs: &Legs, or: Place| legs.last().map_or(paper.point(or), |(_, to)| *to);
    let condenser = paper.area(&elevation.condenser);
    let stands = end(line_set, Place::default());
    let condenser = Area {
        left: stands.x,
        right: stands.x + condenser.right - condenser.left,
        ..condenser
    };
    let named = |text: String, of: Area| Wanted { text, of };
    let above = |millimetres| routes::height(millimetres, unit);
    let stands_at = (elevation.condenser.bottom + elevation.condenser.top) / 2 - elevation.connection;
    let mut wanted = vec![
        named(words.ceiling_unit.to_owned(), paper.area(&elevation.unit)),
        named(cellar_text(survey, language), Area::between(foot, foot, 0)),
        named(
            format!("{} {}", words.condensing_unit, above(stands_at)?),
            condenser,
        ),
        named(
            format!(
                "{}: {} {}",
                words.discharge,
                language.choice(survey.drain.discharge),
                above(elevation.discharge.y - elevation.outlet)?
            ),
            small(end(drain, elevation.discharge)),
        ),
        named(
            format!(
                "{}, {} {}",
                words.controller,
                words.cable.to_lowercase(),
                figure::quantity(&survey.controller.cable_route)
            ),
            small(paper.point(elevation.controller)),
        ),
    ];
    if let Some(place) = elevation.antisiphon {
        let text = format!("{} {}", words.antisiphon, above(place.y - elevation.outlet)?);
        wanted.push(named(text, small(paper.point(place))));
    }
    if let Some(place) = elevation.probe {
        let route = survey.controller.probe.route.as_ref().map(figure::quantity);
        let text = route.map_or(words.probe.to_owned(), |route| {
            format!("{}, {} {route}", words.probe, words.lead.to_lowercase())
        });
        wanted.push(named(text, small(paper.point(place))));
    }
    wanted.extend(legs("L", &survey.line_set.legs, line_set, language));
    wanted.extend(legs("D", &survey.drain.legs, drain, language));
    Ok(wanted)
}

fn cellar_text(survey: &Survey, language: Language) -> String {
    let cellar = &survey.cellar;
    let name = language.words().cellar;
    match (&cellar.length, &cellar.height, &cellar.volume) {
        (Some(length), Some(height), _) => {
            format!(
                "{name} {} × {}",
                figure::quantity(length),
                figure::quantity(height)
            )
        }
        (.., Some(volume)) => format!("{name} {}", figure::quantity(volume)),
        _ => name.to_owned(),
    }
}

/// A label beside the middle of each leg.
fn legs<'l>(
    mark: &'l str,
    legs: &'l [Leg],
    drawn: &'l Legs,
    language: Language,
) -> impl Iterator<Item = Wanted> + 'l {
    legs.iter()
        .zip(drawn)
        .enumerate()
        .map(move |(at, (leg, (from, to)))| {
            let length = figure::quantity(&leg.length);
            let words = language.words();
            let text = match leg.direction {
                Direction::Level => format!("{mark}{} {length}", at + 1),
                Direction::Rise => format!("{mark}{} {length} {}", at + 1, words.up),
                Direction::Drop => format!("{mark}{} {length} {}", at + 1, words.down),
            };
            let middle = Point {
                x: (from.x + to.x) / 2,
                y: (from.y + to.y) / 2,
            };
            let size = lettering::LINE / 3;
            Wanted {
                text,
                of: if from.x == to.x {
                    Area {
                        top: middle.y - size,
                        bottom: middle.y + size,
                        ..Area::between(middle, middle, 0)
                    }
                } else {
                    Area {
                        left: middle.x - size,
                        right: middle.x + size,
                        ..Area::between(middle, middle, 0)
                    }
                },
            }
        })
}
