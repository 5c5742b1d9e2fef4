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
use crate::sizing::heat_rate::BTU_H_W;

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
    fn need(&self, survey: &Survey<'_>, load: &CellarLoad, units: u32) -> Need {
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
            most_units: units,
        }
    }

    /// Each class is held to the load with its own fans. The load without fans is worked out once; what fans
    /// add to it is their own heat with the margins.
    fn try_out(&self, survey: &Survey<'_>, input: &mut CellarLoadInput) -> Result<Trial, Unanswered> {
        let still = with_fans(input, 0.0)?;
        let asked = survey.asked_units();
        let most_units = if asked == 1 { practice::MOST_UNITS } else { asked };
        let tries: Vec<(usize, u32)> = match survey.wish {
            Some(place) => vec![(place, asked)],
            None => {
                let order = self.by_capacity(survey);
                let each = |units| order.iter().map(move |place| (*place, units));
                (asked..=most_units).flat_map(each).collect()
            }
        };
        let margins = (1.0 + input.safety_share) * 24.0 / input.run_hours_per_day / BTU_H_W;
        let mut refusals: Vec<Refusal> = Vec::new();
        for (place, units) in &tries {
            let Some(candidate) = self.candidates.get(*place) else {
                continue;
            };
            if outside_already(&refusals, candidate) {
                continue;
            }
            let fans_w = fan_w(survey.class(*place)) * count(*units);
            let mut need = self.need(survey, &still, *units);
            need.required_btu_h += fans_w * margins;
            let smallest = survey.wish.is_none() && refusals.iter().all(is_outside);
            let mut choice = offer(candidate, *units, smallest, &need)?;
            let chosen = choice.selection.is_some();
            refusals.append(&mut choice.refusals);
            if chosen {
                return Ok(Trial {
                    place: *place,
                    units: *units,
                    load: with_fans(input, fans_w)?,
                    need,
                    choice: Choice { refusals, ..choice },
                });
            }
        }
        let (place, units) = self.strongest(survey, &tries);
        let load = with_fans(input, fan_w(survey.class(place)) * count(units))?;
        let need = self.need(survey, &load, units);
        let choice = Choice {
            selection: None,
            refusals,
            method: class::METHOD,
            source: class::SOURCE,
        };
        Ok(Trial {
            place,
            units,
            load,
            need,
            choice,
        })
    }

    /// Places of the classes, the one that does the least at the job's temperatures first.
    fn by_capacity(&self, survey: &Survey<'_>) -> Vec<usize> {
        let mut places: Vec<usize> = (0..self.candidates.len()).collect();
        let at = |place: &usize| self.nearest(*place, survey.condenser_f, survey);
        places.sort_by(|a, b| at(a).total_cmp(&at(b)));
        places
    }

    /// Of what was tried, that which does the most.
    fn strongest(&self, survey: &Survey<'_>, tries: &[(usize, u32)]) -> (usize, u32) {
        let does =
            |(place, units): &(usize, u32)| self.nearest(*place, survey.condenser_f, survey) * count(*units);
        let most = tries.iter().max_by(|a, b| does(a).total_cmp(&does(b)));
        most.copied().unwrap_or_default()
    }
}

/// Tries one class. The smallest that has data for the job may be too large without blame.
fn offer(candidate: &Candidate, units: u32, smallest: bool, need: &Need) -> Result<Choice, Unanswered> {
    Ok(if smallest && units == 1 {
        select(std::slice::from_ref(candidate), need)?
    } else {
        assess(candidate, units, need)?
    })
}

fn is_outside(refusal: &Refusal) -> bool {
    refusal
        .reasons
        .iter()
        .any(|reason| matches!(reason, Reason::OutsideRating(_)))
}

/// What lies outside the data of a class is outside in any number of units.
fn outside_already(refusals: &[Refusal], candidate: &Candidate) -> bool {
    refusals
        .iter()
        .any(|refusal| refusal.class == candidate.class && is_outside(refusal))
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
