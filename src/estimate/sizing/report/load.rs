//! Question: how much heat the unit must take out.

use super::practice;
use super::question::{Answer, Card, Sheet, answer};
use super::step::{self, celsius, float};
use super::survey::{Survey, count};
use super::unanswered::Unanswered;
use crate::job::choices::{CellarUse, SurfaceKind};
use crate::job::spec;
use crate::quantity::Decimal;
use crate::quantity::unit::Unit;
use crate::sizing::air::{MoistAir, standard_pressure_pa};
use crate::sizing::cellar_load::{
    self, AirExchangeBasis, BOTTLE_J_K, Bottles, CellarLoad, CellarLoadInput, FirstFill, Gain, LoadKind,
    People, Surface,
};
use crate::sizing::envelope::{Construction, Face};
use crate::sizing::facts::{Row, number, rows};
use crate::sizing::finding::Finding;
use crate::sizing::infiltration::{self, Doorway};

const CARD: Card = Card {
    name: "cellar_load",
    title: "Cooling load",
    method: cellar_load::METHOD,
    source: cellar_load::SOURCE,
    hazard: None,
    unanswered: "cellar_load.not_worked_out",
};

/// Time over which the first fill is spread to be told, h.
const FIRST_FILL_H: f64 = 48.0;
/// Door openings a day beyond which the doorway formula is not asked.
const MOST_OPENINGS: f64 = 2_000.0;
/// Share of people's heat that leaves them as vapour; at rest in the cold about a quarter (from memory).
const PEOPLE_LATENT: f64 = 0.25;

/// What formulas may know of the load, Btu/h.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::sizing) struct LoadFigures {
    average: Decimal,
    sensible: Decimal,
    latent: Decimal,
    required: Decimal,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "load.average" Number(Unit::BTU_PER_H), "load averaged over the design day, without margins",
        |f| number(f.load.average);
    "load.sensible" Number(Unit::BTU_PER_H), "its part that warms the air", |f| number(f.load.sensible);
    "load.latent" Number(Unit::BTU_PER_H), "its part that moistens the air", |f| number(f.load.latent);
    "load.required" Number(Unit::BTU_PER_H), "capacity that the cellar asks for, safety and run time in it",
        |f| number(f.load.required);
};

/// What the load depends on, but for the fans of the unit that is still to be chosen.
pub(super) fn input(survey: &Survey<'_>) -> CellarLoadInput {
    let cellar = &survey.spec.cellar;
    let arriving_c = celsius(float(cellar.intake_temperature.0));
    let bottles = |count| Bottles {
        count,
        arriving_c,
        heat_j_k: BOTTLE_J_K,
    };
    CellarLoadInput {
        cellar_c: survey.cellar_c,
        cellar_rh: survey.cellar_rh,
        altitude_m: survey.altitude_m,
        volume_ft3: survey.volume_ft3,
        surfaces: surfaces(cellar),
        surrounding_c: celsius(survey.room_f),
        surrounding_rh: survey.room_rh,
        air_exchange: AirExchangeBasis::ByVolume {
            use_factor: use_factor(cellar.usage),
        },
        doorway: None,
        lights: Gain {
            power_w: float(cellar.lights.power.0),
            hours_per_day: float(cellar.lights.hours_a_day.0),
        },
        fans: Gain {
            power_w: 0.0,
            hours_per_day: 24.0,
        },
        people: People {
            count: count(cellar.people.count),
            hours_per_day: float(cellar.people.hours_a_day.0),
            latent_share: PEOPLE_LATENT,
        },
        intake: bottles(count(cellar.weekly_intake) / 7.0),
        first_fill: (cellar.bottles > 0).then(|| FirstFill {
            bottles: bottles(count(cellar.bottles)),
            over_h: FIRST_FILL_H,
            in_load: false,
        }),
        safety_share: practice::SAFETY_SHARE,
        run_hours_per_day: practice::RUN_HOURS,
    }
}

/// Share of the average air changes: the textbook's 0.6 and 1, and for service 1.5, the low end of the
/// trade's 1.5 to 2.
const fn use_factor(usage: CellarUse) -> f64 {
    match usage {
        CellarUse::LongStorage => 0.6,
        CellarUse::Normal => 1.0,
        CellarUse::Heavy => 1.5,
    }
}

