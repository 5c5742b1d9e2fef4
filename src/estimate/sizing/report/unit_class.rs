//! Question: which class of unit, and how many of it.

use super::load;
use super::practice;
use super::question::{Answer, Card, Sheet, Side, answer};
use super::step::{self, celsius, float};
use super::survey::{Survey, count, fan_w};
use super::unanswered::Unanswered;
use crate::catalogue::Equipment;
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;
use crate::sizing::cellar_load::{CellarLoad, CellarLoadInput, Surface, cellar_load};
use crate::sizing::class::{
    self, Candidate, Capacity, CapacityTable, Choice, Need, Reason, Refusal, Selection, assess, select,
};
use crate::sizing::facts::{Row, number, place, rows};
use crate::sizing::finding::Finding;

const CARD: Card = Card {
    name: "unit_class",
    title: "Unit class",
    method: class::METHOD,
    source: class::SOURCE,
    hazard: None,
    unanswered: "class.not_worked_out",
};

/// From this ratio of capacity to need a unit is told to be too large.
const OVERSIZE: Decimal = Decimal::TWO;

/// What formulas may know of the unit that was taken.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::sizing) struct ClassFigures {
    place: usize,
    count: Decimal,
    capacity: Decimal,
    load_ratio: Decimal,
    oversized: bool,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "unit.class" Class, "class of the unit taken", |f| place(f.class.place);
    "unit.count" Number(Unit::EACH), "units taken", |f| number(f.class.count);
    "unit.capacity" Number(Unit::BTU_PER_H), "capacity of one unit at the job's temperatures",
        |f| number(f.class.capacity);
    "unit.load_ratio" Number(Unit::ONE), "capacity of all units over the required one; 0 when none is required",
        |f| number(f.class.load_ratio);
    "unit.oversized" Flag, "the units can do more than twice what is required",
        |f| FactValue::Flag(f.class.oversized);
};

/// The unit that the rest of the sizing is worked out for, whether it does or not.
pub(super) struct Taken<'a> {
    pub place: usize,
    pub equipment: &'a Equipment,
    pub units: u32,
    /// One unit at the job's temperatures, or at the nearest ones of its data, Btu/h.
    pub capacity_btu_h: f64,
    /// One unit at its best: the coldest condenser of its data that this job may see, Btu/h.
    pub greatest_btu_h: f64,
    pub load: Result<CellarLoad, Unanswered>,
    /// The faces of the load, in its order.
    pub surfaces: Vec<Surface>,
    trial: Result<Trial, Unanswered>,
}

/// How the choice went.
struct Trial {
    place: usize,
    units: u32,
    load: CellarLoad,
    need: Need,
    choice: Choice,
}

impl Taken<'_> {
    /// Fans of all units, W.
    pub fn fans_w(&self) -> f64 {
        fan_w(self.equipment) * count(self.units)
    }
}

/// Takes a unit: the one that is asked for, the smallest that does, or the largest where none does.
pub(super) fn take<'a>(survey: &Survey<'a>) -> Taken<'a> {
    let mut input = load::input(survey);
    let fleet = Fleet::new(survey);
    let trial = match &fleet {
        Ok(fleet) => fleet.try_out(survey, &mut input),
        Err(reason) => Err(reason.clone()),
    };
    let (place, units) = match &trial {
        Ok(trial) => (trial.place, trial.units),
        Err(_) => (
            survey.wish.unwrap_or(survey.equipment.len() - 1),
            survey.asked_units(),
        ),
    };
    let equipment = survey.class(place);
    let load = match &trial {
        Ok(trial) => Ok(trial.load.clone()),
        Err(_) => with_fans(&mut input, fan_w(equipment) * count(units)),
    };
    let capacity = |condenser_f| {
        fleet
            .as_ref()
            .map_or(0.0, |fleet| fleet.nearest(place, condenser_f, survey))
    };
    let coldest_f = survey.winter_f.unwrap_or(f64::MIN).min(survey.condenser_f);
    let capacity_btu_h = capacity(survey.condenser_f);
    Taken {
        place,
        equipment,
        units,
        capacity_btu_h,
        greatest_btu_h: capacity(coldest_f).max(capacity_btu_h),
        load,
        surfaces: input.surfaces,
        trial,
    }
}

fn with_fans(input: &mut CellarLoadInput, fans_w: f64) -> Result<CellarLoad, Unanswered> {
    input.fans.power_w = fans_w;
    Ok(cellar_load(input)?)
}

/// The catalogue's classes with their capacity data in physics' own numbers.
struct Fleet {
    candidates: Vec<Candidate>,
    /// Ends of each class's data: condenser air and cellar air, °F.
    ends: Vec<[(f64, f64); 2]>,
}

