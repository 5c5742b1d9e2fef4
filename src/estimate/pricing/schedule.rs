//! The payment schedule: instalments that add up to the total.

use rust_decimal::Decimal;

use super::checked::{CheckedPolicy, fraction};
use super::policy::Policy;
use super::result::Payment;
use super::tax::share;
use crate::quantity::Money;
use crate::quantity::decimal::RATE_SCALE;
use crate::quantity::money::MoneyFault;
use crate::quantity::rounding::{Mode, Towards, to_minor, to_scale, to_step};

/// The instalments of `total`, and by how much the deposit was cut.
///
/// Each share is rounded by itself and the last instalment takes the remainder (common practice, no source);
/// of a total of a few cents no instalment takes more than is left.
/// With more than one instalment the first is the deposit: what is over the policy's limit, which is rounded
/// down, moves to the second.
pub(super) fn payments<'a>(
    total: Money,
    policy: &'a CheckedPolicy,
) -> Result<(Vec<Payment<'a>>, Money), MoneyFault> {
    let (parts, mode) = (parts(policy.policy()), policy.policy().rounding);
    let mut left = total;
    let mut payments = Vec::with_capacity(parts.len());
    for (index, part) in parts.iter().enumerate() {
        let amount = match share(total, fraction(part.share), mode)? {
            amount if index + 1 < parts.len() && amount.minor() < left.minor() => amount,
            _ => left,
        };
        left = left.minus(amount)?;
        payments.push(Payment {
            label: part.label,
            share: part.share,
            amount,
            due_after_days: part.due_after_days,
        });
    }
    let cut = match (deposit_limit(total, policy)?, payments.as_mut_slice()) {
        (Some(limit), [deposit, next, ..]) if deposit.amount.minor() > limit.minor() => {
            let over = deposit.amount.minus(limit)?;
            deposit.amount = limit;
            next.amount = next.amount.plus(over)?;
            over
        }
        _ => total.currency().minor(0),
    };
    Ok((payments, cut))
}

/// A part of the total that is paid at one time.
struct Part<'a> {
    label: &'a str,
    share: Decimal,
    due_after_days: Option<u32>,
}

/// The instalments of the policy. Where it keeps a retainage back, every instalment behind the deposit is less by
/// that percentage, and what was kept back is one more, the last.
fn parts(policy: &Policy) -> Vec<Part<'_>> {
    let mut parts: Vec<Part<'_>> = policy
        .schedule
        .iter()
        .map(|part| Part {
            label: &part.label,
            share: part.share,
            due_after_days: part.due_after_days,
        })
        .collect();
    let Some(retainage) = &policy.retainage else {
        return parts;
    };
    let deposits = usize::from(parts.len() > 1);
    let mut kept_back = Decimal::ZERO;
    for part in parts.iter_mut().skip(deposits) {
        // Both are percentages of at most 100: neither the product nor the sum can leave a decimal's range.
        let kept = to_scale(part.share * fraction(retainage.percent), RATE_SCALE, Mode::HalfUp);
        part.share -= kept;
        kept_back += kept;
    }
    if !kept_back.is_zero() {
        parts.push(Part {
            label: &retainage.label,
            share: kept_back,
            due_after_days: retainage.due_after_days,
        });
    }
    parts
}

/// The lesser of the limit's percentage of the total and its amount, never rounded up.
fn deposit_limit(total: Money, policy: &CheckedPolicy) -> Result<Option<Money>, MoneyFault> {
    let Some(limit) = &policy.policy().deposit_limit else {
        return Ok(None);
    };
    let currency = total.currency();
    let share = total
        .decimal()
        .checked_mul(fraction(limit.percent))
        .ok_or(MoneyFault::Overflow)?;
    let step = Decimal::new(1, currency.minor_digits());
    let share = to_step(share, step, Towards::Down).ok_or(MoneyFault::Overflow)?;
    to_minor(share.min(limit.amount), currency, Mode::HalfUp).map(Some)
}
