//! The job spec: the surveyed facts of one installation, typed and checked.
//!
//! A spec is made from a normal tree only, that is, after [`Form::read`](super::Form::read) has held it
//! to the form; its values are within the form's bounds and its answers do not contradict each other.

use serde::Deserialize;
use serde::de::{Deserializer, Error as _, IgnoredAny};
use serde_json::Value;
use thiserror::Error;

use super::basis::BasisEntry;
use super::choices::{
    CeilingConstruction, CondenserLocation, CondenserSupport, Connection, ControllerLocation, ElectricalBy,
    Framing, FramingSpecies, Known, Mounting, PaintedPart, Painter, Parking, ServiceAccess, SupplyVoltage,
    TaxTreatment, Texture, Trim, TrimColour, WiringMethod, WorkingHours,
};
use super::extra::ExtraInput;
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::measure::{
    Area, Concentration, Dimension, Distance, Hours, Length, Temperature, Volume,
};

mod cellar;
mod route;

pub use cellar::{
    Cellar, CellarSize, Construction, Doors, Envelope, Glazing, InfiltrationAir, Lights, People, Surface,
    Transmission,
};
pub use route::{Drain, DrainLeg, Leg, LineSet, Penetration, RouteSums};

/// A tree in normal form that does not fit the types: the form and the types have drifted apart.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the job spec was understood but does not fit its type: {0}")]
pub struct SpecMismatch(pub(crate) String);

/// A percentage from 0 to 100, as a person writes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Percent(Decimal);

impl Percent {
    /// The number in front of the percent sign.
    pub fn value(self) -> Decimal {
        self.0
    }

    /// As a fraction of one.
    pub fn fraction(self) -> Decimal {
        // Dividing by 100 moves the decimal point and cannot fail.
        self.0.checked_mul(Decimal::new(1, 2)).unwrap_or(self.0)
    }
}

impl<'de> Deserialize<'de> for Percent {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        crate::quantity::amount::read_digits(deserializer)
            .map(Self)
            .map_err(D::Error::custom)
    }
}

/// One surveyed job.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spec {
    /// Title of the job.
    pub title: String,
    /// Who asked for it.
    #[serde(default)]
    pub customer: Option<String>,
    /// Name or address of the site.
    #[serde(default)]
    pub site_name: Option<String>,
    /// The cellar.
    pub cellar: Cellar,
    /// The ceiling unit.
    pub unit: Unit,
    /// The condensing unit.
    pub condenser: Condenser,
    /// The line set.
    pub line_set: LineSet,
    /// The drain.
    pub drain: Drain,
    /// The controller and its probe.
    pub controller: Controller,
    /// The humidity option.
    pub humidity: Humidity,
    /// The circuit.
    pub electrical: Electrical,
    /// Trim, painting and patching.
    pub finishes: Finishes,
    /// The site.
    pub site: Site,
    /// Treatment of sales tax.
    pub tax: Tax,
    /// Answers to the rulebook's extra inputs, in the rulebook's order.
    #[serde(deserialize_with = "later")]
    pub extra: Vec<FactValue>,
    /// How answers are known.
    pub basis: Vec<BasisEntry>,
}

/// The extra inputs are typed by the rulebook and not by serde.
fn later<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Vec<FactValue>, D::Error> {
    IgnoredAny::deserialize(deserializer).map(|_| Vec::new())
}

impl Spec {
    /// Coldest air outdoors, where it is known: a condensing unit that stands there says it too.
    pub fn coldest_outdoors(&self) -> Option<Temperature> {
        let stands_there = self.condenser.location == CondenserLocation::Outdoors;
        let told_there = self.condenser.winter_temperature.filter(|_| stands_there);
        told_there.or(self.site.winter_temperature)
    }

    /// The spec of a normal tree.
    pub(super) fn of_tree(tree: &Value, extra: &[ExtraInput]) -> Result<Self, SpecMismatch> {
        let given = tree.get("extra").unwrap_or(&Value::Null);
        let mut spec = Self::deserialize(tree).map_err(|fault| SpecMismatch(fault.to_string()))?;
        spec.extra = extra
            .iter()
            .map(|input| {
                let answer = given.get(&*input.name);
                answer
                    .and_then(|answer| input.value(answer))
                    .ok_or_else(|| SpecMismatch(format!("extra input {}", input.name)))
            })
            .collect::<Result<_, _>>()?;
        Ok(spec)
    }

    /// How many answers are known in this way, of those that `basis` names.
    pub fn known(&self, known: Known) -> usize {
        self.basis.iter().filter(|entry| entry.known == known).count()
    }
}

