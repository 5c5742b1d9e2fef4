//! How much heat the unit must take out of the cellar, averaged over a design day.
//!
//! In: the faces with what lies behind them, the air around, lights, people, fans, bottles. Out: the load
//! by component, sensible and latent, then safety and run time as separate steps, up to the capacity that
//! a unit must have. Deliberately absent: heat storage in walls and wine, and margins that nobody stated.

mod sum;

use super::envelope::{Construction, Face, Transmittance};
use super::finding::Finding;
use super::finite::Finite;
use super::heat_rate::HeatRate;
use super::infiltration::Doorway;
use super::range::{InputFault, within};

use sum::Sum;

/// How the numbers were made.
pub const METHOD: &str = "steady load of a design day: conduction, air exchange, internal gains and product; \
     times safety and 24 h over the run time";
/// Where the method comes from.
pub const SOURCE: &str = "ISO 6946:2017; Dossat, Principles of Refrigeration, chapter 10; ASHRAE Handbook of \
     Fundamentals 2017, chapter 1; ASHRAE Handbook of Refrigeration (people)";

/// Heat that a full 750 ml bottle gives off per kelvin, J/K: 1.63 lb of wine at 0.96 and 1.1 lb of glass at
/// 0.20 Btu/(lb·°F), together 1.8 Btu/°F (properties from memory).
pub const BOTTLE_J_K: f64 = 1.8 * 1_055.055_852_62 * 1.8;

/// One face of the cellar, or a part of it with its own construction.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// What the survey calls it.
    pub name: String,
    /// Which way it looks.
    pub face: Face,
    /// Inside area without the doors and panes that are listed apart, ft².
    pub area_ft2: f64,
    /// How it is built.
    pub construction: Construction,
    /// Design temperature behind it, °C.
    pub behind_c: f64,
}

/// How the air exchange is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AirExchangeBasis {
    /// The table of average changes by volume, which has everyday door use in it, times a use factor: 0.6
    /// for long storage, 1 for ordinary use, 2 for heavy use (Dossat).
    ByVolume {
        /// 0.1 to 4.
        use_factor: f64,
    },
    /// A stated leakage; door use then comes from the doorway.
    ChangesPerHour {
        /// Room volumes in an hour.
        changes: f64,
    },
}

/// A gain that runs for a part of the day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gain {
    /// Electric power, W.
    pub power_w: f64,
    /// Hours a day.
    pub hours_per_day: f64,
}

/// People at work in the cellar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct People {
    /// How many at a time.
    pub count: f64,
    /// Hours a day.
    pub hours_per_day: f64,
    /// Share of their heat that leaves them as water vapour, 0 to 1.
    pub latent_share: f64,
}

/// Bottles that come in warm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bottles {
    /// How many (a day for the intake, all together for the first fill).
    pub count: f64,
    /// Temperature at which they arrive, °C.
    pub arriving_c: f64,
    /// Heat of one bottle per kelvin, J/K; [`BOTTLE_J_K`] for a full 750 ml bottle.
    pub heat_j_k: f64,
}

/// Bringing the first fill down to cellar temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FirstFill {
    /// The bottles.
    pub bottles: Bottles,
    /// Time allowed for it, h.
    pub over_h: f64,
    /// Whether the load has it in it. Usual is not: a unit sized for it is too big ever after.
    pub in_load: bool,
}

/// What the survey says of the cellar.
#[derive(Clone, Debug, PartialEq)]
pub struct CellarLoadInput {
    /// Wanted air temperature, °C.
    pub cellar_c: f64,
    /// Wanted relative humidity, fraction.
    pub cellar_rh: f64,
    /// Altitude of the site, m.
    pub altitude_m: f64,
    /// Inside volume, ft³.
    pub volume_ft3: f64,
    /// Every face, door and pane.
    pub surfaces: Vec<Surface>,
    /// Temperature of the air that comes in, °C.
    pub surrounding_c: f64,
    /// Its relative humidity, fraction.
    pub surrounding_rh: f64,
    /// How much of it comes in.
    pub air_exchange: AirExchangeBasis,
    /// A doorway counted on top of that.
    pub doorway: Option<Doorway>,
    /// Lights.
    pub lights: Gain,
    /// Fans inside the cooled air.
    pub fans: Gain,
    /// People.
    pub people: People,
    /// Bottles a day.
    pub intake: Bottles,
    /// The first fill, if it is known.
    pub first_fill: Option<FirstFill>,
    /// Margin on the load, as a fraction (0.10 is usual).
    pub safety_share: f64,
    /// Hours a day that the unit may run (16 for a cooler, 18 where the coil stays above freezing).
    pub run_hours_per_day: f64,
}

