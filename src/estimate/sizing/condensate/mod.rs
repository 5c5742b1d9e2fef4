//! The condensate: how much, by gravity or by pump, and what the route needs on its way.
//!
//! In: the latent load, the drain route leg by leg from the pan outlet to the discharge, the pumps to
//! choose from in order of preference. Out: one report. Gravity or pump is found, not asked.

pub mod discharge;
pub mod gravity;
pub mod pump;

use self::discharge::{Discharge, DischargeNeeds};
use self::gravity::Fall;
use self::pump::{Pump, Pumped};
use super::finding::Finding;
use super::finite::{Finite, NotFinite};
use super::range::{InputFault, within};
use super::route::{Direction, Leg, Place, Profile, check_legs, gain_ft};

/// How the condensate is worked out.
pub const METHOD: &str = "rate = latent load / 2,501 kJ/kg; gravity where the whole route falls 1/8 in per ft, \
     else the pump's curve against lift and tube friction";

/// Where the fall and the pipe size come from.
pub const CODE_SOURCE: &str =
    "IMC 307.2.1 and Table 307.2.2, IPC 314.2.1 as adopted by two states; the local code governs";

/// Caution to print with every drain.
pub const HAZARD: &str = "Water damage: test with poured water, trip the overflow switch, keep the trap and the pump \
     reachable. Local plumbing code governs the discharge.";

const PUMP_PRACTICE: &str = "common practice, no source";

/// Latent heat with which the outside check values turn watts into water, J/kg (0 °C).
const LATENT_HEAT_J_KG: f64 = 2_501_000.0;
const GALLON_L: f64 = 3.785_411_784;

/// A straight piece of the drain route, walking from the pan outlet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrainLeg {
    /// Where it goes.
    pub direction: Direction,
    /// Its length, ft; of a level leg the horizontal run.
    pub length_ft: f64,
    /// Fall that the survey found room for along a level leg, in; none where it was not measured.
    pub fall_in: Option<f64>,
    /// Bends of 90° in it and at its far end.
    pub bends: u32,
}

impl DrainLeg {
    fn leg(&self) -> Leg {
        Leg {
            direction: self.direction,
            length_ft: self.length_ft,
            bends: self.bends,
        }
    }

    fn height_gain_ft(&self) -> f64 {
        match self.fall_in {
            Some(fall_in) if self.direction == Direction::Level => -fall_in / 12.0,
            _ => gain_ft(&self.leg()),
        }
    }
}

/// On which side of the coil the fan sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FanPosition {
    /// It draws the air through the coil: the pan is under suction.
    DrawThrough,
    /// It blows the air through the coil.
    BlowThrough,
    /// The data sheet does not say.
    Unknown,
}

/// All that the condensate depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct CondensateInput<'a> {
    /// Latent load averaged over the day, W; what falls out of the air is this over the latent heat.
    pub latent_load_w: f64,
    /// Hours a day in which the unit runs at the design load.
    pub run_hours_per_day: f64,
    /// Cooling output, W: it sets the least pipe size.
    pub capacity_w: f64,
    /// Route from the pan outlet to the discharge.
    pub legs: &'a [DrainLeg],
    /// Where the water goes.
    pub discharge: Discharge,
    /// Size of the pan's outlet, in.
    pub pan_outlet_in: f64,
    /// Where the fan sits.
    pub fan: FanPosition,
    /// Static pressure by which the pan lies below the room, in of water.
    pub pan_suction_in_water: f64,
    /// Whether the unit's maker asks for a trap, or says there is none needed; none where unsaid.
    pub maker_wants_trap: Option<bool>,
    /// Whether water that overflows would do damage below.
    pub damage_below: bool,
    /// Whether the route passes a space that freezes.
    pub passes_freezing_space: bool,
    /// Pumps in order of preference, the unit's own first.
    pub pumps: &'a [Pump],
}

/// What physics says of the condensate.
#[derive(Clone, Debug, PartialEq)]
pub struct CondensateReport {
    /// Water over a day, L.
    pub rate_l_per_day: Finite,
    /// Water over a day, US gal.
    pub rate_gal_per_day: Finite,
    /// Water while the unit runs, US gal/h.
    pub rate_running_gal_per_h: Finite,
    /// The route's length, ft.
    pub length_ft: Finite,
    /// Ends of the legs, the pan outlet first: distance and height.
    pub places: Vec<Place>,
    /// Fall needed and fall there is.
    pub fall: Fall,
    /// How the water goes.
    pub way: Way,
    /// Trap at the pan.
    pub trap: Trap,
    /// What the discharge asks for.
    pub discharge: DischargeNeeds,
    /// Whether an overflow switch must stop the unit.
    pub overflow_switch: bool,
    /// Cautions and stops.
    pub findings: Vec<Finding>,
    /// How it was worked out.
    pub method: &'static str,
    /// Where the figures come from.
    pub source: &'static str,
    /// Caution to print.
    pub hazard: &'static str,
}

