//! Question: the condensate and its way out.

use super::practice;
use super::question::{Answer, Card, Sheet, Side, answer};
use super::step::{self, float};
use super::survey::{Survey, count, direction};
use super::unanswered::Unanswered;
use super::unit_class::Taken;
use crate::catalogue::Equipment;
use crate::job::choices::{Discharge as Place, Space};
use crate::quantity::Decimal;
use crate::quantity::fact::FactValue;
use crate::quantity::unit::Unit;
use crate::sizing::condensate::discharge::Discharge;
use crate::sizing::condensate::pump::{Pump, Pumped};
use crate::sizing::condensate::{
    self, CondensateInput, CondensateReport, DrainLeg, FanPosition, Trap, Way, drain,
};
use crate::sizing::facts::{Row, number, rows};
use crate::sizing::finding::Finding;
use crate::sizing::heat_rate::BTU_H_W;
use crate::sizing::range::InputFault;
use crate::sizing::route::Direction;

const CARD: Card = Card {
    name: "drain",
    title: "Condensate drain",
    method: condensate::METHOD,
    source: condensate::CODE_SOURCE,
    hazard: Some(condensate::HAZARD),
    unanswered: "condensate.not_worked_out",
};

const PUMP_PRACTICE: &str = "the pump's curve on its data sheet; 1.25 times the head, 20 ft of run as 1 ft of lift and twice the flow \
     by common practice, no source";
/// Findings that one finding of this question stands for when a separate pump is to be chosen.
const OF_OWN_PUMP: [&str; 3] = [
    "condensate.no_pump_does",
    "condensate.pump_flow_tight",
    "condensate.pump_lift_tight",
];

/// What formulas may know of the drain of one unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::sizing) struct DrainFigures {
    rate: Decimal,
    pumped: bool,
    pump_short: bool,
    lift: Decimal,
    pump_head: Decimal,
    fall_needed: Decimal,
    fall_available: Decimal,
    antisiphon_needed: bool,
    antisiphon_height: Decimal,
    antisiphon_distance: Decimal,
    air_gap: bool,
    tube_size: Decimal,
    trap_needed: bool,
    overflow_switch: bool,
}

pub(in crate::sizing) const ROWS: &[Row] = rows! {
    "drain.rate" Number(Unit::GAL_PER_DAY), "condensate of one unit on a design day", |f| number(f.drain.rate);
    "drain.pumped" Flag, "the water does not run by itself", |f| FactValue::Flag(f.drain.pumped);
    "drain.pump_short" Flag, "it is pumped, and the unit's own pump is missing or has not its reserve",
        |f| FactValue::Flag(f.drain.pump_short);
    "drain.lift" Number(Unit::FT), "height to which it is pumped above the outlet of the pan; 0 by gravity",
        |f| number(f.drain.lift);
    "drain.pump_head" Number(Unit::FT), "head for which a pump is chosen, reserve in it; 0 by gravity",
        |f| number(f.drain.pump_head);
    "drain.fall_needed" Number(Unit::IN), "fall that the level legs need", |f| number(f.drain.fall_needed);
    "drain.fall_available" Number(Unit::IN), "fall that the route has, drops counted",
        |f| number(f.drain.fall_available);
    "drain.antisiphon_needed" Flag, "it is pumped over a point higher than its end",
        |f| FactValue::Flag(f.drain.antisiphon_needed);
    "drain.antisiphon_height" Number(Unit::FT), "height of the anti-siphon device above the outlet of the pan",
        |f| number(f.drain.antisiphon_height);
    "drain.antisiphon_distance" Number(Unit::FT), "distance to the anti-siphon device along the route",
        |f| number(f.drain.antisiphon_distance);
    "drain.air_gap" Flag, "the discharge asks for an air gap", |f| FactValue::Flag(f.drain.air_gap);
    "drain.tube_size" Number(Unit::IN), "nominal pipe by gravity, or bore of the pump's tube",
        |f| number(f.drain.tube_size);
    "drain.trap_needed" Flag, "the pan's outlet needs a trap", |f| FactValue::Flag(f.drain.trap_needed);
    "drain.overflow_switch" Flag, "an overflow switch must stop the unit", |f| FactValue::Flag(f.drain.overflow_switch);
};

