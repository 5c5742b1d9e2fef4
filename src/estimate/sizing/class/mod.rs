//! Which unit class the cellar needs: the smallest whose capacity at the job's own temperatures covers the
//! load and whose volume limit covers the room; several of one class when one will not do.
//!
//! In: the classes with their capacity data, the need. Out: the choice, or that none fits, and for every
//! class passed over the number that is out and by how much. Deliberately absent: price, line length and
//! electrical supply, which are questions of their own.

mod capacity;

use std::fmt;

use super::finding::Finding;
use super::finite::Finite;
use super::heat_rate::fahrenheit;
use super::range::{InputFault, within};

pub use capacity::{Capacity, CapacityTable, OutsideRating, RatedPoint};

/// How the choice is made.
pub const METHOD: &str = "smallest class, then fewest units, whose capacity at the job's condenser and cellar temperature \
     covers the load and whose volume limit covers the room";
/// Where the capacities come from.
pub const SOURCE: &str = "the equipment's own capacity data, interpolated on straight lines";

/// Above this ratio of capacity to need a unit runs in short bursts and dries the air.
const OVERSIZE: f64 = 2.0;
/// Below this ratio there is little left for a hotter day than the design day.
const TIGHT: f64 = 1.15;
const COMMON_PRACTICE: &str = "common practice, no source";

/// One unit class that may be chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The class, as the catalogue names it.
    pub class: String,
    /// Largest cellar for one unit, ft³, if its maker states one.
    pub volume_limit_ft3: Option<f64>,
    /// Capacity of one unit.
    pub capacity: Capacity,
}

/// What the cellar asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Need {
    /// Required capacity, Btu/h.
    pub required_btu_h: f64,
    /// Inside volume, ft³.
    pub volume_ft3: f64,
    /// Design temperature of the air at the condenser, °C.
    pub condenser_air_c: f64,
    /// Cellar temperature, °C.
    pub cellar_c: f64,
    /// Most units of one class that the office would hang, 1 to 8.
    pub most_units: u32,
}

/// Why a class, in a number of units, was passed over.
#[derive(Clone, Debug, PartialEq)]
pub enum Reason {
    /// It does less than is needed.
    CapacityShort {
        /// All units together, at the job's temperatures, Btu/h.
        has_btu_h: Finite,
        /// Btu/h.
        needs_btu_h: Finite,
    },
    /// The cellar is larger than its limit.
    VolumeOver {
        /// Limit of all units together, ft³.
        limit_ft3: Finite,
        /// The cellar, ft³.
        volume_ft3: Finite,
    },
    /// The job's temperatures lie outside its capacity data.
    OutsideRating(OutsideRating),
}

/// A class passed over.
#[derive(Clone, Debug, PartialEq)]
pub struct Refusal {
    /// The class.
    pub class: String,
    /// In how many units it was tried.
    pub units: u32,
    /// Everything that was out.
    pub reasons: Vec<Reason>,
}

/// A class that does the job.
#[derive(Clone, Debug, PartialEq)]
pub struct Selection {
    /// The class.
    pub class: String,
    /// How many units of it.
    pub units: u32,
    /// One unit at the job's temperatures, Btu/h.
    pub unit_capacity_btu_h: Finite,
    /// All units, Btu/h.
    pub capacity_btu_h: Finite,
    /// What is left above the need, Btu/h: the margin.
    pub spare_btu_h: Finite,
    /// Capacity over need; none when nothing is needed.
    pub ratio: Option<Finite>,
    /// Share of the volume limit that the cellar takes up, where there is a limit.
    pub volume_share: Option<Finite>,
    /// What a person should know.
    pub findings: Vec<Finding>,
}

/// The answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The class chosen; none when no class fits in as many units as allowed.
    pub selection: Option<Selection>,
    /// Every class, in every number of units, that was tried before, in the order of trial.
    pub refusals: Vec<Refusal>,
    /// How the choice is made.
    pub method: &'static str,
    /// Where the capacities come from.
    pub source: &'static str,
}

