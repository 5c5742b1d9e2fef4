//! Warm, moist air that gets into the cellar: through cracks and everyday door use by the size of the
//! room, or through a doorway that stands open.
//!
//! In: volume, air states, door use. Out: air and water per hour, sensible and latent heat. The water is
//! what the drain must carry away. Deliberately absent: wind and fans that press air into the room.

use super::air::{MoistAir, VAPORISATION_J_KG};
use super::finite::Finite;
use super::heat_rate::{FT_M, FT3_M3, HeatRate};
use super::range::{InputFault, within};

/// How the air changes are found.
pub const METHOD: &str = "average air changes of cold rooms by volume, linear in the logarithm of the volume; \
     enthalpy difference of moist air";
/// Where the table comes from.
pub const SOURCE: &str = "Dossat, Principles of Refrigeration, chapter 10 (rooms above 32 °F)";
/// Where the doorway formula comes from.
pub const DOORWAY_SOURCE: &str = "doorway exchange after Gosney and Olama, as given by Jekel, Estimating Door Infiltration, IRC R&T Forum 2017";

/// Air changes in 24 h from door use and leakage, rooms above 32 °F, by volume in ft³ (Dossat). The row of
/// 250 ft³ is from memory.
const AIR_CHANGES_24H: [(f64, f64); 24] = [
    (200.0, 44.0),
    (250.0, 38.0),
    (300.0, 34.5),
    (400.0, 29.5),
    (500.0, 26.0),
    (600.0, 23.0),
    (800.0, 20.0),
    (1_000.0, 17.5),
    (1_500.0, 14.0),
    (2_000.0, 12.0),
    (3_000.0, 9.5),
    (4_000.0, 8.2),
    (5_000.0, 7.2),
    (6_000.0, 6.5),
    (8_000.0, 5.5),
    (10_000.0, 4.9),
    (15_000.0, 3.9),
    (20_000.0, 3.5),
    (25_000.0, 3.0),
    (30_000.0, 2.7),
    (40_000.0, 2.3),
    (50_000.0, 2.0),
    (75_000.0, 1.6),
    (100_000.0, 1.4),
];

/// Acceleration of gravity, m/s².
const GRAVITY_M_S2: f64 = 9.806_65;
/// Discharge factor of the doorway formula.
const DOORWAY_FACTOR: f64 = 0.221;

/// Average air changes of a room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirChanges {
    /// Changes in 24 h at average use.
    pub per_24h: Finite,
    /// The room is smaller than the smallest of the table (200 ft³): as much *air* is exchanged as in that
    /// one, which is on the safe side.
    pub below_table: bool,
}

/// Average air changes of a room of 8 to 100,000 ft³.
///
/// # Errors
/// A volume outside that range.
pub fn air_changes(volume_ft3: f64) -> Result<AirChanges, InputFault> {
    let volume = within("volume of the cellar", volume_ft3, (8.0, 100_000.0), "ft³")?;
    let (smallest, most) = AIR_CHANGES_24H[0];
    if volume < smallest {
        let per_24h = Finite::new(most * smallest / volume, "air changes")?;
        return Ok(AirChanges {
            per_24h,
            below_table: true,
        });
    }
    let mut n = most;
    for pair in AIR_CHANGES_24H.windows(2) {
        if let [(v0, n0), (v1, n1)] = *pair
            && volume <= v1
        {
            n = n0 + (n1 - n0) * (volume / v0).ln() / (v1 / v0).ln();
            break;
        }
    }
    Ok(AirChanges {
        per_24h: Finite::new(n, "air changes")?,
        below_table: false,
    })
}

/// Air that comes in for cellar air that leaves, and what it brings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AirExchange {
    /// Dry air, kg/h.
    pub dry_air_kg_h: Finite,
    /// Water left behind in the cellar, kg/h; zero when the incoming air is drier than the cellar's.
    pub water_kg_h: Finite,
    /// Heat of the temperature difference; zero when the incoming air is colder.
    pub sensible: HeatRate,
    /// Heat of the water left behind.
    pub latent: HeatRate,
    /// The incoming air has less heat or less water than the cellar's, so one part was set to zero.
    pub clamped: bool,
}

