//! Questions about controls, the humidity option and the circuit.

use super::{Field, Shape, choice, measure};
use crate::job::choices::{Connection, ControllerLocation, ElectricalBy, SupplyVoltage, WiringMethod};
use crate::quantity::unit::Unit;

pub(super) fn controller() -> Field {
    let probe = vec![
        Field::new("wanted", "A liquid-temperature probe is wanted", Shape::Flag).or(true),
        Field::new("route", "Length of the probe's route", measure(Unit::FT, 0, 500))
            .when("wanted", &["true"]),
    ];
    let fields = vec![
        Field::new(
            "location",
            "Where the controller hangs",
            choice::<ControllerLocation>(),
        ),
        Field::new(
            "cable_route",
            "Length of the cable's route",
            measure(Unit::FT, 0, 1000),
        ),
        Field::new(
            "finished_walls",
            "The cable is fished through finished walls",
            Shape::Flag,
        )
        .or(false),
        Field::new("probe", "Probe", Shape::Group(probe)),
    ];
    Field::new("controller", "Controller", Shape::Group(fields))
}

pub(super) fn humidity() -> Field {
    let fields = vec![
        Field::new("wanted", "The humidity option is wanted", Shape::Flag).or(false),
        Field::new(
            "supply_length",
            "Length to the soft-water supply",
            measure(Unit::FT, 0, 1000),
        )
        .when("wanted", &["true"]),
        Field::new(
            "water_hardness",
            "Hardness of the water",
            measure(Unit::MG_PER_L, 0, 2000),
        )
        .or_words("not known")
        .told_where(|around| around.beside_is_set("wanted"))
        .help("As calcium carbonate; in mg/L, or grains a gallon as gr/gal."),
    ];
    Field::new("humidity", "Humidity option", Shape::Group(fields))
}

pub(super) fn electrical() -> Field {
    let fields = vec![
        Field::new("supply_voltage", "Supply voltage", choice::<SupplyVoltage>()),
        Field::new(
            "panel_length",
            "Length of the circuit from the panel",
            measure(Unit::FT, 0, 2000),
        ),
        Field::new("connection", "Connection", choice::<Connection>()),
        Field::new("method", "Wiring method", choice::<WiringMethod>()),
        Field::new("panel_space", "The panel has space for the breaker", Shape::Flag),
        Field::new(
            "service_receptacle",
            "There is a service receptacle within reach of the condensing unit",
            Shape::Flag,
        ),
        Field::new("by", "Who does the electrical work", choice::<ElectricalBy>()),
    ];
    Field::new("electrical", "Electrical", Shape::Group(fields))
}
