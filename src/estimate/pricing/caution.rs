//! What the office should see before it makes the offer.

use rust_decimal::Decimal;

use super::checked::CheckedPolicy;
use super::result::{Caution, Line, Totals};
use crate::bill::line::Content;
use crate::catalogue::prices::PriceSource;
use crate::quantity::Money;
use crate::quantity::decimal::plain;
use crate::rules::outcome::Level;

const SOURCE: &str = "pricing policy";

/// Old prices, a thin margin, a deposit over its limit.
pub(super) fn all(
    lines: &[Line<'_>],
    totals: &Totals<'_>,
    cut: Money,
    policy: &CheckedPolicy,
) -> Vec<Caution> {
    let cautions = [
        old_prices(lines, policy),
        thin_margin(totals, policy),
        cut_deposit(cut),
    ];
    cautions.into_iter().flatten().collect()
}

fn caution(code: &'static str, message: String) -> Option<Caution> {
    Some(Caution {
        level: Level::Caution,
        code,
        message,
        source: SOURCE,
    })
}

/// The source of a line's price; none where the price is of this very offer.
pub(super) fn source<'a>(line: &Line<'a>) -> Option<&'a PriceSource> {
    match &line.bill.content {
        Content::Goods(goods) => goods.source,
        Content::Work(work) => work.source,
        Content::Sum(_) => None,
    }
}

fn old_prices(lines: &[Line<'_>], policy: &CheckedPolicy) -> Option<Caution> {
    let limit = policy.policy().price_age_days;
    let old = |line: &&Line<'_>| source(line).is_some_and(|source| source.age_days > i64::from(limit));
    let bought = |line: &&Line<'_>| matches!(line.bill.content, Content::Goods(_));
    let aged = || lines.iter().filter(bought).filter(old);
    let oldest = aged().max_by_key(|line| source(line).map(|source| source.age_days))?;
    let (count, days) = (aged().count(), source(oldest)?.age_days);
    let prices = if count == 1 { "price is" } else { "prices are" };
    let message = format!(
        "{count} {prices} more than {limit} days old; the oldest is of {}, {days} days",
        oldest.bill.key
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
