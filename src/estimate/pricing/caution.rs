//! What the office should see before it makes the offer.

use rust_decimal::Decimal;

use super::checked::CheckedPolicy;
use super::result::{Caution, Lines, Totals};
use crate::bill::line::{BillLine, Content};
use crate::quantity::Money;
use crate::quantity::decimal::plain;
use crate::rules::outcome::Level;

/// The source of every caution that speaks of money.
pub const SOURCE: &str = "pricing policy";

/// Old prices, a price that does not cover the cost or covers it thinly, what another person must approve, a
/// deposit over its limit.
pub(super) fn all(
    lines: &Lines<'_>,
    totals: &Totals<'_>,
    cut: Money,
    policy: &CheckedPolicy,
) -> Vec<Caution> {
    let cautions = [
        old_prices(lines, policy),
        below_cost(totals).or_else(|| thin_margin(totals, policy)),
        approval_needed(totals, policy),
        cut_deposit(cut),
    ];
    cautions.into_iter().flatten().collect()
}

/// A net price under direct cost stops the offer: the work would be paid for doing it.
fn below_cost(totals: &Totals<'_>) -> Option<Caution> {
    if totals.net.minor() >= totals.cost.minor() {
        return None;
    }
    let lost = totals.cost.minus(totals.net).ok()?;
    Some(Caution {
        level: Level::Stop,
        code: "below_cost",
        message: format!(
            "the net price of {} is {lost} below the direct cost of {}",
            totals.net, totals.cost
        ),
        source: SOURCE,
    })
}

/// Every limit of the policy's approval that this offer crosses, in one caution.
fn approval_needed(totals: &Totals<'_>, policy: &CheckedPolicy) -> Option<Caution> {
    let limits = policy.policy().approval.as_ref()?;
    let [net, price] = [totals.net, totals.price].map(Money::decimal);
    let parts = |part: Money| part.decimal().checked_mul(Decimal::ONE_HUNDRED);
    let over = |part: Money, limit: &Decimal| Some(parts(part)? > price.checked_mul(*limit)?);
    let under = |part: Money, limit: &Decimal| Some(parts(part)? < net.checked_mul(*limit)?);
    let left = totals.net.minus(totals.cost).ok();
    let reasons: Vec<String> = [
        limits
            .discount_over_percent
            .filter(|limit| over(totals.discount, limit) == Some(true))
            .map(|limit| {
                format!(
                    "the discount of {} is over {} % of the price",
                    totals.discount,
                    plain(limit)
                )
            }),
        limits
            .margin_under_percent
            .filter(|limit| left.and_then(|left| under(left, limit)) == Some(true))
            .map(|limit| format!("the margin on direct cost is under {} %", plain(limit))),
        limits
            .price_over
            .filter(|limit| net > *limit)
            .map(|limit| format!("the net price of {} is over {}", totals.net, plain(limit))),
    ]
    .into_iter()
    .flatten()
    .collect();
    if reasons.is_empty() {
        return None;
    }
    caution(
        "approval_needed",
        format!("another person must approve this offer: {}", reasons.join("; ")),
    )
}

fn caution(code: &'static str, message: String) -> Option<Caution> {
    Some(Caution {
        level: Level::Caution,
        code,
        message,
        source: SOURCE,
    })
}

fn old_prices(lines: &Lines<'_>, policy: &CheckedPolicy) -> Option<Caution> {
    let limit = policy.policy().price_age_days;
    let age = |line: &BillLine<'_>| match &line.content {
        Content::Goods(goods) => goods.source.map(|source| source.age_days),
        Content::Work(_) | Content::Sum(_) => None,
    };
    let old = |line: &&BillLine<'_>| age(line).is_some_and(|days| days > i64::from(limit));
    let aged: Vec<&BillLine<'_>> = lines.bill.iter().filter(old).collect();
    let oldest = aged.iter().max_by_key(|line| age(line))?;
    let (count, days) = (aged.len(), age(oldest)?);
    let prices = if count == 1 { "price is" } else { "prices are" };
    let message = format!(
        "{count} {prices} more than {limit} days old; the oldest is of {}, {days} days",
        oldest.key
    );
    caution("price_age", message)
}

fn thin_margin(totals: &Totals<'_>, policy: &CheckedPolicy) -> Option<Caution> {
    let least = policy.policy().least_margin_percent;
    let margin = totals.margin?.checked_mul(Decimal::ONE_HUNDRED)?;
    if margin >= least {
        return None;
    }
    let (margin, least) = (plain(margin), plain(least));
    caution(
        "margin",
        format!("direct cost leaves {margin} % of the net price; the policy asks for {least} % or more"),
    )
}

fn cut_deposit(cut: Money) -> Option<Caution> {
    if cut.is_zero() {
        return None;
    }
    caution(
        "deposit",
        format!("the deposit was over its limit; {cut} moved to the next instalment"),
    )
}
