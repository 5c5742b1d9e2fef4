//! What the survey and the data sheets do not say, taken as the trade usually takes it.
//!
//! All of these are common practice without a source, unless another source stands beside them. Each is
//! shown among the inputs or the notes of the question that uses it.

/// Margin on the load.
pub(super) const SAFETY_SHARE: f64 = 0.10;
/// Hours a day in which the unit must do the day's work; usual where the coil stays above freezing.
pub(super) const RUN_HOURS: f64 = 18.0;
/// Most units of one class that are taken where one will not do.
pub(super) const MOST_UNITS: u32 = 2;

/// Evaporating temperature below the cellar's air, °F: 8 to 12 keep the humidity up.
pub(super) const COIL_BELOW_CELLAR_F: f64 = 12.0;
/// Condensing temperature above the air at the condenser, °F.
pub(super) const CONDENSING_ABOVE_AIR_F: f64 = 20.0;
/// Superheat of the gas in the suction line, °F.
pub(super) const SUPERHEAT_F: f64 = 10.0;
/// Subcooling of the liquid where it leaves the condensing unit, °F.
pub(super) const SUBCOOLING_F: f64 = 10.0;
/// Length of a coil of soft tube, ft.
pub(super) const COIL_FT: f64 = 50.0;
/// Length of a piece of hard tube, ft.
pub(super) const PIECE_FT: f64 = 20.0;

/// Time that a person takes through the door, s.
pub(super) const DOOR_OPEN_S: f64 = 15.0;
/// Width and height of a cellar's door, ft.
pub(super) const DOOR_FT: (f64, f64) = (3.0, 6.67);

/// Opening of the pan's outlet, in.
pub(super) const PAN_OUTLET_IN: f64 = 0.75;
/// A pump must reach this many times the head.
pub(super) const PUMP_HEAD_RESERVE: f64 = 1.25;
/// Level run that costs a pump as much as one foot of lift, ft: a rule of thumb of the trade.
pub(super) const RUN_PER_LIFT: f64 = 20.0;
/// Water that stands in a drain below this freezes, °F.
pub(super) const FREEZING_F: f64 = 32.0;

/// Share of a control cable's route that should be left over, and length at each of its ends, ft.
pub(super) const CABLE_SLACK: (f64, f64) = (0.10, 2.0);

/// Voltage drop advised for a branch circuit (NEC 210.19, informational note).
pub(super) const VOLTAGE_DROP: f64 = 0.03;
/// Conductors that carry current in a single-phase circuit of two wires.
pub(super) const CURRENT_CARRYING: u32 = 2;
/// Air along a circuit is taken as at least this warm, °F: the ampacity table's own 30 °C.
pub(super) const CIRCUIT_AIR_F: f64 = 86.0;

/// Weight of trim or a grille, lb.
pub(super) const TRIM_LB: f64 = 10.0;
/// Factor on the weight for handling, where the bracket's maker asks for no more.
pub(super) const HANDLING_FACTOR: f64 = 2.0;
/// Centre of gravity off the bracket's middle, as a share of the half length and width.
pub(super) const OFF_CENTRE: f64 = 0.10;
/// Spacing of joists that were not measured, in.
pub(super) const JOIST_SPACING_IN: f64 = 16.0;
/// Width of a joist of dimension lumber, in.
pub(super) const JOIST_WIDTH_IN: f64 = 1.5;
/// Play that a body needs between two joists, in.
pub(super) const BAY_PLAY_IN: f64 = 1.0;
/// Screws at each end of a block.
pub(super) const BLOCK_SCREWS: u32 = 4;
/// Load duration factor of a permanent load (NDS, from memory).
pub(super) const LOAD_DURATION: f64 = 0.9;
/// Wood above a cellar is taken as at least this warm, °F.
pub(super) const WOOD_F: f64 = 75.0;

/// Heat that leaves the condensing unit, over the cooling that it gives.
pub(super) const HEAT_REJECTED: f64 = 1.3;
/// Outdoors below this the head pressure needs control, °F.
pub(super) const COLD_CONDENSER_F: f64 = 50.0;

/// Conductivity of closed-cell foam for tubes, W/(m·K).
pub(super) const FOAM_W_MK: f64 = 0.036;
/// Emittance of its surface.
pub(super) const FOAM_EMITTANCE: f64 = 0.9;
/// How far above the dew point the surface of the foam must stay, K.
pub(super) const FOAM_MARGIN_K: f64 = 1.0;
/// Air in attics, crawl spaces and outdoors on a night that makes lines sweat: °F and relative humidity.
pub(super) const HUMID_AIR: (f64, f64) = (80.0, 0.80);
/// The thinnest wall put on a suction line, in: codes ask for R-3 (from memory), about what 1/2 in gives
/// on a small tube.
pub(super) const THINNEST_FOAM_IN: f64 = 0.5;
/// Film of still air at a wall and above a ceiling that is cold below, ft²·h·°F/Btu (ASHRAE Handbook of
/// Fundamentals, from memory).
pub(super) const WARM_FILM: (f64, f64) = (0.68, 0.92);
/// Air this near saturation is not the room's: the face lies against earth or a cold space.
pub(super) const NO_ROOM_RH: f64 = 0.95;
/// The driest air that the formulas take.
pub(super) const DRIEST_RH: f64 = 0.01;
/// Bore of the tube of a separate condensate pump, in.
pub(super) const SEPARATE_TUBE_IN: f64 = 0.375;
