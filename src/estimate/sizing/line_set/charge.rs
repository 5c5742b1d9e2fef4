//! Refrigerant beyond the factory's charge, and whether a receiver can hold it all.

use super::flow::FOOT_M;
use super::tube::Tube;
use crate::sizing::finding::Finding;
use crate::sizing::finite::Finite;
use crate::sizing::range::{InputFault, within};

/// Where the charge comes from.
pub const CHARGE_SOURCE: &str = "inner volume of the liquid line × density of the liquid, beyond the length that the \
     factory charge covers";

/// A receiver may be filled with liquid to this share of its volume.
pub const RECEIVER_FILL: f64 = 0.80;
const RECEIVER_SOURCE: &str = "common practice, no source: a receiver holds liquid in 80 % of its volume";

const OUNCE_KG: f64 = 0.028_349_523_125;
const CUBIC_INCH_M3: f64 = 1.638_706_4e-5;

/// What the unit's data sheet says of its charge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnitCharge {
    /// Charge from the factory, oz.
    pub factory_oz: f64,
    /// Length of liquid line that it covers, in the size of the unit's stub, ft.
    pub covered_ft: f64,
    /// Allowance for what is added to the line (filter-drier, …), oz.
    pub accessories_oz: f64,
    /// Whether the low side is emptied before each stop, so that the high side holds all.
    pub pump_down: bool,
    /// The receiver, if there is one.
    pub receiver: Option<Receiver>,
}

/// A vessel that stores liquid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Receiver {
    /// Its data sheet says how much it holds at its rated fill.
    Rated {
        /// Liquid at the rated fill, oz.
        holds_oz: f64,
    },
    /// Only its volume is known; [`RECEIVER_FILL`] of it may be liquid.
    Volume {
        /// Inner volume, in³.
        inner_volume_in3: f64,
        /// Density of the liquid at the hottest it gets there, kg/m³.
        liquid_density_kg_m3: f64,
    },
}

/// The charge of one system.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Charge {
    /// Liquid in one foot of the line, oz.
    pub per_foot_oz: Finite,
    /// To add for the line and what is added to it, oz.
    pub extra_oz: Finite,
    /// The same, g.
    pub extra_g: Finite,
    /// Factory charge and what is added, oz.
    pub total_oz: Finite,
    /// What the receiver holds at its rated fill, oz; none without a receiver.
    pub receiver_holds_oz: Option<Finite>,
    /// What the receiver could hold beyond the total charge, oz; negative when it is too small.
    pub receiver_margin_oz: Option<Finite>,
    /// Whether a pump-down system lacks a receiver that holds the charge.
    pub receiver_needed: bool,
}

/// Charge of a system whose liquid line is `length_ft` long.
///
/// Gas in the suction line is left out: it is some hundredths of the liquid.
pub(super) fn charge(
    unit: &UnitCharge,
    line: &Tube,
    stub: &Tube,
    length_ft: f64,
    density_kg_m3: f64,
    findings: &mut Vec<Finding>,
) -> Result<Charge, InputFault> {
    within("factory charge", unit.factory_oz, (0.0, 10_000.0), "oz")?;
    within(
        "length covered by the factory charge",
        unit.covered_ft,
        (0.0, 1_000.0),
        "ft",
    )?;
    within(
        "allowance for accessories",
        unit.accessories_oz,
        (0.0, 1_000.0),
        "oz",
    )?;
    let oz_per_ft = |tube: &Tube| tube.bore_m2() * FOOT_M * density_kg_m3 / OUNCE_KG;
    let covered_oz = unit.covered_ft * oz_per_ft(stub);
    let line_oz = (length_ft * oz_per_ft(line) - covered_oz).max(0.0);
    let extra_oz = line_oz + unit.accessories_oz;
    let total_oz = unit.factory_oz + extra_oz;
    let holds_oz = unit.receiver.as_ref().map(receiver_holds_oz).transpose()?;
    let receiver_needed = unit.pump_down && holds_oz.is_none_or(|oz| oz < total_oz);
    if receiver_needed {
        findings.push(receiver_finding(total_oz, holds_oz));
    }
    let optional = |value: Option<f64>, what| value.map(|oz| Finite::new(oz, what)).transpose();
    Ok(Charge {
        per_foot_oz: Finite::new(oz_per_ft(line), "charge of a foot of line")?,
        extra_oz: Finite::new(extra_oz, "extra charge")?,
        extra_g: Finite::new(extra_oz * OUNCE_KG * 1_000.0, "extra charge")?,
        total_oz: Finite::new(total_oz, "total charge")?,
        receiver_holds_oz: optional(holds_oz, "receiver capacity")?,
        receiver_margin_oz: optional(holds_oz.map(|oz| oz - total_oz), "receiver margin")?,
        receiver_needed,
    })
}

fn receiver_holds_oz(receiver: &Receiver) -> Result<f64, InputFault> {
    match *receiver {
        Receiver::Rated { holds_oz } => within("capacity of the receiver", holds_oz, (0.0, 10_000.0), "oz"),
        Receiver::Volume {
            inner_volume_in3,
            liquid_density_kg_m3,
        } => {
            within("volume of the receiver", inner_volume_in3, (0.0, 10_000.0), "in3")?;
            within(
                "density of stored liquid",
                liquid_density_kg_m3,
                (300.0, 2_000.0),
                "kg/m3",
            )?;
            let liquid_m3 = inner_volume_in3 * CUBIC_INCH_M3 * RECEIVER_FILL;
            Ok(liquid_m3 * liquid_density_kg_m3 / OUNCE_KG)
        }
    }
}

fn receiver_finding(total_oz: f64, holds_oz: Option<f64>) -> Finding {
    let message = match holds_oz {
        Some(oz) => format!(
            "The receiver holds {oz:.1} oz at its rated fill, {:.1} oz less than the total charge of {total_oz:.1} oz.",
            total_oz - oz
        ),
        None => format!(
            "Pump-down stores the whole charge of {total_oz:.1} oz on the high side and no receiver is listed."
        ),
    };
    Finding::caution("line_set.receiver_too_small", message, RECEIVER_SOURCE)
}
