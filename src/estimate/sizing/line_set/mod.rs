//! The line set: the two copper lines between the units, their sizes, losses, charge and joints.
//!
//! In: the route leg by leg from the evaporator to the condensing unit, the tubes in stock, the
//! refrigerant's properties at the unit's working point, the unit's limits and charge. Out: one report.
//! Every length is of one line; there are two.

pub mod charge;
pub mod fitting;
pub mod flow;
pub mod limits;
pub mod liquid;
pub mod suction;
pub mod tube;

use self::charge::{Charge, UnitCharge};
use self::fitting::{Joints, Runs};
use self::flow::RefrigerantFlow;
use self::limits::{LimitUses, Measures, UnitLimits};
use self::liquid::{LiquidLine, LiquidTask};
use self::suction::{SuctionLine, SuctionTask};
use self::tube::{Tube, TubeKind, TubeSize};
use super::finding::Finding;
use super::finite::{Finite, NotFinite};
use super::range::{InputFault, within};
use super::route::{Leg, Place, profile};

/// How the lines are worked out.
pub const METHOD: &str = "equivalent length K × inner diameter; friction by Darcy–Weisbach and Colebrook in \
     drawn copper; saturated-temperature loss by the slope of the saturation line; charge by inner volume";

/// Caution to print with every line set.
pub const HAZARD: &str = "Refrigerant and brazing: certified technician only; ventilate; nitrogen, never oxygen or air, \
     to test pressure; hot-work permit, fire watch, no flame near flammable refrigerant. Local codes and the unit's \
     instructions govern.";

/// All that the line set depends on.
#[derive(Clone, Debug, PartialEq)]
pub struct LineSetInput<'a> {
    /// Route from the evaporator to the condensing unit.
    pub legs: &'a [Leg],
    /// Coils or straight lengths.
    pub kind: TubeKind,
    /// Tubes to choose from, each size once, the smallest first; [`tube::b280`] has the standard's.
    pub tubes: &'a [Tube],
    /// Length of a coil or of a straight piece, ft.
    pub piece_length_ft: f64,
    /// Size of the unit's suction connection.
    pub suction_stub: TubeSize,
    /// Size of the unit's liquid connection.
    pub liquid_stub: TubeSize,
    /// The refrigerant at the working point.
    pub flow: RefrigerantFlow,
    /// How far the maker allows the lines to go.
    pub limits: UnitLimits,
    /// The charge as the data sheet gives it.
    pub charge: UnitCharge,
    /// What the office holds a line to.
    pub targets: Targets,
}

/// What a good line is held to. The defaults are those of trade articles; a data sheet governs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Targets {
    /// Most saturated temperature that the suction line may cost, K.
    pub suction_loss_k: f64,
    /// Least velocity of suction gas in level runs, ft/min.
    pub level_velocity_fpm: f64,
    /// Least velocity of suction gas in risers, ft/min.
    pub riser_velocity_fpm: f64,
    /// Greatest velocity of suction gas, ft/min.
    pub greatest_velocity_fpm: f64,
    /// Most subcooling that friction in the liquid line may cost, K.
    pub liquid_loss_k: f64,
    /// Greatest velocity of liquid, ft/min.
    pub liquid_velocity_fpm: f64,
    /// Subcooling that should be left at the worst place, K.
    pub subcooling_left_k: f64,
    /// Height of riser for each oil trap beyond the one at the foot, ft.
    pub trap_every_ft: f64,
}

impl Default for Targets {
    fn default() -> Self {
        Targets {
            suction_loss_k: 2.0 / 1.8,
            level_velocity_fpm: 500.0,
            riser_velocity_fpm: 1_000.0,
            greatest_velocity_fpm: 4_000.0,
            liquid_loss_k: 2.0 / 1.8,
            liquid_velocity_fpm: 300.0,
            subcooling_left_k: 2.0 / 1.8,
            trap_every_ft: 20.0,
        }
    }
}

impl Targets {
    fn check(&self) -> Result<(), InputFault> {
        within("allowed suction loss", self.suction_loss_k, (0.1, 10.0), "K")?;
        within(
            "least level velocity",
            self.level_velocity_fpm,
            (0.0, 5_000.0),
            "ft/min",
        )?;
        within(
            "least riser velocity",
            self.riser_velocity_fpm,
            (0.0, 5_000.0),
            "ft/min",
        )?;
        within(
            "greatest velocity",
            self.greatest_velocity_fpm,
            (500.0, 10_000.0),
            "ft/min",
        )?;
        within("allowed liquid loss", self.liquid_loss_k, (0.1, 10.0), "K")?;
        within(
            "greatest liquid velocity",
            self.liquid_velocity_fpm,
            (50.0, 2_000.0),
            "ft/min",
        )?;
        within("subcooling to be left", self.subcooling_left_k, (0.0, 20.0), "K")?;
        within("riser for each trap", self.trap_every_ft, (5.0, 100.0), "ft")?;
        Ok(())
    }
}

