//! A quantity: a decimal and its unit, as it stands on the wire.

use super::decimal::{self, QUANTITY_SCALE};
use super::money::Currency;
use super::unit::Unit;
use rust_decimal::Decimal;
use serde::de::value::MapAccessDeserializer;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;

/// A value in a unit; JSON `{"value": "38.5", "unit": "ft"}`. The value is read from a string, or
/// from a JSON number by its digits, with at most 6 decimals; it is always written as a string.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quantity {
    /// How many of the unit.
    #[serde(serialize_with = "write_digits", deserialize_with = "read_digits")]
    pub value: Decimal,
    /// The unit.
    pub unit: Unit,
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", decimal::plain(self.value), self.unit)
    }
}

impl Quantity {
    /// A quantity in JSON that is money, or money a day or the like; none where it is something else.
    pub fn of_money(tree: &serde_json::Value) -> Option<Self> {
        // Cheap for all that is no quantity, which is most.
        let quantity = tree.get("unit").map(|_| Self::deserialize(tree))?.ok()?;
        quantity.unit.has_money().then_some(quantity)
    }

    /// The same in words, in the company's currency: `24.00 USD/day`.
    pub fn money_in_words(tree: &serde_json::Value, currency: Currency) -> Option<String> {
        let Self { value, unit } = Self::of_money(tree)?;
        let (digits, unit) = currency.told(value, unit);
        Some(format!("{digits} {unit}"))
    }
}

fn write_digits<S: Serializer>(value: &Decimal, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&decimal::plain(*value))
}

/// Reads a decimal of a quantity's scale from a string, a whole number, or a JSON number's digits;
/// a binary float is refused. For `#[serde(deserialize_with)]`.
///
/// # Errors
/// Anything else, or digits that [`decimal::parse`] refuses.
pub fn read_digits<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Decimal, D::Error> {
    deserializer.deserialize_any(Digits)
}

struct Digits;

impl<'de> de::Visitor<'de> for Digits {
    type Value = Decimal;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a decimal number as text, such as \"12.5\"")
    }

    fn visit_str<E: de::Error>(self, text: &str) -> Result<Decimal, E> {
        decimal::parse(text, QUANTITY_SCALE)
            .map_err(|fault| E::custom(format!("`{}` {fault}", text.chars().take(40).collect::<String>())))
    }

    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Decimal, E> {
        self.visit_str(&value.to_string())
    }

    fn visit_u64<E: de::Error>(self, value: u64) -> Result<Decimal, E> {
        self.visit_str(&value.to_string())
    }

    /// A JSON number arrives as a map that holds its digits.
    fn visit_map<A: de::MapAccess<'de>>(self, map: A) -> Result<Decimal, A::Error> {
        let number = serde_json::Number::deserialize(MapAccessDeserializer::new(map))
            .map_err(|_| de::Error::invalid_type(de::Unexpected::Map, &self))?;
        self.visit_str(number.as_str())
    }
}
