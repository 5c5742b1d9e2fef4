//! The job spec and the catalogue as physics reads them.

use super::SizingFault;
use super::step::{celsius, float};
use crate::catalogue::{Catalogue, Equipment};
use crate::job::Spec;
use crate::job::choices::{CondenserLocation, Direction as Way};
use crate::job::spec::UnitClass;
use crate::sizing::route::Direction;

/// What every question reads, in physics' own numbers.
pub(super) struct Survey<'a> {
    pub spec: &'a Spec,
    pub equipment: &'a [Equipment],
    largest: &'a Equipment,
    /// Place of the class that is asked for by name.
    pub wish: Option<usize>,
    pub volume_ft3: f64,
    pub altitude_m: f64,
    pub cellar_f: f64,
    pub cellar_c: f64,
    pub cellar_rh: f64,
    /// Air that comes in, °F and relative humidity.
    pub room_f: f64,
    pub room_rh: f64,
    /// Warmest air at the condensing unit, °F.
    pub condenser_f: f64,
    /// Coldest air at the condensing unit, °F, where it is known.
    pub winter_f: Option<f64>,
    /// Coldest air outdoors, °F, where it is known.
    pub outdoors_f: Option<f64>,
}

impl<'a> Survey<'a> {
    pub fn new(spec: &'a Spec, catalogue: &'a Catalogue) -> Result<Self, SizingFault> {
        let equipment = catalogue.equipment();
        let largest = equipment.last().ok_or(SizingFault::NoEquipment)?;
        let wish = match &spec.unit.class {
            UnitClass::Auto => None,
            UnitClass::Named(class) => Some(place_of(equipment, class)?),
        };
        let cellar = &spec.cellar;
        let air = &cellar.infiltration_air;
        let cellar_f = float(cellar.air_temperature.0);
        Ok(Survey {
            spec,
            equipment,
            largest,
            wish,
            volume_ft3: float(cellar.volume().0),
            altitude_m: float(spec.site.altitude.0) * crate::sizing::heat_rate::FT_M,
            cellar_f,
            cellar_c: celsius(cellar_f),
            cellar_rh: float(cellar.humidity.fraction()),
            room_f: float(air.temperature.0),
            room_rh: float(air.humidity.fraction()).max(super::practice::DRIEST_RH),
            condenser_f: float(spec.condenser.design_temperature.0),
            winter_f: spec.condenser.winter_temperature.map(|t| float(t.0)),
            outdoors_f: spec.coldest_outdoors().map(|t| float(t.0)),
        })
    }

    /// The class at a place of the catalogue's list; the largest where there is none.
    pub fn class(&self, place: usize) -> &'a Equipment {
        self.equipment.get(place).unwrap_or(self.largest)
    }

    /// Whether the condensing unit stands in the open.
    pub fn condenser_outdoors(&self) -> bool {
        self.spec.condenser.location == CondenserLocation::Outdoors
    }

    /// How many units are asked for; at least one.
    pub fn asked_units(&self) -> u32 {
        self.spec.unit.count.max(1)
    }
}

fn place_of(equipment: &[Equipment], class: &str) -> Result<usize, SizingFault> {
    let found = equipment.iter().position(|known| known.class == class);
    found.ok_or_else(|| SizingFault::UnknownClass {
        pointer: "/unit/class",
        came: class.to_owned(),
        allowed: equipment.iter().map(|known| known.class.clone()).collect(),
    })
}

/// A way of the job spec as physics names it.
pub(super) fn direction(way: Way) -> Direction {
    match way {
        Way::Level => Direction::Level,
        Way::Rise => Direction::Rise,
        Way::Drop => Direction::Drop,
    }
}

/// Fans of one unit, W.
pub(super) fn fan_w(equipment: &Equipment) -> f64 {
    float(equipment.fan_power.0)
}

/// A count as physics reads it.
pub(super) fn count(value: u32) -> f64 {
    f64::from(value)
}