/// Chooses among the candidates. The order of the list does not matter: classes are tried from the least
/// capacity at the job's temperatures upwards, first one unit of each, then two, and so on.
///
/// # Errors
/// No candidates, a need outside its range, or capacity data that is not a number.
pub fn select(candidates: &[Candidate], need: &Need) -> Result<Choice, InputFault> {
    if candidates.is_empty() {
        return Err(InputFault::Unusable {
            field: "unit classes",
            why: "there is none to choose from",
        });
    }
    let need = checked(need)?;
    let mut rated = Vec::with_capacity(candidates.len());
    for candidate in candidates {
        rated.push((candidate, capacity_at(candidate, &need)?));
    }
    rated.sort_by(|(a, a_at), (b, b_at)| order(a_at).cmp(&order(b_at)).then_with(|| a.class.cmp(&b.class)));
    let smallest = rated
        .iter()
        .find(|(_, at)| at.is_ok())
        .map(|(c, _)| c.class.as_str());
    let mut refusals = Vec::new();
    for units in 1..=need.most_units {
        for (candidate, at) in &rated {
            match assess_rated(candidate, units, at, &need, smallest)? {
                Ok(selection) => return Ok(choice(Some(selection), refusals)),
                // What lies outside the data is outside in any number.
                Err(refusal) if units == 1 || at.is_ok() => refusals.push(refusal),
                Err(_) => {}
            }
        }
    }
    Ok(choice(None, refusals))
}

/// Tries one named class in a given number of units, 1 to 8: the office's own wish, checked.
///
/// # Errors
/// A need outside its range, or capacity data that is not a number.
pub fn assess(candidate: &Candidate, units: u32, need: &Need) -> Result<Choice, InputFault> {
    let need = checked(&Need {
        most_units: units,
        ..*need
    })?;
    let at = capacity_at(candidate, &need)?;
    Ok(match assess_rated(candidate, units, &at, &need, None)? {
        Ok(selection) => choice(Some(selection), Vec::new()),
        Err(refusal) => choice(None, vec![refusal]),
    })
}

fn choice(selection: Option<Selection>, refusals: Vec<Refusal>) -> Choice {
    Choice {
        selection,
        refusals,
        method: METHOD,
        source: SOURCE,
    }
}

fn checked(need: &Need) -> Result<Need, InputFault> {
    within("required capacity", need.required_btu_h, (0.0, 1.0e6), "Btu/h")?;
    within("volume of the cellar", need.volume_ft3, (1.0, 100_000.0), "ft³")?;
    within(
        "condenser air temperature",
        need.condenser_air_c,
        (-40.0, 80.0),
        "°C",
    )?;
    within("cellar temperature", need.cellar_c, (-10.0, 40.0), "°C")?;
    within("number of units", f64::from(need.most_units), (1.0, 8.0), "units")?;
    Ok(*need)
}

type AtJob = Result<Finite, OutsideRating>;

fn capacity_at(candidate: &Candidate, need: &Need) -> Result<AtJob, InputFault> {
    if let Some(limit) = candidate.volume_limit_ft3 {
        within("volume limit of a class", limit, (1.0, 1.0e6), "ft³")?;
    }
    match candidate.capacity.at(need.condenser_air_c, need.cellar_c)? {
        Ok(btu_h) => Ok(Ok(Finite::new(btu_h, "capacity of a class")?)),
        Err(outside) => Ok(Err(outside)),
    }
}

/// Classes that have no capacity here come last.
fn order(at: &AtJob) -> (bool, Option<Finite>) {
    (at.is_err(), at.as_ref().ok().copied())
}

