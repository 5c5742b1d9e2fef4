//! Copper conductors of branch circuits: what they carry, at what temperature, with what resistance.

use std::fmt;

use crate::sizing::range::{InputFault, within};

/// Where the ampacities come from.
pub const AMPACITY_SOURCE: &str = "NFPA 70 (NEC) 2023, Tables 310.16, 310.15(B)(1) and 310.15(C)(1) as reprinted; the adopted edition governs";

/// Size of a conductor, American wire gauge. Ordered from thin to thick.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum WireSize {
    /// 14 AWG
    Awg14,
    /// 12 AWG
    Awg12,
    /// 10 AWG
    Awg10,
    /// 8 AWG
    Awg8,
    /// 6 AWG
    Awg6,
}

impl WireSize {
    /// Every size, from thin to thick.
    pub const ALL: [WireSize; 5] = [
        WireSize::Awg14,
        WireSize::Awg12,
        WireSize::Awg10,
        WireSize::Awg8,
        WireSize::Awg6,
    ];

    /// The gauge as the trade writes it: `14`.
    #[must_use]
    pub const fn gauge(self) -> &'static str {
        match self {
            WireSize::Awg14 => "14",
            WireSize::Awg12 => "12",
            WireSize::Awg10 => "10",
            WireSize::Awg8 => "8",
            WireSize::Awg6 => "6",
        }
    }

    /// The size written as [`WireSize::gauge`] writes it.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        WireSize::ALL.into_iter().find(|size| size.gauge() == text)
    }

    /// Area, circular mils. Source: NEC chapter 9, Table 8.
    #[must_use]
    pub const fn circular_mils(self) -> f64 {
        match self {
            WireSize::Awg14 => 4_110.0,
            WireSize::Awg12 => 6_530.0,
            WireSize::Awg10 => 10_380.0,
            WireSize::Awg8 => 16_510.0,
            WireSize::Awg6 => 26_240.0,
        }
    }

    /// Ampacity at 30 °C, not more than three current-carrying conductors, A. Source: Table 310.16.
    #[must_use]
    pub const fn table_ampacity_a(self, column: Column) -> f64 {
        let (at_60, at_75, at_90) = match self {
            WireSize::Awg14 => (15.0, 20.0, 25.0),
            WireSize::Awg12 => (20.0, 25.0, 30.0),
            WireSize::Awg10 => (30.0, 35.0, 40.0),
            WireSize::Awg8 => (40.0, 50.0, 55.0),
            WireSize::Awg6 => (55.0, 65.0, 75.0),
        };
        match column {
            Column::C60 => at_60,
            Column::C75 => at_75,
            Column::C90 => at_90,
        }
    }

    /// Greatest overcurrent device by the small-conductor rule, A; none for thicker conductors.
    /// Source: NEC 240.4(D).
    #[must_use]
    pub const fn small_conductor_limit_a(self) -> Option<f64> {
        match self {
            WireSize::Awg14 => Some(15.0),
            WireSize::Awg12 => Some(20.0),
            WireSize::Awg10 => Some(30.0),
            WireSize::Awg8 | WireSize::Awg6 => None,
        }
    }
}

impl fmt::Display for WireSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} AWG", self.gauge())
    }
}

/// A temperature column of the ampacity table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Column {
    /// 60 °C
    C60,
    /// 75 °C
    C75,
    /// 90 °C
    C90,
}

/// Correction for ambient air, Table 310.15(B)(1): up to (°C), then the factors for insulation of 60,
/// 75 and 90 °C. The 75 °C column to 50 °C was read in a reprint; the rest is from memory and agrees
/// with the equation √((Tc − Ta) / (Tc − 30)) at the warm end of each band.
const AMBIENT: [(f64, [Option<f64>; 3]); 9] = [
    (30.0, [Some(1.00), Some(1.00), Some(1.00)]),
    (35.0, [Some(0.91), Some(0.94), Some(0.96)]),
    (40.0, [Some(0.82), Some(0.88), Some(0.91)]),
    (45.0, [Some(0.71), Some(0.82), Some(0.87)]),
    (50.0, [Some(0.58), Some(0.75), Some(0.82)]),
    (55.0, [Some(0.41), Some(0.67), Some(0.76)]),
    (60.0, [None, Some(0.58), Some(0.71)]),
    (65.0, [None, Some(0.47), Some(0.65)]),
    (70.0, [None, Some(0.33), Some(0.58)]),
];

/// Share of the table's ampacity that is left in warm air; cold air earns nothing.
///
/// # Errors
/// Under −40 °C or beyond the warmest band of the insulation.
pub fn ambient_factor(insulation: Column, ambient_c: f64) -> Result<f64, InputFault> {
    let (column, warmest_c) = match insulation {
        Column::C60 => (0, 55.0),
        Column::C75 => (1, 70.0),
        Column::C90 => (2, 70.0),
    };
    within("ambient of the conductors", ambient_c, (-40.0, warmest_c), "°C")?;
    let band = AMBIENT.iter().find(|(up_to_c, _)| ambient_c <= *up_to_c);
    let factor = band.and_then(|(_, factors)| factors.get(column).copied().flatten());
    factor.ok_or(InputFault::Unusable {
        field: "ambient of the conductors",
        why: "it is beyond the table",
    })
}

/// Adjustment for conductors bundled in one raceway or cable, Table 310.15(C)(1): up to, factor.
/// Four to six were read in a reprint, the rest is from memory.
const BUNDLED: [(u32, f64); 6] = [
    (3, 1.00),
    (6, 0.80),
    (9, 0.70),
    (20, 0.50),
    (30, 0.45),
    (40, 0.40),
];

/// Share of the table's ampacity that is left among other current-carrying conductors.
///
/// # Errors
/// None or more than 40 conductors.
pub fn bundling_factor(current_carrying: u32) -> Result<f64, InputFault> {
    within(
        "current-carrying conductors",
        f64::from(current_carrying),
        (1.0, 40.0),
        "conductors",
    )?;
    let row = BUNDLED.iter().find(|(up_to, _)| current_carrying <= *up_to);
    row.map(|(_, factor)| *factor).ok_or(InputFault::Unusable {
        field: "current-carrying conductors",
        why: "there are more than the table has",
    })
}
