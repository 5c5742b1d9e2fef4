//! Question: whether the warm side of the cellar's envelope sweats, and where its vapour barrier belongs.

use super::practice;
use super::question::{Answer, Card, Sheet, Side, answer};
use super::step::{self, celsius, degrees_f};
use super::survey::Survey;
use super::unanswered::Unanswered;
use super::unit_class::Taken;
use crate::job::choices::VapourBarrier;
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;
use crate::sizing::air::{MoistAir, SEA_LEVEL_PA, saturation_pressure_pa};
use crate::sizing::cellar_load::Surface;
use crate::sizing::envelope::Face;
use crate::sizing::facts::{Row, number, rows};
use crate::sizing::finding::Finding;
use crate::sizing::sweating::{
    BarrierInput, BarrierSide, FaceVerdict, SURFACE_METHOD, SURFACE_SOURCE, USUAL_MARGIN_K, WarmFace,
    WarmFaceInput, vapour_barrier, warm_face,
};

const CARD: Card = Card {
    name: "envelope",
    title: "Envelope and vapour barrier",
    method: SURFACE_METHOD,
    source: SURFACE_SOURCE,
    hazard: None,
    unanswered: "sweating.not_worked_out",
};

const BARRIER_SOURCE: &str = "common practice: the barrier belongs on the side of the higher vapour pressure; building codes and a \
     building-science professional decide";

/// What formulas may know of the envelope.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::sizing) struct EnvelopeFigures {
    sweats: bool,
    margin: Decimal,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "insulation.envelope_sweats" Flag, "the warm side of a face sweats or comes within 3 F of the dew point",
        |f| FactValue::Flag(f.envelope.sweats);
    "insulation.envelope_margin" Number(Unit::F_DIFF), "least margin of the warm side of any face above the dew point; 0 when no face has a warm room behind it",
        |f| number(f.envelope.margin);
};

/// The question, told.
pub(super) fn ask(survey: &Survey<'_>, taken: &Taken<'_>) -> Answer<EnvelopeFigures> {
    let stand_in = EnvelopeFigures {
        sweats: true,
        margin: Decimal::ZERO,
    };
    answer(&CARD, stand_in, |sheet| {
        let load = taken.known_load()?;
        sheet.input(
            "room_air",
            "air around the cellar",
            step::TEMPERATURE,
            survey.room_f,
        )?;
        sheet.input(
            "room_humidity",
            "its relative humidity",
            step::SHARE,
            survey.room_rh,
        )?;
        let vapour_pa =
            MoistAir::from_relative_humidity(celsius(survey.room_f), survey.room_rh, SEA_LEVEL_PA)?
                .vapour_pressure_pa()
                .get();
        let mut worst: Option<(&str, WarmFace)> = None;
        let mut sweats = false;
        // The load's components begin with the faces, in the order of the surfaces.
        for (surface, part) in taken.surfaces.iter().zip(&load.components) {
            let Some(transmittance) = &part.transmittance else {
                continue;
            };
            let Some(face) = face(survey, surface, transmittance.u_btu_hft2f.get(), vapour_pa)? else {
                continue;
            };
            sheet.findings.extend(face.findings.iter().cloned());
            sweats |= face.verdict != FaceVerdict::Dry;
            if worst
                .as_ref()
                .is_none_or(|(_, known)| face.above_dew_point_k < known.above_dew_point_k)
            {
                worst = Some((&surface.name, face));
            }
        }
        tell_barrier(survey, sheet)?;
        let margin_k = match &worst {
            Some((name, face)) => tell_worst(name, face, sheet)?,
            None => 0.0,
        };
        sheet.note("Floors, and faces against earth or a space as cold as the dew point, are not looked at.");
        Ok(EnvelopeFigures {
            sweats,
            margin: step::DIFFERENCE.decimal(margin_k * 1.8)?,
        })
    })
}