impl Fleet {
    fn new(survey: &Survey<'_>) -> Result<Self, Unanswered> {
        let mut fleet = Fleet {
            candidates: Vec::with_capacity(survey.equipment.len()),
            ends: Vec::with_capacity(survey.equipment.len()),
        };
        for class in survey.equipment {
            let table = &class.capacity;
            let [condenser_f, cellar_f] = [&table.condenser_air, &table.cellar_air]
                .map(|axis| axis.iter().map(|t| float(t.0)).collect::<Vec<f64>>());
            let ends = [&condenser_f, &cellar_f].map(|axis| ends(axis));
            let in_c = |axis: Vec<f64>| axis.into_iter().map(celsius).collect();
            let rows: Vec<Vec<f64>> = table
                .capacity
                .iter()
                .map(|row| row.iter().map(|capacity| float(capacity.0)).collect())
                .collect();
            fleet.ends.push(ends);
            fleet.candidates.push(Candidate {
                class: class.class.clone(),
                volume_limit_ft3: Some(float(class.volume_limit.0)),
                capacity: Capacity::Table(CapacityTable::new(in_c(condenser_f), in_c(cellar_f), &rows)?),
            });
        }
        Ok(fleet)
    }

    /// Capacity of one unit at these temperatures, or at the nearest ones of its data, Btu/h.
    fn nearest(&self, place: usize, condenser_f: f64, survey: &Survey<'_>) -> f64 {
        let found = self.candidates.get(place).zip(self.ends.get(place));
        let found = found.and_then(|(candidate, [condenser, cellar])| {
            let condenser_c = celsius(condenser_f.max(condenser.0).min(condenser.1));
            let cellar_c = celsius(survey.cellar_f.max(cellar.0).min(cellar.1));
            candidate.capacity.at(condenser_c, cellar_c).ok()?.ok()
        });
        found.unwrap_or(0.0)
    }

    /// The need as the data can be asked for it: a condenser colder and a cellar warmer than all data earn
    /// no credit, and are taken at the data's end.
    fn need(&self, survey: &Survey<'_>, load: &CellarLoad) -> Need {
        let coldest_f = self
            .ends
            .iter()
            .fold(f64::MIN, |most, [(low, _), _]| most.max(*low));
        let warmest_f = self
            .ends
            .iter()
            .fold(f64::MAX, |least, [_, (_, high)]| least.min(*high));
        Need {
            required_btu_h: load.required_capacity.btu_h().get(),
            volume_ft3: survey.volume_ft3,
            condenser_air_c: celsius(survey.condenser_f.max(coldest_f)),
            cellar_c: celsius(survey.cellar_f.min(warmest_f)),
            most_units: if survey.wish.is_none() && survey.asked_units() == 1 {
                practice::MOST_UNITS
            } else {
                survey.asked_units()
            },
        }
    }

    /// The fans of the unit are part of the load that the unit is chosen for: the choice is made again with
    /// the chosen unit's fans until they are counted. The fans only grow from one round to the next, and
    /// there are few of them, so that the rounds end.
    fn try_out(&self, survey: &Survey<'_>, input: &mut CellarLoadInput) -> Result<Trial, Unanswered> {
        let mut fans_w = match survey.wish {
            Some(place) => fan_w(survey.class(place)),
            None => survey.equipment.iter().map(fan_w).fold(f64::MAX, f64::min),
        } * count(survey.asked_units());
        loop {
            let load = with_fans(input, fans_w)?;
            let need = self.need(survey, &load);
            let choice = self.choose(survey, &need)?;
            let (place, units) = self.taken(survey, &need, &choice);
            let own_w = fan_w(survey.class(place)) * count(units);
            if own_w > fans_w {
                fans_w = own_w;
                continue;
            }
            if own_w == fans_w {
                return Ok(Trial {
                    place,
                    units,
                    load,
                    need,
                    choice,
                });
            }
            // A larger class with smaller fans: it is held to what it adds itself.
            let load = with_fans(input, own_w)?;
            let need = Need {
                most_units: units,
                ..self.need(survey, &load)
            };
            let again = match self.candidates.get(place) {
                Some(candidate) => assess(candidate, units, &need)?,
                None => choice,
            };
            return Ok(Trial {
                place,
                units,
                load,
                need,
                choice: again,
            });
        }
    }

    fn choose(&self, survey: &Survey<'_>, need: &Need) -> Result<Choice, Unanswered> {
        let units = survey.asked_units();
        if let Some(candidate) = survey.wish.and_then(|place| self.candidates.get(place)) {
            return Ok(assess(candidate, units, need)?);
        }
        if units == 1 {
            return Ok(select(&self.candidates, need)?);
        }
        let mut refusals = Vec::new();
        for candidate in &self.candidates {
            let mut choice = assess(candidate, units, need)?;
            if choice.selection.is_some() {
                choice.refusals.splice(0..0, refusals);
                return Ok(choice);
            }
            refusals.append(&mut choice.refusals);
        }
        Ok(Choice {
            selection: None,
            refusals,
            method: class::METHOD,
            source: class::SOURCE,
        })
    }

