//! Questions about the ceiling unit and its condensing unit.

use std::sync::Arc;

use super::{Field, Shape, Words, choice, count, measure};
use crate::job::choices::{
    CondenserLocation, CondenserSupport, Framing, FramingSpecies, Mounting, ServiceAccess,
};
use crate::quantity::unit::Unit;

/// The class that asks for the smallest unit that will do.
pub(in crate::job) const AUTO: &str = "auto";

pub(super) fn indoor(classes: &[Arc<str>]) -> Field {
    let words = std::iter::once(Arc::from(AUTO))
        .chain(classes.iter().cloned())
        .collect();
    let fields = vec![
        Field::new("class", "Class of unit", Shape::Choice(Words::Given(words)))
            .or(AUTO)
            .untold()
            .help("auto: the smallest class that covers the load."),
        Field::new("count", "How many units", count(1, 4)).or(1),
        Field::new("mounting", "Mounting", choice::<Mounting>()),
        Field::new("service_access", "Service access", choice::<ServiceAccess>()),
        Field::new(
            "ceiling_void",
            "Clear depth above the ceiling",
            measure(Unit::IN, 0, 240),
        )
        .when("mounting", &["partly_recessed", "flush"]),
        Field::new(
            "joist_spacing",
            "Spacing of the framing, centre to centre",
            measure(Unit::IN, 6, 120),
        )
        .or_reckoned("16")
        .told_where(|around| around.beside_is_not("framing", "concrete")),
        Field::new("framing", "Framing above the ceiling", choice::<Framing>()),
        Field::new(
            "framing_species",
            "Wood of the framing",
            choice::<FramingSpecies>(),
        )
        .or_words("the weakest that is used for framing")
        .told_where(|around| around.beside_is_not("framing", "concrete")),
    ];
    Field::new("unit", "Ceiling unit", Shape::Group(fields))
}

pub(super) fn condenser() -> Field {
    let fields = vec![
        Field::new("location", "Where it stands", choice::<CondenserLocation>()),
        Field::new("support", "What carries it", choice::<CondenserSupport>()),
        Field::new(
            "design_temperature",
            "Warmest air at the condensing unit",
            measure(Unit::DEG_F, 40, 150),
        ),
        Field::new(
            "winter_temperature",
            "Coldest air at the condensing unit",
            measure(Unit::DEG_F, -60, 100),
        )
        .or_words("not known")
        .told_where(|around| around.beside_is("location", "outdoors")),
        Field::new(
            "room_volume",
            "Volume of the room that it stands in",
            measure(Unit::FT3, 20, 1_000_000),
        )
        .when("location", &["attic", "basement", "plant_room"]),
    ];
    Field::new("condenser", "Condensing unit", Shape::Group(fields))
}
