//! The catalogue's classes with their capacity data, and the choice among them.

use super::practice;
use super::step::{celsius, float};
use super::survey::{Survey, count, fan_w};
use super::unanswered::Unanswered;
use crate::catalogue::Equipment;
use crate::quantity::measure::Temperature;
use crate::sizing::cellar_load::{CellarLoad, CellarLoadInput, cellar_load};
use crate::sizing::class::{
    self, Candidate, Capacity, CapacityTable, Choice, Need, Reason, Refusal, assess, select,
};
use crate::sizing::heat_rate::BTU_H_W;

/// How the choice went.
pub(super) struct Trial {
    pub place: usize,
    pub units: u32,
    pub load: CellarLoad,
    pub need: Need,
    pub choice: Choice,
}

/// The load with fans of this power.
pub(super) fn with_fans(input: &mut CellarLoadInput, fans_w: f64) -> Result<CellarLoad, Unanswered> {
    input.fans.power_w = fans_w;
    Ok(cellar_load(input)?)
}

/// The catalogue's classes with their capacity data in physics' own numbers.
pub(super) struct Fleet {
    /// By place in the catalogue. Where a class is asked for by name, the others are not made ready.
    candidates: Vec<Option<Candidate>>,
    /// Ends of each class's data: condenser air and cellar air, °F.
    ends: Vec<[(f64, f64); 2]>,
}

impl Fleet {
    pub fn new(survey: &Survey<'_>) -> Result<Self, Unanswered> {
        let mut fleet = Fleet {
            candidates: Vec::with_capacity(survey.equipment.len()),
            ends: Vec::with_capacity(survey.equipment.len()),
        };
        for (place, class) in survey.equipment.iter().enumerate() {
            let table = &class.capacity;
            fleet
                .ends
                .push([&table.condenser_air, &table.cellar_air].map(|axis| ends(axis)));
            let may_be_taken = survey.wish.is_none_or(|wish| wish == place);
            let candidate = may_be_taken.then(|| candidate(class)).transpose()?;
            fleet.candidates.push(candidate);
        }
        Ok(fleet)
    }

    fn candidate(&self, place: usize) -> Option<&Candidate> {
        self.candidates.get(place)?.as_ref()
    }

    /// Capacity of one unit at these temperatures, or at the nearest ones of its data, Btu/h.
    pub fn nearest(&self, place: usize, condenser_f: f64, survey: &Survey<'_>) -> f64 {
        let found = self.candidate(place).zip(self.ends.get(place));
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
    pub fn try_out(&self, survey: &Survey<'_>, input: &mut CellarLoadInput) -> Result<Trial, Unanswered> {
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
            let Some(candidate) = self.candidate(*place) else {
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
        let places = 0..self.candidates.len();
        let does = places.map(|place| (self.nearest(place, survey.condenser_f, survey), place));
        let mut does: Vec<(f64, usize)> = does.collect();
        does.sort_by(|a, b| a.0.total_cmp(&b.0));
        does.into_iter().map(|(_, place)| place).collect()
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

/// A class as the choice asks for it.
fn candidate(class: &Equipment) -> Result<Candidate, Unanswered> {
    let table = &class.capacity;
    let [condenser_c, cellar_c] = [&table.condenser_air, &table.cellar_air]
        .map(|axis| axis.iter().map(|t| celsius(float(t.0))).collect());
    let rows: Vec<Vec<f64>> = table
        .capacity
        .iter()
        .map(|row| row.iter().map(|capacity| float(capacity.0)).collect())
        .collect();
    Ok(Candidate {
        class: class.class.clone(),
        volume_limit_ft3: Some(float(class.volume_limit.0)),
        capacity: Capacity::Table(CapacityTable::new(condenser_c, cellar_c, &rows)?),
    })
}

fn ends(axis: &[Temperature]) -> (f64, f64) {
    match axis {
        [first, .., last] => (float(first.0), float(last.0)),
        [only] => (float(only.0), float(only.0)),
        [] => (f64::NAN, f64::NAN),
    }
}
