//! Voltage drop of a two-wire circuit.

use super::conductor::WireSize;
use crate::sizing::finite::{Finite, NotFinite};
use crate::sizing::range::{InputFault, within};

/// Where the resistances come from.
pub const RESISTANCE_SOURCE: &str = "NFPA 70 (NEC) 2023, chapter 9, Tables 8 and 9 as reprinted (stranded 14 to 8 AWG from memory, 1.02 × solid)";

/// Solid or stranded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Strand {
    /// One wire; made to 10 AWG for branch circuits, and 8 AWG in the table.
    Solid,
    /// Seven wires.
    Stranded,
}

/// Material of the raceway.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Raceway {
    /// PVC, or a cable without metal.
    Pvc,
    /// Steel.
    Steel,
}

/// How the impedance of the conductors is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Impedance {
    /// Direct-current resistance at 75 °C, Table 8; enough for small sizes.
    DirectCurrent {
        /// How the conductor is made. From 8 AWG up stranded is taken, as it is sold.
        strand: Strand,
    },
    /// Effective impedance R cos φ + X sin φ, Table 9.
    AlternatingCurrent {
        /// Raceway around the conductors.
        raceway: Raceway,
        /// Power factor of the load.
        power_factor: f64,
    },
}

/// Direct-current resistance at 75 °C of uncoated copper, ohm per 1,000 ft; none where the table has
/// no such conductor.
#[must_use]
pub const fn dc_resistance_ohm_per_kft(size: WireSize, strand: Strand) -> Option<f64> {
    let milliohm = match (size, strand) {
        (WireSize::Awg14, Strand::Solid) => 3_070.0,
        (WireSize::Awg12, Strand::Solid) => 1_930.0,
        (WireSize::Awg10, Strand::Solid) => 1_210.0,
        (WireSize::Awg8, Strand::Solid) => 764.0,
        (WireSize::Awg6, Strand::Solid) => return None,
        (WireSize::Awg14, Strand::Stranded) => 3_140.0,
        (WireSize::Awg12, Strand::Stranded) => 1_980.0,
        (WireSize::Awg10, Strand::Stranded) => 1_240.0,
        (WireSize::Awg8, Strand::Stranded) => 778.0,
        (WireSize::Awg6, Strand::Stranded) => 491.0,
    };
    Some(milliohm / 1_000.0)
}

/// Resistance and reactance of Table 9, ohm per 1,000 ft.
const fn ac_ohm_per_kft(size: WireSize, raceway: Raceway) -> (f64, f64) {
    let (resistance, pvc, steel) = match size {
        WireSize::Awg14 => (3.1, 0.058, 0.073),
        WireSize::Awg12 => (2.0, 0.054, 0.068),
        WireSize::Awg10 => (1.2, 0.050, 0.063),
        WireSize::Awg8 => (0.78, 0.052, 0.065),
        WireSize::Awg6 => (0.49, 0.051, 0.064),
    };
    match raceway {
        Raceway::Pvc => (resistance, pvc),
        Raceway::Steel => (resistance, steel),
    }
}

impl Impedance {
    /// Impedance of one conductor, ohm per 1,000 ft.
    ///
    /// # Errors
    /// A power factor not from 0.1 to 1.
    pub fn ohm_per_kft(self, size: WireSize) -> Result<f64, InputFault> {
        match self {
            Impedance::DirectCurrent { strand } => {
                let made = if size >= WireSize::Awg8 {
                    Strand::Stranded
                } else {
                    strand
                };
                dc_resistance_ohm_per_kft(size, made).ok_or(InputFault::Unusable {
                    field: "strand",
                    why: "no such conductor is made",
                })
            }
            Impedance::AlternatingCurrent {
                raceway,
                power_factor,
            } => {
                within("power factor", power_factor, (0.1, 1.0), "")?;
                let (resistance, reactance) = ac_ohm_per_kft(size, raceway);
                let sine = (1.0 - power_factor * power_factor).sqrt();
                Ok(resistance * power_factor + reactance * sine)
            }
        }
    }
}

/// A load at the end of a two-wire circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EndLoad {
    /// Voltage at the panel, V.
    pub supply_v: f64,
    /// Current of the load, A.
    pub current_a: f64,
    /// One-way length, ft.
    pub length_ft: f64,
}

/// Voltage lost on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VoltageDrop {
    /// Voltage lost, V.
    pub drop_v: Finite,
    /// The same over the supply voltage.
    pub share: Finite,
    /// Voltage left at the load, V.
    pub at_load_v: Finite,
}

/// Voltage drop 2 × L × I × Z / 1,000 of a single-phase two-wire circuit.
///
/// # Errors
/// Numbers out of the range of branch circuits.
pub fn voltage_drop(load: &EndLoad, ohm_per_kft: f64) -> Result<VoltageDrop, InputFault> {
    within("supply voltage", load.supply_v, (20.0, 600.0), "V")?;
    within("current", load.current_a, (0.0, 100.0), "A")?;
    within("one-way length", load.length_ft, (0.0, 5_000.0), "ft")?;
    within("impedance", ohm_per_kft, (0.0, 10.0), "ohm per 1,000 ft")?;
    let drop_v = 2.0 * load.length_ft * load.current_a * ohm_per_kft / 1_000.0;
    Ok(VoltageDrop {
        drop_v: Finite::new(drop_v, "voltage drop")?,
        share: Finite::new(drop_v / load.supply_v, "voltage drop")?,
        at_load_v: Finite::new(load.supply_v - drop_v, "voltage at the load")?,
    })
}

/// One-way length at which the drop is `limit_share`, ft; none for a load without current.
///
/// # Errors
/// [`NotFinite`] for an impedance of zero.
pub fn longest_ft(load: &EndLoad, ohm_per_kft: f64, limit_share: f64) -> Result<Option<Finite>, NotFinite> {
    if load.current_a <= 0.0 {
        return Ok(None);
    }
    let feet = limit_share * load.supply_v * 1_000.0 / (2.0 * load.current_a * ohm_per_kft);
    Finite::new(feet, "longest length at the voltage drop").map(Some)
}
