//! Measures of one dimension each: a decimal in a fixed unit. On the wire a measure is a quantity
//! object, `{"value": "38.5", "unit": "ft"}`; any unit of the dimension is read, the fixed one written.

use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use super::Quantity;
use super::rounding::{Mode, to_scale};
use super::unit::Unit;

/// Decimals kept when a measure comes in another unit than its own.
const CONVERTED_SCALE: u32 = 6;

fn read<'de, D: Deserializer<'de>>(deserializer: D, unit: &str) -> Result<Decimal, D::Error> {
    let quantity = Quantity::deserialize(deserializer)?;
    let own = Unit::parse(unit).map_err(de::Error::custom)?;
    if quantity.unit == own {
        return Ok(quantity.value);
    }
    let value = quantity
        .unit
        .convert(quantity.value, &own)
        .map_err(de::Error::custom)?;
    Ok(to_scale(value, CONVERTED_SCALE, Mode::HalfUp))
}

fn write<S: Serializer>(serializer: S, value: Decimal, unit: &str) -> Result<S::Ok, S::Error> {
    use serde::ser::SerializeStruct;
    let mut out = serializer.serialize_struct("Quantity", 2)?;
    out.serialize_field("value", &super::decimal::plain(value))?;
    out.serialize_field("unit", unit)?;
    out.end()
}

macro_rules! measures {
    ($($name:ident $unit:literal $meaning:literal;)*) => { $(
        #[doc = concat!($meaning, ", in `", $unit, "`.")]
        #[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
        pub struct $name(pub Decimal);

        impl $name {
            /// The unit the decimal is in.
            pub const UNIT: &'static str = $unit;

            /// The decimal, in [`Self::UNIT`].
            pub fn value(self) -> Decimal {
                self.0
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                write(serializer, self.0, $unit)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                read(deserializer, $unit).map(Self)
            }
        }
    )* };
}

measures! {
    Length "ft" "A length of a route, a room or a tube";
    Dimension "in" "A length of a body, a joist bay or a gap";
    Area "ft2" "An area";
    Volume "ft3" "A volume of a room";
    Mass "lb" "A mass of equipment or water";
    Charge "oz" "A mass of refrigerant";
    Temperature "degF" "A temperature point";
    TemperatureDifference "F_diff" "A difference of temperatures";
    ThermalResistance "h*ft2*F_diff/Btu" "A thermal resistance over an area (R-value)";
    ThermalTransmittance "Btu/h/ft2/F_diff" "A heat flow through an area a degree (U-value)";
    HeatFlow "Btu/h" "A rate of heat or cooling";
    Power "W" "An electrical power";
    Current "A" "An electrical current";
    Hours "h" "A time of work or of use";
    Distance "mi" "A distance driven";
    WaterFlow "gal/h" "A flow of water";
}
