//! Figures as a reader of a paper sees them: grouped digits, units of the trade, dates in words.

use chrono::{Datelike, NaiveDate};
use serde_json::Value;

use super::words::Language;
use crate::quantity::rounding::{Mode, to_scale};
use crate::quantity::unit::Unit;
use crate::quantity::{Decimal, Money, Quantity, decimal};

/// Decimals of a quantity on paper; the JSON has them all.
const SHOWN_SCALE: u32 = 2;

const MONTHS: [(&str, &str); 12] = [
    ("January", "enero"),
    ("February", "febrero"),
    ("March", "marzo"),
    ("April", "abril"),
    ("May", "mayo"),
    ("June", "junio"),
    ("July", "julio"),
    ("August", "agosto"),
    ("September", "septiembre"),
    ("October", "octubre"),
    ("November", "noviembre"),
    ("December", "diciembre"),
];

/// `1234567.50` as `1,234,567.50`.
pub fn grouped(number: &str) -> String {
    let (sign, digits) = number.strip_prefix('-').map_or(("", number), |rest| ("-", rest));
    let (whole, fraction) = digits
        .split_once('.')
        .map_or((digits, None), |(whole, rest)| (whole, Some(rest)));
    let mut out = String::from(sign);
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    fraction.map_or(out.clone(), |fraction| format!("{out}.{fraction}"))
}

/// An amount without its currency, to the last digit of its minor unit.
pub fn money(amount: Money) -> String {
    grouped(&amount.text())
}

/// A number with at most two decimals.
pub fn digits(value: Decimal) -> String {
    grouped(&decimal::plain(to_scale(value, SHOWN_SCALE, Mode::HalfUp)))
}

/// A quantity with at most two decimals; pieces and plain numbers have no unit.
pub fn quantity(quantity: &Quantity) -> String {
    with_unit(digits(quantity.value), quantity.unit)
}

/// Digits and the unit as a person writes it.
pub fn with_unit(digits: String, unit: Unit) -> String {
    if unit == Unit::EACH || unit == Unit::ONE {
        return digits;
    }
    let unit = unit.to_string();
    let signs = [
        ("F_diff", "°F"),
        ("degF", "°F"),
        ("degC", "°C"),
        ("ft2", "ft²"),
        ("ft3", "ft³"),
        ("m2", "m²"),
        ("m3", "m³"),
    ];
    let unit = signs
        .iter()
        .fold(unit, |unit, (name, sign)| unit.replace(name, sign));
    format!("{digits} {unit}")
}

/// A value of a sizing report: a quantity, a word, or yes and no.
pub fn value(value: &Value, language: Language) -> Option<String> {
    match value {
        Value::Bool(true) => Some(language.words().yes.to_owned()),
        Value::Bool(false) => Some(language.words().no.to_owned()),
        Value::String(text) => Some(text.clone()),
        Value::Object(_) => serde_json::from_value(value.clone())
            .ok()
            .map(|read: Quantity| quantity(&read)),
        _ => None,
    }
}

/// A day in words.
pub fn date(day: NaiveDate, language: Language) -> String {
    let month = MONTHS.get(day.month0() as usize).copied().unwrap_or_default();
    match language {
        Language::En => format!("{} {} {}", day.day(), month.0, day.year()),
        Language::Es => format!("{} de {} de {}", day.day(), month.1, day.year()),
    }
}
