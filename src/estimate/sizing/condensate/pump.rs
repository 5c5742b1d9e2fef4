//! A condensate pump: its curve against lift and friction, and the break that keeps it from siphoning.

use super::gravity::Fall;
use super::{CondensateFault, CondensateInput, PUMP_PRACTICE};
use crate::sizing::finding::Finding;
use crate::sizing::finite::{Finite, NotFinite};
use crate::sizing::pipe_flow::TubeFlow;
use crate::sizing::range::{InputFault, within};
use crate::sizing::route::{Direction, Place, Profile};

/// Where the pump's working point comes from.
pub const PUMP_SOURCE: &str =
    "the pump's curve on its data sheet; friction of water at 15 °C by Darcy–Weisbach";

/// A pump should be able to lift this much more than it must (common practice, no source).
pub const HEAD_RESERVE: f64 = 1.25;
/// A pump should move this much more than falls (common practice, no source).
pub const FLOW_RESERVE: f64 = 2.0;

const WATER_DENSITY_KG_M3: f64 = 999.1;
const WATER_VISCOSITY_PA_S: f64 = 1.138e-3;
const GRAVITY_M_S2: f64 = 9.80665;
const FOOT_M: f64 = 0.3048;
const INCH_M: f64 = 0.0254;
/// One US gallon an hour of water, kg/s.
const GAL_PER_H_KG_S: f64 = 3.785_411_784e-3 * WATER_DENSITY_KG_M3 / 3_600.0;
/// A 90° turn of soft tubing, in inner diameters, as a short elbow.
const TURN_DIAMETERS: f64 = 30.0;

/// A condensate pump.
#[derive(Clone, Debug, PartialEq)]
pub struct Pump {
    /// What the office calls it.
    pub name: String,
    /// Lift in ft and flow in US gal/h, lift growing, flow not growing; the last lift is the highest
    /// at which it moves water.
    pub curve: Vec<(f64, f64)>,
    /// Inner diameter of its tubing, in.
    pub tube_inner_in: f64,
}

/// A drain that is pumped.
#[derive(Clone, Debug, PartialEq)]
pub struct Pumped {
    /// The highest place of the route, seen from the pan outlet.
    pub highest: Place,
    /// Height from the pan outlet to the highest place, ft.
    pub lift_ft: Finite,
    /// The pump taken; none when none does.
    pub chosen: Option<ChosenPump>,
    /// Pumps before it in the order of preference, or all when none does, and why they will not do.
    pub refused: Vec<RefusedPump>,
    /// Where an anti-siphon device goes: the highest place, when the outlet lies below it.
    pub anti_siphon_at: Option<Place>,
}

/// The pump taken, at its working point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChosenPump {
    /// Its place in the list of pumps.
    pub pump: usize,
    /// Head at the working point: lift and friction of the whole tube, ft.
    pub head_ft: Finite,
    /// Friction in it, ft.
    pub friction_ft: Finite,
    /// Flow at the working point, US gal/h.
    pub flow_gal_per_h: Finite,
    /// Flow over what falls while the unit runs; none when nothing falls.
    pub flow_ratio: Option<Finite>,
    /// Highest lift of its curve over the lift wanted, ft.
    pub lift_margin_ft: Finite,
    /// Inner diameter of its tubing, in.
    pub tube_inner_in: Finite,
}

/// A pump that will not do.
#[derive(Clone, Debug, PartialEq)]
pub struct RefusedPump {
    /// Its place in the list of pumps.
    pub pump: usize,
    /// Why, in plain words.
    pub reason: String,
}

struct Route {
    lift_ft: f64,
    length_ft: f64,
    turns: u32,
}