/// Why a line set could not be worked out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LineSetFault {
    /// An input is not usable.
    #[error(transparent)]
    Input(#[from] InputFault),
    /// The tubes to choose from lack the size of the unit's connection.
    #[error("no {line} tube of {size}, the size of the unit's connection, is among those to choose from")]
    NoStubTube {
        /// Suction or liquid.
        line: &'static str,
        /// The size of the connection.
        size: TubeSize,
    },
}

impl From<NotFinite> for LineSetFault {
    fn from(fault: NotFinite) -> Self {
        LineSetFault::Input(InputFault::NotFinite(fault))
    }
}

/// What physics says of the line set.
#[derive(Clone, Debug, PartialEq)]
pub struct LineSetReport {
    /// Measured length of one line, ft.
    pub length_ft: Finite,
    /// Height of the condensing unit above the evaporator, ft; negative when it stands below.
    pub condenser_above_ft: Finite,
    /// The highest place of the route, seen from the evaporator.
    pub highest: Place,
    /// Suction line.
    pub suction: SuctionLine,
    /// Liquid line.
    pub liquid: LiquidLine,
    /// Mass flow at the greatest output, kg/s.
    pub mass_flow_kg_s: Finite,
    /// Suction risers of 5 ft and more.
    pub risers: u32,
    /// Oil traps at the feet of risers and on their way; each riser also gets an inverted loop on top.
    pub oil_traps: u32,
    /// Joints of the suction line.
    pub suction_joints: Joints,
    /// Joints of the liquid line.
    pub liquid_joints: Joints,
    /// Refrigerant.
    pub charge: Charge,
    /// The route against the unit's limits.
    pub limits: LimitUses,
    /// Cautions and stops.
    pub findings: Vec<Finding>,
    /// How it was worked out.
    pub method: &'static str,
    /// Where the tube figures come from.
    pub source: &'static str,
    /// Caution to print.
    pub hazard: &'static str,
}

/// Works out a line set.
///
/// # Errors
/// [`LineSetFault`] for an input outside the method's range, tubes not in order of size, or a unit
/// connection of a size that is not among the tubes.
pub fn size(input: &LineSetInput<'_>) -> Result<LineSetReport, LineSetFault> {
    let profile = profile(input.legs)?;
    input.flow.check()?;
    input.targets.check()?;
    check_tubes(input.tubes)?;
    within(
        "length of a coil or piece",
        input.piece_length_ft,
        (1.0, 1_000.0),
        "ft",
    )?;
    let mut findings = Vec::new();
    let runs = Runs::of(input.legs, input.targets.trap_every_ft);
    let suction_task = SuctionTask {
        flow: &input.flow,
        runs: &runs,
        kind: input.kind,
        targets: &input.targets,
    };
    let suction = suction_task.choose(input.tubes, input.suction_stub, &mut findings)?;
    let liquid_task = LiquidTask {
        flow: &input.flow,
        legs: input.legs,
        profile: &profile,
        kind: input.kind,
        targets: &input.targets,
    };
    let liquid = liquid_task.choose(input.tubes, input.liquid_stub, &mut findings)?;
    let end = profile.end();
    let highest = profile.highest();
    let measures = Measures {
        length_ft: end.distance_ft.get(),
        equivalent_ft: suction.chosen.equivalent_length_ft.get(),
        above_evaporator_ft: highest.height_ft.get(),
        above_condenser_ft: highest.height_ft.get() - end.height_ft.get(),
    };
    let limits = input.limits.compare(&measures, &mut findings)?;
    let stub = tube_of(input.tubes, input.liquid_stub)?;
    let charge = charge::charge(
        &input.charge,
        &liquid.chosen.tube,
        stub,
        measures.length_ft,
        input.flow.liquid_density_kg_m3,
        &mut findings,
    )?;
    let reducers = if suction.chosen.riser_reduced() {
        2 * runs.risers
    } else {
        0
    };
    Ok(LineSetReport {
        length_ft: end.distance_ft,
        condenser_above_ft: end.height_ft,
        highest,
        mass_flow_kg_s: Finite::new(input.flow.greatest_mass_flow_kg_s(), "mass flow")?,
        risers: runs.risers,
        oil_traps: runs.traps,
        suction_joints: Joints::of(
            input.legs,
            input.kind,
            input.piece_length_ft,
            runs.traps,
            reducers,
        ),
        liquid_joints: Joints::of(input.legs, input.kind, input.piece_length_ft, 0, 0),
        suction,
        liquid,
        charge,
        limits,
        findings,
        method: METHOD,
        source: tube::TUBE_SOURCE,
        hazard: HAZARD,
    })
}

fn tube_of(tubes: &[Tube], size: TubeSize) -> Result<&Tube, LineSetFault> {
    tubes
        .iter()
        .find(|tube| tube.size() == size)
        .ok_or(LineSetFault::NoStubTube { line: "liquid", size })
}

fn check_tubes(tubes: &[Tube]) -> Result<(), InputFault> {
    let in_order = tubes.windows(2).all(|pair| match pair {
        [smaller, larger] => smaller.size() < larger.size() && smaller.inner_in() < larger.inner_in(),
        _ => true,
    });
    if in_order {
        return Ok(());
    }
    Err(InputFault::Unusable {
        field: "tubes",
        why: "they are not one of each size, the smallest first",
    })
}
