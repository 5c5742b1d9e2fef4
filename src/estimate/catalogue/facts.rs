//! What formulas may know of the chosen equipment.

use rust_decimal::Decimal;

use super::{Catalogue, Equipment};
use crate::quantity::fact::{Bounds, Domain, FactDef, FactSource, FactValue};
use crate::quantity::unit::Unit;

/// The name of the domain that holds the classes of equipment.
pub const EQUIPMENT_CLASS: &str = "equipment_class";

/// The classes of equipment as words, in the catalogue's order.
pub fn class_domain(catalogue: &Catalogue) -> Domain {
    Domain::new(
        EQUIPMENT_CLASS,
        catalogue.equipment().iter().map(|e| e.class.as_str()),
    )
}

type Reading = fn(&Equipment) -> Decimal;

/// Name, unit, meaning and where to read it.
const NUMBERS: &[(&str, Unit, &str, Reading)] = &[
    (
        "equipment.volume_limit",
        Unit::FT3,
        "largest cellar the class is meant for",
        |e| e.volume_limit.0,
    ),
    (
        "equipment.body_length",
        Unit::IN,
        "longer side of the ceiling unit",
        |e| e.body.length.0,
    ),
    (
        "equipment.body_width",
        Unit::IN,
        "shorter side of the ceiling unit",
        |e| e.body.width.0,
    ),
    (
        "equipment.body_depth",
        Unit::IN,
        "top to bottom of the ceiling unit",
        |e| e.body.depth.0,
    ),
    ("equipment.weight", Unit::LB, "ceiling unit, dry", |e| e.weight.0),
    ("equipment.condenser_weight", Unit::LB, "condensing unit", |e| {
        e.condenser_weight.0
    }),
    (
        "equipment.factory_charge",
        Unit::OZ,
        "refrigerant as delivered",
        |e| e.factory_charge.0,
    ),
    (
        "equipment.covered_length",
        Unit::FT,
        "line length that the factory charge covers",
        |e| e.covered_length.0,
    ),
    (
        "equipment.mca",
        Unit::A,
        "minimum circuit ampacity of the nameplate",
        |e| e.minimum_circuit_ampacity.0,
    ),
    (
        "equipment.mocp",
        Unit::A,
        "maximum overcurrent device of the nameplate",
        |e| e.maximum_overcurrent.0,
    ),
    ("equipment.fan_power", Unit::W, "fans of the ceiling unit", |e| {
        e.fan_power.0
    }),
    (
        "equipment.cable_included",
        Unit::FT,
        "controller cable in the carton",
        |e| e.cable_included.0,
    ),
    (
        "equipment.cable_maximum",
        Unit::FT,
        "longest controller cable, extension included",
        |e| e.cable_maximum.0,
    ),
    (
        "equipment.drain_tubing_included",
        Unit::FT,
        "drain tubing in the carton",
        |e| e.drain_tubing_included.0,
    ),
    (
        "equipment.probe_lead_included",
        Unit::FT,
        "probe lead in the carton",
        |e| e.probe_lead_included.0,
    ),
    (
        "equipment.lowest_condenser_air",
        Unit::DEG_F,
        "coldest air the condensing unit works in",
        |e| e.condenser_air.lowest.0,
    ),
    (
        "equipment.fasteners",
        Unit::EACH,
        "lag screws or rods of the bracket",
        |e| Decimal::from(e.bracket.fasteners),
    ),
];

/// Definitions, in the order of [`values`], each with what the classes of this catalogue have.
pub fn defs(catalogue: &Catalogue) -> Vec<FactDef> {
    let number = |(name, unit, meaning, read): &(&str, Unit, &str, Reading)| {
        let values = || catalogue.equipment().iter().map(read);
        FactDef::number(name, *unit, FactSource::Equipment, meaning).within(Bounds {
            least: values().min(),
            greatest: values().max(),
        })
    };
    let mut defs: Vec<FactDef> = NUMBERS.iter().map(number).collect();
    let pump = "the ceiling unit has its own condensate pump";
    defs.push(FactDef::flag(
        "equipment.pump_built_in",
        FactSource::Equipment,
        pump,
    ));
    defs
}

/// What the definitions of [`defs`] are for one class.
pub fn values(equipment: &Equipment) -> impl Iterator<Item = FactValue> + '_ {
    let numbers = NUMBERS
        .iter()
        .map(|(_, _, _, read)| FactValue::Number(read(equipment)));
    numbers.chain([FactValue::Flag(equipment.pump.is_some())])
}
