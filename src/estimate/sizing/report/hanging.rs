//! Question: how the ceiling unit is held up.

use super::practice;
use super::question::{Answer, Card, Sheet, Side, answer};
use super::step::{self, float};
use super::survey::{Survey, count};
use super::unanswered::Unanswered;
use super::unit_class::Taken;
use crate::catalogue::Equipment;
use crate::job::choices::{
    CeilingConstruction, Framing as Frame, FramingSpecies, Known, ServiceAccess, Space, Trim,
};
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;
use crate::sizing::facts::{LAGS, Row, number, place, rows};
use crate::sizing::hanging::blocking::{BracketPattern, Joists};
use crate::sizing::hanging::screw::{Screw, Wood};
use crate::sizing::hanging::{self, Framing, HangingInput, HangingReport, hang};

/// The answer that says how old the ceiling is.
const BUILT_YEAR: &str = "/site/built_year";

const CARD: Card = Card {
    name: "hanging",
    title: "Hanging",
    method: hanging::METHOD,
    source: "NDS 2018, equation 12.2-1 and Table 12.2A, as reprinted; statics; weights and bracket from the unit's data sheet",
    hazard: Some(hanging::HAZARD),
    unanswered: "hanging.not_worked_out",
};

/// What formulas may know of the hanging of one unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::sizing) struct HangingFigures {
    load: Decimal,
    design_load: Decimal,
    fasteners: Decimal,
    /// Place among [`LAGS`].
    screw: usize,
    screw_load: Decimal,
    screw_holds: Decimal,
    blocking_needed: bool,
    blocking_length: Decimal,
    persons: Decimal,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "hanging.load" Number(Unit::LB), "weight in service: unit, bracket, water and trim", |f| number(f.hanging.load);
    "hanging.design_load" Number(Unit::LB), "weight for which the screws are taken, with its factor",
        |f| number(f.hanging.design_load);
    "hanging.fasteners" Number(Unit::EACH), "lag screws or rods of one bracket", |f| number(f.hanging.fasteners);
    "hanging.screw_size" Lag, "diameter of a lag screw", |f| place(f.hanging.screw);
    "hanging.screw_load" Number(Unit::LB), "load on the worst fastener, factor in it", |f| number(f.hanging.screw_load);
    "hanging.screw_holds" Number(Unit::LB), "what a lag screw may hold; 0 in concrete", |f| number(f.hanging.screw_holds);
    "hanging.blocking_needed" Flag, "blocking between the joists is needed", |f| FactValue::Flag(f.hanging.blocking_needed);
    "hanging.blocking_length" Number(Unit::FT), "length of all blocks of one unit", |f| number(f.hanging.blocking_length);
    "hanging.persons" Number(Unit::EACH), "persons to lift the unit", |f| number(f.hanging.persons);
};

/// The question, told.
pub(super) fn ask(survey: &Survey<'_>, taken: &Taken<'_>) -> Answer<HangingFigures> {
    let bracket = &taken.equipment.bracket;
    let screw = LAGS.iter().position(|(word, _)| *word == bracket.lag_screw);
    let stand_in = HangingFigures {
        load: taken.equipment.weight.0,
        design_load: taken.equipment.weight.0,
        fasteners: bracket.fasteners.into(),
        screw: screw.unwrap_or(LAGS.len() - 1),
        blocking_needed: survey.spec.unit.framing != Frame::Concrete,
        persons: Decimal::TWO,
        ..HangingFigures::default()
    };
    answer(&CARD, stand_in, |sheet| {
        let (place, diameter_in) = screw
            .and_then(|at| LAGS.get(at).map(|(_, inches)| (at, *inches)))
            .ok_or_else(|| {
                Unanswered::Other(format!(
                    "the catalogue's lag screw `{}` is none of 1/4, 5/16 and 3/8",
                    bracket.lag_screw
                ))
            })?;
        let input = input(survey, taken.equipment, diameter_in);
        tell_inputs(survey, &input, sheet)?;
        let report = hang(&input)?;
        let told = report
            .findings
            .iter()
            .filter(|finding| is_cut(survey) || finding.code != hanging::OLD_CEILING);
        sheet.findings.extend(told.cloned());
        let in_wood = report.blocking.is_some();
        tell(&report, in_wood, sheet)?;
        let holds = if in_wood {
            report.withdrawal.holds_lb.get()
        } else {
            0.0
        };
        Ok(HangingFigures {
            load: step::WEIGHT.decimal(report.service_lb.get())?,
            design_load: step::WEIGHT.decimal(report.design_lb.get())?,
            fasteners: report.bracket_screws.into(),
            screw: place,
            screw_load: step::WEIGHT.decimal(report.worst_screw_lb.get())?,
            screw_holds: step::WEIGHT.decimal(holds)?,
            blocking_needed: report.blocking.is_some_and(|blocking| blocking.needed),
            blocking_length: step::LENGTH.decimal(report.blocking.map_or(0.0, |all| all.total_ft.get()))?,
            persons: report.persons_to_lift.into(),
        })
    })
}

