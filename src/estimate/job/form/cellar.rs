//! Questions about the cellar: its size, its envelope, its air and how it is used.

use super::{Field, LINE, Shape, choice, count, hundredths, list, measure, number};
use crate::job::choices::{CellarUse, SurfaceKind, VapourBarrier};
use crate::quantity::unit::Unit;

const SURFACES: usize = 60;
const SIDES: &[&str] = &["length", "width", "height"];

pub(super) fn group() -> Field {
    let fields = vec![
        Field::new("length", "Inside length", measure(Unit::FT, 2, 200)).or_else(&["volume"]),
        Field::new("width", "Inside width", measure(Unit::FT, 2, 200)).or_else(&["volume"]),
        Field::new("height", "Inside height", measure(Unit::FT, 2, 40)).or_else(&["volume"]),
        Field::new("volume", "Inside volume", measure(Unit::FT3, 8, 100_000))
            .unless(SIDES)
            .not_beside(&["length", "width", "height", "construction"])
            .help("In place of length, width and height, when the surfaces are listed one by one."),
        construction(),
        surfaces(),
        Field::new(
            "air_temperature",
            "Wanted air temperature",
            measure(Unit::DEG_F, 41, 68),
        )
        .or_value("55"),
        Field::new("humidity", "Wanted relative humidity, percent", number(20, 95, 2)).or("60"),
        infiltration_air(),
        Field::new("use", "Use", choice::<CellarUse>()),
        Field::new("vapour_barrier", "Vapour barrier", choice::<VapourBarrier>()),
        lights(),
        people(),
        Field::new("bottles", "Bottles it holds", count(0, 500_000)),
        Field::new("weekly_intake", "Bottles brought in each week", count(0, 100_000)),
        Field::new(
            "intake_temperature",
            "Temperature of bottles brought in",
            measure(Unit::DEG_F, 32, 120),
        )
        .or_value("75")
        .told_where(|around| around.group["weekly_intake"] != 0),
        Field::new("door_openings_a_day", "Door openings a day", count(0, 5000)),
    ];
    Field::new("cellar", "Cellar", Shape::Group(fields))
}

fn resistance() -> Shape {
    measure(Unit::R_VALUE, hundredths(10), 100)
}

fn transmittance() -> Shape {
    measure(Unit::U_VALUE, hundredths(1), 10)
}

fn beyond() -> Shape {
    measure(Unit::DEG_F, -40, 160)
}

fn opening_area() -> Shape {
    measure(Unit::FT2, hundredths(10), 5000)
}

fn construction() -> Field {
    let door = vec![
        Field::new("area", "Area of the doors", opening_area()),
        Field::new("r_value", "R-value of the doors", resistance()).or_else(&["u_value"]),
        Field::new("u_value", "U-value of the doors", transmittance()).or_else(&["r_value"]),
        Field::new("beyond", "Temperature beyond the doors", beyond())
            .or_words("as beyond the walls")
            .help("As beyond the walls when it is left out."),
    ];
    let glazing = vec![
        Field::new("area", "Area of the glazing", opening_area()),
        Field::new("u_value", "U-value of the glazing", transmittance()),
        Field::new("beyond", "Temperature beyond the glazing", beyond()),
    ];
    let fields = vec![
        Field::new("wall_r", "R-value of the walls, air films included", resistance()),
        Field::new(
            "ceiling_r",
            "R-value of the ceiling, air films included",
            resistance(),
        ),
        Field::new(
            "floor_r",
            "R-value of the floor, air films included",
            resistance(),
        ),
        Field::new("wall_beyond", "Temperature beyond the walls", beyond()),
        Field::new("ceiling_beyond", "Temperature beyond the ceiling", beyond()),
        Field::new("floor_beyond", "Temperature beyond the floor", beyond()),
        Field::new("door", "Doors", Shape::Group(door)),
        Field::new("glazing", "Glazing", Shape::Group(glazing)).or_words("none"),
    ];
    Field::new(
        "construction",
        "Construction of a rectangular cellar",
        Shape::Group(fields),
    )
    .unless(&["surfaces"])
    .not_beside(&["surfaces", "volume"])
    .help("Either this, with length, width and height, or the surfaces one by one.")
}

fn surfaces() -> Field {
    let surface = vec![
        Field::new("name", "Name", Shape::Text { max: LINE }),
        Field::new("kind", "Kind", choice::<SurfaceKind>()),
        Field::new("area", "Area", measure(Unit::FT2, hundredths(10), 20_000)),
        Field::new("r_value", "R-value, air films included", resistance()).or_else(&["u_value"]),
        Field::new("u_value", "U-value", transmittance()).or_else(&["r_value"]),
        Field::new("beyond", "Temperature on the other side", beyond()),
    ];
    Field::new(
        "surfaces",
        "Surfaces one by one",
        list(Shape::Group(surface), 1, SURFACES),
    )
    .or_else(&["construction"])
    .help("Every face of the cellar, those that let no heat in too. A wall without its doors and glazing.")
}

fn infiltration_air() -> Field {
    let fields = vec![
        Field::new(
            "temperature",
            "Temperature of the air that comes in",
            measure(Unit::DEG_F, -20, 130),
        )
        .or_value("75"),
        Field::new(
            "humidity",
            "Relative humidity of the air that comes in, percent",
            number(0, 100, 2),
        )
        .or("50"),
    ];
    Field::new("infiltration_air", "Air that comes in", Shape::Group(fields))
}

fn lights() -> Field {
    let fields = vec![
        Field::new("power", "Power of the lights", measure(Unit::W, 0, 20_000)),
        Field::new(
            "hours_a_day",
            "Hours a day that they burn",
            measure(Unit::H, 0, 24),
        ),
    ];
    Field::new("lights", "Lights", Shape::Group(fields))
}

fn people() -> Field {
    let fields = vec![
        Field::new("count", "People inside", count(0, 200)),
        Field::new(
            "hours_a_day",
            "Hours a day that they stay",
            measure(Unit::H, 0, 24),
        ),
    ];
    Field::new("people", "People", Shape::Group(fields))
}
