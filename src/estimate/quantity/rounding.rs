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
    let surplus = value.scale().saturating_sub(scale);
    if surplus == 0 {
        return value;
    }
    without_digits(value, surplus, mode)
        .map(|rounded| Decimal::new(rounded, scale))
        .unwrap_or_else(|| value.round_dp_with_strategy(scale, mode.strategy()))
}

/// The digits of `value` without its last `surplus` ones, rounded; `None` beyond 64 bits. Nearly every figure of a
/// bill fits, and 64 bits divide several times faster than a decimal's 96.
fn without_digits(value: Decimal, surplus: u32, mode: Mode) -> Option<i64> {
    let digits = i64::try_from(value.mantissa()).ok()?;
    let unit = 10_i64.checked_pow(surplus)?;
    let (whole, rest) = (digits / unit, digits % unit);
    let away = match rest
        .unsigned_abs()
        .cmp(&(unit.unsigned_abs() - rest.unsigned_abs()))
    {
        Ordering::Less => false,
        Ordering::Equal => mode == Mode::HalfUp || whole % 2 != 0,
        Ordering::Greater => true,
    };
    Some(if away { whole + digits.signum() } else { whole })
}

/// Rounds an exact amount to the currency's minor unit: the one rounding of an extended line.
pub fn to_minor(value: Decimal, currency: Currency, mode: Mode) -> Result<Money, MoneyFault> {
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
pub fn share_out(total: Money, weights: &[i64]) -> Result<Vec<Money>, MoneyFault> {
    let currency = total.currency();
    let parts = share_out_minor(total.minor(), weights)?;
    Ok(parts.into_iter().map(|minor| currency.minor(minor)).collect())
}

/// Shares `total` minor units out over `weights` by largest remainder: each part is within one minor unit of its
/// exact share and the parts add up to the whole. A tie goes to the earlier part. Where the weights
/// add up to nothing, every part weighs the same. With no parts the answer is empty.
pub fn share_out_minor(total: i64, weights: &[i64]) -> Result<Vec<i64>, MoneyFault> {
    let sum: i128 = weights.iter().map(|w| i128::from(*w)).sum();
    // A sum below zero (more credits than charges) turns every sign, which leaves the shares as they are.
    let weight = |w: i64| if sum == 0 { 1 } else { i128::from(w) * sum.signum() };
    let whole = if sum == 0 {
        weights.len() as i128
    } else {
        sum.abs()
    };
    if whole == 0 {
        return Ok(Vec::new());
    }
    let mut parts = Vec::with_capacity(weights.len());
    let mut remainders = Vec::with_capacity(weights.len());
    for (index, w) in weights.iter().enumerate() {
        let (part, remainder) = part(total, weight(*w), whole);
        parts.push(part);
        remainders.push((std::cmp::Reverse(remainder), index));
    }
    let left = usize::try_from(i128::from(total) - parts.iter().sum::<i128>()).unwrap_or(0);
    if left > 0 && left < remainders.len() {
        remainders.select_nth_unstable(left);
    }
    for (_, index) in remainders.into_iter().take(left) {
        if let Some(part) = parts.get_mut(index) {
            *part += 1;
        }
    }
    let minor = |part: i128| i64::try_from(part).map_err(|_| MoneyFault::Overflow);
    parts.into_iter().map(minor).collect()
}

/// `weight` parts of `whole` of a total, rounded down, and the remainder. Nearly every product fits 64 bits, which
/// divide several times faster than 128.
fn part(total: i64, weight: i128, whole: i128) -> (i128, i128) {
    if let (Ok(weight), Ok(whole)) = (i64::try_from(weight), i64::try_from(whole))
        && let Some(exact) = total.checked_mul(weight)
    {
        return (exact.div_euclid(whole).into(), exact.rem_euclid(whole).into());
    }
    let exact = i128::from(total) * weight;
    (exact.div_euclid(whole), exact.rem_euclid(whole))
}
