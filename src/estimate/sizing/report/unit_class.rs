//! Question: which class of unit, and how many of it.

use super::fleet::{Fleet, Trial, with_fans};
use super::load;
use super::question::{Answer, Card, Sheet, Side, answer};
use super::step;
use super::survey::{Survey, count, fan_w};
use super::unanswered::Unanswered;
use crate::catalogue::Equipment;
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;
use crate::sizing::cellar_load::{CellarLoad, Surface};
use crate::sizing::class::{self, Choice, Reason, Refusal, Selection};
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
    /// No class does, or none could be chosen: this one only lets the rest be figured.
    pub for_figuring_only: bool,
}

impl Taken<'_> {
    /// The load, for a question that builds on it.
    pub fn known_load(&self) -> Result<&CellarLoad, Unanswered> {
        self.load
            .as_ref()
            .map_err(|_| Unanswered::Needs("the cooling load"))
    }

    /// Its class, and how many of it where they are several.
    fn named(&self) -> String {
        let class = &self.equipment.class;
        match self.units {
            1 => format!("Class {class}"),
            units => format!("{units} × class {class}"),
        }
    }

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
        for_figuring_only: survey.wish.is_none()
            && trial
                .as_ref()
                .map_or(true, |trial| trial.choice.selection.is_none()),
        trial,
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
    let mut told = answer(&CARD, stand_in, |sheet| {
        tell_inputs(survey, sheet)?;
        taken.known_load()?;
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
    });
    if taken.for_figuring_only {
        let message = format!(
            "No class could be chosen. {} is taken for figuring only: lines and prices that depend on it are no offer.",
            taken.named()
        );
        let finding = Finding::caution("class.for_figuring_only", message, class::SOURCE);
        told.sheet.findings.push(finding);
    }
    told
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

/// The unit is taken all the same, and every number that is out is told as a stop.
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
            Reason::VolumeOver { .. } => Finding::stop("class.cellar_over_limit", message, class::SOURCE),
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
