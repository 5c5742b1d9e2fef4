//! Facts of the routes: line set, penetrations, drain, cables and water supply.

use super::Kind::{Choice, Flag, Number};
use super::{Row, choice, count, number, rows};
use crate::job::choices::{Choice as _, ControllerLocation, Discharge, PenetrationConstruction, Space, Tube};
use crate::job::spec::Spec;
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;

pub(super) const ROWS: &[Row] = rows! {
    "line_set.length" Number(Unit::FT), "length of the line set, all legs", |v| number(v.line_set.length);
    "line_set.rise" Number(Unit::FT), "length of its rising legs", |v| number(v.line_set.rise);
    "line_set.drop" Number(Unit::FT), "length of its dropping legs", |v| number(v.line_set.drop);
    "line_set.vertical" Number(Unit::FT), "length of its rising and dropping legs",
        |v| number(v.line_set.rise + v.line_set.drop);
    "line_set.bends" Number(Unit::EACH), "right-angle bends of the line set", |v| count(v.line_set.bends);
    "line_set.segments" Number(Unit::EACH), "legs of the line set", |v| count(v.line_set.segments);
    "line_set.length_in_cellar" Number(Unit::FT), "length of the line set inside the cellar",
        |v| number(v.line_set.in_space(Space::Cellar));
    "line_set.length_in_attic" Number(Unit::FT), "length of the line set in the attic",
        |v| number(v.line_set.in_space(Space::Attic));
    "line_set.length_in_crawl" Number(Unit::FT), "length of the line set in a crawl space",
        |v| number(v.line_set.in_space(Space::Crawl));
    "line_set.length_in_finished" Number(Unit::FT), "length of the line set inside finished walls or ceilings",
        |v| number(v.line_set.in_space(Space::Finished));
    "line_set.length_in_open" Number(Unit::FT), "length of the line set in open framing or a bare basement",
        |v| number(v.line_set.in_space(Space::Open));
    "line_set.length_in_outdoors" Number(Unit::FT), "length of the line set outdoors",
        |v| number(v.line_set.in_space(Space::Outdoors));
    "line_set.length_in_plenum" Number(Unit::FT), "length of the line set above a suspended ceiling",
        |v| number(v.line_set.in_space(Space::Plenum));
    "line_set.tube" Choice(Tube::DOMAIN, Tube::WORDS), "copper of the line set", |v| choice(v.spec.line_set.tube);
    "penetrations.wood" Number(Unit::EACH), "penetrations of wood framing and board",
        |v| number(penetrations(v.spec, Some(PenetrationConstruction::Wood)));
    "penetrations.masonry" Number(Unit::EACH), "penetrations of masonry or concrete",
        |v| number(penetrations(v.spec, Some(PenetrationConstruction::Masonry)));
    "penetrations.roof" Number(Unit::EACH), "penetrations of a roof",
        |v| number(penetrations(v.spec, Some(PenetrationConstruction::Roof)));
    "penetrations.fire_rated" Number(Unit::EACH), "penetrations that need a listed firestop",
        |v| number(fire_rated(v.spec));
    "penetrations.total" Number(Unit::EACH), "all penetrations", |v| number(penetrations(v.spec, None));
    "drain.length" Number(Unit::FT), "length of the drain, all legs", |v| number(v.drain.length);
    "drain.rise" Number(Unit::FT), "length of its rising legs", |v| number(v.drain.rise);
    "drain.drop" Number(Unit::FT), "length of its dropping legs", |v| number(v.drain.drop);
    "drain.fall" Number(Unit::IN), "fall available along its level legs, all together",
        |v| number(v.spec.drain.legs.iter().filter_map(|leg| leg.fall).map(|fall| fall.0).sum());
    "drain.bends" Number(Unit::EACH), "right-angle bends of the drain", |v| count(v.drain.bends);
    "drain.segments" Number(Unit::EACH), "legs of the drain", |v| count(v.drain.segments);
    "drain.length_in_cellar" Number(Unit::FT), "length of the drain inside the cellar",
        |v| number(v.drain.in_space(Space::Cellar));
    "drain.length_in_attic" Number(Unit::FT), "length of the drain in the attic",
        |v| number(v.drain.in_space(Space::Attic));
    "drain.length_in_crawl" Number(Unit::FT), "length of the drain in a crawl space",
        |v| number(v.drain.in_space(Space::Crawl));
    "drain.length_in_finished" Number(Unit::FT), "length of the drain inside finished walls or ceilings",
        |v| number(v.drain.in_space(Space::Finished));
    "drain.length_in_open" Number(Unit::FT), "length of the drain in open framing or a bare basement",
        |v| number(v.drain.in_space(Space::Open));
    "drain.length_in_outdoors" Number(Unit::FT), "length of the drain outdoors",
        |v| number(v.drain.in_space(Space::Outdoors));
    "drain.length_in_plenum" Number(Unit::FT), "length of the drain above a suspended ceiling",
        |v| number(v.drain.in_space(Space::Plenum));
    "drain.discharge" Choice(Discharge::DOMAIN, Discharge::WORDS), "where the condensate goes",
        |v| choice(v.spec.drain.discharge);
    "drain.discharge_below_outlet" Number(Unit::FT),
        "how far the discharge was measured below the outlet of the pan; 0 when it is not given",
        |v| number(v.spec.drain.discharge_below_outlet.unwrap_or_default().0);
    "drain.discharge_below_outlet_given" Flag, "the height of the discharge was measured",
        |v| FactValue::Flag(v.spec.drain.discharge_below_outlet.is_some());
    "controller.location" Choice(ControllerLocation::DOMAIN, ControllerLocation::WORDS),
        "on which side of the cellar wall the controller hangs", |v| choice(v.spec.controller.location);
    "controller.cable_route" Number(Unit::FT), "length of the controller cable's route",
        |v| number(v.spec.controller.cable_route.0);
    "controller.finished_walls" Flag, "the controller cable is fished through finished walls",
        |v| FactValue::Flag(v.spec.controller.finished_walls);
    "probe.wanted" Flag, "a liquid-temperature probe is wanted", |v| FactValue::Flag(v.spec.controller.probe.wanted);
    "probe.route" Number(Unit::FT), "length of the probe's route; 0 when it is not given",
        |v| number(v.spec.controller.probe.route.unwrap_or_default().0);
    "probe.route_given" Flag, "the probe's route is given",
        |v| FactValue::Flag(v.spec.controller.probe.route.is_some());
    "humidity.wanted" Flag, "the humidity option is wanted", |v| FactValue::Flag(v.spec.humidity.wanted);
    "humidity.supply_length" Number(Unit::FT), "length to the soft-water supply; 0 when it is not given",
        |v| number(v.spec.humidity.supply_length.unwrap_or_default().0);
    "humidity.supply_length_given" Flag, "the length to the soft-water supply is given",
        |v| FactValue::Flag(v.spec.humidity.supply_length.is_some());
    "humidity.water_hardness" Number(Unit::MG_PER_L),
        "hardness of the water as calcium carbonate; 0 when it is not given",
        |v| number(v.spec.humidity.water_hardness.unwrap_or_default().0);
    "humidity.water_hardness_given" Flag, "the hardness of the water is given",
        |v| FactValue::Flag(v.spec.humidity.water_hardness.is_some());
};

fn penetrations(spec: &Spec, construction: Option<PenetrationConstruction>) -> Decimal {
    let of_it = |wanted: &PenetrationConstruction| construction.is_none_or(|only| only == *wanted);
    let all = spec.line_set.penetrations.iter();
    all.filter(|p| of_it(&p.construction))
        .map(|p| Decimal::from(p.count))
        .sum()
}

fn fire_rated(spec: &Spec) -> Decimal {
    let all = spec.line_set.penetrations.iter();
    all.filter(|p| p.fire_rated).map(|p| Decimal::from(p.count)).sum()
}