fn surfaces(cellar: &spec::Cellar) -> Vec<Surface> {
    match &cellar.envelope {
        spec::Envelope::Surfaces(listed) => listed.iter().map(surface).collect(),
        spec::Envelope::Construction(construction) => constructed(cellar, construction),
    }
}

fn surface(listed: &spec::Surface) -> Surface {
    Surface {
        name: listed.name.clone(),
        face: match listed.kind {
            SurfaceKind::Wall | SurfaceKind::Door | SurfaceKind::Glazing => Face::Wall,
            SurfaceKind::Ceiling => Face::Ceiling,
            SurfaceKind::Floor => Face::Floor,
        },
        area_ft2: float(listed.area.0),
        construction: construction(listed.transmission),
        behind_c: celsius(float(listed.beyond.0)),
    }
}

fn construction(transmission: spec::Transmission) -> Construction {
    match transmission {
        spec::Transmission::Resistance(r) => Construction::EffectiveR {
            r_ft2hf_btu: float(r.0),
        },
        spec::Transmission::Transmittance(u) => Construction::OverallU {
            u_btu_hft2f: float(u.0),
        },
    }
}

fn constructed(cellar: &spec::Cellar, built: &spec::Construction) -> Vec<Surface> {
    let face = |name: &str, face, area: Decimal, construction, behind: Decimal| Surface {
        name: name.to_owned(),
        face,
        area_ft2: float(area),
        construction,
        behind_c: celsius(float(behind)),
    };
    let by_r = |r: Decimal| Construction::EffectiveR {
        r_ft2hf_btu: float(r),
    };
    let openings = cellar.door_area().0 + cellar.glazing_area().0;
    let walls = cellar.wall_area().0 - openings;
    let door_beyond = built.door.beyond.unwrap_or(built.wall_beyond).0;
    let door = construction(built.door.transmission);
    let mut faces = vec![
        face(
            "walls",
            Face::Wall,
            walls,
            by_r(built.wall_r.0),
            built.wall_beyond.0,
        ),
        face("doors", Face::Wall, built.door.area.0, door, door_beyond),
    ];
    if let Some(glazing) = &built.glazing {
        let panes = Construction::OverallU {
            u_btu_hft2f: float(glazing.u_value.0),
        };
        faces.push(face(
            "glazing",
            Face::Wall,
            glazing.area.0,
            panes,
            glazing.beyond.0,
        ));
    }
    let (ceiling, floor) = (cellar.ceiling_area().0, cellar.floor_area().0);
    faces.push(face(
        "ceiling",
        Face::Ceiling,
        ceiling,
        by_r(built.ceiling_r.0),
        built.ceiling_beyond.0,
    ));
    faces.push(face(
        "floor",
        Face::Floor,
        floor,
        by_r(built.floor_r.0),
        built.floor_beyond.0,
    ));
    faces
}

/// The question, told.
pub(super) fn ask(
    survey: &Survey<'_>,
    fans_w: f64,
    load: &Result<CellarLoad, Unanswered>,
) -> Answer<LoadFigures> {
    answer(&CARD, LoadFigures::default(), |sheet| {
        tell_inputs(survey, fans_w, sheet)?;
        let load = load.as_ref().map_err(Clone::clone)?;
        sheet.findings.extend(load.findings.iter().cloned());
        for part in &load.components {
            let name = match part.kind {
                LoadKind::Conduction => "through",
                _ => "part",
            };
            sheet.detail(name, part.name.clone(), step::HEAT, part.total.btu_h().get())?;
        }
        let per_volume = load.required_btu_h_ft3.get();
        sheet.detail(
            "with_safety",
            "load with safety",
            step::HEAT,
            load.with_safety.btu_h().get(),
        )?;
        sheet.detail(
            "required_watts",
            "required capacity in W",
            step::POWER,
            load.required_capacity.watts().get(),
        )?;
        sheet.detail(
            "per_volume",
            "required Btu/h per ft3 of the cellar",
            step::RATIO,
            per_volume,
        )?;
        sheet.detail(
            "air_changes",
            "air changes in 24 h",
            step::RATIO,
            load.air_changes_per_24h.get(),
        )?;
        if let Some(fill) = &load.first_fill {
            let average = fill.average.btu_h().get();
            sheet.detail(
                "first_fill",
                "first fill, spread over 48 h; not in the load",
                step::HEAT,
                average,
            )?;
        }
        tell_door_use(survey, load, sheet)?;
        Ok(LoadFigures {
            average: step::HEAT.decimal(load.average.btu_h().get())?,
            sensible: step::HEAT.decimal(load.sensible.btu_h().get())?,
            latent: step::HEAT.decimal(load.latent.btu_h().get())?,
            required: step::HEAT.decimal(load.required_capacity.btu_h().get())?,
        })
    })
}