/// Takes the first pump that lifts the water over the highest place with the flow that falls.
pub(super) fn choose(
    input: &CondensateInput<'_>,
    profile: &Profile,
    rate_gal_per_h: Finite,
    fall: &Fall,
    findings: &mut Vec<Finding>,
) -> Result<Pumped, CondensateFault> {
    let highest = profile.highest();
    let lift_ft = highest.height_ft.get();
    let route = Route {
        lift_ft,
        length_ft: profile.end().distance_ft.get(),
        turns: input.legs.iter().map(|leg| leg.bends).sum(),
    };
    let mut refused = Vec::new();
    let mut chosen = None;
    for (pump, place) in input.pumps.iter().zip(0..) {
        check(pump)?;
        match work(pump, place, &route, rate_gal_per_h.get())? {
            Ok(works) => {
                chosen = Some(works);
                break;
            }
            Err(reason) => refused.push(RefusedPump { pump: place, reason }),
        }
    }
    let below = profile.end().height_ft < highest.height_ft;
    let pumped = Pumped {
        highest,
        lift_ft: Finite::new(lift_ft, "lift of the pump")?,
        chosen,
        refused,
        anti_siphon_at: below.then_some(highest),
    };
    tell(input, &pumped, fall, findings);
    Ok(pumped)
}

fn check(pump: &Pump) -> Result<(), InputFault> {
    within(
        "inner diameter of the pump's tube",
        pump.tube_inner_in,
        (0.1, 2.0),
        "in",
    )?;
    if pump.curve.len() < 2 || pump.curve.len() > 100 {
        return Err(InputFault::Unusable {
            field: "pump curve",
            why: "it needs 2 to 100 points",
        });
    }
    for (lift_ft, gal_per_h) in &pump.curve {
        within("lift of a pump curve", *lift_ft, (0.0, 500.0), "ft")?;
        within("flow of a pump curve", *gal_per_h, (0.0, 1_000.0), "gal/h")?;
    }
    let falls = pump.curve.windows(2).all(|pair| match pair {
        [(low, more), (high, less)] => low < high && more >= less,
        _ => true,
    });
    if falls {
        return Ok(());
    }
    Err(InputFault::Unusable {
        field: "pump curve",
        why: "its lift must grow and its flow must not",
    })
}

/// Flow at a head, US gal/h; none above the curve. Under the curve's first lift its first flow is
/// taken, which the pump gives at least.
#[must_use]
pub fn curve_flow(pump: &Pump, head_ft: f64) -> Option<f64> {
    if let Some((_, gal_per_h)) = pump.curve.first().filter(|(lift_ft, _)| head_ft < *lift_ft) {
        return Some(*gal_per_h);
    }
    pump.curve.windows(2).find_map(|pair| match pair {
        [(low, more), (high, less)] if head_ft >= *low && head_ft <= *high => {
            Some(more + (less - more) * (head_ft - low) / (high - low))
        }
        _ => None,
    })
}

fn friction_ft(pump: &Pump, route: &Route, gal_per_h: f64) -> f64 {
    let inner_diameter_m = pump.tube_inner_in * INCH_M;
    let flow = TubeFlow {
        inner_diameter_m,
        mass_flow_kg_s: gal_per_h * GAL_PER_H_KG_S,
        density_kg_m3: WATER_DENSITY_KG_M3,
        viscosity_pa_s: WATER_VISCOSITY_PA_S,
    };
    let length_m = route.length_ft * FOOT_M + f64::from(route.turns) * TURN_DIAMETERS * inner_diameter_m;
    flow.loss_pa_per_m() * length_m / (WATER_DENSITY_KG_M3 * GRAVITY_M_S2) / FOOT_M
}

