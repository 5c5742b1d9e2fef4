//! The only place that rounds. Every call names its rule.

use std::cmp::Ordering;

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

use super::money::{Currency, Money, MoneyFault};

/// What happens to a tie.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mode {
    /// Half away from zero: commercial rounding.
    #[default]
    HalfUp,
    /// Half to the even digit.
    HalfEven,
}

impl Mode {
    fn strategy(self) -> RoundingStrategy {
        match self {
            Self::HalfUp => RoundingStrategy::MidpointAwayFromZero,
            Self::HalfEven => RoundingStrategy::MidpointNearestEven,
        }
    }
}

/// Rounds to `scale` decimals.
pub fn to_scale(value: Decimal, scale: u32, mode: Mode) -> Decimal {
    if value.scale() <= scale {
        return value;
    }
    match count(value, scale, mode) {
        Some(digits) => Decimal::new(digits, scale),
        None => value.round_dp_with_strategy(scale, mode.strategy()),
    }
}

/// 1 and ten to the powers up to 18.
const POWERS_OF_TEN: [i64; 19] = {
    let mut powers = [1; 19];
    let mut at = 1;
    while at < powers.len() {
        powers[at] = powers[at - 1] * 10;
        at += 1;
    }
    powers
};

/// How many units of the last of `scale` decimals `value` comes to, rounded; `None` beyond 64 bits. Nearly every
/// figure of a bill fits, and 64 bits divide several times faster than a decimal's 96.
pub(crate) fn count(value: Decimal, scale: u32, mode: Mode) -> Option<i64> {
    let digits = i64::try_from(value.mantissa()).ok()?;
    let power = |places: u32| POWERS_OF_TEN.get(places as usize).copied();
    let Some(surplus) = value.scale().checked_sub(scale) else {
        return digits.checked_mul(power(scale - value.scale())?);
    };
    let unit = power(surplus)?;
    let (whole, rest) = (digits / unit, digits % unit);
    let away = match rest
        .unsigned_abs()
        .cmp(&(unit.unsigned_abs() - rest.unsigned_abs()))
    {
        Ordering::Less => false,
        Ordering::Equal => mode == Mode::HalfUp || whole % 2 != 0,
        Ordering::Greater => true,
    };
    // Away from zero only after a division by ten or more: the one more always fits.
    Some(if away { whole + digits.signum() } else { whole })
}

/// Rounds an exact amount to the currency's minor unit: the one rounding of an extended line.
pub fn to_minor(value: Decimal, currency: Currency, mode: Mode) -> Result<Money, MoneyFault> {
    if let Some(minor) = count(value, currency.minor_digits(), mode) {
        return Ok(currency.minor(minor));
    }
    let mut rounded = to_scale(value, currency.minor_digits(), mode);
    rounded.rescale(currency.minor_digits());
    if rounded.scale() != currency.minor_digits() {
        return Err(MoneyFault::Overflow);
    }
    i64::try_from(rounded.mantissa())
        .map(|minor| currency.minor(minor))
        .map_err(|_| MoneyFault::Overflow)
}

/// Which way a value goes to a multiple of a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Towards {
    /// To the next multiple upward.
    Up,
    /// To the next multiple downward.
    Down,
    /// To the nearest multiple, a tie away from zero.
    Nearest,
}

/// Takes `value` to a multiple of `step`. The quotient is snapped to 20 decimals first, so that
/// `1/3*3` goes up to 1 and not to 2. `None` when `step` is not positive or the result does not fit.
pub fn to_step(value: Decimal, step: Decimal, towards: Towards) -> Option<Decimal> {
    if step <= Decimal::ZERO {
        return None;
    }
    let quotient = to_scale(value.checked_div(step)?, 20, Mode::HalfUp);
    let whole = match towards {
        Towards::Up => quotient.ceil(),
        Towards::Down => quotient.floor(),
        Towards::Nearest => to_scale(quotient, 0, Mode::HalfUp),
    };
    whole.checked_mul(step)
}

/// Shares `total` out over `weights` as [`share_out_minor`] does.
///
/// # Errors
/// As [`share_out_minor`].
pub fn share_out(
    total: Money,
    weights: impl IntoIterator<Item = i64, IntoIter: Clone>,
) -> Result<Vec<Money>, MoneyFault> {
    let currency = total.currency();
    let parts = share_out_minor(total.minor(), weights)?;
    Ok(parts.into_iter().map(|minor| currency.minor(minor)).collect())
}

/// Shares `total` minor units out over `weights` by largest remainder: each part is within one minor unit of its
/// exact share and the parts add up to the whole. A tie goes to the earlier part. Where the weights
/// add up to nothing, every part weighs the same. With no parts the answer is empty.
///
/// # Errors
/// Weights that add up to more than 64 bits hold, and parts that do not fit.
pub fn share_out_minor(
    total: i64,
    weights: impl IntoIterator<Item = i64, IntoIter: Clone>,
) -> Result<Vec<i64>, MoneyFault> {
    let weights = weights.into_iter();
    let sum: i128 = weights.clone().map(i128::from).sum();
    // A sum below zero (more credits than charges) turns every sign, which leaves the shares as they are.
    let (whole, turned) = match sum {
        0 => (weights.clone().count() as i128, i128::from(total)),
        _ => (sum.abs(), i128::from(total) * sum.signum()),
    };
    if whole == 0 {
        return Ok(Vec::new());
    }
    let whole = i64::try_from(whole).map_err(|_| MoneyFault::Overflow)?;
    let mut parts = Vec::with_capacity(weights.size_hint().0);
    let mut remainders = Vec::with_capacity(weights.size_hint().0);
    let mut left = i128::from(total);
    for (index, weight) in weights.enumerate() {
        let weight = if sum == 0 { 1 } else { weight };
        let (part, remainder) = divide(turned * i128::from(weight), whole)?;
        left -= i128::from(part);
        parts.push(part);
        remainders.push((std::cmp::Reverse(remainder), index));
    }
    let left = usize::try_from(left).unwrap_or(0);
    if left > 0 && left < remainders.len() {
        remainders.select_nth_unstable(left);
    }
    for (_, index) in remainders.into_iter().take(left) {
        if let Some(part) = parts.get_mut(index) {
            *part = part.checked_add(1).ok_or(MoneyFault::Overflow)?;
        }
    }
    Ok(parts)
}

/// A quotient rounded down, and its remainder. Nearly every dividend fits 64 bits, which divide several times
/// faster than 128.
fn divide(dividend: i128, divisor: i64) -> Result<(i64, i64), MoneyFault> {
    if let Ok(dividend) = i64::try_from(dividend) {
        return Ok((dividend.div_euclid(divisor), dividend.rem_euclid(divisor)));
    }
    let wide = i128::from(divisor);
    let narrow = |value: i128| i64::try_from(value).map_err(|_| MoneyFault::Overflow);
    Ok((
        narrow(dividend.div_euclid(wide))?,
        narrow(dividend.rem_euclid(wide))?,
    ))
}