/// An open ceiling is not cut, and concrete is drilled for anchors alone.
fn is_cut(survey: &Survey<'_>) -> bool {
    let site = &survey.spec.site;
    !site.ceiling_open && site.ceiling_construction != CeilingConstruction::Concrete
}

fn input(survey: &Survey<'_>, equipment: &Equipment, diameter_in: f64) -> HangingInput {
    let spec = survey.spec;
    let bracket = &equipment.bracket;
    let pattern = pattern(equipment);
    let trimmed = spec.finishes.trim != Trim::None;
    let off_centre = |points: u32| if points > 1 { practice::OFF_CENTRE } else { 0.0 };
    HangingInput {
        unit_lb: float(equipment.weight.0),
        bracket_lb: float(bracket.weight.0),
        water_lb: float(equipment.water_weight.0),
        trim_lb: if trimmed { practice::TRIM_LB } else { 0.0 },
        handling_factor: float(bracket.safety_factor).max(practice::HANDLING_FACTOR),
        off_centre_along: off_centre(pattern.along),
        off_centre_across: off_centre(pattern.across),
        pattern,
        screw: Screw {
            diameter_in,
            thread_in: float(bracket.thread_penetration.0),
            wood: wood(spec.unit.framing_species),
            load_duration: practice::LOAD_DURATION,
            wet: false,
            wood_f: spec
                .site
                .attic_temperature
                .map_or(practice::WOOD_F, |t| float(t.0))
                .max(practice::WOOD_F),
            end_grain: false,
        },
        framing: framing(survey),
        joists: Joists {
            spacing_in: spec
                .unit
                .joist_spacing
                .map_or(practice::JOIST_SPACING_IN, |spacing| float(spacing.0)),
            width_in: practice::JOIST_WIDTH_IN,
            along_unit: false,
            first_from_joist_in: None,
        },
        screws_per_block_end: practice::BLOCK_SCREWS,
        built_year: u16::try_from(spec.site.built_year).ok(),
        year_assumed: spec.basis.iter().any(|entry| {
            entry.answer == BUILT_YEAR && matches!(entry.known, Known::Assumed | Known::Unknown)
        }),
    }
}

/// Fasteners in two rows along the body's edges; an odd number, or two, in one row along its middle.
fn pattern(equipment: &Equipment) -> BracketPattern {
    let fasteners = equipment.bracket.fasteners;
    let two_rows = fasteners.is_multiple_of(2) && fasteners > 2;
    let (along, across) = if two_rows {
        (fasteners / 2, 2)
    } else {
        (fasteners, 1)
    };
    let spread = |points: u32, inches: f64| if points > 1 { inches } else { 0.0 };
    BracketPattern {
        along,
        across,
        length_in: spread(along, float(equipment.body.length.0)),
        width_in: spread(across, float(equipment.body.width.0)),
        screws_per_point: 1,
    }
}

