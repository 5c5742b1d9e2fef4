//! Units of measure: parsed from text, multiplied and divided, and converted exactly.
//!
//! A unit is a product of powers of named units (`oz/ft`, `h*ft2*F_diff/Btu`). Its size is an exact
//! ratio, so a conversion is exact wherever the result has an end. Sizes: NIST Special Publication
//! 811 (2008), appendix B.

mod dimension;
mod name;
mod parse;
mod ratio;

pub use dimension::Dimension;
use name::Name;
pub(crate) use ratio::{ENDLESS_PLACES, Ratio};
use rust_decimal::Decimal;
use std::fmt;
use thiserror::Error;

/// The most different named units in one compound unit.
const MAX_PARTS: usize = 8;
/// The largest power of one named unit.
const MAX_POWER: i8 = 9;

/// Why a unit could not be read, built or converted.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum UnitFault {
    /// No unit of this name.
    #[error("unknown unit `{text}`{}", nearest.map(|n| format!("; did you mean `{n}`?")).unwrap_or_default())]
    Unknown {
        /// The name as written.
        text: String,
        /// The known name that is closest, if one is close.
        nearest: Option<&'static str>,
    },
    /// Not a product of unit names.
    #[error("{} is not a unit: write names joined by * and /, such as oz/ft or ft2", if text.is_empty() { "an empty text".to_owned() } else { format!("`{text}`") })]
    Malformed {
        /// The text as written.
        text: String,
    },
    /// More parts or higher powers than a unit may have.
    #[error("the unit has more parts or higher powers than any real one")]
    TooComplicated,
    /// A temperature point in a product: 55 degF per foot means nothing.
    #[error("{symbol} is a point on a scale and cannot be part of another unit; use F_diff or K")]
    PointInProduct {
        /// The point's unit.
        symbol: &'static str,
    },
    /// The two units measure different things.
    #[error("{from} ({from_dimension}) cannot become {to} ({to_dimension})")]
    DifferentDimension {
        /// The unit that the value has.
        from: String,
        /// What it measures.
        from_dimension: Dimension,
        /// The unit that was wanted.
        to: String,
        /// What that measures.
        to_dimension: Dimension,
    },
    /// The converted value has more digits than can be kept.
    #[error("the value is too large in {to}")]
    TooLarge {
        /// The unit that was wanted.
        to: String,
    },
}

/// A unit of measure. Two units are equal when they are made of the same named units: `in` and
/// `1/12 ft` would measure the same but are not equal.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Unit {
    /// The parts in the order of writing, each named unit once; unused places hold `(Plain, 0)`.
    parts: [(Name, i8); MAX_PARTS],
}

