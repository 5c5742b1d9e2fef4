//! A lag screw pulled out of the side of a piece of lumber.

use crate::sizing::finite::Finite;
use crate::sizing::range::{InputFault, within};

/// Where the withdrawal formula comes from.
pub const WITHDRAWAL_SOURCE: &str = "NDS 2018, equation 12.2-1 and Table 12.2A, as reprinted";

/// Kind of lumber with its specific gravity. Names and gravities: NDS Table 12.3.3A, from memory.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wood {
    /// Southern pine, 0.55.
    SouthernPine,
    /// Douglas fir-larch, 0.50.
    DouglasFirLarch,
    /// Hem-fir, 0.43.
    HemFir,
    /// Spruce-pine-fir, 0.42.
    SprucePineFir,
    /// Spruce-pine-fir (south) and western cedars, 0.36; also taken where the kind is not known.
    WesternCedar,
    /// Another kind, by its specific gravity.
    OfGravity(f64),
}

impl Wood {
    /// Specific gravity, oven-dry.
    #[must_use]
    pub const fn specific_gravity(self) -> f64 {
        match self {
            Wood::SouthernPine => 0.55,
            Wood::DouglasFirLarch => 0.50,
            Wood::HemFir => 0.43,
            Wood::SprucePineFir => 0.42,
            Wood::WesternCedar => 0.36,
            Wood::OfGravity(gravity) => gravity,
        }
    }
}

/// A lag screw in wood, and what weakens it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Screw {
    /// Diameter of the unthreaded shank, in.
    pub diameter_in: f64,
    /// Length of thread in the wood, without the tip, in.
    pub thread_in: f64,
    /// The wood.
    pub wood: Wood,
    /// Load duration factor: 0.9 for a permanent load (from memory).
    pub load_duration: f64,
    /// Whether the wood gets wet in service.
    pub wet: bool,
    /// Warmest the wood gets for long, °F; an attic gets hot.
    pub wood_f: f64,
    /// Whether the screw goes into the end of the grain.
    pub end_grain: bool,
}

/// What the table's reference value is changed by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Withdrawal {
    /// Reference value of the formula, lb per inch of thread.
    pub reference_lb_per_in: Finite,
    /// The value after all factors, lb per inch of thread.
    pub adjusted_lb_per_in: Finite,
    /// What the screw may hold, lb.
    pub holds_lb: Finite,
}

/// Factors for wet wood (0.7) and end grain (0.75): NDS Table 11.3.3 (from memory) and 12.5.2 (read).
const WET: f64 = 0.7;
const END_GRAIN: f64 = 0.75;

/// Reference withdrawal value 1,800 G^1.5 D^0.75, lb per inch of thread.
///
/// # Errors
/// A diameter not from 1/4 to 1-1/4 in or a specific gravity not from 0.31 to 0.73, the range of the
/// table.
pub fn reference_lb_per_in(diameter_in: f64, specific_gravity: f64) -> Result<f64, InputFault> {
    within("diameter of a lag screw", diameter_in, (0.25, 1.25), "in")?;
    within("specific gravity of the wood", specific_gravity, (0.31, 0.73), "")?;
    Ok(1_800.0 * specific_gravity.powf(1.5) * diameter_in.powf(0.75))
}

impl Screw {
    /// What the screw may hold, pulled straight out.
    ///
    /// # Errors
    /// As [`reference_lb_per_in`]; a thread not over 0 to 12 in; a load duration factor not from 0.9 to
    /// 1.6; wood over 150 °F.
    pub fn withdrawal(&self) -> Result<Withdrawal, InputFault> {
        let reference = reference_lb_per_in(self.diameter_in, self.wood.specific_gravity())?;
        within("thread in the wood", self.thread_in, (0.0, 12.0), "in")?;
        within("load duration factor", self.load_duration, (0.9, 1.6), "")?;
        let wet = if self.wet { WET } else { 1.0 };
        let grain = if self.end_grain { END_GRAIN } else { 1.0 };
        let adjusted =
            reference * self.load_duration * wet * temperature_factor(self.wood_f, self.wet)? * grain;
        Ok(Withdrawal {
            reference_lb_per_in: Finite::new(reference, "reference withdrawal value")?,
            adjusted_lb_per_in: Finite::new(adjusted, "adjusted withdrawal value")?,
            holds_lb: Finite::new(adjusted * self.thread_in, "withdrawal of a screw")?,
        })
    }
}

/// Factor for warm wood. Source: NDS Table 11.3.4, from memory.
fn temperature_factor(wood_f: f64, wet: bool) -> Result<f64, InputFault> {
    within("temperature of the wood", wood_f, (-40.0, 150.0), "°F")?;
    Ok(match (wood_f, wet) {
        (..=100.0, _) => 1.0,
        (..=125.0, false) => 0.8,
        (..=125.0, true) => 0.7,
        (_, false) => 0.7,
        (_, true) => 0.5,
    })
}
