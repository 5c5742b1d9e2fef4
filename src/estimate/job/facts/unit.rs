//! Facts of the ceiling unit and the condensing unit, as asked for.

use super::Kind::{Choice, ChoiceOr, Flag, Number};
use super::{Row, choice, choice_or_absent, count, number, rows};
use crate::job::choices::{
    Choice as _, CondenserLocation, CondenserSupport, Framing, FramingSpecies, Mounting, ServiceAccess,
};
use crate::job::spec::UnitClass;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;

pub(super) const ROWS: &[Row] = rows! {
    "unit.class_named" Flag, "a class is asked for by name",
        |v| FactValue::Flag(matches!(v.spec.unit.class, UnitClass::Named(_)));
    "unit.asked_count" Number(Unit::EACH), "how many units are asked for", |v| count(v.spec.unit.count);
    "unit.mounting" Choice(Mounting::DOMAIN, Mounting::WORDS), "how the unit hangs", |v| choice(v.spec.unit.mounting);
    "unit.service_access" Choice(ServiceAccess::DOMAIN, ServiceAccess::WORDS), "from where the unit is serviced",
        |v| choice(v.spec.unit.service_access);
    "unit.ceiling_void" Number(Unit::IN), "clear depth above the ceiling; 0 when it is not given",
        |v| number(v.spec.unit.ceiling_void.unwrap_or_default().0);
    "unit.ceiling_void_given" Flag, "the clear depth above the ceiling is given",
        |v| FactValue::Flag(v.spec.unit.ceiling_void.is_some());
    "unit.joist_spacing" Number(Unit::IN), "spacing of the framing, centre to centre; 0 when it is not given",
        |v| number(v.spec.unit.joist_spacing.unwrap_or_default().0);
    "unit.joist_spacing_given" Flag, "the spacing of the framing is given",
        |v| FactValue::Flag(v.spec.unit.joist_spacing.is_some());
    "unit.framing" Choice(Framing::DOMAIN, Framing::WORDS), "what the unit hangs from", |v| choice(v.spec.unit.framing);
    "unit.framing_species" ChoiceOr(FramingSpecies::DOMAIN, FramingSpecies::WORDS, "not_given"),
        "wood of the framing, or not_given", |v| choice_or_absent(v.spec.unit.framing_species);
    "condenser.location" Choice(CondenserLocation::DOMAIN, CondenserLocation::WORDS),
        "where the condensing unit stands", |v| choice(v.spec.condenser.location);
    "condenser.support" Choice(CondenserSupport::DOMAIN, CondenserSupport::WORDS),
        "what carries the condensing unit", |v| choice(v.spec.condenser.support);
    "condenser.design_temperature" Number(Unit::DEG_F), "warmest air at the condensing unit",
        |v| number(v.spec.condenser.design_temperature.0);
    "condenser.winter_temperature" Number(Unit::DEG_F), "coldest air at the condensing unit; 0 when it is not given",
        |v| number(v.spec.condenser.winter_temperature.unwrap_or_default().0);
    "condenser.winter_temperature_given" Flag, "the coldest air at the condensing unit is given",
        |v| FactValue::Flag(v.spec.condenser.winter_temperature.is_some());
    "condenser.room_volume" Number(Unit::FT3), "volume of the condensing unit's room; 0 when it is not given",
        |v| number(v.spec.condenser.room_volume.unwrap_or_default().0);
    "condenser.room_volume_given" Flag, "the volume of the condensing unit's room is given",
        |v| FactValue::Flag(v.spec.condenser.room_volume.is_some());
};
