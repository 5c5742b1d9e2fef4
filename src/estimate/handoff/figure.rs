//! Figures as a reader of a paper sees them: grouped digits, units of the trade, dates in words.

use chrono::{Datelike, NaiveDate};
use serde_json::Value;

use super::measures::Measures;
use super::paper_fault::PaperFault;
use super::words::{Language, Words};
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

/// Who reads a paper: in which language, by which measures.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Reader {
    /// The language.
    pub language: Language,
    /// The measures.
    pub measures: Measures,
}

impl Reader {
    /// The fixed words.
    pub fn words(self) -> &'static Words {
        self.language.words()
    }

    /// A quantity, in the reader's measures.
    pub fn quantity(self, shown: &Quantity) -> String {
        quantity(&self.measures.shown(shown))
    }

    /// A value of a sizing report: a quantity, a word, or yes and no.
    pub fn value(self, value: &Value) -> Option<String> {
        match value {
            Value::Bool(true) => Some(self.words().yes.to_owned()),
            Value::Bool(false) => Some(self.words().no.to_owned()),
            Value::String(text) => Some(text.clone()),
            Value::Object(_) => read(value).map(|read| self.quantity(&read)),
            _ => None,
        }
    }

    /// A height over or under something, to a tenth of a foot or a hundredth of a metre.
    ///
    /// # Errors
    /// It is beyond what fits.
    pub fn height(self, millimetres: i64) -> Result<String, PaperFault> {
        let (unit, scale) = (self.measures.length()?, self.measures.height_scale());
        let value = Unit::parse("mm")?.convert(Decimal::from(millimetres), &unit)?;
        let value = to_scale(value, scale, Mode::HalfUp);
        let words = self.words();
        if value.is_zero() {
            return Ok(words.at_level.to_owned());
        }
        let side = if value > Decimal::ZERO {
            words.above
        } else {
            words.below
        };
        let height = Quantity {
            value: value.abs(),
            unit,
        };
        Ok(format!("{} {side}", quantity(&height)))
    }

    /// A day in words.
    pub fn date(self, day: NaiveDate) -> String {
        date(day, self.language)
    }
}

fn read(value: &Value) -> Option<Quantity> {
    serde_json::from_value(value.clone()).ok()
}

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

/// An amount by which something moves, with its sign.
pub fn moved(amount: Money) -> String {
    let sign = if amount.minor() > 0 { "+" } else { "" };
    format!("{sign}{}", money(amount))
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
    format!("{digits} {}", unit.signs())
}

/// A day in words.
fn date(day: NaiveDate, language: Language) -> String {
    let month = MONTHS.get(day.month0() as usize).copied().unwrap_or_default();
    match language {
        Language::En => format!("{} {} {}", day.day(), month.0, day.year()),
        Language::Es => format!("{} de {} de {}", day.day(), month.1, day.year()),
    }
}
