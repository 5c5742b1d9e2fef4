//! Question: the charge against the smallest room, as a screening that never approves.

use super::lines::LineFigures;
use super::question::{Answer, Card, Side, answer};
use super::step::{self, float};
use super::survey::Survey;
use super::unit_class::Taken;
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;
use crate::sizing::charge_limit::{self, ChargeInput, ChargeOutcome, screen};
use crate::sizing::facts::{Row, number, rows};
use crate::sizing::refrigerant::{ConcentrationLimit, Refrigerant};

const CARD: Card = Card {
    name: "charge_limit",
    title: "Charge in the smallest room",
    method: charge_limit::METHOD,
    source: charge_limit::SOURCE,
    hazard: Some(charge_limit::CAUTION),
    unanswered: "charge_limit.not_worked_out",
};

/// One ounce (avoirdupois), kg.
const OUNCE_KG: f64 = 0.028_349_523_125;

/// What formulas may know of the screening.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::sizing) struct ChargeFigures {
    flag: bool,
    limit: Decimal,
    flammable: bool,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "charge_limit.flag" Flag, "the supplier or an engineer must decide on the charge of one unit in the smallest room",
        |f| FactValue::Flag(f.charge.flag);
    "charge_limit.limit" Number(Unit::OZ), "screening limit of the charge in the smallest room",
        |f| number(f.charge.limit);
    "equipment.flammable" Flag, "the refrigerant burns (class A2L or A3)", |f| FactValue::Flag(f.charge.flammable);
};

/// The question, told. What could not be screened is flagged.
pub(super) fn ask(survey: &Survey<'_>, taken: &Taken<'_>, lines: &LineFigures) -> Answer<ChargeFigures> {
    let stand_in = ChargeFigures {
        flag: true,
        limit: Decimal::ZERO,
        flammable: true,
    };
    answer(&CARD, stand_in, |sheet| {
        let refrigerant: Refrigerant = taken.equipment.refrigerant.parse()?;
        let concentration = refrigerant.concentration();
        let charge_oz = float(lines.total_charge);
        let smallest_room_ft3 = smallest_room_ft3(survey);
        sheet.input_text("refrigerant", "refrigerant", refrigerant.designation());
        sheet.input("charge", "charge of one unit", step::CHARGE, charge_oz)?;
        sheet.input("room", "smallest room surveyed", step::VOLUME, smallest_room_ft3)?;
        let screening = screen(&ChargeInput {
            concentration,
            charge_kg: charge_oz * OUNCE_KG,
            smallest_room_ft3,
        })?;
        sheet.findings.extend(screening.findings.iter().cloned());
        sheet.detail_text("safety_class", "safety class", screening.safety_class);
        sheet.detail_text(
            "figure_source",
            "source of the concentration limit",
            screening.figure_source,
        );
        sheet.detail(
            "room_needed",
            "smallest room for this charge",
            step::VOLUME,
            screening.volume_needed_ft3.get(),
        )?;
        let limit_oz = screening.limit_kg.get() / OUNCE_KG;
        sheet.margin(
            "charge of one unit",
            (Side::AtMost, step::CHARGE),
            charge_oz,
            limit_oz,
        )?;
        sheet.note(
            "Other rooms that the lines pass were not surveyed for their volume. No flag is no approval.",
        );
        Ok(ChargeFigures {
            flag: screening.outcome != ChargeOutcome::NoFlag,
            limit: step::CHARGE.decimal(limit_oz)?,
            flammable: !matches!(concentration.limit, ConcentrationLimit::A1 { .. }),
        })
    })
}

/// The cellar, or the room of the condensing unit where that is smaller.
fn smallest_room_ft3(survey: &Survey<'_>) -> f64 {
    let condenser = survey
        .spec
        .condenser
        .room_volume
        .filter(|_| !survey.condenser_outdoors());
    condenser.map_or(survey.volume_ft3, |room| float(room.0).min(survey.volume_ft3))
}