    /// The class chosen; where none was, the one asked for or the one that does the most.
    fn taken(&self, survey: &Survey<'_>, need: &Need, choice: &Choice) -> (usize, u32) {
        if let Some(selection) = &choice.selection {
            let chosen = self.candidates.iter().position(|c| c.class == selection.class);
            return (chosen.unwrap_or_default(), selection.units);
        }
        let strongest = (0..self.candidates.len())
            .max_by(|a, b| {
                let at = |place| self.nearest(place, survey.condenser_f, survey);
                at(*a).total_cmp(&at(*b))
            })
            .unwrap_or_default();
        (survey.wish.unwrap_or(strongest), need.most_units)
    }
}

fn ends(axis: &[f64]) -> (f64, f64) {
    match axis {
        [first, .., last] => (*first, *last),
        [only] => (*only, *only),
        [] => (f64::NAN, f64::NAN),
    }
}

/// The question, told.
pub(super) fn ask(survey: &Survey<'_>, taken: &Taken<'_>) -> Answer<ClassFigures> {
    let stand_in = ClassFigures {
        place: taken.place,
        count: Decimal::from(taken.units),
        capacity: step::HEAT.decimal(taken.capacity_btu_h).unwrap_or_default(),
        ..ClassFigures::default()
    };
    answer(&CARD, stand_in, |sheet| {
        tell_inputs(survey, sheet)?;
        let trial = taken.trial.as_ref().map_err(Clone::clone)?;
        let capacity_btu_h = taken.capacity_btu_h * count(taken.units);
        let required_btu_h = trial.need.required_btu_h;
        sheet.detail_text("title", "unit taken", taken.equipment.title.clone());
        sheet.detail(
            "total_capacity",
            "capacity of all units",
            step::HEAT,
            capacity_btu_h,
        )?;
        for refusal in &trial.choice.refusals {
            sheet.detail_text("passed_over", "passed over", refusal.to_string());
        }
        sheet.margin(
            "required capacity",
            (Side::AtMost, step::HEAT),
            required_btu_h,
            capacity_btu_h,
        )?;
        match &trial.choice.selection {
            Some(selection) => tell_selection(survey, selection, sheet),
            None => tell_refusal(taken, &trial.choice, sheet),
        }
        let load_ratio = if required_btu_h > 0.0 {
            step::RATIO.decimal(capacity_btu_h / required_btu_h)?
        } else {
            Decimal::ZERO
        };
        Ok(ClassFigures {
            place: taken.place,
            count: Decimal::from(taken.units),
            capacity: step::HEAT.decimal(taken.capacity_btu_h)?,
            load_ratio,
            oversized: load_ratio > OVERSIZE,
        })
    })
}

fn tell_inputs(survey: &Survey<'_>, sheet: &mut Sheet) -> Result<(), Unanswered> {
    let asked = survey
        .wish
        .map_or("auto", |place| survey.class(place).class.as_str());
    sheet.input_text("asked", "class asked for", asked.to_owned());
    sheet.input(
        "asked_count",
        "units asked for",
        step::COUNT,
        count(survey.asked_units()),
    )?;
    sheet.input(
        "condenser_air",
        "warmest air at the condenser",
        step::TEMPERATURE,
        survey.condenser_f,
    )?;
    sheet.input(
        "cellar_air",
        "wanted air temperature",
        step::TEMPERATURE,
        survey.cellar_f,
    )?;
    sheet.input("volume", "inside volume", step::VOLUME, survey.volume_ft3)?;
    sheet.note("A condenser colder and a cellar warmer than the capacity data are taken at the data's end.");
    Ok(())
}

fn tell_selection(survey: &Survey<'_>, selection: &Selection, sheet: &mut Sheet) {
    sheet.findings.extend(selection.findings.iter().cloned());
    if selection.units > survey.asked_units() {
        let message = format!(
            "One unit will not do; {} units of class {} are taken.",
            selection.units, selection.class
        );
        sheet
            .findings
            .push(Finding::caution("class.several_units", message, class::SOURCE));
    }
}

/// The unit is taken all the same, and every number that is out is told. A cellar that is larger than its
/// maker's limit is a caution as long as the capacity covers the load.
fn tell_refusal(taken: &Taken<'_>, choice: &Choice, sheet: &mut Sheet) {
    let class = &taken.equipment.class;
    let of_taken = |refusal: &&Refusal| refusal.class == *class;
    let reasons = choice
        .refusals
        .iter()
        .rfind(of_taken)
        .map_or(&[][..], |refusal| &refusal.reasons);
    let units = if taken.units == 1 {
        String::new()
    } else {
        format!("{} × ", taken.units)
    };
    for reason in reasons {
        let message = format!("The unit taken, {units}{class}, {reason}.");
        sheet.findings.push(match reason {
            Reason::VolumeOver { .. } => Finding::caution("class.cellar_over_limit", message, class::SOURCE),
            Reason::CapacityShort { .. } => Finding::stop("class.too_small", message, class::SOURCE),
            Reason::OutsideRating(_) => Finding::stop("class.outside_rating", message, class::SOURCE),
        });
    }
    if let [Reason::VolumeOver { .. }] = reasons {
        return;
    }
    if choice.refusals.iter().any(|refusal| refusal.class != *class) {
        sheet.note("No class does; the one that does the most is taken for the rest.");
    }
}
