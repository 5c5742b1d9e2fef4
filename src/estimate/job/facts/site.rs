//! Facts of the circuit, the site, the tax and how answers are known.

use super::Kind::{Choice, ChoiceOr, Flag, Number};
use super::{Row, choice, choice_or_absent, count, known, number, rows};
use crate::job::choices::{
    CeilingConstruction, Choice as _, Connection, ElectricalBy, Known, Parking, SupplyVoltage, TaxTreatment,
    WiringMethod, WorkingHours,
};
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;

pub(super) const ROWS: &[Row] = rows! {
    "electrical.supply_voltage" Choice(SupplyVoltage::DOMAIN, SupplyVoltage::WORDS), "supply voltage",
        |v| choice(v.spec.electrical.supply_voltage);
    "electrical.panel_length" Number(Unit::FT), "length of the circuit from the panel",
        |v| number(v.spec.electrical.panel_length.0);
    "electrical.connection" Choice(Connection::DOMAIN, Connection::WORDS), "how the unit is connected to its circuit",
        |v| choice(v.spec.electrical.connection);
    "electrical.method" Choice(WiringMethod::DOMAIN, WiringMethod::WORDS), "how the circuit is run",
        |v| choice(v.spec.electrical.method);
    "electrical.panel_space" Flag, "the panel has space for the breaker",
        |v| FactValue::Flag(v.spec.electrical.panel_space);
    "electrical.service_receptacle" Flag, "there is a service receptacle within reach of the condensing unit",
        |v| FactValue::Flag(v.spec.electrical.service_receptacle);
    "electrical.by" Choice(ElectricalBy::DOMAIN, ElectricalBy::WORDS), "who does the electrical work",
        |v| choice(v.spec.electrical.by);
    "site.ceiling_height" Number(Unit::FT), "height of the ceiling that we work at",
        |v| number(v.spec.site.ceiling_height.0);
    "site.storeys" Number(Unit::EACH), "storeys of the building", |v| count(v.spec.site.storeys);
    "site.ceiling_construction" Choice(CeilingConstruction::DOMAIN, CeilingConstruction::WORDS),
        "what the ceiling is made of", |v| choice(v.spec.site.ceiling_construction);
    "site.built_year" Number(Unit::ONE), "year in which the building was built", |v| count(v.spec.site.built_year);
    "site.occupied" Flag, "the building is occupied while we work", |v| FactValue::Flag(v.spec.site.occupied);
    "site.hours" Choice(WorkingHours::DOMAIN, WorkingHours::WORDS), "when we may work", |v| choice(v.spec.site.hours);
    "site.travel_time" Number(Unit::H), "travel time, one way", |v| number(v.spec.site.travel_time.0);
    "site.distance" Number(Unit::MI), "distance, one way", |v| number(v.spec.site.distance.0);
    "site.parking" Choice(Parking::DOMAIN, Parking::WORDS), "where the van stands", |v| choice(v.spec.site.parking);
    "site.altitude" Number(Unit::FT), "height above the sea", |v| number(v.spec.site.altitude.0);
    "site.winter_temperature" Number(Unit::DEG_F),
        "coldest air outdoors, as at a condensing unit that stands there or as given of the site; 0 when it is not given",
        |v| number(v.spec.coldest_outdoors().unwrap_or_default().0);
    "site.winter_temperature_given" Flag, "the coldest air outdoors is given",
        |v| FactValue::Flag(v.spec.coldest_outdoors().is_some());
    "site.attic_temperature" Number(Unit::DEG_F), "temperature of the attic while we work; 0 when it is not given",
        |v| number(v.spec.site.attic_temperature.unwrap_or_default().0);
    "site.attic_temperature_given" Flag, "the temperature of the attic is given",
        |v| FactValue::Flag(v.spec.site.attic_temperature.is_some());
    "site.carry_distance" Number(Unit::FT), "distance from the van to the work",
        |v| number(v.spec.site.carry_distance.0);
    "site.ceiling_open" Flag, "the ceiling is still open, before drywall",
        |v| FactValue::Flag(v.spec.site.ceiling_open);
    "site.replaces_old_unit" Flag, "an old unit is taken out", |v| FactValue::Flag(v.spec.site.replaces_old_unit);
    "tax.treatment" ChoiceOr(TaxTreatment::DOMAIN, TaxTreatment::WORDS, "by_policy"),
        "treatment of sales tax, or by_policy when the job does not say", |v| choice_or_absent(v.spec.tax.treatment);
    "basis.unknown_count" Number(Unit::EACH), "answers that are unknown", |v| known(v, Known::Unknown);
    "basis.assumed_count" Number(Unit::EACH), "answers that the surveyor assumed", |v| known(v, Known::Assumed);
};