fn assess_rated(
    candidate: &Candidate,
    units: u32,
    at: &AtJob,
    need: &Need,
    smallest: Option<&str>,
) -> Result<Result<Selection, Refusal>, InputFault> {
    let mut reasons = Vec::new();
    let count = f64::from(units);
    let limit = candidate.volume_limit_ft3.map(|limit| limit * count);
    if let Some(limit) = limit
        && limit < need.volume_ft3
    {
        reasons.push(Reason::VolumeOver {
            limit_ft3: Finite::new(limit, "volume limit")?,
            volume_ft3: Finite::new(need.volume_ft3, "volume of the cellar")?,
        });
    }
    let unit = match at {
        Ok(unit) => *unit,
        Err(outside) => {
            reasons.push(Reason::OutsideRating(outside.clone()));
            return Ok(Err(Refusal {
                class: candidate.class.clone(),
                units,
                reasons,
            }));
        }
    };
    let capacity = Finite::new(unit.get() * count, "capacity of all units")?;
    let needs = Finite::new(need.required_btu_h, "required capacity")?;
    if capacity < needs {
        reasons.push(Reason::CapacityShort {
            has_btu_h: capacity,
            needs_btu_h: needs,
        });
    }
    if !reasons.is_empty() {
        return Ok(Err(Refusal {
            class: candidate.class.clone(),
            units,
            reasons,
        }));
    }
    let ratio = match needs.get() {
        0.0 => None,
        needs => Some(Finite::new(capacity.get() / needs, "capacity over need")?),
    };
    let volume_share = match limit {
        Some(limit) => Some(Finite::new(need.volume_ft3 / limit, "share of the volume limit")?),
        None => None,
    };
    let is_smallest = units == 1 && smallest == Some(candidate.class.as_str());
    let findings = candidate.findings(units, ratio, is_smallest, need);
    Ok(Ok(Selection {
        class: candidate.class.clone(),
        units,
        unit_capacity_btu_h: unit,
        capacity_btu_h: capacity,
        spare_btu_h: Finite::new(capacity.get() - needs.get(), "spare capacity")?,
        ratio,
        volume_share,
        findings,
    }))
}

impl Candidate {
    fn findings(&self, units: u32, ratio: Option<Finite>, smallest: bool, need: &Need) -> Vec<Finding> {
        let mut findings = Vec::new();
        let name = if units == 1 {
            self.class.clone()
        } else {
            format!("{units} × {}", self.class)
        };
        let ratio = ratio.map_or(f64::MAX, Finite::get);
        if ratio > OVERSIZE && need.required_btu_h > 0.0 {
            let (code, end) = if smallest {
                ("class.oversize_smallest", "it is the smallest class there is")
            } else {
                ("class.oversize", "it will run in short bursts and dry the air")
            };
            let message = format!("{name} can do {ratio:.2} times what is needed; {end}");
            findings.push(Finding::caution(code, message, COMMON_PRACTICE));
        }
        if ratio < TIGHT {
            let message = format!(
                "{name} covers the need by {:.0} %; little is left for a hotter day",
                (ratio - 1.0) * 100.0
            );
            findings.push(Finding::caution("class.tight", message, COMMON_PRACTICE));
        }
        if let Capacity::Rated(point) = &self.capacity {
            let message = format!(
                "{name}: no capacity table; {:.0} Btu/h at {:.0} °F was reduced by {:.2} % per °F to {:.0} °F. Ask the \
                 supplier for the capacity at that temperature",
                point.capacity_btu_h,
                fahrenheit(point.condenser_air_c),
                point.loss_per_k / 1.8 * 100.0,
                fahrenheit(need.condenser_air_c),
            );
            findings.push(Finding::caution(
                "class.capacity_estimated",
                message,
                COMMON_PRACTICE,
            ));
        }
        findings
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reason::CapacityShort {
                has_btu_h,
                needs_btu_h,
            } => {
                let (has, needs) = (has_btu_h.get(), needs_btu_h.get());
                write!(
                    f,
                    "does {has:.0} Btu/h where {needs:.0} are needed, {:.0} short",
                    needs - has
                )
            }
            Reason::VolumeOver {
                limit_ft3,
                volume_ft3,
            } => {
                let (limit, volume) = (limit_ft3.get(), volume_ft3.get());
                write!(
                    f,
                    "is limited to {limit:.0} ft³ and the cellar has {volume:.0}, {:.0} over",
                    volume - limit
                )
            }
            Reason::OutsideRating(outside) => outside.fmt(f),
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.units > 1 {
            write!(f, "{} × ", self.units)?;
        }
        write!(f, "{} ", self.class)?;
        for (position, reason) in self.reasons.iter().enumerate() {
            if position > 0 {
                f.write_str("; ")?;
            }
            reason.fmt(f)?;
        }
        Ok(())
    }
}
