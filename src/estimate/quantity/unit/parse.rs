//! Text to unit: names joined by `*` and `/`, a name followed by its power.

use super::{MAX_POWER, Name, Unit, UnitFault};
use crate::quantity::nearest;

pub(super) fn unit(text: &str) -> Result<Unit, UnitFault> {
    let malformed = || UnitFault::Malformed {
        text: text.chars().take(60).collect(),
    };
    let mut parts: Vec<(Name, i8)> = Vec::new();
    let mut sign = 1_i8;
    let mut rest = text;
    loop {
        let end = rest.find(['*', '/']).unwrap_or(rest.len());
        let (factor, tail) = rest.split_at_checked(end).ok_or_else(malformed)?;
        let (name, power) = named_power(factor).ok_or_else(|| unknown(text, factor, &malformed()))?;
        let power = power.checked_mul(sign).ok_or_else(malformed)?;
        match parts.iter_mut().find(|(known, _)| *known == name) {
            Some((_, sum)) => *sum = sum.checked_add(power).ok_or(UnitFault::TooComplicated)?,
            None => parts.push((name, power)),
        }
        let mut left = tail.chars();
        sign = match left.next() {
            None => return Unit::from_parts(&parts),
            Some('/') => -1,
            Some(_) => 1,
        };
        rest = left.as_str();
    }
}

/// What people write for a unit. It is told them, and not taken: a `m` or a `C` means too many things.
const WRITTEN: &[(&str, &str)] = &[
    ("'", "ft"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("lf", "ft"),
    ("\"", "in"),
    ("inch", "in"),
    ("inches", "in"),
    ("yard", "yd"),
    ("yards", "yd"),
    ("mile", "mi"),
    ("miles", "mi"),
    ("meter", "m"),
    ("meters", "m"),
    ("metre", "m"),
    ("metres", "m"),
    ("sf", "ft2"),
    ("sqft", "ft2"),
    ("sq ft", "ft2"),
    ("ft^2", "ft2"),
    ("ft²", "ft2"),
    ("sqm", "m2"),
    ("m^2", "m2"),
    ("m²", "m2"),
    ("cf", "ft3"),
    ("cuft", "ft3"),
    ("cu ft", "ft3"),
    ("ft^3", "ft3"),
    ("ft³", "ft3"),
    ("m^3", "m3"),
    ("m³", "m3"),
    ("f", "degF"),
    ("°f", "degF"),
    ("deg f", "degF"),
    ("fahrenheit", "degF"),
    ("c", "degC"),
    ("°c", "degC"),
    ("deg c", "degC"),
    ("celsius", "degC"),
    ("lbs", "lb"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("ounce", "oz"),
    ("ounces", "oz"),
    ("kgs", "kg"),
    ("gallon", "gal"),
    ("gallons", "gal"),
    ("gpm", "gal/min"),
    ("gph", "gal/h"),
    ("cfm", "ft3/min"),
    ("liter", "L"),
    ("liters", "L"),
    ("litre", "L"),
    ("litres", "L"),
    ("hr", "h"),
    ("hrs", "h"),
    ("hour", "h"),
    ("hours", "h"),
    ("minute", "min"),
    ("minutes", "min"),
    ("mins", "min"),
    ("days", "day"),
    ("weeks", "week"),
    ("ea", "each"),
    ("pc", "each"),
    ("pcs", "each"),
    ("piece", "each"),
    ("pieces", "each"),
    ("watt", "W"),
    ("watts", "W"),
    ("volt", "V"),
    ("volts", "V"),
    ("amp", "A"),
    ("amps", "A"),
    ("btuh", "Btu/h"),
    ("btu/hr", "Btu/h"),
];

fn unknown(text: &str, factor: &str, malformed: &UnitFault) -> UnitFault {
    let meant = |typed: &str| {
        let typed = typed.trim().to_lowercase();
        let written = WRITTEN.iter().find(|(written, _)| *written == typed);
        written.map(|(_, unit)| *unit)
    };
    let short = |text: &str| text.chars().take(60).collect();
    if let Some(unit) = meant(text) {
        return UnitFault::Unknown {
            text: short(text),
            nearest: Some(unit),
        };
    }
    let word = !factor.is_empty() && factor.chars().all(|c| c.is_alphanumeric() || c == '_');
    if !word {
        return malformed.clone();
    }
    let nearest = meant(factor).or_else(|| nearest::name(factor, Unit::names()));
    UnitFault::Unknown {
        text: short(factor),
        nearest,
    }
}

/// `ft2` is a foot to the power 2; names themselves hold no digits, but for `1`.
fn named_power(factor: &str) -> Option<(Name, i8)> {
    let named = |symbol: &str| {
        Name::ALL
            .iter()
            .copied()
            .find(|name| name.definition().symbol == symbol)
    };
    if let Some(name) = named(factor) {
        return Some((name, 1));
    }
    let symbol = factor.strip_suffix(|c: char| c.is_ascii_digit())?;
    let power = factor.strip_prefix(symbol)?.parse::<i8>().ok()?;
    (2..=MAX_POWER).contains(&power).then_some(())?;
    let name = named(symbol)?;
    (name != Name::Plain).then_some((name, power))
}
