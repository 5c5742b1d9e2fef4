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
        let (name, power) = named_power(factor).ok_or_else(|| unknown(factor, &malformed()))?;
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

fn unknown(factor: &str, malformed: &UnitFault) -> UnitFault {
    let word = !factor.is_empty() && factor.chars().all(|c| c.is_alphanumeric() || c == '_');
    if !word {
        return malformed.clone();
    }
    let text: String = factor.chars().take(60).collect();
    let nearest = nearest::name(&text, Unit::names());
    UnitFault::Unknown { text, nearest }
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
