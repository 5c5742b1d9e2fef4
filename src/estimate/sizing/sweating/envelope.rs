//! The warm side of the envelope against the dew point, and the side for the vapour barrier.

use super::USUAL_MARGIN_K;
use crate::sizing::air::{MoistAir, SEA_LEVEL_PA};
use crate::sizing::finding::Finding;
use crate::sizing::finite::Finite;
use crate::sizing::heat_rate::{IN_M, R_M2K_W, fahrenheit};
use crate::sizing::range::{InputFault, within};

/// How the numbers were made.
pub const SURFACE_METHOD: &str =
    "surface temperature from the film's share of the whole resistance, against the dew point";
/// Where the method comes from.
pub const SURFACE_SOURCE: &str =
    "ISO 6946:2017 (steady resistances); ASHRAE Handbook of Fundamentals 2017, chapter 1 (dew point)";

/// Transmittances that a face may have, Btu/(h·ft²·°F).
const U_RANGE: (f64, f64) = (0.005, 2.0);
/// A vapour pressure difference below this drives no moisture worth a barrier, Pa. Common practice, no source.
const NO_DRIVE_PA: f64 = 50.0;
const BARRIER_SOURCE: &str = "common practice: the barrier belongs on the side of the higher vapour pressure; building codes and a \
     building-science professional decide";

/// A face and the air on its warm side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WarmFaceInput<'a> {
    /// What the survey calls it.
    pub name: &'a str,
    /// Transmittance from air to air, Btu/(h·ft²·°F).
    pub u_btu_hft2f: f64,
    /// Film on the warm side that is part of it, ft²·h·°F/Btu (0.68 for still air at a wall).
    pub warm_film_ft2hf_btu: f64,
    /// Warm side: air temperature, °C.
    pub air_c: f64,
    /// Warm side: relative humidity, fraction.
    pub air_rh: f64,
    /// Cellar temperature, °C.
    pub cellar_c: f64,
    /// Conductivity of the insulation that would be added, W/(m·K).
    pub added_conductivity_w_mk: f64,
}

/// Whether the warm side stays dry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FaceVerdict {
    /// 3 °F or more above the dew point.
    Dry,
    /// Above the dew point by less than that.
    AtRisk,
    /// At or below the dew point: water will stand on it.
    Sweats,
}

/// The warm side of a face.
#[derive(Clone, Debug, PartialEq)]
pub struct WarmFace {
    /// Whether it stays dry.
    pub verdict: FaceVerdict,
    /// Warm-side surface, °C.
    pub surface_c: Finite,
    /// Dew point of the warm air, °C.
    pub dew_point_c: Finite,
    /// Surface less dew point, K: the margin.
    pub above_dew_point_k: Finite,
    /// Largest transmittance that keeps the usual margin, Btu/(h·ft²·°F); none when no insulation can, because
    /// the air itself is within that margin of its dew point.
    pub largest_u_btu_hft2f: Option<Finite>,
    /// Insulation to add for that, in; zero when none is needed.
    pub insulation_to_add_in: Option<Finite>,
    /// What a person should know.
    pub findings: Vec<Finding>,
    /// How the numbers were made.
    pub method: &'static str,
    /// Where the method comes from.
    pub source: &'static str,
}

/// Surface temperature of the warm side of a face: air less U × film × difference to the cellar.
///
/// # Errors
/// A U outside 0.005 to 2 Btu/(h·ft²·°F), a film of 0.05 up to the whole resistance, air outside the range of
/// moist air, a cellar outside 5 to 20 °C, or a conductivity outside 0.01 to 0.2 W/(m·K).
pub fn warm_face(face: &WarmFaceInput<'_>) -> Result<WarmFace, InputFault> {
    let u = within("U of a face", face.u_btu_hft2f, U_RANGE, "Btu/(h·ft²·°F)")?;
    let film = within(
        "film on the warm side",
        face.warm_film_ft2hf_btu,
        (0.05, 1.0 / u),
        "ft²·h·°F/Btu",
    )?;
    let cellar_c = within("cellar temperature", face.cellar_c, (5.0, 20.0), "°C")?;
    let conductivity = within(
        "conductivity of the insulation",
        face.added_conductivity_w_mk,
        (0.01, 0.2),
        "W/(m·K)",
    )?;
    let air = MoistAir::from_relative_humidity(face.air_c, face.air_rh, SEA_LEVEL_PA)?;
    let (air_c, dew_c) = (air.dry_bulb_c().get(), air.dew_point_c()?.get());
    let drop_k = (air_c - cellar_c).max(0.0);
    let surface_c = air_c - u * film * drop_k;
    let margin_k = surface_c - dew_c;
    let verdict = if margin_k <= 0.0 {
        FaceVerdict::Sweats
    } else if margin_k < USUAL_MARGIN_K {
        FaceVerdict::AtRisk
    } else {
        FaceVerdict::Dry
    };
    let room_k = air_c - dew_c - USUAL_MARGIN_K;
    let largest_u = if drop_k <= 0.0 {
        Some(U_RANGE.1)
    } else if room_k > 0.0 {
        Some((room_k / (film * drop_k)).min(U_RANGE.1))
    } else {
        None
    };
    let added_in =
        largest_u.map(|largest| ((1.0 / largest - 1.0 / u) * R_M2K_W * conductivity / IN_M).max(0.0));
    let finite = |value: Option<f64>, what| value.map(|v| Finite::new(v, what)).transpose();
    Ok(WarmFace {
        verdict,
        surface_c: Finite::new(surface_c, "surface temperature")?,
        dew_point_c: Finite::new(dew_c, "dew point")?,
        above_dew_point_k: Finite::new(margin_k, "margin above the dew point")?,
        largest_u_btu_hft2f: finite(largest_u, "largest transmittance")?,
        insulation_to_add_in: finite(added_in, "insulation to add")?,
        findings: face_findings(face, verdict, surface_c, dew_c, largest_u),
        method: SURFACE_METHOD,
        source: SURFACE_SOURCE,
    })
}

