//! Decimals as they cross the wire: our own strict grammar in front of the decimal library, which
//! would take `1_000`, `+1`, `.5` and silently round a 30-digit input.

pub use rust_decimal::Decimal;
use thiserror::Error;

/// Most decimals of a quantity on the wire.
pub const QUANTITY_SCALE: u32 = 6;
/// Most decimals of a unit price or unit cost.
pub const UNIT_PRICE_SCALE: u32 = 6;
/// Most decimals of a rate (a fraction or a percentage).
pub const RATE_SCALE: u32 = 8;
/// Most digits in front of the decimal point.
pub const INTEGER_DIGITS: usize = 15;

/// Why a text is not a decimal of ours.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DecimalFault {
    /// The text does not follow the grammar `-?(0|[1-9][0-9]*)(\.[0-9]+)?`.
    #[error("is not a plain decimal number such as 12 or 12.5")]
    Grammar,
    /// More than [`INTEGER_DIGITS`] digits in front of the point.
    #[error("has more than {INTEGER_DIGITS} digits in front of the decimal point")]
    TooLarge,
    /// More decimals than the field keeps.
    #[error("{}", too_fine(*max))]
    TooFine {
        /// Decimals the field keeps.
        max: u32,
    },
}

fn too_fine(max: u32) -> String {
    match max {
        0 => "is not a whole number".to_owned(),
        1 => "has more than 1 decimal".to_owned(),
        max => format!("has more than {max} decimals"),
    }
}

/// Reads `text` as a decimal with at most `max_scale` decimals. Never rounds.
pub fn parse(text: &str, max_scale: u32) -> Result<Decimal, DecimalFault> {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let (whole, fraction) = match digits.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (digits, None),
    };
    let all_digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    if !all_digits(whole) || !fraction.is_none_or(all_digits) || (whole.len() > 1 && whole.starts_with('0')) {
        return Err(DecimalFault::Grammar);
    }
    if whole.len() > INTEGER_DIGITS {
        return Err(DecimalFault::TooLarge);
    }
    if fraction.is_some_and(|f| f.len() > max_scale as usize) {
        return Err(DecimalFault::TooFine { max: max_scale });
    }
    Decimal::from_str_exact(text).map_err(|_| DecimalFault::Grammar)
}

/// Writes `value` without trailing zeros, and never as `-0`: the canonical text of a quantity.
pub fn plain(value: Decimal) -> String {
    let value = value.normalize();
    if value.is_zero() {
        "0".to_owned()
    } else {
        value.to_string()
    }
}
