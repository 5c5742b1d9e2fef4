//! Question: whether the ceiling takes the unit in the mounting that is wished for.

use super::practice;
use super::question::{Answer, Card, Sheet, Side, answer};
use super::step::{self, float};
use super::survey::Survey;
use super::unanswered::Unanswered;
use super::unit_class::Taken;
use crate::job::choices::{Choice, Framing, Mounting};
use crate::job::spec::CellarSize;
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::measure::Dimension;
use crate::quantity::unit::Unit;
use crate::sizing::facts::{Row, number, rows};
use crate::sizing::finding::Finding;

const CARD: Card = Card {
    name: "mounting",
    title: "Mounting",
    method: "clear depth above the ceiling against the unit's own need; body against the clear bay between joists",
    source: "depth from the unit's data sheet; bay = spacing − 1 1/2 in, common practice, no source",
    hazard: Some(
        "Cutting a ceiling: find pipes and wires first, sample old ceilings for asbestos and lead, never cut a joist, \
         a truss or an I-joist. Local code and licensed practice govern.",
    ),
    unanswered: "mounting.not_worked_out",
};

const DATA_SHEET: &str = "the unit's data sheet";
const FRAMING_RULE: &str =
    "common practice, no source: chords, webs and flanges are cut only as their maker or an engineer shows";

/// What formulas may know of the mounting.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::sizing) struct MountingFigures {
    void_needed: Decimal,
    void_short: bool,
    clear_bay: Decimal,
    within_one_bay: bool,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "mounting.void_needed" Number(Unit::IN), "clear depth above the ceiling that the unit needs in this mounting",
        |f| number(f.mounting.void_needed);
    "mounting.void_short" Flag, "the clear depth above the ceiling is less than that",
        |f| FactValue::Flag(f.mounting.void_short);
    "mounting.clear_bay" Number(Unit::IN), "clear width between two joists; 0 when their spacing is not known",
        |f| number(f.mounting.clear_bay);
    "hanging.within_one_bay" Flag, "the body goes between two joists", |f| FactValue::Flag(f.mounting.within_one_bay);
};

/// The question, told.
pub(super) fn ask(survey: &Survey<'_>, taken: &Taken<'_>) -> Answer<MountingFigures> {
    answer(&CARD, MountingFigures::default(), |sheet| {
        let wished = &survey.spec.unit;
        let mounting = wished.mounting;
        sheet.input_text("mounting", "mounting", word(mounting));
        sheet.input_text("framing", "framing", word(wished.framing));
        let body = &taken.equipment.body;
        sheet.input(
            "body_length",
            "longer side of the body",
            step::INCH,
            float(body.length.0),
        )?;
        sheet.input(
            "body_width",
            "shorter side of the body",
            step::INCH,
            float(body.width.0),
        )?;
        tell_room(survey, taken, sheet);
        let needed = void_needed(taken, mounting);
        let void_short = tell_void(wished.ceiling_void, needed, mounting, taken, sheet)?;
        let clear_bay = clear_bay(survey);
        let body_width = body.width.0 + Decimal::ONE;
        let within_one_bay = clear_bay.is_some_and(|bay| body_width <= bay);
        if mounting != Mounting::Exposed && wished.framing != Framing::Concrete {
            tell_bay(wished.framing, clear_bay, within_one_bay, taken, sheet);
        }
        Ok(MountingFigures {
            void_needed: needed.unwrap_or_default().0,
            void_short,
            clear_bay: clear_bay.unwrap_or_default(),
            within_one_bay,
        })
    })
}

fn word<C: Choice>(choice: C) -> &'static str {
    C::WORDS.get(choice.index()).map_or("", |(_, title)| *title)
}

/// A rectangular cellar must have room for the body under its ceiling, whichever way it is turned.
fn tell_room(survey: &Survey<'_>, taken: &Taken<'_>, sheet: &mut Sheet) {
    let CellarSize::Rectangular { length, width, .. } = survey.spec.cellar.size else {
        return;
    };
    let in_inches = |side: Decimal| side.checked_mul(Decimal::from(12)).unwrap_or(side);
    let (long, short) = (in_inches(length.0.max(width.0)), in_inches(length.0.min(width.0)));
    let body = &taken.equipment.body;
    let sides = (body.length.0.max(body.width.0), body.length.0.min(body.width.0));
    if sides.0 <= long && sides.1 <= short {
        return;
    }
    let [length, width, long, short] = [sides.0, sides.1, long, short].map(float);
    let message = format!(
        "The body of class {} is {length:.1} by {width:.1} in and the ceiling of the cellar only {long:.1} by {short:.1} in.",
        taken.equipment.class
    );
    sheet
        .findings
        .push(Finding::stop("mounting.larger_than_ceiling", message, DATA_SHEET));
}