/// How the water goes.
#[derive(Clone, Debug, PartialEq)]
pub enum Way {
    /// It runs by itself.
    Gravity {
        /// Nominal pipe size, in.
        pipe: &'static str,
    },
    /// It is pumped.
    Pumped(Pumped),
}

/// Trap between pan and drain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Trap {
    /// None needed.
    NotNeeded,
    /// Needed, with this water seal, in.
    Needed {
        /// Depth of the seal, in.
        seal_in: Finite,
    },
}

/// Why the condensate could not be worked out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error(transparent)]
pub struct CondensateFault(#[from] InputFault);

impl From<NotFinite> for CondensateFault {
    fn from(fault: NotFinite) -> Self {
        CondensateFault(InputFault::NotFinite(fault))
    }
}

/// Works out the drain of one unit.
///
/// # Errors
/// [`CondensateFault`] for an input outside the method's range.
pub fn drain(input: &CondensateInput<'_>) -> Result<CondensateReport, CondensateFault> {
    check(input)?;
    let mut findings = Vec::new();
    let kg_per_h = input.latent_load_w * 3_600.0 / LATENT_HEAT_J_KG;
    let l_per_day = kg_per_h * 24.0;
    let gal_per_day = l_per_day / GALLON_L;
    let running_gal_per_h = gal_per_day / input.run_hours_per_day;
    let profile = Profile::walk(input.legs.iter().map(|leg| (leg.length_ft, leg.height_gain_ft())))?;
    let fall = gravity::fall(input.legs)?;
    let way = if fall.suffices() {
        let pipe = gravity::pipe_size(input.capacity_w, input.pan_outlet_in, &mut findings)?;
        gravity::tell_borrowed(&fall, &mut findings);
        Way::Gravity { pipe }
    } else {
        let rate = Finite::new(running_gal_per_h, "condensate while running")?;
        Way::Pumped(pump::choose(input, &profile, rate, &fall, &mut findings)?)
    };
    let pumped = matches!(way, Way::Pumped(_));
    let discharge = discharge::needs(input.discharge, input.pan_outlet_in.max(0.75), &mut findings)?;
    tell_frost(input, &mut findings);
    Ok(CondensateReport {
        rate_l_per_day: Finite::new(l_per_day, "condensate a day")?,
        rate_gal_per_day: Finite::new(gal_per_day, "condensate a day")?,
        rate_running_gal_per_h: Finite::new(running_gal_per_h, "condensate while running")?,
        length_ft: profile.end().distance_ft,
        places: profile.places().to_vec(),
        fall,
        way,
        trap: trap(input)?,
        discharge,
        overflow_switch: pumped || input.damage_below,
        findings,
        method: METHOD,
        source: CODE_SOURCE,
        hazard: HAZARD,
    })
}

fn check(input: &CondensateInput<'_>) -> Result<(), InputFault> {
    within("latent load", input.latent_load_w, (0.0, 50_000.0), "W")?;
    within(
        "hours of running a day",
        input.run_hours_per_day,
        (1.0, 24.0),
        "h",
    )?;
    within("cooling output", input.capacity_w, (50.0, 100_000.0), "W")?;
    within("pan outlet", input.pan_outlet_in, (0.1, 4.0), "in")?;
    within(
        "suction at the pan",
        input.pan_suction_in_water,
        (0.0, 10.0),
        "in of water",
    )?;
    let legs: Vec<Leg> = input.legs.iter().map(DrainLeg::leg).collect();
    check_legs(&legs)?;
    for leg in input.legs {
        let Some(fall_in) = leg.fall_in else { continue };
        if leg.direction != Direction::Level {
            return Err(InputFault::Unusable {
                field: "fall",
                why: "a leg that rises or drops has no fall beside its length",
            });
        }
        within(
            "fall along a level leg",
            fall_in,
            (0.0, leg.length_ft * 12.0),
            "in",
        )?;
    }
    Ok(())
}

/// A maker's word decides; without it a fan that draws air through, or may do so, gets a trap whose
/// seal is the suction and an inch, at least 2 in (common practice, no source).
fn trap(input: &CondensateInput<'_>) -> Result<Trap, NotFinite> {
    let needed = input
        .maker_wants_trap
        .unwrap_or(input.fan != FanPosition::BlowThrough);
    if !needed {
        return Ok(Trap::NotNeeded);
    }
    let seal_in = Finite::new((input.pan_suction_in_water + 1.0).max(2.0), "trap seal")?;
    Ok(Trap::Needed { seal_in })
}

fn tell_frost(input: &CondensateInput<'_>, findings: &mut Vec<Finding>) {
    if input.passes_freezing_space {
        findings.push(Finding::caution(
            "condensate.may_freeze",
            "The drain passes a space that freezes: keep it out, or insulate and heat it.".to_owned(),
            PUMP_PRACTICE,
        ));
    }
}
