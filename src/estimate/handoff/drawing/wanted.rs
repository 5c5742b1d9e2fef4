//! What is named, and how: symbols with their heights, legs with their lengths.

use super::elevation::Elevation;
use super::labels::Wanted;
use super::plane::{Area, Point};
use super::scale::{Legs, Paper};
use super::sheet::{SYMBOL, condenser, corner, end};
use crate::handoff::figure::Reader;
use crate::handoff::paper_fault::PaperFault;
use crate::handoff::survey::{Leg, Survey};
use crate::job::choices::Direction;

/// The labels, those of things before those of legs.
pub fn wanted(
    elevation: &Elevation,
    survey: &Survey,
    reader: Reader,
    paper: &Paper,
    (line_set, drain): (&Legs, &Legs),
) -> Result<Vec<Wanted>, PaperFault> {
    let words = reader.words();
    let named = |name: &str| counted(elevation.units, name);
    let small = |point: Point| Area::around(point, SYMBOL);
    let cellar = paper.area(&elevation.cellar);
    let floor = Area {
        top: cellar.bottom,
        ..cellar
    };
    let corner_at = |x| Point { x, y: floor.bottom };
    let along = (corner_at(floor.left), corner_at(floor.right));
    let symbol = |text: String, of: Area| Wanted {
        text,
        of,
        stroke: None,
    };
    let stands_at = (elevation.condenser.bottom + elevation.condenser.top) / 2 - elevation.connection;
    let discharge = reader.language.choice(survey.drain.discharge);
    let discharge_at = reader.height(elevation.discharge.y - elevation.outlet)?;
    let cable = reader.quantity(&survey.controller.cable_route);
    let mut wanted = vec![
        symbol(named(words.ceiling_unit), paper.area(&elevation.unit)),
        Wanted {
            stroke: Some(along),
            ..symbol(cellar_text(survey, reader), floor)
        },
        symbol(
            format!("{}, {}", named(words.condensing_unit), reader.height(stands_at)?),
            condenser(elevation, paper, line_set),
        ),
        symbol(
            format!("{}: {discharge}, {discharge_at}", words.discharge),
            small(end(drain, paper, elevation.discharge)),
        ),
        symbol(
            format!(
                "{}, {} {cable}",
                named(words.controller),
                words.cable.to_lowercase()
            ),
            small(paper.point(elevation.controller)),
        ),
    ];
    if let Some(place) = elevation.antisiphon {
        let text = format!(
            "{}, {}",
            named(words.antisiphon),
            reader.height(place.y - elevation.outlet)?
        );
        wanted.push(symbol(text, small(corner(elevation, paper, drain, place))));
    }
    if let Some(place) = elevation.probe {
        let route = survey.controller.probe.route.as_ref();
        let text = route.map_or(named(words.probe), |route| {
            let route = reader.quantity(route);
            format!("{}, {} {route}", named(words.probe), words.lead.to_lowercase())
        });
        wanted.push(symbol(text, Area::around(paper.point(place), SYMBOL / 2)));
    }
    wanted.extend(legs("L", &survey.line_set.legs, line_set, reader));
    wanted.extend(legs("D", &survey.drain.legs, drain, reader));
    Ok(wanted)
}

/// What is drawn once and fitted for each of several units.
pub fn counted(units: u64, name: &str) -> String {
    match units {
        0 | 1 => name.to_owned(),
        count => format!("{count} × {name}"),
    }
}

fn cellar_text(survey: &Survey, reader: Reader) -> String {
    let cellar = &survey.cellar;
    let name = reader.words().cellar;
    match (&cellar.length, &cellar.height, &cellar.volume) {
        (Some(length), Some(height), _) => {
            format!("{name} {} × {}", reader.quantity(length), reader.quantity(height))
        }
        (.., Some(volume)) => format!("{name} {}", reader.quantity(volume)),
        _ => name.to_owned(),
    }
}

/// A label for each leg.
fn legs<'l>(
    mark: &'l str,
    legs: &'l [Leg],
    drawn: &'l Legs,
    reader: Reader,
) -> impl Iterator<Item = Wanted> + 'l {
    let words = reader.words();
    let pairs = legs.iter().zip(drawn).enumerate();
    pairs.map(move |(at, (leg, (from, to)))| {
        let length = reader.quantity(&leg.length);
        let text = match leg.direction {
            Direction::Level => format!("{mark}{} {length}", at + 1),
            Direction::Rise => format!("{mark}{} {length} {}", at + 1, words.up),
            Direction::Drop => format!("{mark}{} {length} {}", at + 1, words.down),
        };
        Wanted {
            text,
            of: Area::between(*from, *to, 0),
            stroke: Some((*from, *to)),
        }
    })
}
