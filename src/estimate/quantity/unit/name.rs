//! The units that have a name of their own, each with its dimension and its exact size.
//!
//! Sizes are ratios of whole numbers to the coherent SI unit of the dimension. They are exact by
//! definition (international yard and pound of 1959, the gallon of 231 cubic inches, the
//! International Table Btu), except the inch of mercury, which has only a conventional value.
//! Source: NIST Special Publication 811 (2008), appendix B.

use super::Dimension;

const NONE: Dimension = Dimension::new([0, 0, 0, 0, 0, 0, 0]);
const LENGTH: Dimension = Dimension::new([1, 0, 0, 0, 0, 0, 0]);
const VOLUME: Dimension = Dimension::new([3, 0, 0, 0, 0, 0, 0]);
const MASS: Dimension = Dimension::new([0, 1, 0, 0, 0, 0, 0]);
const TIME: Dimension = Dimension::new([0, 0, 1, 0, 0, 0, 0]);
const TEMPERATURE_DIFFERENCE: Dimension = Dimension::new([0, 0, 0, 1, 0, 0, 0]);
const MONEY: Dimension = Dimension::new([0, 0, 0, 0, 1, 0, 0]);
const COUNT: Dimension = Dimension::new([0, 0, 0, 0, 0, 1, 0]);
const CURRENT: Dimension = Dimension::new([0, 0, 0, 0, 0, 0, 1]);
const ENERGY: Dimension = Dimension::new([2, 1, -2, 0, 0, 0, 0]);
const POWER: Dimension = Dimension::new([2, 1, -3, 0, 0, 0, 0]);
const VOLTAGE: Dimension = Dimension::new([2, 1, -3, 0, 0, 0, -1]);
const RESISTANCE: Dimension = Dimension::new([2, 1, -3, 0, 0, 0, -2]);
const PRESSURE: Dimension = Dimension::new([-1, 1, -2, 0, 0, 0, 0]);
const TEMPERATURE_POINT: Dimension = Dimension::temperature_point();

/// What is known of one named unit.
pub(super) struct Definition {
    pub(super) symbol: &'static str,
    pub(super) dimension: Dimension,
    /// Size in the coherent SI unit: numerator and denominator.
    pub(super) scale: (i128, i128),
    /// For temperature points: where the scale's zero lies, in degrees of its own size above
    /// absolute zero (459.67 for Fahrenheit), as numerator and denominator.
    pub(super) zero: (i64, i64),
}

macro_rules! names {
    ($($variant:ident = $symbol:literal, $dimension:expr, $num:literal / $den:literal $(, zero $zn:literal / $zd:literal)?;)*) => {
        /// A unit with a name of its own, such as the foot.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub(super) enum Name { $($variant,)* }

        impl Name {
            pub(super) const ALL: &'static [Name] = &[$(Name::$variant,)*];

            pub(super) const fn definition(self) -> &'static Definition {
                match self {
                    $(Name::$variant => {
                        const { &Definition {
                            symbol: $symbol,
                            dimension: $dimension,
                            scale: ($num, $den),
                            zero: names!(@zero $($zn / $zd)?),
                        } }
                    })*
                }
            }
        }
    };
    (@zero) => { (0, 1) };
    (@zero $n:literal / $d:literal) => { ($n, $d) };
}

names! {
    Foot = "ft", LENGTH, 3048 / 10000;
    Inch = "in", LENGTH, 254 / 10000;
    Yard = "yd", LENGTH, 9144 / 10000;
    Mile = "mi", LENGTH, 1609344 / 1000;
    Millimetre = "mm", LENGTH, 1 / 1000;
    Centimetre = "cm", LENGTH, 1 / 100;
    Metre = "m", LENGTH, 1 / 1;
    Kilometre = "km", LENGTH, 1000 / 1;
    Gallon = "gal", VOLUME, 3785411784 / 1000000000000;
    Quart = "qt", VOLUME, 946352946 / 1000000000000;
    Pint = "pt", VOLUME, 473176473 / 1000000000000;
    FluidOunce = "floz", VOLUME, 295735295625 / 10000000000000000;
    Litre = "L", VOLUME, 1 / 1000;
    Millilitre = "mL", VOLUME, 1 / 1000000;
    Ounce = "oz", MASS, 28349523125 / 1000000000000;
    Pound = "lb", MASS, 45359237 / 100000000;
    Grain = "gr", MASS, 6479891 / 100000000000;
    Milligram = "mg", MASS, 1 / 1000000;
    Gram = "g", MASS, 1 / 1000;
    Kilogram = "kg", MASS, 1 / 1;
    Second = "s", TIME, 1 / 1;
    Minute = "min", TIME, 60 / 1;
    Hour = "h", TIME, 3600 / 1;
    Day = "day", TIME, 86400 / 1;
    Week = "week", TIME, 604800 / 1;
    Joule = "J", ENERGY, 1 / 1;
    Kilojoule = "kJ", ENERGY, 1000 / 1;
    Btu = "Btu", ENERGY, 105505585262 / 100000000;
    Watt = "W", POWER, 1 / 1;
    Kilowatt = "kW", POWER, 1000 / 1;
    VoltAmpere = "VA", POWER, 1 / 1;
    Volt = "V", VOLTAGE, 1 / 1;
    Ohm = "ohm", RESISTANCE, 1 / 1;
    Ampere = "A", CURRENT, 1 / 1;
    // lbf/in2 = 0.45359237 kg * 9.80665 m/s2 / (0.0254 m)^2
    Psi = "psi", PRESSURE, 8896443230521 / 1290320000;
    Pascal = "Pa", PRESSURE, 1 / 1;
    Kilopascal = "kPa", PRESSURE, 1000 / 1;
    InchOfMercury = "inHg", PRESSURE, 3386389 / 1000;
    DegreeFahrenheit = "degF", TEMPERATURE_POINT, 5 / 9, zero 45967 / 100;
    DegreeCelsius = "degC", TEMPERATURE_POINT, 1 / 1, zero 27315 / 100;
    FahrenheitDifference = "F_diff", TEMPERATURE_DIFFERENCE, 5 / 9;
    Kelvin = "K", TEMPERATURE_DIFFERENCE, 1 / 1;
    Each = "each", COUNT, 1 / 1;
    Money = "money", MONEY, 1 / 1;
    Plain = "1", NONE, 1 / 1;
}
