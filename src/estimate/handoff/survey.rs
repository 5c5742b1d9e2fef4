//! The answers of a survey that papers print, read from the job as an estimate keeps it.
//!
//! Estimates outlive the program that made them, so members that papers do not print are left alone.

use serde::Deserialize;
use serde_json::Value;

use super::paper_fault::PaperFault;
use crate::job::choices::{
    CondenserLocation, CondenserSupport, Connection, ControllerLocation, Direction, Discharge, ElectricalBy,
    Framing, Known, Mounting, PaintedPart, Painter, Parking, PenetrationConstruction, ServiceAccess, Space,
    SupplyVoltage, Texture, Trim, TrimColour, Tube, WiringMethod, WorkingHours,
};
use crate::quantity::{Decimal, Quantity};

/// The answers that papers print.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Survey {
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
    /// How answers are known; those that are not named are of the surveyor.
    #[serde(default)]
    pub basis: Vec<Basis>,
}

/// How an answer is known.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Basis {
    /// JSON Pointer into the job.
    pub answer: String,
    /// How.
    pub known: Known,
}

/// The cellar: three sides, or a volume.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Cellar {
    /// Longer or first side.
    #[serde(default)]
    pub length: Option<Quantity>,
    /// Other side.
    #[serde(default)]
    pub width: Option<Quantity>,
    /// Floor to ceiling.
    #[serde(default)]
    pub height: Option<Quantity>,
    /// Inside volume, where the sides are not given.
    #[serde(default)]
    pub volume: Option<Quantity>,
    /// Wanted air temperature.
    pub air_temperature: Quantity,
    /// Wanted relative humidity, percent.
    #[serde(default)]
    pub humidity: Option<Decimal>,
}

/// The ceiling unit.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Unit {
    /// How it hangs.
    pub mounting: Mounting,
    /// From where it is serviced.
    pub service_access: ServiceAccess,
    /// What it hangs from.
    pub framing: Framing,
}

/// The condensing unit.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Condenser {
    /// Where it stands.
    pub location: CondenserLocation,
    /// What carries it.
    pub support: CondenserSupport,
}

/// The line set.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct LineSet {
    /// Legs from the unit to the condensing unit.
    pub legs: Vec<Leg>,
    /// The copper.
    pub tube: Tube,
    /// What is penetrated.
    #[serde(default)]
    pub penetrations: Vec<Penetration>,
}

/// A leg of a route.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Leg {
    /// Which way it goes.
    pub direction: Direction,
    /// How long it is.
    pub length: Quantity,
    /// The space that it passes through.
    pub space: Space,
    /// Right-angle bends on it.
    pub bends: u32,
    /// How much lower the far end of a level leg of the drain may lie.
    #[serde(default)]
    pub fall: Option<Quantity>,
}

/// Penetrations of one kind.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Penetration {
    /// What is penetrated.
    pub construction: PenetrationConstruction,
    /// It must be closed with a listed firestop.
    pub fire_rated: bool,
    /// How many.
    pub count: u32,
}

/// The drain.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Drain {
    /// Legs from the outlet of the pan to the discharge.
    pub legs: Vec<Leg>,
    /// Where it discharges.
    pub discharge: Discharge,
}

/// The controller and its probe.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Controller {
    /// On which side of the cellar wall it hangs.
    pub location: ControllerLocation,
    /// Length of the cable's route.
    pub cable_route: Quantity,
    /// The cable is fished through finished walls.
    pub finished_walls: bool,
    /// The probe.
    pub probe: Probe,
}

/// The liquid-temperature probe.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Probe {
    /// It is wanted.
    pub wanted: bool,
    /// Length of its route.
    #[serde(default)]
    pub route: Option<Quantity>,
}

/// The humidity option.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Humidity {
    /// It is wanted.
    pub wanted: bool,
    /// Length to the soft-water supply.
    #[serde(default)]
    pub supply_length: Option<Quantity>,
    /// Hardness of the water.
    #[serde(default)]
    pub water_hardness: Option<Quantity>,
}

/// The circuit.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Electrical {
    /// Supply voltage.
    pub supply_voltage: SupplyVoltage,
    /// Length of the circuit from the panel.
    pub panel_length: Quantity,
    /// How the unit is connected.
    pub connection: Connection,
    /// How the circuit is run.
    pub method: WiringMethod,
    /// Who does the work.
    pub by: ElectricalBy,
}