/// Finds the working point: the flow at which lift and friction equal the head of the curve. The
/// friction of the whole tube is counted, which is on the safe side behind a vented high point.
fn work(
    pump: &Pump,
    place: usize,
    route: &Route,
    rate: f64,
) -> Result<Result<ChosenPump, String>, NotFinite> {
    let highest_lift = pump.curve.last().map_or(0.0, |(lift_ft, _)| *lift_ft);
    let lift = route.lift_ft;
    let Some(flow_without_friction) = curve_flow(pump, lift) else {
        return Ok(Err(format!(
            "{} lifts {highest_lift:.1} ft at most, {:.1} ft less than the {lift:.1} ft here",
            pump.name,
            lift - highest_lift
        )));
    };
    // The pump gives less as the head grows and the friction grows with the flow: one crossing.
    let gives_more = |flow: f64| {
        curve_flow(pump, lift + friction_ft(pump, route, flow)).is_some_and(|gives| gives >= flow)
    };
    let (mut low, mut high) = (0.0, flow_without_friction);
    for _ in 0..24 {
        let middle = f64::midpoint(low, high);
        if gives_more(middle) {
            low = middle
        } else {
            high = middle
        }
    }
    let friction = friction_ft(pump, route, low);
    if low <= rate {
        return Ok(Err(format!(
            "{} moves {low:.2} gal/h at {lift:.1} ft of lift and {friction:.1} ft of friction, no more than the {rate:.2} gal/h that fall",
            pump.name
        )));
    }
    let ratio = if rate > 0.0 {
        Some(Finite::new(low / rate, "flow of the pump over the rate")?)
    } else {
        None
    };
    Ok(Ok(ChosenPump {
        pump: place,
        head_ft: Finite::new(lift + friction, "head of the pump")?,
        friction_ft: Finite::new(friction, "friction of the pump's tube")?,
        flow_gal_per_h: Finite::new(low, "flow of the pump")?,
        flow_ratio: ratio,
        lift_margin_ft: Finite::new(highest_lift - lift, "margin of the pump's lift")?,
        tube_inner_in: Finite::new(pump.tube_inner_in, "inner diameter of the pump's tube")?,
    }))
}

fn tell(input: &CondensateInput<'_>, pumped: &Pumped, fall: &Fall, findings: &mut Vec<Finding>) {
    let lift_ft = pumped.lift_ft.get();
    let why = fall
        .obstacle
        .map(|obstacle| obstacle.to_string())
        .unwrap_or_default();
    let reasons = || {
        pumped
            .refused
            .iter()
            .map(|refused| refused.reason.as_str())
            .collect::<Vec<_>>()
            .join("; ")
    };
    let Some(chosen) = &pumped.chosen else {
        let message = if pumped.refused.is_empty() {
            format!("The drain must be pumped ({why}) over {lift_ft:.1} ft, and no pump is listed.")
        } else {
            format!(
                "The drain must be pumped ({why}) and no pump does: {}.",
                reasons()
            )
        };
        findings.push(Finding::stop("condensate.no_pump_does", message, PUMP_SOURCE));
        return;
    };
    if !pumped.refused.is_empty() {
        let message = format!("A stronger pump is needed: {}.", reasons());
        findings.push(Finding::caution("condensate.pump_replaced", message, PUMP_SOURCE));
    }
    if let Some(ratio) = chosen.flow_ratio.filter(|ratio| ratio.get() < FLOW_RESERVE) {
        findings.push(Finding::caution(
            "condensate.pump_flow_tight",
            format!(
                "The pump moves {:.2} times what falls; {FLOW_RESERVE} times is usual.",
                ratio.get()
            ),
            PUMP_PRACTICE,
        ));
    }
    let head_ft = chosen.head_ft.get();
    let reach_ft = lift_ft + chosen.lift_margin_ft.get();
    if reach_ft < HEAD_RESERVE * head_ft {
        findings.push(Finding::caution(
            "condensate.pump_lift_tight",
            format!(
                "The pump reaches {reach_ft:.1} ft, {:.1} ft less than {HEAD_RESERVE} times the head of {head_ft:.1} ft.",
                HEAD_RESERVE * head_ft - reach_ft
            ),
            PUMP_PRACTICE,
        ));
    }
    tell_behind_highest(input, pumped, findings);
}

/// Behind a vented high point the water must run by itself.
fn tell_behind_highest(input: &CondensateInput<'_>, pumped: &Pumped, findings: &mut Vec<Finding>) {
    let Some(place) = pumped.anti_siphon_at else {
        return;
    };
    let rises = input
        .legs
        .iter()
        .skip(place.after_leg)
        .any(|leg| leg.direction == Direction::Rise);
    if rises {
        findings.push(Finding::caution(
            "condensate.rises_behind_break",
            format!(
                "The tube rises again behind the anti-siphon device at {:.1} ft along the route: water would stand there. Let it fall all the way.",
                place.distance_ft.get()
            ),
            PUMP_PRACTICE,
        ));
    }
}