/// Where heat comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LoadKind {
    /// Through a face.
    Conduction,
    /// Air by leakage and everyday door use.
    Infiltration,
    /// Air through the doorway counted apart.
    Doorway,
    /// Lights.
    Lights,
    /// People.
    People,
    /// Fans.
    Fans,
    /// Bottles that come in day by day.
    Intake,
    /// The first fill.
    FirstFill,
}

/// One part of the load.
#[derive(Clone, Debug, PartialEq)]
pub struct Component {
    /// Where it comes from.
    pub kind: LoadKind,
    /// The face's name, or the kind in plain words.
    pub name: String,
    /// What the face lets through; none for what is no face.
    pub transmittance: Option<Transmittance>,
    /// Part that warms the air.
    pub sensible: HeatRate,
    /// Part that moistens it.
    pub latent: HeatRate,
    /// Both.
    pub total: HeatRate,
}

/// The first fill, whether it is in the load or not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FirstFillHeat {
    /// All of it, in Btu.
    pub heat_btu: Finite,
    /// Spread over the time allowed.
    pub average: HeatRate,
    /// Whether the load has it in it.
    pub in_load: bool,
}

/// The load and the steps to the capacity that it asks for.
#[derive(Clone, Debug, PartialEq)]
pub struct CellarLoad {
    /// Every part, in the order of the input.
    pub components: Vec<Component>,
    /// Sum of the sensible parts.
    pub sensible: HeatRate,
    /// Sum of the latent parts.
    pub latent: HeatRate,
    /// Sum of all: the average over the day, without any margin.
    pub average: HeatRate,
    /// With the safety margin.
    pub with_safety: HeatRate,
    /// With the margin, and made up within the run time: what the unit must do while it runs.
    pub required_capacity: HeatRate,
    /// Required capacity per volume, Btu/h per ft³.
    pub required_btu_h_ft3: Finite,
    /// Air changes of the infiltration in 24 h, use factor included.
    pub air_changes_per_24h: Finite,
    /// Water that the air brings in and the drain must carry off, kg/h averaged over the day.
    pub water_kg_h: Finite,
    /// The first fill, if it was given.
    pub first_fill: Option<FirstFillHeat>,
    /// What a person should know.
    pub findings: Vec<Finding>,
    /// How the numbers were made.
    pub method: &'static str,
    /// Where the method comes from.
    pub source: &'static str,
}

/// The load of a cellar at 5 to 20 °C.
///
/// A face that is colder behind than the cellar adds nothing, and is told: nobody may count on that cold.
///
/// # Errors
/// An input outside its range; the error names it.
pub fn cellar_load(input: &CellarLoadInput) -> Result<CellarLoad, InputFault> {
    let cellar_c = within("cellar temperature", input.cellar_c, (5.0, 20.0), "°C")?;
    let volume = within("volume of the cellar", input.volume_ft3, (8.0, 100_000.0), "ft³")?;
    let safety = within("safety margin", input.safety_share, (0.0, 1.0), "(fraction)")?;
    let run_hours = within(
        "run time of the unit",
        input.run_hours_per_day,
        (8.0, 24.0),
        "h a day",
    )?;
    let mut sum = Sum::default();
    for surface in &input.surfaces {
        sum.add_surface(surface, cellar_c)?;
    }
    let (air_changes_per_24h, water_kg_h) = sum.add_air(input)?;
    sum.add_gains(input)?;
    let first_fill = sum.add_bottles(input)?;

    let (sensible_w, latent_w) = (sum.sensible_w, sum.latent_w);
    let average_w = sensible_w + latent_w;
    let with_safety_w = average_w * (1.0 + safety);
    let required = HeatRate::from_watts(with_safety_w * 24.0 / run_hours, "required capacity")?;
    let per_volume = Finite::new(required.btu_h().get() / volume, "capacity per volume")?;
    sum.review(required, per_volume);
    Ok(CellarLoad {
        components: sum.components,
        sensible: HeatRate::from_watts(sensible_w, "sensible load")?,
        latent: HeatRate::from_watts(latent_w, "latent load")?,
        average: HeatRate::from_watts(average_w, "average load")?,
        with_safety: HeatRate::from_watts(with_safety_w, "load with safety")?,
        required_capacity: required,
        required_btu_h_ft3: per_volume,
        air_changes_per_24h,
        water_kg_h: Finite::new(water_kg_h, "water brought in")?,
        first_fill,
        findings: sum.findings,
        method: METHOD,
        source: SOURCE,
    })
}
