//! The cellar: its size, its envelope and its use.

use serde::Deserialize;

use super::Percent;
use crate::job::choices::{CellarUse, SurfaceKind, VapourBarrier};
use crate::quantity::Decimal;
use crate::quantity::measure::{
    Area, Hours, Length, Power, Temperature, ThermalResistance, ThermalTransmittance, Volume,
};

/// The cellar.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(try_from = "CellarTree")]
pub struct Cellar {
    /// How large it is inside.
    pub size: CellarSize,
    /// What surrounds it.
    pub envelope: Envelope,
    /// Wanted air temperature.
    pub air_temperature: Temperature,
    /// Wanted relative humidity.
    pub humidity: Percent,
    /// Air that comes in.
    pub infiltration_air: InfiltrationAir,
    /// How it is used.
    pub usage: CellarUse,
    /// Where the vapour barrier is.
    pub vapour_barrier: VapourBarrier,
    /// Lights.
    pub lights: Lights,
    /// People inside.
    pub people: People,
    /// Bottles it holds.
    pub bottles: u32,
    /// Bottles brought in each week.
    pub weekly_intake: u32,
    /// Temperature of bottles brought in.
    pub intake_temperature: Temperature,
    /// Door openings a day.
    pub door_openings_a_day: u32,
}

/// How large the cellar is inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellarSize {
    /// A rectangular room.
    Rectangular {
        /// Longer or first side.
        length: Length,
        /// Other side.
        width: Length,
        /// Floor to ceiling.
        height: Length,
    },
    /// A room of another shape, whose surfaces are listed.
    Volume(Volume),
}

/// What surrounds the cellar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Envelope {
    /// Walls, ceiling and floor of a rectangular cellar.
    Construction(Construction),
    /// Every surface by itself.
    Surfaces(Vec<Surface>),
}

/// How much heat a surface lets through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Transmission {
    /// R-value, air films included.
    Resistance(ThermalResistance),
    /// U-value.
    Transmittance(ThermalTransmittance),
}

/// Walls, ceiling and floor of a rectangular cellar.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Construction {
    /// R-value of the walls, air films included.
    pub wall_r: ThermalResistance,
    /// R-value of the ceiling, air films included.
    pub ceiling_r: ThermalResistance,
    /// R-value of the floor, air films included.
    pub floor_r: ThermalResistance,
    /// Temperature beyond the walls.
    pub wall_beyond: Temperature,
    /// Temperature beyond the ceiling.
    pub ceiling_beyond: Temperature,
    /// Temperature beyond the floor.
    pub floor_beyond: Temperature,
    /// The doors, all together.
    pub door: Doors,
    /// The glazing, all together.
    #[serde(default)]
    pub glazing: Option<Glazing>,
}

/// The doors of a rectangular cellar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(try_from = "DoorsTree")]
pub struct Doors {
    /// Area.
    pub area: Area,
    /// How much heat they let through.
    pub transmission: Transmission,
    /// Temperature beyond them; as beyond the walls when it is not given.
    pub beyond: Option<Temperature>,
}

/// The glazing of a rectangular cellar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Glazing {
    /// Area.
    pub area: Area,
    /// U-value.
    pub u_value: ThermalTransmittance,
    /// Temperature beyond it.
    pub beyond: Temperature,
}

/// One surface of the envelope.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(try_from = "SurfaceTree")]
pub struct Surface {
    /// What the surveyor calls it.
    pub name: String,
    /// What it is.
    pub kind: SurfaceKind,
    /// Area.
    pub area: Area,
    /// How much heat it lets through.
    pub transmission: Transmission,
    /// Temperature on the other side.
    pub beyond: Temperature,
}

/// Air that comes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InfiltrationAir {
    /// Its temperature.
    pub temperature: Temperature,
    /// Its relative humidity.
    pub humidity: Percent,
}

/// Lights.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lights {
    /// All of them together.
    pub power: Power,
    /// Hours a day that they burn.
    pub hours_a_day: Hours,
}

/// People inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct People {
    /// How many.
    pub count: u32,
    /// Hours a day that they stay.
    pub hours_a_day: Hours,
}

// The form bounds every length, area and the number of surfaces, so that no sum or product below
// comes near the range of a decimal.
impl Cellar {
    /// Inside volume.
    pub fn volume(&self) -> Volume {
        match self.size {
            CellarSize::Rectangular {
                length,
                width,
                height,
            } => Volume(length.0 * width.0 * height.0),
            CellarSize::Volume(volume) => volume,
        }
    }

    /// Area of the floor: of the room, or of the floors listed.
    pub fn floor_area(&self) -> Area {
        match self.size {
            CellarSize::Rectangular { length, width, .. } => Area(length.0 * width.0),
            CellarSize::Volume(_) => self.listed(&[SurfaceKind::Floor]),
        }
    }

    /// Area of the ceiling: of the room, or of the ceilings listed.
    pub fn ceiling_area(&self) -> Area {
        match self.size {
            CellarSize::Rectangular { length, width, .. } => Area(length.0 * width.0),
            CellarSize::Volume(_) => self.listed(&[SurfaceKind::Ceiling]),
        }
    }