fn void_needed(taken: &Taken<'_>, mounting: Mounting) -> Option<Dimension> {
    let needed = &taken.equipment.void_needed;
    match mounting {
        Mounting::Exposed => needed.exposed,
        Mounting::PartlyRecessed => needed.partly_recessed,
        Mounting::Flush => needed.flush,
    }
}

/// Clear width between two joists, in, where their spacing is known.
fn clear_bay(survey: &Survey<'_>) -> Option<Decimal> {
    let joist = Decimal::new(15, 1);
    survey
        .spec
        .unit
        .joist_spacing
        .map(|spacing| (spacing.0 - joist).max(Decimal::ZERO))
}

fn tell_void(
    void: Option<Dimension>,
    needed: Option<Dimension>,
    mounting: Mounting,
    taken: &Taken<'_>,
    sheet: &mut Sheet,
) -> Result<bool, Unanswered> {
    let class = &taken.equipment.class;
    let Some(needed) = needed else {
        let message = format!("Class {class} is not made for this mounting: {}.", word(mounting));
        sheet
            .findings
            .push(Finding::stop("mounting.not_possible", message, DATA_SHEET));
        return Ok(false);
    };
    let needed_in = float(needed.0);
    sheet.input(
        "void_needed",
        "clear depth that the unit needs above the ceiling",
        step::INCH,
        needed_in,
    )?;
    let Some(void) = void else {
        if needed_in > 0.0 {
            let message = format!(
                "Class {class} needs {needed_in:.1} in of clear depth above the ceiling, which was not measured."
            );
            sheet.findings.push(Finding::caution(
                "mounting.void_not_measured",
                message,
                DATA_SHEET,
            ));
        }
        return Ok(false);
    };
    let void_in = float(void.0);
    sheet.input("void", "clear depth above the ceiling", step::INCH, void_in)?;
    sheet.margin(
        "clear depth above the ceiling",
        (Side::AtLeast, step::INCH),
        void_in,
        needed_in,
    )?;
    let short = void < needed;
    if short {
        let message = format!(
            "Class {class} needs {needed_in:.1} in of clear depth above the ceiling in this mounting and there are \
             {void_in:.1} in, {:.1} in short.",
            needed_in - void_in
        );
        sheet
            .findings
            .push(Finding::stop("mounting.void_short", message, DATA_SHEET));
    }
    Ok(short)
}

/// A body that is partly or wholly above the ceiling must go between the framing or below it.
fn tell_bay(framing: Framing, bay: Option<Decimal>, fits: bool, taken: &Taken<'_>, sheet: &mut Sheet) {
    let width_in = float(taken.equipment.body.width.0) + practice::BAY_PLAY_IN;
    let made = matches!(framing, Framing::Truss | Framing::IJoist);
    let Some(bay) = bay else {
        let message = format!(
            "The spacing of the framing is not known: whether a body of {width_in:.1} in with its play goes between \
             it must be measured before the ceiling is cut."
        );
        sheet.findings.push(Finding::caution(
            "mounting.bay_not_measured",
            message,
            CARD.source,
        ));
        return;
    };
    if fits {
        if made {
            let message =
                "The unit goes between trusses or I-joists: nothing of them is cut or drilled, and their \
                           maker or an engineer says what may hang from them."
                    .to_owned();
            sheet
                .findings
                .push(Finding::caution("mounting.made_framing", message, FRAMING_RULE));
        }
        return;
    }
    let bay_in = float(bay);
    let message = format!(
        "The body and its play are {width_in:.1} in wide and the clear bay is {bay_in:.1} in, {:.1} in too narrow: no \
         framing may be cut. A furred soffit, a void below the framing or another mounting.",
        width_in - bay_in
    );
    sheet.findings.push(if made {
        Finding::stop("mounting.wider_than_bay", message, FRAMING_RULE)
    } else {
        Finding::caution("mounting.wider_than_bay", message, CARD.source)
    });
}