/// The warm side of a face that has air behind it. That air is taken to hold as much vapour as the air that
/// comes in, at its own temperature.
fn face(
    survey: &Survey<'_>,
    surface: &Surface,
    u_btu_hft2f: f64,
    vapour_pa: f64,
) -> Result<Option<WarmFace>, Unanswered> {
    if surface.face == Face::Floor || surface.behind_c <= survey.cellar_c {
        return Ok(None);
    }
    let air_rh = vapour_pa / saturation_pressure_pa(surface.behind_c)?.get();
    if air_rh > practice::NO_ROOM_RH {
        return Ok(None);
    }
    let film = match surface.face {
        Face::Ceiling => practice::WARM_FILM.1,
        Face::Wall | Face::Floor => practice::WARM_FILM.0,
    };
    let face = warm_face(&WarmFaceInput {
        name: &surface.name,
        u_btu_hft2f,
        // Single glass of a poor make has hardly more resistance than its films.
        warm_film_ft2hf_btu: film.min(1.0 / u_btu_hft2f),
        air_c: surface.behind_c,
        air_rh: air_rh.max(practice::DRIEST_RH),
        cellar_c: survey.cellar_c,
        added_conductivity_w_mk: practice::FOAM_W_MK,
    })?;
    Ok(Some(face))
}

fn tell_worst(name: &str, face: &WarmFace, sheet: &mut Sheet) -> Result<f64, Unanswered> {
    let surface_f = degrees_f(face.surface_c.get());
    let dew_f = degrees_f(face.dew_point_c.get());
    sheet.detail_text("worst_face", "face nearest to its dew point", name.to_owned());
    sheet.detail("surface", "its warm side", step::TEMPERATURE, surface_f)?;
    sheet.detail(
        "dew_point",
        "dew point of the air there",
        step::TEMPERATURE,
        dew_f,
    )?;
    let wanted_f = dew_f + USUAL_MARGIN_K * 1.8;
    sheet.margin(
        "warm side of the worst face",
        (Side::AtLeast, step::TEMPERATURE),
        surface_f,
        wanted_f,
    )?;
    Ok(face.above_dew_point_k.get())
}

fn tell_barrier(survey: &Survey<'_>, sheet: &mut Sheet) -> Result<(), Unanswered> {
    let advice = vapour_barrier(&BarrierInput {
        cellar_c: survey.cellar_c,
        cellar_rh: survey.cellar_rh,
        cooling_season: (celsius(survey.room_f), survey.room_rh),
        cold_season: None,
    })?;
    sheet.findings.extend(advice.findings.iter().cloned());
    let side = match advice.side {
        BarrierSide::FarSide => "the warm side of the insulation",
        BarrierSide::CellarSide => "the cellar side of the insulation, for this air",
        BarrierSide::SeasonsDisagree => "by season: a building-science professional decides",
        BarrierSide::NoMatter => "either: too little vapour is driven through",
    };
    sheet.detail_text("barrier_side", "side for the vapour barrier", side);
    let wrong = match (advice.side, survey.spec.cellar.vapour_barrier) {
        (BarrierSide::FarSide, VapourBarrier::ColdSide) => {
            "is on the cellar side, and vapour is driven in from the other"
        }
        (BarrierSide::FarSide, VapourBarrier::None) => "is missing, and vapour is driven into the insulation",
        (BarrierSide::CellarSide, VapourBarrier::WarmSide | VapourBarrier::None) => {
            "is not on the cellar side, and in air as dry as surveyed vapour is driven out of the cellar"
        }
        _ => return Ok(()),
    };
    let message = format!(
        "The vapour barrier {wrong} by {:.0} Pa: wet insulation, mould and an iced coil may follow. No unit makes up for it.",
        advice.cooling_drive_pa.get().abs()
    );
    sheet.findings.push(Finding::caution(
        "sweating.barrier_wrong_side",
        message,
        BARRIER_SOURCE,
    ));
    Ok(())
}