/// Exchange of a given number of room volumes of outside air in 24 h.
///
/// # Errors
/// More than 2,000 changes, or a volume outside 8 to 100,000 ft³.
pub fn exchange_by_changes(
    volume_ft3: f64,
    changes_per_24h: f64,
    outside: &MoistAir,
    inside: &MoistAir,
) -> Result<AirExchange, InputFault> {
    let volume = within("volume of the cellar", volume_ft3, (8.0, 100_000.0), "ft³")?;
    let changes = within("air changes", changes_per_24h, (0.0, 2_000.0), "per 24 h")?;
    exchange(volume * FT3_M3 * changes / 24.0, outside, inside)
}

/// A doorway that is opened now and then.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doorway {
    /// Width of the opening, ft.
    pub width_ft: f64,
    /// Height of the opening, ft.
    pub height_ft: f64,
    /// Openings in a day.
    pub openings_per_day: f64,
    /// Seconds from opening to closing.
    pub open_s: f64,
    /// Share of the flow that a curtain or a vestibule holds back, 0 (none) to 1.
    pub held_back_share: f64,
}

/// Exchange through a doorway, averaged over the day, driven by the difference of density.
///
/// # Errors
/// A width outside 1 to 20 ft, a height outside 2 to 20 ft, more than 2,000 openings, an opening longer than
/// 3,600 s, a share outside 0 to 1, or a door that stands open for more than the day.
pub fn exchange_by_doorway(
    door: &Doorway,
    outside: &MoistAir,
    inside: &MoistAir,
) -> Result<AirExchange, InputFault> {
    let width = within("width of the doorway", door.width_ft, (1.0, 20.0), "ft")? * FT_M;
    let height = within("height of the doorway", door.height_ft, (2.0, 20.0), "ft")? * FT_M;
    let openings = within("door openings", door.openings_per_day, (0.0, 2_000.0), "per day")?;
    let open_s = within("time a door stands open", door.open_s, (0.0, 3_600.0), "s")?;
    let held_back = within(
        "share held back at the door",
        door.held_back_share,
        (0.0, 1.0),
        "(fraction)",
    )?;
    let open_share = within(
        "door opening time",
        openings * open_s / 86_400.0,
        (0.0, 1.0),
        "of the day",
    )?;
    let (warm, cold) = (density_kg_m3(outside)?, density_kg_m3(inside)?);
    let mut volume_m3_h = 0.0;
    if warm < cold {
        let spread = (2.0 / (1.0 + (cold / warm).cbrt())).powf(1.5);
        let flow_m3_s = DOORWAY_FACTOR
            * (width * height)
            * (1.0 - warm / cold).sqrt()
            * (GRAVITY_M_S2 * height).sqrt()
            * spread;
        volume_m3_h = flow_m3_s * 3_600.0 * open_share * (1.0 - held_back);
    }
    // The formula counts cellar air that flows out at the bottom; the same mass comes in at the top.
    exchange(volume_m3_h * cold / warm, outside, inside)
}

/// Moist air, kg of mixture per m³.
fn density_kg_m3(air: &MoistAir) -> Result<f64, InputFault> {
    Ok((1.0 + air.humidity_ratio().get()) / air.specific_volume_m3_kg()?.get())
}

/// Exchange of a volume of air an hour, measured in the state of the outside air.
fn exchange(outside_m3_h: f64, outside: &MoistAir, inside: &MoistAir) -> Result<AirExchange, InputFault> {
    let dry_air_kg_h = outside_m3_h / outside.specific_volume_m3_kg()?.get();
    let water = dry_air_kg_h * (outside.humidity_ratio().get() - inside.humidity_ratio().get());
    let total_w = dry_air_kg_h * (outside.enthalpy_j_kg()?.get() - inside.enthalpy_j_kg()?.get()) / 3_600.0;
    let latent_w = water * VAPORISATION_J_KG / 3_600.0;
    let sensible_w = total_w - latent_w;
    Ok(AirExchange {
        dry_air_kg_h: Finite::new(dry_air_kg_h, "air exchanged")?,
        water_kg_h: Finite::new(water.max(0.0), "water brought in")?,
        sensible: HeatRate::from_watts(sensible_w.max(0.0), "sensible heat of air")?,
        latent: HeatRate::from_watts(latent_w.max(0.0), "latent heat of air")?,
        clamped: water < 0.0 || sensible_w < 0.0,
    })
}
