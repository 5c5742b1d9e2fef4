//! Facts of the cellar.

use super::Kind::{Choice, Flag, Number};
use super::{Row, choice, count, number, rows};
use crate::job::choices::{CellarUse, Choice as _, VapourBarrier};
use crate::job::spec::{CellarSize, Construction, Envelope, Spec};
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;

pub(super) const ROWS: &[Row] = rows! {
    "cellar.dimensions_given" Flag, "the cellar is rectangular and its sides are given",
        |v| FactValue::Flag(matches!(v.spec.cellar.size, CellarSize::Rectangular { .. }));
    "cellar.length" Number(Unit::FT), "inside length; 0 when only the volume is given", |v| number(side(v.spec, 0));
    "cellar.width" Number(Unit::FT), "inside width; 0 when only the volume is given", |v| number(side(v.spec, 1));
    "cellar.height" Number(Unit::FT), "inside height; 0 when only the volume is given", |v| number(side(v.spec, 2));
    "cellar.volume" Number(Unit::FT3), "inside volume", |v| number(v.spec.cellar.volume().0);
    "cellar.floor_area" Number(Unit::FT2), "area of the floor", |v| number(v.spec.cellar.floor_area().0);
    "cellar.ceiling_area" Number(Unit::FT2), "area of the ceiling", |v| number(v.spec.cellar.ceiling_area().0);
    "cellar.wall_area" Number(Unit::FT2), "area of the walls with their doors and glazing",
        |v| number(v.spec.cellar.wall_area().0);
    "cellar.door_area" Number(Unit::FT2), "area of the doors", |v| number(v.spec.cellar.door_area().0);
    "cellar.glazing_area" Number(Unit::FT2), "area of the glazing", |v| number(v.spec.cellar.glazing_area().0);
    "cellar.construction_given" Flag, "the envelope is given by construction, not surface by surface",
        |v| FactValue::Flag(construction(v.spec).is_some());
    "cellar.wall_r" Number(Unit::R_VALUE), "R-value of the walls; 0 when surfaces are listed",
        |v| number(construction(v.spec).map_or(Decimal::ZERO, |c| c.wall_r.0));
    "cellar.ceiling_r" Number(Unit::R_VALUE), "R-value of the ceiling; 0 when surfaces are listed",
        |v| number(construction(v.spec).map_or(Decimal::ZERO, |c| c.ceiling_r.0));
    "cellar.floor_r" Number(Unit::R_VALUE), "R-value of the floor; 0 when surfaces are listed",
        |v| number(construction(v.spec).map_or(Decimal::ZERO, |c| c.floor_r.0));
    "cellar.air_temperature" Number(Unit::DEG_F), "wanted air temperature",
        |v| number(v.spec.cellar.air_temperature.0);
    "cellar.humidity" Number(Unit::ONE), "wanted relative humidity as a fraction: 60 % is 0.6",
        |v| number(v.spec.cellar.humidity.fraction());
    "cellar.infiltration_air.temperature" Number(Unit::DEG_F), "temperature of the air that comes in",
        |v| number(v.spec.cellar.infiltration_air.temperature.0);
    "cellar.infiltration_air.humidity" Number(Unit::ONE), "relative humidity of the air that comes in, as a fraction",
        |v| number(v.spec.cellar.infiltration_air.humidity.fraction());
    "cellar.use" Choice(CellarUse::DOMAIN, CellarUse::WORDS), "how the cellar is used", |v| choice(v.spec.cellar.usage);
    "cellar.vapour_barrier" Choice(VapourBarrier::DOMAIN, VapourBarrier::WORDS), "where the vapour barrier is",
        |v| choice(v.spec.cellar.vapour_barrier);
    "cellar.lights.power" Number(Unit::W), "power of the lights", |v| number(v.spec.cellar.lights.power.0);
    "cellar.lights.hours_a_day" Number(Unit::H), "hours a day that the lights burn",
        |v| number(v.spec.cellar.lights.hours_a_day.0);
    "cellar.people.count" Number(Unit::EACH), "people inside", |v| count(v.spec.cellar.people.count);
    "cellar.people.hours_a_day" Number(Unit::H), "hours a day that they stay",
        |v| number(v.spec.cellar.people.hours_a_day.0);
    "cellar.bottles" Number(Unit::EACH), "bottles that the cellar holds", |v| count(v.spec.cellar.bottles);
    "cellar.weekly_intake" Number(Unit::EACH), "bottles brought in each week", |v| count(v.spec.cellar.weekly_intake);
    "cellar.intake_temperature" Number(Unit::DEG_F), "temperature of bottles brought in",
        |v| number(v.spec.cellar.intake_temperature.0);
    "cellar.door_openings_a_day" Number(Unit::EACH), "door openings a day",
        |v| count(v.spec.cellar.door_openings_a_day);
};

fn side(spec: &Spec, which: usize) -> Decimal {
    match spec.cellar.size {
        CellarSize::Rectangular {
            length,
            width,
            height,
        } => [length, width, height]
            .get(which)
            .map_or(Decimal::ZERO, |side| side.0),
        CellarSize::Volume(_) => Decimal::ZERO,
    }
}

fn construction(spec: &Spec) -> Option<&Construction> {
    match &spec.cellar.envelope {
        Envelope::Construction(construction) => Some(construction),
        Envelope::Surfaces(_) => None,
    }
}