/// Trim, painting and patching.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Finishes {
    /// The decorative trim.
    pub trim: Trim,
    /// Its colour.
    pub trim_colour: TrimColour,
    /// What is painted.
    #[serde(default)]
    pub painting: Vec<Painting>,
    /// Ceiling to patch.
    #[serde(default)]
    pub ceiling_patch: Option<CeilingPatch>,
}

/// One painted part.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Painting {
    /// Which part.
    pub part: PaintedPart,
    /// How many coats.
    pub coats: u32,
    /// Who paints.
    pub by: Painter,
    /// Area; of the ceiling only.
    #[serde(default)]
    pub area: Option<Quantity>,
}

/// Ceiling to patch.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct CeilingPatch {
    /// Its area.
    pub area: Quantity,
    /// Its texture.
    pub texture: Texture,
}

/// The site.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Site {
    /// Height of the ceiling that the crew works at.
    pub ceiling_height: Quantity,
    /// When the crew may work.
    pub hours: WorkingHours,
    /// Where the van stands.
    pub parking: Parking,
    /// The building is occupied while the crew works.
    pub occupied: bool,
    /// An old unit is taken out.
    pub replaces_old_unit: bool,
}

impl Survey {
    /// How the answer at `pointer` is known, or a part of it: the least sure word counts. None where nothing was said.
    pub fn known(&self, pointer: &str) -> Option<Known> {
        let sure = |known: &Known| match known {
            Known::Measured => 3,
            Known::Told => 2,
            Known::Assumed => 1,
            Known::Unknown => 0,
        };
        let of_it = |answer: &str| {
            let rest = answer.strip_prefix(pointer);
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
        };
        let words = self.basis.iter().filter(|entry| of_it(&entry.answer));
        words.map(|entry| entry.known).min_by_key(sure)
    }

    /// Reads the job of an estimate.
    ///
    /// # Errors
    /// It is not of that shape.
    pub fn read(estimate: &Value) -> Result<Self, PaperFault> {
        Self::deserialize(&filled(estimate)).map_err(|fault| PaperFault::unreadable("job", fault))
    }
}

/// The job with what was assumed for its unknown answers, which stands beside it.
fn filled(estimate: &Value) -> Value {
    let mut job = estimate["job"].clone();
    let assumptions = estimate["assumptions"].as_array().into_iter().flatten();
    for assumption in assumptions.filter(|assumption| !assumption["value"].is_null()) {
        let answer = assumption["answer"].as_str().unwrap_or_default();
        let Some((holder, name)) = answer.rsplit_once('/') else {
            continue;
        };
        match job.pointer_mut(holder) {
            Some(Value::Object(members)) => {
                members.insert(name.to_owned(), assumption["value"].clone());
            }
            Some(Value::Array(entries)) => {
                let place = name.parse().ok().and_then(|at: usize| entries.get_mut(at));
                if let Some(entry) = place {
                    *entry = assumption["value"].clone();
                }
            }
            _ => {}
        }
    }
    job
}

/// How many units the job has: routes, openings and circuits are surveyed for one and made for each.
pub fn units(estimate: &Value) -> u64 {
    estimate["sizing"]["equipment"]["count"].as_u64().unwrap_or(1)
}

/// The result `name` of the question `question` in an estimate's sizing report.
pub fn sized<'e>(estimate: &'e Value, question: &str, name: &str) -> Option<&'e Value> {
    part(estimate, question, "results", name)
}

/// The input `name` of the question `question` in an estimate's sizing report.
pub fn sizing_input<'e>(estimate: &'e Value, question: &str, name: &str) -> Option<&'e Value> {
    part(estimate, question, "inputs", name)
}

fn part<'e>(estimate: &'e Value, question: &str, list: &str, name: &str) -> Option<&'e Value> {
    let questions = estimate.pointer("/sizing/questions")?.as_array()?;
    let found = questions.iter().find(|one| one["name"] == question)?;
    let results = found[list].as_array()?;
    results.iter().find(|one| one["name"] == name)?.get("value")
}
