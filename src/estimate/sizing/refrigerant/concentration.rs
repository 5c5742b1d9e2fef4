//! Safety class and concentration limit of each refrigerant, as the screening of the charge needs them.

use super::Refrigerant;

/// What sets the limit in a room, by ASHRAE Standard 34 safety class. All of these are class A
/// (lower toxicity).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ConcentrationLimit {
    /// A1, no flame propagation: refrigerant concentration limit (RCL), kg per m³ of room.
    A1 {
        /// kg/m³.
        rcl_kg_m3: f64,
    },
    /// A2L, burns slowly: lower flammability limit (LFL), kg per m³ of room.
    A2l {
        /// kg/m³.
        lfl_kg_m3: f64,
    },
    /// A3, highly flammable: lower flammability limit (LFL), kg per m³ of room.
    A3 {
        /// kg/m³.
        lfl_kg_m3: f64,
    },
}

/// A limit and where it was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Concentration {
    /// The limit, by safety class.
    pub limit: ConcentrationLimit,
    /// Where the figure comes from.
    pub source: &'static str,
}

const FROM_MEMORY: &str = "ASHRAE Standard 34 table, from memory; the supplier's safety data sheet governs";
const LFL_TABLE: &str = "published table of A2L charge limits (a refrigerant dealer's, read); the supplier's safety data sheet governs";

impl ConcentrationLimit {
    /// The safety class, as printed on a label.
    #[must_use]
    pub const fn safety_class(&self) -> &'static str {
        match self {
            ConcentrationLimit::A1 { .. } => "A1",
            ConcentrationLimit::A2l { .. } => "A2L",
            ConcentrationLimit::A3 { .. } => "A3",
        }
    }
}

impl Refrigerant {
    /// Safety class and limit of this refrigerant. The figures of the equipment's own data sheet, where
    /// there is one, go before these.
    #[must_use]
    pub const fn concentration(self) -> Concentration {
        let (limit, source) = match self {
            Refrigerant::R134a => (ConcentrationLimit::A1 { rcl_kg_m3: 0.21 }, FROM_MEMORY),
            Refrigerant::R513a => (ConcentrationLimit::A1 { rcl_kg_m3: 0.32 }, FROM_MEMORY),
            Refrigerant::R448a => (ConcentrationLimit::A1 { rcl_kg_m3: 0.39 }, FROM_MEMORY),
            Refrigerant::R449a => (ConcentrationLimit::A1 { rcl_kg_m3: 0.37 }, FROM_MEMORY),
            Refrigerant::R404a => (ConcentrationLimit::A1 { rcl_kg_m3: 0.50 }, FROM_MEMORY),
            Refrigerant::R290 => (ConcentrationLimit::A3 { lfl_kg_m3: 0.038 }, FROM_MEMORY),
            Refrigerant::R454c => (ConcentrationLimit::A2l { lfl_kg_m3: 0.291 }, LFL_TABLE),
        };
        Concentration { limit, source }
    }
}
