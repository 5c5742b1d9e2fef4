//! Question: whether the condensing unit can work where it stands.

use super::practice;
use super::question::{Answer, Card, Sheet, Side, answer};
use super::step::{self, float};
use super::survey::{Survey, count};
use super::unanswered::Unanswered;
use super::unit_class::Taken;
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;
use crate::sizing::facts::{Row, number, rows};
use crate::sizing::finding::Finding;

const CARD: Card = Card {
    name: "condenser",
    title: "Condensing unit",
    method: "warmest and coldest air against the unit's own range; heat rejected = 1.3 × cooling",
    source: "range from the unit's data sheet; heat rejected by common practice, no source",
    hazard: None,
    unanswered: "condenser.not_worked_out",
};

const DATA_SHEET: &str = "the unit's data sheet";
const COMMON_PRACTICE: &str = "common practice, no source";

/// What formulas may know of the condensing unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::sizing) struct CondenserFigures {
    low_ambient_needed: bool,
    heat_rejected: Decimal,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "condenser.low_ambient_needed" Flag, "the winter air is known to be colder than the unit works in without a kit",
        |f| FactValue::Flag(f.condenser.low_ambient_needed);
    "condenser.heat_rejected" Number(Unit::BTU_PER_H), "heat that all condensing units give to the air around them",
        |f| number(f.condenser.heat_rejected);
};

/// The question, told.
pub(super) fn ask(survey: &Survey<'_>, taken: &Taken<'_>) -> Answer<CondenserFigures> {
    answer(&CARD, CondenserFigures::default(), |sheet| {
        let range = &taken.equipment.condenser_air;
        let (lowest_f, highest_f) = (float(range.lowest.0), float(range.highest.0));
        sheet.input(
            "warmest",
            "warmest air at the condenser",
            step::TEMPERATURE,
            survey.condenser_f,
        )?;
        sheet.input(
            "lowest",
            "coldest air that the unit works in",
            step::TEMPERATURE,
            lowest_f,
        )?;
        sheet.input(
            "highest",
            "warmest air that the unit works in",
            step::TEMPERATURE,
            highest_f,
        )?;
        sheet.margin(
            "warmest air at the condenser",
            (Side::AtMost, step::TEMPERATURE),
            survey.condenser_f,
            highest_f,
        )?;
        if survey.condenser_f > highest_f {
            let message = format!(
                "The air at the condenser reaches {:.1} °F, {:.1} °F over the {highest_f:.1} °F in which class {} works.",
                survey.condenser_f,
                survey.condenser_f - highest_f,
                taken.equipment.class
            );
            sheet
                .findings
                .push(Finding::stop("condenser.too_hot", message, DATA_SHEET));
        }
        let low_ambient_needed = tell_winter(survey, lowest_f, sheet)?;
        let rejected = taken.capacity_btu_h * count(taken.units) * practice::HEAT_REJECTED;
        tell_room(survey, rejected, sheet)?;
        Ok(CondenserFigures {
            low_ambient_needed,
            heat_rejected: step::HEAT.decimal(rejected)?,
        })
    })
}

fn tell_winter(survey: &Survey<'_>, lowest_f: f64, sheet: &mut Sheet) -> Result<bool, Unanswered> {
    let Some(winter_f) = survey.winter_f else {
        if survey.condenser_outdoors() {
            let message = format!(
                "The coldest air at the condenser is not known; under {lowest_f:.1} °F this unit needs a low-ambient kit."
            );
            sheet.findings.push(Finding::caution(
                "condenser.winter_not_known",
                message,
                DATA_SHEET,
            ));
        }
        return Ok(false);
    };
    sheet.input(
        "coldest",
        "coldest air at the condenser",
        step::TEMPERATURE,
        winter_f,
    )?;
    let needed = winter_f < lowest_f;
    if needed {
        let message = format!(
            "The air at the condenser falls to {winter_f:.1} °F, {:.1} °F under the {lowest_f:.1} °F of the data sheet: it \
             needs a low-ambient kit.",
            lowest_f - winter_f
        );
        sheet.findings.push(Finding::caution(
            "condenser.low_ambient_needed",
            message,
            DATA_SHEET,
        ));
    } else if winter_f < practice::COLD_CONDENSER_F {
        sheet.note("Under 50 °F the head pressure must be held up and the compressor kept warm; ask the data sheet how this unit does it.");
    }
    Ok(needed)
}

fn tell_room(survey: &Survey<'_>, rejected_btu_h: f64, sheet: &mut Sheet) -> Result<(), Unanswered> {
    if survey.condenser_outdoors() {
        return Ok(());
    }
    let room = match survey.spec.condenser.room_volume {
        Some(volume) => {
            sheet.input(
                "room",
                "room of the condensing unit",
                step::VOLUME,
                float(volume.0),
            )?;
            format!("the room of {:.0} ft³", float(volume.0))
        }
        None => "its room".to_owned(),
    };
    let message = format!(
        "The condensing unit stands indoors: about {rejected_btu_h:.0} Btu/h must leave {room}, or its air grows warmer than the \
         {:.1} °F that this sizing is for.",
        survey.condenser_f
    );
    sheet.findings.push(Finding::caution(
        "condenser.heat_stays_indoors",
        message,
        COMMON_PRACTICE,
    ));
    Ok(())
}
