//! Cooling units by class: what the data sheet says of each.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::quantity::measure::{
    Charge, Current, Dimension, HeatFlow, Length, Mass, Power, Temperature, Volume, WaterFlow,
};

/// A class of cooling unit: the ceiling unit and the condensing unit that go together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Equipment {
    /// The class's own name, unique; formulas compare it.
    pub class: String,
    /// What it is, as it stands on a bill.
    pub title: String,
    /// Item codes of what is bought.
    pub items: EquipmentItems,
    /// The largest cellar that the class is meant for.
    pub volume_limit: Volume,
    /// Cooling capacity over the temperatures at which it works.
    pub capacity: CapacityTable,
    /// The ceiling unit's body.
    pub body: Body,
    /// The ceiling unit, dry.
    pub weight: Mass,
    /// Water that stands in pan and pump in service.
    pub water_weight: Mass,
    /// The condensing unit.
    pub condenser_weight: Mass,
    /// Tube sizes of the stubs.
    pub stubs: Stubs,
    /// Refrigerant by its ASHRAE 34 designation, `R-513A`.
    pub refrigerant: String,
    /// Charge as delivered.
    pub factory_charge: Charge,
    /// Line length that the factory charge covers.
    pub covered_length: Length,
    /// Limits of the line set.
    pub line_limits: LineLimits,
    /// The most refrigerant that the receiver holds at its rated fill; none when there is no receiver.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub receiver_holds: Option<Charge>,
    /// Supply voltage, as the job spec words it.
    pub supply_voltage: SupplyVoltage,
    /// Minimum circuit ampacity of the nameplate.
    pub minimum_circuit_ampacity: Current,
    /// Maximum overcurrent device of the nameplate.
    pub maximum_overcurrent: Current,
    /// Power of the ceiling unit's fans.
    pub fan_power: Power,
    /// The built-in condensate pump, where there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pump: Option<PumpCurve>,
    /// Drain tubing in the carton.
    pub drain_tubing_included: Length,
    /// Controller cable in the carton.
    pub cable_included: Length,
    /// The longest controller cable, extension included.
    pub cable_maximum: Length,
    /// Probe lead in the carton.
    pub probe_lead_included: Length,
    /// Outdoor air at which the condensing unit works, lowest and highest.
    pub condenser_air: TemperatureRange,
    /// Clear depth above the ceiling that each mounting needs; a mounting that is not named is not possible.
    pub void_needed: VoidNeeded,
    /// How the ceiling unit is held.
    pub bracket: Bracket,
}

/// Item codes bought for one unit of a class.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EquipmentItems {
    /// The ceiling unit.
    pub ceiling_unit: String,
    /// The condensing unit.
    pub condensing_unit: String,
}

/// Capacity at each pair of condenser air and cellar air temperature; linear between.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CapacityTable {
    /// Air entering the condenser, ascending.
    pub condenser_air: Vec<Temperature>,
    /// Cellar air, ascending.
    pub cellar_air: Vec<Temperature>,
    /// One row a condenser temperature, one column a cellar temperature.
    pub capacity: Vec<Vec<HeatFlow>>,
}

/// Outer size of the ceiling unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Body {
    /// The longer side.
    pub length: Dimension,
    /// The shorter side.
    pub width: Dimension,
    /// Top to bottom.
    pub depth: Dimension,
}

/// Outside diameters of the stubs, as tube sizes (`3/8`).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stubs {
    /// Suction.
    pub suction: String,
    /// Liquid.
    pub liquid: String,
}

/// What the data sheet allows of the line set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineLimits {
    /// Measured length.
    pub length: Length,
    /// Equivalent length, fittings counted.
    pub equivalent_length: Length,
    /// Condensing unit above the ceiling unit.
    pub rise: Length,
    /// Condensing unit below the ceiling unit.
    pub drop: Length,
}

/// Supply voltage and phase.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SupplyVoltage {
    /// 115 V, one phase.
    V115,
    /// 230 V, one phase.
    V230,
}

/// Flow of a condensate pump against lift, the lift ascending.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PumpCurve {
    /// Points of the curve.
    pub points: Vec<PumpPoint>,
    /// Bore of the tubing that the pump is made for.
    pub tube_bore: Dimension,
}

/// One point of a pump curve.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PumpPoint {
    /// Height that the water is lifted.
    pub lift: Length,
    /// Flow at that height.
    pub flow: WaterFlow,
}

/// A range of temperatures, ends included.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TemperatureRange {
    /// The lowest.
    pub lowest: Temperature,
    /// The highest.
    pub highest: Temperature,
}

/// Clear depth above the ceiling for each mounting.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VoidNeeded {
    /// Hung below the ceiling.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposed: Option<Dimension>,
    /// Body partly above the ceiling.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub partly_recessed: Option<Dimension>,
    /// Body wholly above the ceiling.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flush: Option<Dimension>,
}

/// How the ceiling unit is held up.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bracket {
    /// The bracket itself.
    pub weight: Mass,
    /// How many lag screws or rods hold it.
    pub fasteners: u32,
    /// Nominal diameter of a lag screw, `1/4`, `5/16` or `3/8`.
    pub lag_screw: String,
    /// Thread that goes into the wood.
    pub thread_penetration: Dimension,
    /// How many of the load factor the fasteners must bear at the least.
    #[serde(with = "rust_decimal::serde::str")]
    pub safety_factor: Decimal,
}