fn face_findings(
    face: &WarmFaceInput<'_>,
    verdict: FaceVerdict,
    surface_c: f64,
    dew_c: f64,
    largest_u: Option<f64>,
) -> Vec<Finding> {
    let (code, state) = match verdict {
        FaceVerdict::Dry => return Vec::new(),
        FaceVerdict::AtRisk => ("sweating.face_at_risk", "above"),
        FaceVerdict::Sweats => ("sweating.face_sweats", "below"),
    };
    let remedy = match largest_u {
        // Rounded down, so that the printed U is safe too.
        Some(u) => format!(
            "a U of {:.2} Btu/(h·ft²·°F) or less keeps 3 °F",
            (u * 100.0).floor() / 100.0
        ),
        None => "no insulation helps in air so near its dew point; dry that air".to_owned(),
    };
    let message = format!(
        "{}: its warm side is at {:.1} °F, {:.1} °F {state} the dew point of {:.1} °F; {remedy}",
        face.name,
        fahrenheit(surface_c),
        (surface_c - dew_c).abs() * 1.8,
        fahrenheit(dew_c),
    );
    vec![Finding::caution(code, message, SURFACE_SOURCE)]
}

/// Air on both sides of the envelope in the design season, and in the other season where it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BarrierInput {
    /// Cellar temperature, °C.
    pub cellar_c: f64,
    /// Cellar relative humidity, fraction.
    pub cellar_rh: f64,
    /// Far side in the cooling season: temperature, °C, and relative humidity, fraction.
    pub cooling_season: (f64, f64),
    /// Far side in the cold season, if it differs.
    pub cold_season: Option<(f64, f64)>,
}

/// On which side the vapour barrier belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BarrierSide {
    /// On the far side of the insulation, away from the cellar: the usual case.
    FarSide,
    /// On the cellar side of the insulation.
    CellarSide,
    /// The seasons drive moisture opposite ways: a building-science professional decides.
    SeasonsDisagree,
    /// Too little drives moisture either way.
    NoMatter,
}

/// Advice on the vapour barrier.
#[derive(Clone, Debug, PartialEq)]
pub struct BarrierAdvice {
    /// The side.
    pub side: BarrierSide,
    /// Vapour pressure of the far side less the cellar's in the cooling season, Pa.
    pub cooling_drive_pa: Finite,
    /// The same in the cold season.
    pub cold_drive_pa: Option<Finite>,
    /// What a person should know.
    pub findings: Vec<Finding>,
    /// Where the advice comes from.
    pub source: &'static str,
}

/// Side of the vapour barrier, by the direction in which vapour is driven.
///
/// # Errors
/// Air outside the range of moist air.
pub fn vapour_barrier(input: &BarrierInput) -> Result<BarrierAdvice, InputFault> {
    let vapour = |t_c, rh| -> Result<f64, InputFault> {
        Ok(MoistAir::from_relative_humidity(t_c, rh, SEA_LEVEL_PA)?
            .vapour_pressure_pa()
            .get())
    };
    let cellar_pa = vapour(input.cellar_c, input.cellar_rh)?;
    let drive = |(t_c, rh)| Ok::<f64, InputFault>(vapour(t_c, rh)? - cellar_pa);
    let cooling_pa = drive(input.cooling_season)?;
    let cold_pa = input.cold_season.map(drive).transpose()?;
    let drives = [cooling_pa, cold_pa.unwrap_or(0.0)];
    let inward = drives.iter().any(|pa| *pa > NO_DRIVE_PA);
    let outward = drives.iter().any(|pa| *pa < -NO_DRIVE_PA);
    let side = match (inward, outward) {
        (true, false) => BarrierSide::FarSide,
        (false, true) => BarrierSide::CellarSide,
        (true, true) => BarrierSide::SeasonsDisagree,
        (false, false) => BarrierSide::NoMatter,
    };
    let mut findings = Vec::new();
    if side == BarrierSide::SeasonsDisagree {
        let way = |pa: f64| {
            format!(
                "{} the cellar by {:.0} Pa",
                if pa > 0.0 { "into" } else { "out of" },
                pa.abs()
            )
        };
        let message = format!(
            "vapour is driven {} in the cooling season and {} in the cold season: never put a barrier on both sides; \
             ask a building-science professional",
            way(cooling_pa),
            way(cold_pa.unwrap_or(0.0)),
        );
        findings.push(Finding::caution(
            "sweating.barrier_seasons",
            message,
            BARRIER_SOURCE,
        ));
    }
    Ok(BarrierAdvice {
        side,
        cooling_drive_pa: Finite::new(cooling_pa, "vapour pressure difference")?,
        cold_drive_pa: cold_pa
            .map(|pa| Finite::new(pa, "vapour pressure difference"))
            .transpose()?,
        findings,
        source: BARRIER_SOURCE,
    })
}
