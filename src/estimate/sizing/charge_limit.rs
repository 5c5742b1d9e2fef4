//! A screening test of the refrigerant charge against the smallest room that it could leak into.
//!
//! In: the whole charge of one circuit, the smallest room's volume, the refrigerant's limit. Out: no flag, or
//! a flag for the supplier or an engineer. Deliberately absent: approval. The product standard, the adopted
//! mechanical code and the equipment's data sheet decide; this test only finds what they must be asked.

use super::finding::Finding;
use super::finite::Finite;
use super::heat_rate::FT3_M3;
use super::range::{InputFault, within};
use super::refrigerant::{Concentration, ConcentrationLimit};

/// How the limit is found.
pub const METHOD: &str = "charge against room volume times the concentration limit (A1), or times a quarter of the lower \
     flammability limit (A2L, A3)";
/// Where the method comes from.
pub const SOURCE: &str =
    "ANSI/ASHRAE Standard 34 concentration limits and ANSI/ASHRAE Standard 15, from memory; screening only";
/// The caution that goes with every result.
pub const CAUTION: &str = "Refrigerant displaces air and may burn or decompose: certified technicians only, leak test before charging, \
     no flame or spark near a flammable refrigerant, ventilate before entry. The equipment's data sheet, the adopted code and \
     licensed practice decide whether this charge may be installed in this room.";

/// Share of the lower flammability limit that the screening allows.
const LFL_SHARE: f64 = 0.25;
/// From this share of the limit on, the result tells that little is left.
const NEAR_LIMIT: f64 = 0.8;
/// One pound in kg, exact.
const LB_KG: f64 = 0.453_592_37;

/// What is to be screened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChargeInput {
    /// The refrigerant's limit: the data sheet's, or [`super::refrigerant::Refrigerant::concentration`].
    pub concentration: Concentration,
    /// All refrigerant in the circuit, factory charge and line charge together, kg.
    pub charge_kg: f64,
    /// Volume of the smallest closed room that holds a part of the circuit, ft³.
    pub smallest_room_ft3: f64,
}

/// Why a charge is flagged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FlagReason {
    /// More than the screening limit.
    OverLimit,
    /// Class A3 in piping that is joined on site: flagged in any amount.
    HighlyFlammable,
}

/// The outcome. There is no approval among them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ChargeOutcome {
    /// The screening found nothing to ask; the data sheet and the code still decide.
    NoFlag,
    /// The supplier or an engineer must decide before the offer is issued.
    FlagForSupplierOrEngineer {
        /// Why.
        reason: FlagReason,
    },
}

/// The charge beside its screening limit.
#[derive(Clone, Debug, PartialEq)]
pub struct ChargeScreening {
    /// The outcome.
    pub outcome: ChargeOutcome,
    /// Safety class, as `A2L`.
    pub safety_class: &'static str,
    /// The charge, kg.
    pub charge_kg: Finite,
    /// The screening limit in this room, kg.
    pub limit_kg: Finite,
    /// Limit less charge, kg; negative when the charge is over.
    pub margin_kg: Finite,
    /// Charge over limit.
    pub share_of_limit: Finite,
    /// Smallest room volume that would not be flagged for its amount, ft³.
    pub volume_needed_ft3: Finite,
    /// What a person should know.
    pub findings: Vec<Finding>,
    /// The caution to print.
    pub caution: &'static str,
    /// How the limit is found.
    pub method: &'static str,
    /// Where the method comes from.
    pub source: &'static str,
    /// Where the refrigerant's figure comes from.
    pub figure_source: &'static str,
}

/// Screens a charge of up to 200 kg in a room of 1 to 1,000,000 ft³.
///
/// # Errors
/// A charge or a volume outside that range, or a limit outside 0.001 to 5 kg/m³.
pub fn screen(input: &ChargeInput) -> Result<ChargeScreening, InputFault> {
    let charge = within("refrigerant charge", input.charge_kg, (0.0, 200.0), "kg")?;
    let volume_ft3 = within("smallest room", input.smallest_room_ft3, (1.0, 1.0e6), "ft³")?;
    let limit = input.concentration.limit;
    let (figure, share) = match limit {
        ConcentrationLimit::A1 { rcl_kg_m3 } => (rcl_kg_m3, 1.0),
        ConcentrationLimit::A2l { lfl_kg_m3 } | ConcentrationLimit::A3 { lfl_kg_m3 } => {
            (lfl_kg_m3, LFL_SHARE)
        }
    };
    let allowed_kg_m3 = within("concentration limit", figure, (0.001, 5.0), "kg/m³")? * share;
    let limit_kg = allowed_kg_m3 * volume_ft3 * FT3_M3;
    let volume_needed_ft3 = charge / allowed_kg_m3 / FT3_M3;
    let outcome = match limit {
        ConcentrationLimit::A3 { .. } if charge > 0.0 => ChargeOutcome::FlagForSupplierOrEngineer {
            reason: FlagReason::HighlyFlammable,
        },
        _ if charge > limit_kg => ChargeOutcome::FlagForSupplierOrEngineer {
            reason: FlagReason::OverLimit,
        },
        _ => ChargeOutcome::NoFlag,
    };
    Ok(ChargeScreening {
        outcome,
        safety_class: limit.safety_class(),
        charge_kg: Finite::new(charge, "refrigerant charge")?,
        limit_kg: Finite::new(limit_kg, "charge limit")?,
        margin_kg: Finite::new(limit_kg - charge, "charge margin")?,
        share_of_limit: Finite::new(charge / limit_kg, "share of the charge limit")?,
        volume_needed_ft3: Finite::new(volume_needed_ft3, "room volume needed")?,
        findings: findings(limit, charge, limit_kg, volume_ft3, volume_needed_ft3),
        caution: CAUTION,
        method: METHOD,
        source: SOURCE,
        figure_source: input.concentration.source,
    })
}

fn findings(
    limit: ConcentrationLimit,
    charge_kg: f64,
    limit_kg: f64,
    volume_ft3: f64,
    volume_needed_ft3: f64,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    let class = limit.safety_class();
    let (charge_lb, limit_lb) = (charge_kg / LB_KG, limit_kg / LB_KG);
    if matches!(limit, ConcentrationLimit::A3 { .. }) && charge_kg > 0.0 {
        let message = format!(
            "{charge_lb:.2} lb of a highly flammable (A3) refrigerant in piping joined on site: the supplier or an \
             engineer must decide"
        );
        findings.push(Finding::stop("charge_limit.highly_flammable", message, SOURCE));
    }
    if charge_kg > limit_kg {
        let message = format!(
            "{charge_lb:.2} lb of {class} refrigerant is {:.2} lb over the screening limit of {limit_lb:.2} lb for the smallest \
             room of {volume_ft3:.0} ft³ ({volume_needed_ft3:.0} ft³ would be needed): the supplier or an engineer must decide",
            charge_lb - limit_lb,
        );
        findings.push(Finding::stop("charge_limit.over", message, SOURCE));
    } else if charge_kg > NEAR_LIMIT * limit_kg {
        let message = format!(
            "{charge_lb:.2} lb of {class} refrigerant is {:.0} % of the screening limit of {limit_lb:.2} lb; a longer line may go over it",
            100.0 * charge_kg / limit_kg,
        );
        findings.push(Finding::caution("charge_limit.near", message, SOURCE));
    }
    findings
}
