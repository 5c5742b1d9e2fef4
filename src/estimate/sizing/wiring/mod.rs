//! The branch circuit of one unit: breaker, conductors, equipment ground, voltage drop.
//!
//! In: the nameplate and the run. Out: one report. Single-phase copper circuits to 6 AWG; anything
//! larger is refused, not extrapolated. Deliberately absent: who does the work, and where the
//! disconnect and the receptacle go.

pub mod conductor;
pub mod voltage;

use self::conductor::{AMPACITY_SOURCE, Column, WireSize, ambient_factor, bundling_factor};
use self::voltage::{EndLoad, Impedance, RESISTANCE_SOURCE, VoltageDrop, longest_ft, voltage_drop};
use super::finding::Finding;
use super::finite::{Finite, NotFinite};
use super::range::{InputFault, within};

/// How the circuit is worked out.
pub const METHOD: &str = "breaker: largest standard size not over the nameplate's maximum; conductor: corrected ampacity \
     not under the nameplate's minimum, protected by the breaker, then thicker until the voltage drop is within its \
     limit; ground in proportion to circular mils";

/// Caution to print with every circuit.
pub const HAZARD: &str = "Electricity: licensed electrician; lock out and test dead; permit and inspection. The nameplate and \
     the adopted code govern.";

const BREAKER_SOURCE: &str = "NEC 240.6(A), standard sizes (from memory); NEC 440 by the nameplate";
const DROP_SOURCE: &str = "NEC 210.19, informational note: 3 % for a branch circuit; advice, not a rule";
const GROUND_SOURCE: &str = "NEC Table 250.122 and 250.122(B)";
/// A nameplate voltage may differ from the supply by this share (NEMA MG 1, from memory).
const VOLTAGE_TOLERANCE: f64 = 0.10;
/// Areas are compared with this slack, circular mils.
const AREA_SLACK: f64 = 1e-6;

/// Standard sizes of overcurrent devices, A.
const STANDARD_A: [f64; 13] = [
    15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0,
];

/// Equipment ground of copper: device up to (A), conductor.
const GROUND: [(f64, WireSize); 4] = [
    (15.0, WireSize::Awg14),
    (20.0, WireSize::Awg12),
    (60.0, WireSize::Awg10),
    (100.0, WireSize::Awg8),
];

/// Whether the small-conductor rule limits the breaker.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SmallConductorRule {
    /// 15, 20 and 30 A for 14, 12 and 10 AWG, and no breaker beyond the next standard size over the
    /// ampacity: the safe reading.
    Applies,
    /// Excepted for hermetic motor-compressors whose nameplate says so, NEC 240.4(G) and 440.
    Excepted,
}

/// All that the circuit depends on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CircuitInput {
    /// Voltage on the unit's nameplate, V.
    pub unit_v: f64,
    /// Voltage of the supply, V.
    pub supply_v: f64,
    /// Minimum circuit ampacity on the nameplate, A.
    pub minimum_ampacity_a: f64,
    /// Maximum overcurrent device on the nameplate, A.
    pub maximum_device_a: f64,
    /// Running current for the voltage drop, A; the minimum ampacity where the nameplate has no other.
    pub running_a: f64,
    /// One-way length from the panel, ft.
    pub length_ft: f64,
    /// Column at which the terminals are listed: 60 °C unless marked.
    pub terminals: Column,
    /// Column of the conductors' insulation.
    pub insulation: Column,
    /// Warmest air along the run, °C.
    pub ambient_c: f64,
    /// Current-carrying conductors in the raceway or cable.
    pub current_carrying: u32,
    /// How the impedance is taken.
    pub impedance: Impedance,
    /// Whether the small-conductor rule applies.
    pub small_conductor: SmallConductorRule,
    /// Voltage drop allowed, as a share; 0.03 is usual.
    pub drop_limit: f64,
}

/// The circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct CircuitReport {
    /// Breaker, A.
    pub breaker_a: Finite,
    /// Share of the table's ampacity left by ambient and bundling.
    pub correction: Finite,
    /// The conductors; none where the table ends before they suffice.
    pub conductors: Option<Conductors>,
    /// Cautions and stops.
    pub findings: Vec<Finding>,
    /// How it was worked out.
    pub method: &'static str,
    /// Where the figures come from.
    pub source: &'static str,
    /// Caution to print.
    pub hazard: &'static str,
}