/// The ceiling unit.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unit {
    /// Which class is asked for.
    pub class: UnitClass,
    /// How many units are asked for.
    pub count: u32,
    /// How it hangs.
    pub mounting: Mounting,
    /// From where it is serviced.
    pub service_access: ServiceAccess,
    /// Clear depth above the ceiling.
    #[serde(default)]
    pub ceiling_void: Option<Dimension>,
    /// Spacing of the framing, centre to centre.
    #[serde(default)]
    pub joist_spacing: Option<Dimension>,
    /// What it hangs from.
    pub framing: Framing,
    /// Wood of the framing.
    #[serde(default)]
    pub framing_species: Option<FramingSpecies>,
}

/// Which class of unit is asked for.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(from = "String")]
pub enum UnitClass {
    /// The smallest that will do.
    Auto,
    /// This one.
    Named(String),
}

impl From<String> for UnitClass {
    fn from(word: String) -> Self {
        if word == super::form::AUTO {
            Self::Auto
        } else {
            Self::Named(word)
        }
    }
}

/// The condensing unit.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Condenser {
    /// Where it stands.
    pub location: CondenserLocation,
    /// What carries it.
    pub support: CondenserSupport,
    /// Warmest air that it meets.
    pub design_temperature: Temperature,
    /// Coldest air that it meets.
    #[serde(default)]
    pub winter_temperature: Option<Temperature>,
    /// Volume of the room that it stands in.
    #[serde(default)]
    pub room_volume: Option<Volume>,
}

/// The controller.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Controller {
    /// On which side of the cellar wall it hangs.
    pub location: ControllerLocation,
    /// Length of the cable's route.
    pub cable_route: Length,
    /// The cable is fished through finished walls.
    pub finished_walls: bool,
    /// The liquid-temperature probe.
    pub probe: Probe,
}

/// The liquid-temperature probe.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Probe {
    /// It is wanted.
    pub wanted: bool,
    /// Length of its route; always there when it is wanted.
    #[serde(default)]
    pub route: Option<Length>,
}

/// The humidity option.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Humidity {
    /// It is wanted.
    pub wanted: bool,
    /// Length to the soft-water supply; always there when it is wanted.
    #[serde(default)]
    pub supply_length: Option<Length>,
    /// Hardness of the water, as calcium carbonate.
    #[serde(default)]
    pub water_hardness: Option<Concentration>,
}

/// The circuit.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Electrical {
    /// Supply voltage.
    pub supply_voltage: SupplyVoltage,
    /// Length of the circuit from the panel.
    pub panel_length: Length,
    /// How the unit is connected.
    pub connection: Connection,
    /// How the circuit is run.
    pub method: WiringMethod,
    /// The panel has space for the breaker.
    pub panel_space: bool,
    /// There is a service receptacle within reach of the condensing unit.
    pub service_receptacle: bool,
    /// Who does the work.
    pub by: ElectricalBy,
}

/// Trim, painting and patching.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Finishes {
    /// The decorative trim.
    pub trim: Trim,
    /// Its colour.
    pub trim_colour: TrimColour,
    /// What is painted; each part at most once.
    pub painting: Vec<Painting>,
    /// Ceiling to patch.
    #[serde(default)]
    pub ceiling_patch: Option<CeilingPatch>,
}

/// One painted part.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Painting {
    /// Which part.
    pub part: PaintedPart,
    /// How many coats.
    pub coats: u32,
    /// Who paints.
    pub by: Painter,
    /// Area; of the ceiling only, and always there for it.
    #[serde(default)]
    pub area: Option<Area>,
}

/// Ceiling to patch.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CeilingPatch {
    /// Its area.
    pub area: Area,
    /// Its texture.
    pub texture: Texture,
}

/// The site.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// Height of the ceiling that we work at.
    pub ceiling_height: Length,
    /// Storeys of the building.
    pub storeys: u32,
    /// What the ceiling is made of.
    pub ceiling_construction: CeilingConstruction,
    /// Year in which the building was built.
    pub built_year: u32,
    /// The building is occupied while we work.
    pub occupied: bool,
    /// When we may work.
    pub hours: WorkingHours,
    /// Travel time, one way.
    pub travel_time: Hours,
    /// Distance, one way.
    pub distance: Distance,
    /// Where the van stands.
    pub parking: Parking,
    /// Height above the sea.
    pub altitude: Length,
    /// Coldest air outdoors, as it was told of the site.
    #[serde(default)]
    pub winter_temperature: Option<Temperature>,
    /// Temperature of the attic while we work.
    #[serde(default)]
    pub attic_temperature: Option<Temperature>,
    /// Distance from the van to the work.
    pub carry_distance: Length,
    /// The ceiling is still open, before drywall.
    pub ceiling_open: bool,
    /// An old unit is taken out.
    pub replaces_old_unit: bool,
}

/// Treatment of sales tax.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tax {
    /// As the policy says when it is not given.
    #[serde(default)]
    pub treatment: Option<TaxTreatment>,
    /// Number of the exemption certificate; always there when the treatment is exempt.
    #[serde(default)]
    pub exemption_certificate: Option<String>,
}