    /// Area of the walls with their doors and glazing.
    pub fn wall_area(&self) -> Area {
        match self.size {
            CellarSize::Rectangular {
                length,
                width,
                height,
            } => Area(Decimal::TWO * (length.0 + width.0) * height.0),
            CellarSize::Volume(_) => {
                self.listed(&[SurfaceKind::Wall, SurfaceKind::Door, SurfaceKind::Glazing])
            }
        }
    }

    /// Area of the doors.
    pub fn door_area(&self) -> Area {
        match &self.envelope {
            Envelope::Construction(construction) => construction.door.area,
            Envelope::Surfaces(_) => self.listed(&[SurfaceKind::Door]),
        }
    }

    /// Area of the glazing.
    pub fn glazing_area(&self) -> Area {
        match &self.envelope {
            Envelope::Construction(construction) => construction
                .glazing
                .map_or(Area::default(), |glazing| glazing.area),
            Envelope::Surfaces(_) => self.listed(&[SurfaceKind::Glazing]),
        }
    }

    fn listed(&self, kinds: &[SurfaceKind]) -> Area {
        match &self.envelope {
            Envelope::Construction(_) => Area::default(),
            Envelope::Surfaces(surfaces) => Area(
                surfaces
                    .iter()
                    .filter(|surface| kinds.contains(&surface.kind))
                    .map(|surface| surface.area.0)
                    .sum(),
            ),
        }
    }
}

/// A cellar as it stands in the normal tree.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CellarTree {
    length: Option<Length>,
    width: Option<Length>,
    height: Option<Length>,
    volume: Option<Volume>,
    construction: Option<Construction>,
    surfaces: Option<Vec<Surface>>,
    air_temperature: Temperature,
    humidity: Percent,
    infiltration_air: InfiltrationAir,
    r#use: CellarUse,
    vapour_barrier: VapourBarrier,
    lights: Lights,
    people: People,
    bottles: u32,
    weekly_intake: u32,
    intake_temperature: Temperature,
    door_openings_a_day: u32,
}

impl TryFrom<CellarTree> for Cellar {
    type Error = &'static str;

    fn try_from(tree: CellarTree) -> Result<Self, Self::Error> {
        let size = match (tree.length, tree.width, tree.height, tree.volume) {
            (Some(length), Some(width), Some(height), None) => CellarSize::Rectangular {
                length,
                width,
                height,
            },
            (None, None, None, Some(volume)) => CellarSize::Volume(volume),
            _ => return Err("the cellar has neither three sides nor a volume"),
        };
        let envelope = match (tree.construction, tree.surfaces) {
            (Some(construction), None) => Envelope::Construction(construction),
            (None, Some(surfaces)) => Envelope::Surfaces(surfaces),
            _ => return Err("the cellar has neither a construction nor surfaces, or both"),
        };
        Ok(Self {
            size,
            envelope,
            air_temperature: tree.air_temperature,
            humidity: tree.humidity,
            infiltration_air: tree.infiltration_air,
            usage: tree.r#use,
            vapour_barrier: tree.vapour_barrier,
            lights: tree.lights,
            people: tree.people,
            bottles: tree.bottles,
            weekly_intake: tree.weekly_intake,
            intake_temperature: tree.intake_temperature,
            door_openings_a_day: tree.door_openings_a_day,
        })
    }
}

fn transmission(
    r_value: Option<ThermalResistance>,
    u_value: Option<ThermalTransmittance>,
) -> Result<Transmission, &'static str> {
    match (r_value, u_value) {
        (Some(r_value), None) => Ok(Transmission::Resistance(r_value)),
        (None, Some(u_value)) => Ok(Transmission::Transmittance(u_value)),
        _ => Err("a surface has neither an R-value nor a U-value, or both"),
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DoorsTree {
    area: Area,
    r_value: Option<ThermalResistance>,
    u_value: Option<ThermalTransmittance>,
    beyond: Option<Temperature>,
}

impl TryFrom<DoorsTree> for Doors {
    type Error = &'static str;

    fn try_from(tree: DoorsTree) -> Result<Self, Self::Error> {
        Ok(Self {
            area: tree.area,
            transmission: transmission(tree.r_value, tree.u_value)?,
            beyond: tree.beyond,
        })
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SurfaceTree {
    name: String,
    kind: SurfaceKind,
    area: Area,
    r_value: Option<ThermalResistance>,
    u_value: Option<ThermalTransmittance>,
    beyond: Temperature,
}

impl TryFrom<SurfaceTree> for Surface {
    type Error = &'static str;

    fn try_from(tree: SurfaceTree) -> Result<Self, Self::Error> {
        Ok(Self {
            name: tree.name,
            kind: tree.kind,
            area: tree.area,
            transmission: transmission(tree.r_value, tree.u_value)?,
            beyond: tree.beyond,
        })
    }
}