/// Conductors that suffice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conductors {
    /// The size to install.
    pub size: WireSize,
    /// The size that ampacity and breaker ask for, before the voltage drop.
    pub size_by_ampacity: WireSize,
    /// Equipment ground.
    pub ground: WireSize,
    /// Ampacity of the installed size, corrected and limited by the terminals, A.
    pub ampacity_a: Finite,
    /// Ampacity less the nameplate's minimum, A.
    pub ampacity_margin_a: Finite,
    /// Voltage drop with the installed size.
    pub drop: VoltageDrop,
    /// Longest one-way run at the allowed drop, ft; none for a load without current.
    pub longest_ft: Option<Finite>,
    /// Where the resistance comes from.
    pub resistance_source: &'static str,
}

/// Why the circuit could not be worked out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error(transparent)]
pub struct CircuitFault(#[from] InputFault);

impl From<NotFinite> for CircuitFault {
    fn from(fault: NotFinite) -> Self {
        CircuitFault(InputFault::NotFinite(fault))
    }
}

/// Works out a branch circuit.
///
/// # Errors
/// [`CircuitFault`] for an input outside the range of small branch circuits.
pub fn circuit(input: &CircuitInput) -> Result<CircuitReport, CircuitFault> {
    check(input)?;
    let correction =
        ambient_factor(input.insulation, input.ambient_c)? * bundling_factor(input.current_carrying)?;
    let mut findings = Vec::new();
    tell_voltage(input, &mut findings);
    let breaker_a = standard_not_over(input.maximum_device_a).unwrap_or(input.maximum_device_a);
    if breaker_a < input.minimum_ampacity_a {
        findings.push(Finding::stop(
            "wiring.no_breaker",
            format!(
                "No standard breaker lies between the nameplate's minimum of {:.1} A and maximum of {:.1} A; {breaker_a:.0} A is {:.1} A short.",
                input.minimum_ampacity_a,
                input.maximum_device_a,
                input.minimum_ampacity_a - breaker_a
            ),
            BREAKER_SOURCE,
        ));
    }
    let by_ampacity = WireSize::ALL
        .into_iter()
        .find(|size| carries(*size, input, correction, breaker_a));
    let conductors = match by_ampacity {
        Some(size) => Some(install(input, size, correction, breaker_a, &mut findings)?),
        None => {
            findings.push(Finding::stop(
                "wiring.beyond_table",
                format!(
                    "No conductor to 6 AWG carries {:.1} A behind a {breaker_a:.0} A breaker at {:.0} % of its table ampacity.",
                    input.minimum_ampacity_a,
                    correction * 100.0
                ),
                AMPACITY_SOURCE,
            ));
            None
        }
    };
    Ok(CircuitReport {
        breaker_a: Finite::new(breaker_a, "breaker")?,
        correction: Finite::new(correction, "correction of the ampacity")?,
        conductors,
        findings,
        method: METHOD,
        source: AMPACITY_SOURCE,
        hazard: HAZARD,
    })
}

fn check(input: &CircuitInput) -> Result<(), InputFault> {
    within("nameplate voltage", input.unit_v, (20.0, 600.0), "V")?;
    within(
        "minimum circuit ampacity",
        input.minimum_ampacity_a,
        (0.0, 100.0),
        "A",
    )?;
    within(
        "maximum overcurrent device",
        input.maximum_device_a,
        (15.0, 100.0),
        "A",
    )?;
    within(
        "voltage drop allowed",
        input.drop_limit,
        (0.001, 0.2),
        "of the supply",
    )?;
    Ok(())
}

fn tell_voltage(input: &CircuitInput, findings: &mut Vec<Finding>) {
    let off = (input.supply_v - input.unit_v).abs() / input.unit_v;
    if off > VOLTAGE_TOLERANCE {
        findings.push(Finding::stop(
            "wiring.voltage_differs",
            format!(
                "The unit is made for {:.0} V and the supply has {:.0} V, {:.0} % off; 10 % is the most.",
                input.unit_v,
                input.supply_v,
                off * 100.0
            ),
            "NEMA MG 1, from memory; the nameplate governs",
        ));
    }
}

/// Largest standard overcurrent device that is not over `maximum_a`.
#[must_use]
pub fn standard_not_over(maximum_a: f64) -> Option<f64> {
    STANDARD_A.into_iter().rev().find(|size| *size <= maximum_a)
}

/// Ampacity after correction, limited by the terminals, A. Source: NEC 110.14(C), 310.15.
fn ampacity_a(size: WireSize, input: &CircuitInput, correction: f64) -> f64 {
    let at_terminals = size.table_ampacity_a(input.terminals.min(input.insulation));
    at_terminals.min(size.table_ampacity_a(input.insulation) * correction)
}

fn carries(size: WireSize, input: &CircuitInput, correction: f64, breaker_a: f64) -> bool {
    let ampacity_a = ampacity_a(size, input, correction);
    if ampacity_a < input.minimum_ampacity_a {
        return false;
    }
    match input.small_conductor {
        SmallConductorRule::Excepted => true,
        SmallConductorRule::Applies => {
            // NEC 240.4(B): the next standard size over the ampacity protects the conductor.
            let next_a = STANDARD_A.into_iter().find(|size| *size >= ampacity_a);
            let small = size
                .small_conductor_limit_a()
                .is_none_or(|limit_a| breaker_a <= limit_a);
            small && next_a.is_some_and(|next_a| breaker_a <= next_a)
        }
    }
}

/// Thickens the conductors until the voltage drop is within its limit, or the table ends.
fn install(
    input: &CircuitInput,
    by_ampacity: WireSize,
    correction: f64,
    breaker_a: f64,
    findings: &mut Vec<Finding>,
) -> Result<Conductors, CircuitFault> {
    let load = EndLoad {
        supply_v: input.supply_v,
        current_a: input.running_a,
        length_ft: input.length_ft,
    };
    let mut size = by_ampacity;
    let mut drop = voltage_drop(&load, input.impedance.ohm_per_kft(size)?)?;
    for thicker in WireSize::ALL.into_iter().filter(|thicker| *thicker > by_ampacity) {
        if drop.share.get() <= input.drop_limit {
            break;
        }
        size = thicker;
        drop = voltage_drop(&load, input.impedance.ohm_per_kft(size)?)?;
    }
    let ground = ground(breaker_a, by_ampacity, size);
    tell_drop(input, by_ampacity, size, ground, &drop, findings);
    let ampacity_a = ampacity_a(size, input, correction);
    Ok(Conductors {
        size,
        size_by_ampacity: by_ampacity,
        ground,
        ampacity_a: Finite::new(ampacity_a, "ampacity")?,
        ampacity_margin_a: Finite::new(ampacity_a - input.minimum_ampacity_a, "margin of the ampacity")?,
        drop,
        longest_ft: longest_ft(&load, input.impedance.ohm_per_kft(size)?, input.drop_limit)?,
        resistance_source: RESISTANCE_SOURCE,
    })
}

/// Equipment ground: by the breaker, thickened in the proportion in which the conductors were
/// thickened beyond what the ampacity asks for, and never thicker than they are.
fn ground(breaker_a: f64, by_ampacity: WireSize, installed: WireSize) -> WireSize {
    let by_breaker = GROUND.iter().find(|(up_to_a, _)| breaker_a <= *up_to_a);
    let by_breaker = by_breaker.map_or(installed, |(_, size)| *size).min(by_ampacity);
    let area = by_breaker.circular_mils() * installed.circular_mils() / by_ampacity.circular_mils();
    let enough = WireSize::ALL
        .into_iter()
        .find(|size| size.circular_mils() + AREA_SLACK >= area);
    enough.unwrap_or(installed).min(installed)
}

fn tell_drop(
    input: &CircuitInput,
    by_ampacity: WireSize,
    size: WireSize,
    ground: WireSize,
    drop: &VoltageDrop,
    findings: &mut Vec<Finding>,
) {
    let share = drop.share.get();
    if share > input.drop_limit {
        findings.push(Finding::caution(
            "wiring.voltage_drop",
            format!(
                "Voltage drops by {:.1} % over {:.0} ft even in {size}, {:.1} points over the {:.1} % advised.",
                share * 100.0,
                input.length_ft,
                (share - input.drop_limit) * 100.0,
                input.drop_limit * 100.0
            ),
            DROP_SOURCE,
        ));
    } else if size > by_ampacity {
        findings.push(Finding::caution(
            "wiring.thickened_for_voltage",
            format!(
                "{size} instead of {by_ampacity} keeps the voltage drop over {:.0} ft at {:.1} %; the ground becomes {ground} ({GROUND_SOURCE}).",
                input.length_ft,
                share * 100.0
            ),
            DROP_SOURCE,
        ));
    }
}
