//! By which measures a reader is told: feet and pounds, or metres and kilograms. An estimate keeps the measures of the
//! rules; the request says in which the job was surveyed.

use serde_json::Value;

use crate::quantity::rounding::{Mode, to_scale};
use crate::quantity::unit::{Unit, UnitFault};
use crate::quantity::{Decimal, Quantity};

/// Measures of a paper.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Measures {
    /// Feet, pounds, degrees Fahrenheit.
    #[default]
    Customary,
    /// Metres, kilograms, degrees Celsius.
    Metric,
}

/// Lengths under this many mm are told in mm.
const SHORT: i64 = 1_000;

impl Measures {
    /// The measures in which the lengths of a request's job are written, the greater part of them.
    pub fn of(request: &Value) -> Self {
        let mut lengths = (0_u32, 0_u32);
        count(&request["job"], &mut lengths);
        if lengths.1 > lengths.0 {
            Self::Metric
        } else {
            Self::Customary
        }
    }

    /// The unit of a long length.
    ///
    /// # Errors
    /// None; the metre is known.
    pub fn length(self) -> Result<Unit, UnitFault> {
        match self {
            Self::Customary => Ok(Unit::FT),
            Self::Metric => Unit::parse("m"),
        }
    }

    /// Decimals of a height in that unit.
    pub(super) fn height_scale(self) -> u32 {
        match self {
            Self::Customary => 1,
            Self::Metric => 2,
        }
    }

    /// A quantity in these measures: what is in none of their like stays as it is.
    pub fn shown(self, quantity: &Quantity) -> Quantity {
        let metric = match self {
            Self::Customary => None,
            Self::Metric => metric(quantity),
        };
        metric.unwrap_or(*quantity)
    }
}

/// How many lengths under `tree` are in feet or inches, and how many in metres or parts of them.
fn count(tree: &Value, lengths: &mut (u32, u32)) {
    match tree {
        Value::Object(members) => {
            match members.get("unit").and_then(Value::as_str) {
                Some("ft" | "in") => lengths.0 = lengths.0.saturating_add(1),
                Some("m" | "cm" | "mm") => lengths.1 = lengths.1.saturating_add(1),
                _ => {}
            }
            members.values().for_each(|member| count(member, lengths));
        }
        Value::Array(entries) => entries.iter().for_each(|entry| count(entry, lengths)),
        _ => {}
    }
}

/// Customary units, the metric one that takes their place, and to how many decimals.
const METRIC: [(&str, &str, u32); 19] = [
    ("in", "m", 2),
    ("ft", "m", 2),
    ("mi", "km", 1),
    ("in2", "m2", 2),
    ("ft2", "m2", 2),
    ("in3", "L", 2),
    ("ft3", "m3", 2),
    ("lb", "kg", 1),
    ("oz", "g", 0),
    ("gal", "L", 2),
    ("qt", "L", 2),
    ("pt", "L", 2),
    ("degF", "degC", 1),
    ("F_diff", "K", 1),
    ("Btu/h", "W", 0),
    ("gal/h", "L/h", 2),
    ("Btu/h/ft3", "W/m3", 1),
    ("Btu/h/ft2/F_diff", "W/m2/K", 2),
    ("ft/min", "m/s", 2),
];

fn metric(quantity: &Quantity) -> Option<Quantity> {
    let is_it = |customary: &str| Unit::parse(customary).is_ok_and(|unit| unit == quantity.unit);
    let (_, unit, scale) = METRIC.iter().find(|(customary, ..)| is_it(customary))?;
    if *unit != "m" {
        return converted(quantity, unit, *scale);
    }
    let short = converted(quantity, "mm", 0)?;
    if short.value.is_zero() || short.value.abs() >= Decimal::from(SHORT) {
        converted(quantity, unit, *scale)
    } else {
        Some(short)
    }
}

fn converted(quantity: &Quantity, unit: &str, scale: u32) -> Option<Quantity> {
    let unit = Unit::parse(unit).ok()?;
    let value = quantity.unit.convert(quantity.value, &unit).ok()?;
    Some(Quantity {
        value: to_scale(value, scale, Mode::HalfUp),
        unit,
    })
}
