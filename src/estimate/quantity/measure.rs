//! Measures of one dimension each: a decimal in a fixed unit. On the wire a measure is a quantity
//! object, `{"value": "38.5", "unit": "ft"}`; any unit of the dimension is read, the fixed one written.

use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use super::Quantity;
use super::rounding::{Mode, to_scale};
use super::unit::Unit;

/// Decimals kept when a measure comes in another unit than its own.
const CONVERTED_SCALE: u32 = 6;

fn read<'de, D: Deserializer<'de>>(deserializer: D, own: &Unit) -> Result<Decimal, D::Error> {
    let quantity = Quantity::deserialize(deserializer)?;
    if quantity.unit == *own {
        return Ok(quantity.value);
    }
    let value = quantity
        .unit
        .convert(quantity.value, own)
        .map_err(de::Error::custom)?;
    Ok(to_scale(value, CONVERTED_SCALE, Mode::HalfUp))
}

macro_rules! measures {
    ($($name:ident $unit:ident $meaning:literal;)*) => { $(
        #[doc = concat!($meaning, ", in [`Unit::", stringify!($unit), "`].")]
        #[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
        pub struct $name(pub Decimal);

        impl $name {
            /// The unit the decimal is in.
            pub const UNIT: Unit = Unit::$unit;

            /// The decimal, in [`Self::UNIT`].
            pub fn value(self) -> Decimal {
                self.0
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                Quantity { value: self.0, unit: Self::UNIT }.serialize(serializer)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                read(deserializer, &Self::UNIT).map(Self)
            }
        }
    )* };
}

measures! {
    Length FT "A length of a route, a room or a tube";
    Dimension IN "A length of a body, a joist bay or a gap";
    Area FT2 "An area";
    Volume FT3 "A volume of a room";
    Mass LB "A mass of equipment or water";
    Charge OZ "A mass of refrigerant";
    Temperature DEG_F "A temperature point";
    TemperatureDifference F_DIFF "A difference of temperatures";
    ThermalResistance R_VALUE "A thermal resistance over an area (R-value)";
    ThermalTransmittance U_VALUE "A heat flow through an area a degree (U-value)";
    HeatFlow BTU_PER_H "A rate of heat or cooling";
    Power W "An electrical power";
    Current A "An electrical current";
    Hours H "A time of work or of use";
    Distance MI "A distance driven";
    WaterFlow GAL_PER_H "A flow of water";
    Concentration MG_PER_L "A concentration in water";
}