/// The question, told.
pub(super) fn ask(survey: &Survey<'_>, taken: &Taken<'_>) -> Answer<DrainFigures> {
    answer(&CARD, DrainFigures::default(), |sheet| {
        let load = taken.known_load()?;
        let units = count(taken.units);
        let latent_load_w = load.latent.watts().get() / units;
        let run_hours = run_hours(load.average.btu_h().get(), taken.capacity_btu_h * units);
        sheet.input(
            "latent",
            "latent load of one unit",
            step::HEAT,
            latent_load_w / BTU_H_W,
        )?;
        sheet.input("run_hours", "run time on a design day", step::HOURS, run_hours)?;
        sheet.input(
            "pan_outlet",
            "outlet of the pan",
            step::INCH,
            practice::PAN_OUTLET_IN,
        )?;
        let legs = legs(survey);
        sheet.input(
            "length",
            "measured length",
            step::LENGTH,
            legs.iter().map(|leg| leg.length_ft).sum(),
        )?;
        let pumps: Vec<Pump> = own_pump(taken.equipment).into_iter().collect();
        let report = drain(&CondensateInput {
            latent_load_w,
            run_hours_per_day: run_hours,
            capacity_w: taken.capacity_btu_h * BTU_H_W,
            legs: &legs,
            discharge: discharge(survey.spec.drain.discharge),
            pan_outlet_in: practice::PAN_OUTLET_IN,
            fan: FanPosition::Unknown,
            pan_suction_in_water: 0.0,
            maker_wants_trap: None,
            // A ceiling unit hangs over racks and finishes.
            damage_below: true,
            passes_freezing_space: may_freeze(survey),
            pumps: &pumps,
        })?;
        let pump = PumpNeed::of(&report, taken.equipment, &legs);
        tell(&report, pump.as_ref(), taken.equipment, sheet)?;
        figures(&report, pump.as_ref())
    })
}

/// Hours in which the unit does a day's work at its own output: the fewer, the faster the water falls.
fn run_hours(average_btu_h: f64, capacity_btu_h: f64) -> f64 {
    if capacity_btu_h > 0.0 {
        (24.0 * average_btu_h / capacity_btu_h).clamp(1.0, 24.0)
    } else {
        practice::RUN_HOURS
    }
}

/// A level leg without a measured fall has none, as the form says.
fn legs(survey: &Survey<'_>) -> Vec<DrainLeg> {
    let legs = survey.spec.drain.legs.iter();
    legs.map(|leg| {
        let (direction, length_ft) = (direction(leg.direction), float(leg.length.0));
        let fall_in = float(leg.fall.unwrap_or_default().0).min(length_ft * 12.0);
        DrainLeg {
            direction,
            length_ft,
            fall_in: (direction == Direction::Level).then_some(fall_in),
            bends: leg.bends,
        }
    })
    .collect()
}

fn discharge(place: Place) -> Discharge {
    match place {
        Place::FloorDrain => Discharge::FloorDrain,
        Place::SinkTail => Discharge::SinkTail,
        Place::Outdoors => Discharge::Outdoors,
        Place::CondensateReceptor => Discharge::CondensateReceptor,
        Place::LaundryStandpipe => Discharge::LaundryStandpipe,
    }
}

fn own_pump(equipment: &Equipment) -> Option<Pump> {
    let curve = equipment.pump.as_ref()?;
    Some(Pump {
        name: "The unit's own pump".to_owned(),
        curve: curve
            .points
            .iter()
            .map(|point| (float(point.lift.0), float(point.flow.0)))
            .collect(),
        tube_inner_in: float(curve.tube_bore.0),
    })
}

