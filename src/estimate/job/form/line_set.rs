//! Questions about the two routes: the line set from the unit to the condensing unit, and the drain
//! from the pan outlet to its discharge.

use serde_json::Value;

use super::{Field, Shape, choice, count, hundredths, list, measure};
use crate::job::choices::{Direction, Discharge, PenetrationConstruction, Space, Tube};
use crate::quantity::unit::Unit;

const LEGS: usize = 60;
const PENETRATIONS: usize = 40;

fn leg_fields() -> Vec<Field> {
    vec![
        Field::new("direction", "Which way it goes", choice::<Direction>()),
        Field::new("length", "Length", measure(Unit::FT, hundredths(5), 1000)),
        Field::new("space", "Space that it passes through", choice::<Space>()),
        Field::new("bends", "Right-angle bends on it", count(0, 50)).or(0),
    ]
}

pub(super) fn line_set() -> Field {
    let penetration = vec![
        Field::new(
            "construction",
            "What is penetrated",
            choice::<PenetrationConstruction>(),
        ),
        Field::new("fire_rated", "Fire-rated", Shape::Flag).or(false),
        Field::new("count", "How many", count(1, 50)).or(1),
    ];
    let fields = vec![
        Field::new(
            "legs",
            "Legs of the route",
            list(Shape::Group(leg_fields()), 1, LEGS),
        )
        .help("In order from the unit to the condensing unit."),
        Field::new("tube", "Copper tube", choice::<Tube>()).or("soft"),
        Field::new(
            "penetrations",
            "Penetrations",
            list(Shape::Group(penetration), 0, PENETRATIONS),
        )
        .or(Value::Array(Vec::new())),
    ];
    Field::new("line_set", "Line set", Shape::Group(fields))
}

pub(super) fn drain() -> Field {
    let mut leg = leg_fields();
    leg.push(
        Field::new("fall", "Fall available along the leg", measure(Unit::IN, 0, 600))
            .or_words("none")
            .told_where(|around| around.beside_is("direction", "level") && !around.drain_rises())
            .help("Of a level leg only: how much lower its far end may lie. None when it is left out."),
    );
    let fields = vec![
        Field::new("legs", "Legs of the route", list(Shape::Group(leg), 1, LEGS))
            .help("In order from the outlet of the pan to the discharge."),
        Field::new("discharge", "Where it discharges", choice::<Discharge>()),
        Field::new(
            "discharge_below_outlet",
            "How far the discharge lies below the outlet of the pan",
            measure(Unit::FT, -200, 200),
        )
        .optional()
        .help("As measured, to check the legs; below zero when the discharge lies higher."),
    ];
    Field::new("drain", "Drain", Shape::Group(fields))
}
