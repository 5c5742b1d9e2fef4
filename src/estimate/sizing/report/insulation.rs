//! Question: the insulation of the suction line.

use super::lines::LineFigures;
use super::practice;
use super::question::{Answer, Card, Sheet, answer};
use super::step::{self, celsius};
use super::survey::Survey;
use super::unanswered::Unanswered;
use crate::job::choices::Space;
use crate::quantity::Decimal;
use crate::quantity::unit::Unit;
use crate::sizing::facts::{Row, number, place, rows};
use crate::sizing::heat_rate::IN_M;
use crate::sizing::sweating::{
    Film, INSULATION_METHOD, INSULATION_SOURCE, InsulatedPipe, PipeInput, STANDARD_THICKNESSES_IN,
    insulate_pipe,
};

const CARD: Card = Card {
    name: "insulation",
    title: "Suction line insulation",
    method: INSULATION_METHOD,
    source: INSULATION_SOURCE,
    hazard: None,
    unanswered: "insulation.not_worked_out",
};

/// What formulas may know of the insulation.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::sizing) struct InsulationFigures {
    /// Place among the thicknesses sold.
    suction: usize,
    least: Decimal,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "insulation.suction_thickness" Insulation, "wall of the suction line's insulation, in; never under 1/2",
        |f| place(f.insulation.suction);
    "insulation.least_thickness" Number(Unit::IN), "wall that keeps its surface above the dew point",
        |f| number(f.insulation.least);
};

/// A kind of air that the line passes.
#[derive(Clone, Copy, PartialEq)]
struct Air {
    name: &'static str,
    f: f64,
    rh: f64,
}

/// The question, told.
pub(super) fn ask(survey: &Survey<'_>, lines: &LineFigures) -> Answer<InsulationFigures> {
    let stand_in = InsulationFigures {
        suction: STANDARD_THICKNESSES_IN.len() - 1,
        least: Decimal::ZERO,
    };
    answer(&CARD, stand_in, |sheet| {
        let line_f = survey.cellar_f - practice::COIL_BELOW_CELLAR_F;
        sheet.input(
            "tube",
            "outside diameter of the tube",
            step::DIAMETER,
            lines.suction_od_in,
        )?;
        sheet.input("line", "coldest suction line", step::TEMPERATURE, line_f)?;
        sheet.input(
            "margin",
            "margin above the dew point",
            step::DIFFERENCE,
            practice::FOAM_MARGIN_K * 1.8,
        )?;
        let mut thickest_in = practice::THINNEST_FOAM_IN;
        let mut least_in: f64 = 0.0;
        for air in airs(survey) {
            let pipe = insulate_pipe(&PipeInput {
                tube_od_in: lines.suction_od_in,
                line_c: celsius(line_f),
                air_c: celsius(air.f),
                air_rh: air.rh,
                conductivity_w_mk: practice::FOAM_W_MK,
                film: Film::StillAir {
                    emittance: practice::FOAM_EMITTANCE,
                },
                margin_k: practice::FOAM_MARGIN_K,
            })?;
            sheet.findings.extend(pipe.findings.iter().cloned());
            let (least, standard) = walls_in(&pipe);
            tell(air, least, sheet)?;
            least_in = least_in.max(least);
            thickest_in = thickest_in.max(standard);
        }
        sheet.note("Attic, crawl space and outdoors are taken as 80 °F at 80 %, a night that makes lines sweat: common practice, no source.");
        let sold = STANDARD_THICKNESSES_IN
            .iter()
            .position(|wall| *wall >= thickest_in);
        Ok(InsulationFigures {
            suction: sold.unwrap_or(STANDARD_THICKNESSES_IN.len() - 1),
            least: step::INCH.decimal(least_in)?,
        })
    })
}

/// Least wall and the next one sold, in. Where none sold is enough the thickest is taken, and a stop is told.
fn walls_in(pipe: &InsulatedPipe) -> (f64, f64) {
    let thickest_in = STANDARD_THICKNESSES_IN
        .iter()
        .fold(0.0_f64, |most, wall| most.max(*wall));
    let least_in = pipe
        .least_thickness_m
        .map_or(thickest_in, |least| least.get() / IN_M);
    let sold_in = match pipe.standard {
        Some(wall) => wall.get(),
        None if least_in > 0.0 => thickest_in,
        None => 0.0,
    };
    (least_in, sold_in)
}

fn tell(air: Air, least_in: f64, sheet: &mut Sheet) -> Result<(), Unanswered> {
    let title = format!(
        "least wall {}, air of {} °F at {} %",
        air.name,
        step::in_wholes(air.f),
        step::in_wholes(air.rh * 100.0)
    );
    sheet.detail("least_wall", title, step::INCH, least_in)?;
    Ok(())
}

/// The kinds of air on the line's way, each once.
fn airs(survey: &Survey<'_>) -> Vec<Air> {
    let mut airs: Vec<Air> = Vec::with_capacity(3);
    for leg in &survey.spec.line_set.legs {
        let air = match leg.space {
            Space::Cellar => Air {
                name: "in the cellar",
                f: survey.cellar_f,
                rh: survey.cellar_rh,
            },
            Space::Finished | Space::Open | Space::Plenum => Air {
                name: "indoors",
                f: survey.room_f,
                rh: survey.room_rh,
            },
            Space::Attic | Space::Crawl | Space::Outdoors => Air {
                name: "in humid air",
                f: practice::HUMID_AIR.0,
                rh: practice::HUMID_AIR.1,
            },
        };
        if !airs.contains(&air) {
            airs.push(air);
        }
    }
    airs
}