/// Attic, crawl space and outdoors freeze where the winter does, or where it is not known.
fn may_freeze(survey: &Survey<'_>) -> bool {
    let cold = survey
        .outdoors_f
        .is_none_or(|coldest_f| coldest_f < practice::FREEZING_F);
    let passes = |space| survey.spec.drain.legs.iter().any(|leg| leg.space == space);
    cold && [Space::Outdoors, Space::Attic, Space::Crawl]
        .into_iter()
        .any(passes)
}

/// What a pump must do, and whether the unit's own does it.
struct PumpNeed {
    lift_ft: f64,
    head_ft: f64,
    own_reach_ft: Option<f64>,
    short: bool,
}

impl PumpNeed {
    fn of(report: &CondensateReport, equipment: &Equipment, legs: &[DrainLeg]) -> Option<Self> {
        let Way::Pumped(pumped) = &report.way else {
            return None;
        };
        let lift_ft = pumped.lift_ft.get();
        let level = legs.iter().filter(|leg| leg.direction == Direction::Level);
        let run_ft: f64 = level.map(|leg| leg.length_ft).sum();
        let head_ft = practice::PUMP_HEAD_RESERVE * (lift_ft + run_ft / practice::RUN_PER_LIFT);
        let own_reach_ft = equipment
            .pump
            .as_ref()
            .and_then(|curve| curve.points.last())
            .map(|point| float(point.lift.0));
        let reaches = own_reach_ft.is_some_and(|reach_ft| reach_ft >= head_ft);
        Some(PumpNeed {
            lift_ft,
            head_ft,
            own_reach_ft,
            short: !reaches || !moves_enough(pumped),
        })
    }
}

fn moves_enough(pumped: &Pumped) -> bool {
    let Some(chosen) = &pumped.chosen else {
        return false;
    };
    chosen
        .flow_ratio
        .is_none_or(|ratio| ratio.get() >= condensate::pump::FLOW_RESERVE)
}

fn tell(
    report: &CondensateReport,
    pump: Option<&PumpNeed>,
    equipment: &Equipment,
    sheet: &mut Sheet,
) -> Result<(), Unanswered> {
    let own = |finding: &&Finding| !OF_OWN_PUMP.contains(&finding.code);
    sheet.findings.extend(report.findings.iter().filter(own).cloned());
    sheet.detail(
        "running_rate",
        "condensate while the unit runs",
        step::WATER_AN_HOUR,
        report.rate_running_gal_per_h.get(),
    )?;
    sheet.detail_text("discharge", "at the discharge", report.discharge.advice);
    if let Some(gap) = report.discharge.air_gap_in {
        sheet.detail("air_gap_height", "height of the air gap", step::INCH, gap.get())?;
    }
    if let Trap::Needed { seal_in } = report.trap {
        sheet.detail("trap_seal", "seal of the trap", step::INCH, seal_in.get())?;
    }
    let Some(pump) = pump else {
        let fall = &report.fall;
        sheet.margin(
            "fall between the outlet and the discharge",
            (Side::AtLeast, step::INCH),
            fall.available_in.get(),
            fall.needed_in.get(),
        )?;
        return Ok(());
    };
    if let Some(obstacle) = report.fall.obstacle {
        sheet.detail_text("obstacle", "why it is pumped", obstacle.to_string());
    }
    if let Some(reach_ft) = pump.own_reach_ft {
        sheet.margin(
            "head of the unit's own pump",
            (Side::AtLeast, step::LENGTH),
            reach_ft,
            pump.head_ft,
        )?;
    }
    if pump.short {
        sheet.findings.push(separate_pump(report, pump, equipment));
    }
    Ok(())
}