impl Unit {
    /// The unit of a plain number.
    pub const ONE: Unit = Unit::product(&[]);
    /// Foot.
    pub const FT: Unit = Unit::product(&[(Name::Foot, 1)]);
    /// Inch.
    pub const IN: Unit = Unit::product(&[(Name::Inch, 1)]);
    /// Mile.
    pub const MI: Unit = Unit::product(&[(Name::Mile, 1)]);
    /// Square foot.
    pub const FT2: Unit = Unit::product(&[(Name::Foot, 2)]);
    /// Square inch.
    pub const IN2: Unit = Unit::product(&[(Name::Inch, 2)]);
    /// Cubic foot.
    pub const FT3: Unit = Unit::product(&[(Name::Foot, 3)]);
    /// Gallon of 231 cubic inches.
    pub const GAL: Unit = Unit::product(&[(Name::Gallon, 1)]);
    /// Ounce (mass).
    pub const OZ: Unit = Unit::product(&[(Name::Ounce, 1)]);
    /// Pound (mass).
    pub const LB: Unit = Unit::product(&[(Name::Pound, 1)]);
    /// Hour.
    pub const H: Unit = Unit::product(&[(Name::Hour, 1)]);
    /// Minute.
    pub const MIN: Unit = Unit::product(&[(Name::Minute, 1)]);
    /// Day of 24 hours.
    pub const DAY: Unit = Unit::product(&[(Name::Day, 1)]);
    /// Watt.
    pub const W: Unit = Unit::product(&[(Name::Watt, 1)]);
    /// International Table Btu an hour.
    pub const BTU_PER_H: Unit = Unit::product(&[(Name::Btu, 1), (Name::Hour, -1)]);
    /// Volt.
    pub const V: Unit = Unit::product(&[(Name::Volt, 1)]);
    /// Ampere.
    pub const A: Unit = Unit::product(&[(Name::Ampere, 1)]);
    /// Pound-force a square inch.
    pub const PSI: Unit = Unit::product(&[(Name::Psi, 1)]);
    /// Point on the Fahrenheit scale.
    pub const DEG_F: Unit = Unit::product(&[(Name::DegreeFahrenheit, 1)]);
    /// Point on the Celsius scale.
    pub const DEG_C: Unit = Unit::product(&[(Name::DegreeCelsius, 1)]);
    /// Difference of one degree Fahrenheit.
    pub const F_DIFF: Unit = Unit::product(&[(Name::FahrenheitDifference, 1)]);
    /// Difference of one kelvin.
    pub const K: Unit = Unit::product(&[(Name::Kelvin, 1)]);
    /// A count of things.
    pub const EACH: Unit = Unit::product(&[(Name::Each, 1)]);
    /// One unit of the company's currency.
    pub const MONEY: Unit = Unit::product(&[(Name::Money, 1)]);
    /// Money an hour.
    pub const MONEY_PER_H: Unit = Unit::product(&[(Name::Money, 1), (Name::Hour, -1)]);
    /// Ounces a foot, as an added refrigerant charge is given.
    pub const OZ_PER_FT: Unit = Unit::product(&[(Name::Ounce, 1), (Name::Foot, -1)]);
    /// Pounds a cubic foot.
    pub const LB_PER_FT3: Unit = Unit::product(&[(Name::Pound, 1), (Name::Foot, -3)]);
    /// Gallons a day.
    pub const GAL_PER_DAY: Unit = Unit::product(&[(Name::Gallon, 1), (Name::Day, -1)]);
    /// Feet a minute.
    pub const FT_PER_MIN: Unit = Unit::product(&[(Name::Foot, 1), (Name::Minute, -1)]);
    /// Gallons an hour.
    pub const GAL_PER_H: Unit = Unit::product(&[(Name::Gallon, 1), (Name::Hour, -1)]);
    /// Thermal resistance of building parts, the R-value: `h*ft2*F_diff/Btu`.
    pub const R_VALUE: Unit = Unit::product(&[
        (Name::Hour, 1),
        (Name::Foot, 2),
        (Name::FahrenheitDifference, 1),
        (Name::Btu, -1),
    ]);
    /// Heat transmittance of building parts, the U-value: `Btu/h/ft2/F_diff`.
    pub const U_VALUE: Unit = Unit::product(&[
        (Name::Btu, 1),
        (Name::Hour, -1),
        (Name::Foot, -2),
        (Name::FahrenheitDifference, -1),
    ]);
    /// Milligrams a litre.
    pub const MG_PER_L: Unit = Unit::product(&[(Name::Milligram, 1), (Name::Litre, -1)]);

    /// Only for the constants above: a list that is too long does not compile.
    const fn product(parts: &[(Name, i8)]) -> Self {
        let mut all = [(Name::Plain, 0); MAX_PARTS];
        let mut at = 0;
        while at < parts.len() {
            all[at] = parts[at];
            at += 1;
        }
        Self { parts: all }
    }

    /// Reads a unit such as `ft`, `ft2`, `oz/ft` or `Btu/h`; `1` is the unit of a plain number.
    ///
    /// # Errors
    /// The text names an unknown unit, is no product of names, or multiplies temperature points.
    pub fn parse(text: &str) -> Result<Self, UnitFault> {
        parse::unit(text)
    }