fn tell_inputs(survey: &Survey<'_>, fans_w: f64, sheet: &mut Sheet) -> Result<(), Unanswered> {
    let cellar = &survey.spec.cellar;
    sheet.input("volume", "inside volume", step::VOLUME, survey.volume_ft3)?;
    sheet.input(
        "cellar_air",
        "wanted air temperature",
        step::TEMPERATURE,
        survey.cellar_f,
    )?;
    sheet.input(
        "cellar_humidity",
        "wanted relative humidity",
        step::SHARE,
        survey.cellar_rh,
    )?;
    sheet.input("room_air", "air that comes in", step::TEMPERATURE, survey.room_f)?;
    sheet.input(
        "room_humidity",
        "its relative humidity",
        step::SHARE,
        survey.room_rh,
    )?;
    sheet.input(
        "use_factor",
        "use, as a factor on the air changes",
        step::RATIO,
        use_factor(cellar.usage),
    )?;
    sheet.input(
        "lights",
        "power of the lights",
        step::POWER,
        float(cellar.lights.power.0),
    )?;
    sheet.input("fans", "fans of the units", step::POWER, fans_w)?;
    sheet.input("people", "people inside", step::COUNT, count(cellar.people.count))?;
    sheet.input(
        "intake",
        "bottles brought in each week",
        step::COUNT,
        count(cellar.weekly_intake),
    )?;
    sheet.input("safety", "safety margin", step::SHARE, practice::SAFETY_SHARE)?;
    sheet.input("run_hours", "run time a day", step::HOURS, practice::RUN_HOURS)?;
    if cellar.usage == CellarUse::Heavy {
        sheet.note("Service use is taken as 1.5 times the average air changes; the textbook doubles them.");
    }
    if survey.room_rh <= practice::DRIEST_RH {
        sheet.note("Air drier than 1 % is taken as 1 %.");
    }
    sheet.note("The unit is sized for the daily intake: the first pull-down of a full cellar takes days.");
    Ok(())
}

/// The air-change table has everyday door use in it. Where the doors alone let in more, a person is told.
fn tell_door_use(survey: &Survey<'_>, load: &CellarLoad, sheet: &mut Sheet) -> Result<(), Unanswered> {
    let openings = survey.spec.cellar.door_openings_a_day;
    if openings == 0 {
        return Ok(());
    }
    let p_pa = standard_pressure_pa(survey.altitude_m)?.get();
    let outside = MoistAir::from_relative_humidity(celsius(survey.room_f), survey.room_rh, p_pa)?;
    let inside = MoistAir::from_relative_humidity(survey.cellar_c, survey.cellar_rh, p_pa)?;
    if count(openings) > MOST_OPENINGS {
        sheet.note("More than 2,000 door openings a day are compared as 2,000.");
    }
    let door = Doorway {
        width_ft: practice::DOOR_FT.0,
        height_ft: practice::DOOR_FT.1,
        openings_per_day: count(openings).min(MOST_OPENINGS),
        open_s: practice::DOOR_OPEN_S,
        held_back_share: 0.0,
    };
    let through = infiltration::exchange_by_doorway(&door, &outside, &inside)?;
    let by_door = through.sensible.btu_h().get() + through.latent.btu_h().get();
    let counted: f64 = load
        .components
        .iter()
        .filter(|part| part.kind == LoadKind::Infiltration)
        .map(|part| part.total.btu_h().get())
        .sum();
    sheet.detail(
        "door_use",
        "for comparison: doors alone, 15 s an opening",
        step::HEAT,
        by_door,
    )?;
    if by_door > counted {
        let message = format!(
            "{openings} door openings a day of {:.0} s let in {by_door:.0} Btu/h, {:.0} more than the air changes that \
             are in the load; count the use as heavier or keep the door shut.",
            practice::DOOR_OPEN_S,
            by_door - counted
        );
        sheet.findings.push(Finding::caution(
            "cellar_load.door_use",
            message,
            infiltration::DOORWAY_SOURCE,
        ));
    }
    Ok(())
}