/// Wood that is not known is taken as the weakest.
fn wood(species: Option<FramingSpecies>) -> Wood {
    match species {
        Some(FramingSpecies::SouthernPine) => Wood::SouthernPine,
        Some(FramingSpecies::DouglasFirLarch) => Wood::DouglasFirLarch,
        Some(FramingSpecies::HemFir) => Wood::HemFir,
        Some(FramingSpecies::SprucePineFir) => Wood::SprucePineFir,
        None => Wood::WesternCedar,
    }
}

/// Solid joists under an attic carry a ceiling and nothing else.
fn framing(survey: &Survey<'_>) -> Framing {
    let spec = survey.spec;
    let under_attic = spec.unit.service_access == ServiceAccess::Above
        || spec.line_set.legs.iter().any(|leg| leg.space == Space::Attic);
    match spec.unit.framing {
        Frame::Joist if under_attic => Framing::CeilingJoists,
        Frame::Joist => Framing::FloorJoists,
        Frame::Truss => Framing::Trusses,
        Frame::IJoist => Framing::IJoists,
        Frame::Concrete => Framing::Concrete,
    }
}

fn tell_inputs(survey: &Survey<'_>, input: &HangingInput, sheet: &mut Sheet) -> Result<(), Unanswered> {
    sheet.input("unit_weight", "ceiling unit, dry", step::WEIGHT, input.unit_lb)?;
    sheet.input("bracket_weight", "bracket", step::WEIGHT, input.bracket_lb)?;
    sheet.input(
        "water_weight",
        "water in pan and pump",
        step::WEIGHT,
        input.water_lb,
    )?;
    sheet.input("trim_weight", "trim", step::WEIGHT, input.trim_lb)?;
    sheet.input(
        "factor",
        "factor on the weight",
        step::RATIO,
        input.handling_factor,
    )?;
    sheet.input(
        "fasteners",
        "fasteners of the bracket",
        step::COUNT,
        count(input.pattern.screws()),
    )?;
    if input.framing == Framing::Concrete {
        sheet.note("In concrete the anchors follow their own listing; lag screws and blocking do not apply.");
        return Ok(());
    }
    sheet.input(
        "screw",
        "diameter of a lag screw",
        step::DIAMETER,
        input.screw.diameter_in,
    )?;
    sheet.input("thread", "thread in the wood", step::INCH, input.screw.thread_in)?;
    sheet.input(
        "gravity",
        "specific gravity of the wood",
        step::RATIO,
        input.screw.wood.specific_gravity(),
    )?;
    sheet.input("wood", "warmest wood", step::TEMPERATURE, input.screw.wood_f)?;
    sheet.input(
        "spacing",
        "spacing of the joists",
        step::INCH,
        input.joists.spacing_in,
    )?;
    if survey.spec.unit.framing_species.is_none() {
        sheet.note(
            "The wood of the framing is not known and is taken as the weakest, of specific gravity 0.36.",
        );
    }
    if survey.spec.unit.joist_spacing.is_none() {
        sheet.note("The spacing of the joists is not known and is taken as 16 in.");
    }
    sheet.note("The weight is taken a tenth off the bracket's middle both ways; joists and ceiling themselves are not checked.");
    Ok(())
}

fn tell(report: &HangingReport, in_wood: bool, sheet: &mut Sheet) -> Result<(), Unanswered> {
    if !in_wood {
        return Ok(());
    }
    let (carries, holds) = (report.worst_screw_lb.get(), report.withdrawal.holds_lb.get());
    sheet.detail(
        "thread_needed",
        "thread that the worst screw needs at least",
        step::INCH,
        report.thread_needed_in.get(),
    )?;
    sheet.detail(
        "safety_factor",
        "what a screw may hold over what it carries in service",
        step::RATIO,
        report.safety_factor.get(),
    )?;
    sheet.detail(
        "blocking_screws",
        "screws of the blocking",
        step::COUNT,
        count(report.blocking_screws),
    )?;
    sheet.margin(
        "load on the worst screw",
        (Side::AtMost, step::WEIGHT),
        carries,
        holds,
    )?;
    Ok(())
}