/// One sentence in place of the physics' own on a pump that it was offered and that will not do: the office
/// puts in a separate pump by its head.
fn separate_pump(report: &CondensateReport, pump: &PumpNeed, equipment: &Equipment) -> Finding {
    let (lift_ft, head_ft) = (pump.lift_ft, pump.head_ft);
    let message = match pump.own_reach_ft {
        None => format!(
            "The drain must be pumped over {lift_ft:.1} ft and class {} has no pump: a separate one for a head of {head_ft:.1} \
             ft is needed.",
            equipment.class
        ),
        Some(reach_ft) if reach_ft < head_ft => format!(
            "The drain must be pumped over {lift_ft:.1} ft, a head of {head_ft:.1} ft with its reserve; the unit's own pump \
             reaches {reach_ft:.1} ft, {:.1} ft short: a separate pump is needed.",
            head_ft - reach_ft
        ),
        Some(_) => format!(
            "The unit's own pump moves too little at {lift_ft:.1} ft of lift: {:.2} gal/h fall, and it should move {} times as \
             much. A separate pump is needed.",
            report.rate_running_gal_per_h.get(),
            condensate::pump::FLOW_RESERVE
        ),
    };
    Finding::caution("condensate.separate_pump", message, PUMP_PRACTICE)
}

fn figures(report: &CondensateReport, pump: Option<&PumpNeed>) -> Result<DrainFigures, Unanswered> {
    let (pumped_at, tube_in) = match &report.way {
        Way::Gravity { pipe } => (None, gravity_pipe_in(pipe)?),
        Way::Pumped(pumped) => {
            let bore = pumped
                .chosen
                .map_or(practice::SEPARATE_TUBE_IN, |chosen| chosen.tube_inner_in.get());
            (
                pumped.anti_siphon_at,
                if pump.is_some_and(|pump| pump.short) {
                    practice::SEPARATE_TUBE_IN
                } else {
                    bore
                },
            )
        }
    };
    let place = |of: fn(&crate::sizing::route::Place) -> f64| pumped_at.as_ref().map_or(0.0, of);
    Ok(DrainFigures {
        rate: step::WATER_A_DAY.decimal(report.rate_gal_per_day.get())?,
        pumped: pump.is_some(),
        pump_short: pump.is_some_and(|pump| pump.short),
        lift: step::LENGTH.decimal(pump.map_or(0.0, |pump| pump.lift_ft))?,
        pump_head: step::LENGTH.decimal(pump.map_or(0.0, |pump| pump.head_ft))?,
        fall_needed: step::INCH.decimal(report.fall.needed_in.get())?,
        fall_available: step::INCH.decimal(report.fall.available_in.get())?,
        antisiphon_needed: pumped_at.is_some(),
        antisiphon_height: step::LENGTH.decimal(place(|at| at.height_ft.get()))?,
        antisiphon_distance: step::LENGTH.decimal(place(|at| at.distance_ft.get()))?,
        air_gap: report.discharge.air_gap_in.is_some(),
        tube_size: step::INCH.decimal(tube_in)?,
        trap_needed: matches!(report.trap, Trap::Needed { .. }),
        overflow_switch: report.overflow_switch,
    })
}

/// Inches of a nominal pipe size as the pipe table writes it: `3/4`, `1-1/4`.
fn gravity_pipe_in(pipe: &str) -> Result<f64, Unanswered> {
    let unreadable = || {
        Unanswered::Input(InputFault::Unusable {
            field: "pipe size",
            why: "it is no number of inches",
        })
    };
    let (whole, part) = pipe.split_once('-').unwrap_or(("0", pipe));
    let part = match part.split_once('/') {
        Some((over, under)) => over
            .parse::<f64>()
            .ok()
            .zip(under.parse::<f64>().ok())
            .map(|(a, b)| a / b),
        None => part.parse().ok(),
    };
    let whole: Option<f64> = whole.parse().ok();
    whole
        .zip(part)
        .map(|(whole, part)| whole + part)
        .ok_or_else(unreadable)
}
