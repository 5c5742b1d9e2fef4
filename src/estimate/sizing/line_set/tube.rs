//! Copper tube for refrigeration: the sizes of ASTM B280 and what follows from bore and wall.

use std::f64::consts::{FRAC_PI_4, PI};
use std::fmt;

use crate::sizing::range::{InputFault, within};

/// Where the tube figures come from.
pub const TUBE_SOURCE: &str = "ASTM B280, Table 1 (straight lengths) and coil sizes as reprinted";

const INCH_M: f64 = 0.0254;
/// Copper, lb/in³ (8.94 g/cm³).
const COPPER_LB_PER_IN3: f64 = 0.323;

/// How the tube is delivered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TubeKind {
    /// Annealed, in coils, bent on site.
    CoilAnnealed,
    /// Drawn, in straight lengths, turned with fittings.
    StraightDrawn,
}

/// Nominal size of refrigeration tube: its outside diameter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TubeSize {
    /// 1/4 in
    Quarter,
    /// 5/16 in
    FiveSixteenths,
    /// 3/8 in
    ThreeEighths,
    /// 1/2 in
    Half,
    /// 5/8 in
    FiveEighths,
    /// 3/4 in
    ThreeQuarters,
    /// 7/8 in
    SevenEighths,
    /// 1-1/8 in
    OneAndEighth,
    /// 1-3/8 in
    OneAndThreeEighths,
    /// 1-5/8 in
    OneAndFiveEighths,
}

impl TubeSize {
    /// Every size, the smallest first.
    pub const ALL: [TubeSize; 10] = [
        TubeSize::Quarter,
        TubeSize::FiveSixteenths,
        TubeSize::ThreeEighths,
        TubeSize::Half,
        TubeSize::FiveEighths,
        TubeSize::ThreeQuarters,
        TubeSize::SevenEighths,
        TubeSize::OneAndEighth,
        TubeSize::OneAndThreeEighths,
        TubeSize::OneAndFiveEighths,
    ];

    /// The size as the trade writes it, in inches: `3/8`, `1-1/8`.
    #[must_use]
    pub const fn nominal(self) -> &'static str {
        match self {
            TubeSize::Quarter => "1/4",
            TubeSize::FiveSixteenths => "5/16",
            TubeSize::ThreeEighths => "3/8",
            TubeSize::Half => "1/2",
            TubeSize::FiveEighths => "5/8",
            TubeSize::ThreeQuarters => "3/4",
            TubeSize::SevenEighths => "7/8",
            TubeSize::OneAndEighth => "1-1/8",
            TubeSize::OneAndThreeEighths => "1-3/8",
            TubeSize::OneAndFiveEighths => "1-5/8",
        }
    }

    /// The size written as [`TubeSize::nominal`] writes it.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        TubeSize::ALL.into_iter().find(|size| size.nominal() == text)
    }
}

impl fmt::Display for TubeSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} in", self.nominal())
    }
}

/// A tube by its size and its true outside diameter and wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tube {
    size: TubeSize,
    outer_in: f64,
    wall_in: f64,
}

impl Tube {
    /// A tube whose wall is not that of the standard: thin-wall coils are sold beside it.
    ///
    /// # Errors
    /// An outside diameter not from 0.1 to 6 in, a wall under 0.01 in, or a bore under half the
    /// outside diameter.
    pub fn new(size: TubeSize, outer_in: f64, wall_in: f64) -> Result<Self, InputFault> {
        within("outside diameter of a tube", outer_in, (0.1, 6.0), "in")?;
        within("wall of a tube", wall_in, (0.01, outer_in / 4.0), "in")?;
        Ok(Tube {
            size,
            outer_in,
            wall_in,
        })
    }

    const fn b280(size: TubeSize, outer_in: f64, wall_in: f64) -> Self {
        Tube {
            size,
            outer_in,
            wall_in,
        }
    }

    /// Nominal size.
    #[must_use]
    pub const fn size(&self) -> TubeSize {
        self.size
    }

    /// Outside diameter, in.
    #[must_use]
    pub const fn outer_in(&self) -> f64 {
        self.outer_in
    }

    /// Wall, in.
    #[must_use]
    pub const fn wall_in(&self) -> f64 {
        self.wall_in
    }

    /// Inner diameter, in.
    #[must_use]
    pub fn inner_in(&self) -> f64 {
        self.outer_in - 2.0 * self.wall_in
    }

    /// Inner diameter, m.
    #[must_use]
    pub fn inner_m(&self) -> f64 {
        self.inner_in() * INCH_M
    }

    /// Area of the bore, m².
    #[must_use]
    pub fn bore_m2(&self) -> f64 {
        FRAC_PI_4 * self.inner_m() * self.inner_m()
    }

    /// Weight of the copper, lb/ft.
    #[must_use]
    pub fn weight_lb_per_ft(&self) -> f64 {
        PI * (self.outer_in - self.wall_in) * self.wall_in * 12.0 * COPPER_LB_PER_IN3
    }
}

/// The standard's tubes of a kind, the smallest first.
#[must_use]
pub const fn b280(kind: TubeKind) -> &'static [Tube] {
    match kind {
        TubeKind::CoilAnnealed => &COILS,
        TubeKind::StraightDrawn => &STRAIGHT,
    }
}

const COILS: [Tube; 9] = [
    Tube::b280(TubeSize::Quarter, 0.250, 0.030),
    Tube::b280(TubeSize::FiveSixteenths, 0.312, 0.032),
    Tube::b280(TubeSize::ThreeEighths, 0.375, 0.032),
    Tube::b280(TubeSize::Half, 0.500, 0.032),
    Tube::b280(TubeSize::FiveEighths, 0.625, 0.035),
    Tube::b280(TubeSize::ThreeQuarters, 0.750, 0.035),
    Tube::b280(TubeSize::SevenEighths, 0.875, 0.045),
    Tube::b280(TubeSize::OneAndEighth, 1.125, 0.050),
    Tube::b280(TubeSize::OneAndThreeEighths, 1.375, 0.055),
];

const STRAIGHT: [Tube; 9] = [
    Tube::b280(TubeSize::Quarter, 0.250, 0.025),
    Tube::b280(TubeSize::ThreeEighths, 0.375, 0.030),
    Tube::b280(TubeSize::Half, 0.500, 0.035),
    Tube::b280(TubeSize::FiveEighths, 0.625, 0.040),
    Tube::b280(TubeSize::ThreeQuarters, 0.750, 0.042),
    Tube::b280(TubeSize::SevenEighths, 0.875, 0.045),
    Tube::b280(TubeSize::OneAndEighth, 1.125, 0.050),
    Tube::b280(TubeSize::OneAndThreeEighths, 1.375, 0.055),
    Tube::b280(TubeSize::OneAndFiveEighths, 1.625, 0.060),
];