    /// Every name of a unit, in the order of the table.
    pub fn names() -> impl Iterator<Item = &'static str> {
        Name::ALL
            .iter()
            .map(|name| name.definition().symbol)
            .filter(|symbol| *symbol != "1")
    }

    fn parts(&self) -> impl Iterator<Item = (Name, i8)> {
        self.parts.iter().copied().filter(|(_, power)| *power != 0)
    }

    /// The unit as it is written, such as `oz/ft`.
    pub fn symbol(&self) -> String {
        self.to_string()
    }

    /// The unit as a person writes it, such as `ft²` or `°F`.
    pub fn signs(&self) -> String {
        let signs = [
            ("F_diff", "°F"),
            ("degF", "°F"),
            ("degC", "°C"),
            ("ft2", "ft²"),
            ("ft3", "ft³"),
            ("m2", "m²"),
            ("m3", "m³"),
        ];
        let told = signs.iter();
        told.fold(self.symbol(), |unit, (name, sign)| unit.replace(name, sign))
    }

    /// What the unit measures.
    pub fn dimension(&self) -> Dimension {
        self.parts()
            // Powers and parts are bounded, so that no exponent can leave its range.
            .fold(Dimension::new([0; 7]), |sum, (name, power)| {
                sum.times(name.definition().dimension, power).unwrap_or(sum)
            })
    }

    /// Whether money is a part of it, as of an amount a day.
    pub fn has_money(&self) -> bool {
        self.parts().any(|(name, _)| name == Name::Money)
    }

    /// For a temperature point, the unit of the difference of two such points; else nothing.
    pub fn degree_difference(&self) -> Option<Unit> {
        match self.parts {
            [(Name::DegreeFahrenheit, 1), ..] => Some(Unit::F_DIFF),
            [(Name::DegreeCelsius, 1), ..] => Some(Unit::K),
            _ => None,
        }
    }

    /// Whether values can be converted between the two units.
    pub fn same_dimension(&self, other: &Unit) -> bool {
        self.dimension() == other.dimension()
    }

    /// The unit of a product (`power` 1) or a quotient (`power` -1) of two quantities.
    ///
    /// # Errors
    /// One is a temperature point, or the result has more parts or higher powers than a unit may have.
    pub fn times(&self, other: &Unit, power: i8) -> Result<Unit, UnitFault> {
        let plain = |unit: &Unit| unit.parts().next().is_none();
        if plain(other) {
            return Ok(*self);
        }
        if plain(self) && power == 1 {
            return Ok(*other);
        }
        let mut parts: Vec<(Name, i8)> = self.parts().collect();
        for (name, theirs) in other.parts() {
            let more = theirs.checked_mul(power).ok_or(UnitFault::TooComplicated)?;
            match parts.iter_mut().find(|(known, _)| *known == name) {
                Some((_, mine)) => *mine = mine.checked_add(more).ok_or(UnitFault::TooComplicated)?,
                None => parts.push((name, more)),
            }
        }
        Self::from_parts(&parts)
    }

    fn from_parts(parts: &[(Name, i8)]) -> Result<Unit, UnitFault> {
        let mut all = [(Name::Plain, 0); MAX_PARTS];
        let mut used = all.iter_mut();
        let real = parts
            .iter()
            .copied()
            .filter(|(name, power)| *power != 0 && *name != Name::Plain);
        for part in real.clone() {
            if part.1.unsigned_abs() > MAX_POWER.unsigned_abs() {
                return Err(UnitFault::TooComplicated);
            }
            if part.0.definition().dimension.is_point() && (real.clone().count() > 1 || part.1 != 1) {
                return Err(UnitFault::PointInProduct {
                    symbol: part.0.definition().symbol,
                });
            }
            *used.next().ok_or(UnitFault::TooComplicated)? = part;
        }
        let mut sum = Dimension::new([0; 7]);
        for (name, power) in real {
            sum = sum
                .times(name.definition().dimension, power)
                .ok_or(UnitFault::TooComplicated)?;
        }
        Ok(Unit { parts: all })
    }

    /// The exact size in the coherent SI unit of the dimension (of a degree, for a point).
    pub(crate) fn scale(&self) -> Ratio {
        self.parts().fold(Ratio::one(), |product, (name, power)| {
            let (num, den) = name.definition().scale;
            product.times(&Ratio::new(num.into(), den.into()).power(power))
        })
    }

    /// For a point's unit, how far its zero lies above absolute zero, in its own degrees.
    pub(crate) fn zero(&self) -> Ratio {
        let [(name, _), ..] = self.parts;
        let (num, den) = name.definition().zero;
        Ratio::new(num.into(), den.into())
    }

    /// `value` of this unit in `to`: exact where the result ends, else rounded half away from zero
    /// to 10 places.
    ///
    /// # Errors
    /// The units measure different things, or the result is too large for a Decimal.
    pub fn convert(&self, value: Decimal, to: &Unit) -> Result<Decimal, UnitFault> {
        if self == to {
            return Ok(value);
        }
        if !self.same_dimension(to) {
            return Err(UnitFault::DifferentDimension {
                from: self.symbol(),
                from_dimension: self.dimension(),
                to: to.symbol(),
                to_dimension: to.dimension(),
            });
        }
        let above_zero = Ratio::of_decimal(value).plus(&self.zero());
        let converted = above_zero
            .times(&self.scale())
            .over(&to.scale())
            .minus(&to.zero());
        converted
            .exact_decimal()
            .or_else(|| converted.rounded_decimal(ENDLESS_PLACES))
            .ok_or_else(|| UnitFault::TooLarge { to: to.symbol() })
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut written = false;
        for over in [false, true] {
            for (name, power) in self.parts().filter(|(_, power)| (*power < 0) == over) {
                f.write_str(match (over, written) {
                    (true, true) => "/",
                    (true, false) => "1/",
                    (false, true) => "*",
                    (false, false) => "",
                })?;
                f.write_str(name.definition().symbol)?;
                if power.unsigned_abs() > 1 {
                    write!(f, "{}", power.unsigned_abs())?;
                }
                written = true;
            }
        }
        if written { Ok(()) } else { f.write_str("1") }
    }
}

impl fmt::Debug for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Unit({self})")
    }
}

impl serde::Serialize for Unit {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for Unit {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Unit::parse(&text).map_err(serde::de::Error::custom)
    }
}
