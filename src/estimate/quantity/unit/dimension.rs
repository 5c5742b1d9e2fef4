//! What a unit measures, apart from how large it is.

use std::fmt;

/// The exponents of the base dimensions, and whether the value is a point on a temperature scale
/// rather than a difference. Two units can be converted into each other when these are equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Dimension {
    exponents: [i8; 7],
    point: bool,
}

const BASE_NAMES: [&str; 7] = [
    "length",
    "mass",
    "time",
    "temperature difference",
    "money",
    "count",
    "current",
];

/// Products of the base dimensions that have a name in ordinary speech.
const NAMED: &[([i8; 7], &str)] = &[
    ([0, 0, 0, 0, 0, 0, 0], "plain number"),
    ([2, 0, 0, 0, 0, 0, 0], "area"),
    ([3, 0, 0, 0, 0, 0, 0], "volume"),
    ([1, 0, -1, 0, 0, 0, 0], "speed"),
    ([3, 0, -1, 0, 0, 0, 0], "volume flow"),
    ([0, 1, -1, 0, 0, 0, 0], "mass flow"),
    ([-3, 1, 0, 0, 0, 0, 0], "density"),
    ([-1, 1, 0, 0, 0, 0, 0], "mass per length"),
    ([2, 1, -2, 0, 0, 0, 0], "energy"),
    ([2, 1, -3, 0, 0, 0, 0], "power"),
    ([2, 1, -3, 0, 0, 0, -1], "voltage"),
    ([2, 1, -3, 0, 0, 0, -2], "electrical resistance"),
    ([-1, 1, -2, 0, 0, 0, 0], "pressure"),
    ([0, 1, -3, -1, 0, 0, 0], "heat transmittance"),
    ([0, -1, 3, 1, 0, 0, 0], "thermal resistance"),
];

impl Dimension {
    pub(super) const fn new(exponents: [i8; 7]) -> Self {
        Self {
            exponents,
            point: false,
        }
    }

    pub(super) const fn temperature_point() -> Self {
        Self {
            exponents: [0, 0, 0, 1, 0, 0, 0],
            point: true,
        }
    }

    /// Whether this is the dimension of a plain number, such as a ratio.
    pub fn is_plain(self) -> bool {
        !self.point && self.exponents == [0; 7]
    }

    /// Whether values are points on a temperature scale (55 degF), which may not be scaled or added.
    pub fn is_point(self) -> bool {
        self.point
    }

    /// Whether amounts of money are of this dimension.
    pub fn is_money(self) -> bool {
        self.exponents == [0, 0, 0, 0, 1, 0, 0]
    }

    /// Whether goods or work are counted in it: pieces, length, area, volume, mass, time, or a plain number.
    pub fn counts_goods(self) -> bool {
        const COUNTED: [[i8; 7]; 7] = [
            [0, 0, 0, 0, 0, 0, 0],
            [1, 0, 0, 0, 0, 0, 0],
            [2, 0, 0, 0, 0, 0, 0],
            [3, 0, 0, 0, 0, 0, 0],
            [0, 1, 0, 0, 0, 0, 0],
            [0, 0, 1, 0, 0, 0, 0],
            [0, 0, 0, 0, 0, 1, 0],
        ];
        !self.point && COUNTED.contains(&self.exponents)
    }

    /// Whether this is a length of time.
    pub fn is_time(self) -> bool {
        self.exponents == [0, 0, 1, 0, 0, 0, 0]
    }

    /// Adds `power` times the exponents of `other`; nothing when an exponent leaves its range.
    pub(super) fn times(self, other: Self, power: i8) -> Option<Self> {
        let mut exponents = self.exponents;
        for (mine, theirs) in exponents.iter_mut().zip(other.exponents) {
            *mine = mine.checked_add(theirs.checked_mul(power)?)?;
        }
        Some(Self {
            exponents,
            point: self.point || other.point,
        })
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.point {
            return f.write_str("temperature");
        }
        if let Some((_, name)) = NAMED.iter().find(|(exponents, _)| *exponents == self.exponents) {
            return f.write_str(name);
        }
        let mut written = false;
        for over in [false, true] {
            for (name, power) in BASE_NAMES.iter().zip(self.exponents) {
                if power == 0 || (power < 0) != over {
                    continue;
                }
                f.write_str(match (over, written) {
                    (true, true) => " per ",
                    (true, false) => "one per ",
                    (false, true) => " times ",
                    (false, false) => "",
                })?;
                f.write_str(name)?;
                if power.unsigned_abs() > 1 {
                    write!(f, "^{}", power.unsigned_abs())?;
                }
                written = true;
            }
        }
        Ok(())
    }
}
