//! The second pair of eyes: which drafts need it, and whether it has been given for exactly this draft.

use chrono::{DateTime, Utc};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::alternates::PricedAlternate;
use super::canonical::{CanonicalFault, Digest, Frozen};
use super::draft::Draft;
use super::estimated::{Estimated, TotalFigures};
use crate::pricing::policy::ApprovalLimits;
use crate::quantity::Money;
use crate::quantity::decimal::{RATE_SCALE, plain};
use crate::quantity::rounding::{Mode, to_scale};

/// Why a draft needs the approval of another person.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "reason")]
pub enum ApprovalReason {
    /// The price before tax is over the limit.
    Price {
        /// Net.
        net: Money,
        /// The limit, in the company's currency.
        limit: String,
    },
    /// The margin is under the limit, or there is no price to have one.
    Margin {
        /// What direct cost leaves of net, in percent; none where net is nothing.
        percent: Option<String>,
        /// The limit, in percent.
        limit: String,
    },
    /// The discount is over the limit.
    Discount {
        /// Discount of the price, in percent; none where the price is nothing.
        percent: Option<String>,
        /// The limit, in percent.
        limit: String,
    },
}

/// The reasons for which an estimate needs approval under a policy's limits; none where it needs none.
/// Compared exactly, not by rounded percentages. A limit that is met is kept.
pub fn reasons(limits: &ApprovalLimits, estimated: &Estimated) -> Vec<ApprovalReason> {
    let totals = estimated.totals();
    let price = price_over(limits, totals.net);
    let reasons = price
        .into_iter()
        .chain(thin_margin(limits, totals))
        .chain(large_discount(limits, totals));
    reasons.collect()
}

/// The reasons for which an offer needs approval, as the base job or with what the customer may choose beside it: each
/// alternate alone, for the price all of those together that raise it, and the job with all those that thin the margin
/// or raise the discount (see [`super::alternates::thinnest`]). Of each kind the first is told.
pub fn reasons_of_offer(
    limits: &ApprovalLimits,
    base: &Estimated,
    alternates: &[PricedAlternate],
    thinnest: Option<&Estimated>,
) -> Vec<ApprovalReason> {
    let mut told = reasons(limits, base);
    let alone = alternates.iter().map(|offered| &offered.estimated);
    let alone = alone.chain(thinnest).flat_map(|offered| reasons(limits, offered));
    let together = price_over(limits, net_with_all(base, alternates));
    for reason in alone.chain(together) {
        let kind = std::mem::discriminant(&reason);
        if told.iter().all(|other| std::mem::discriminant(other) != kind) {
            told.push(reason);
        }
    }
    told
}

/// The reasons for which the job that a customer chose goes beyond what was approved. `shown` is what stood before whoever
/// approved the offer, where somebody did: base job, each alternate alone, the thinnest of them together. A limit that none
/// of these broke must be kept, and margin and discount go no further than in the worst of them; a price over its limit was
/// approved for whatever the customer takes.
pub fn reasons_of_choice(
    limits: &ApprovalLimits,
    shown: &[&Estimated],
    approved: bool,
    chosen: &Estimated,
) -> Vec<ApprovalReason> {
    let shares = |of: fn(&TotalFigures) -> Option<Decimal>| shown.iter().map(move |one| of(one.totals()));
    let totals = chosen.totals();
    let further = |reason: &ApprovalReason| match reason {
        ApprovalReason::Price { .. } => false,
        ApprovalReason::Margin { .. } => shares(left_of).all(|left| left_of(totals) < left),
        ApprovalReason::Discount { .. } => shares(discount_of).all(|part| discount_of(totals) > part),
    };
    let mut told = reasons(limits, chosen);
    told.retain(|reason| !approved || further(reason));
    told
}

/// Net with every alternate that raises it. One too large to add is left out: alone it is over every limit.
fn net_with_all(base: &Estimated, alternates: &[PricedAlternate]) -> Money {
    let raised = alternates.iter().map(|offered| offered.moved.net.moved);
    let raised = raised.filter(|moved| moved.decimal() > Decimal::ZERO);
    raised.fold(base.totals().net, |net, moved| net.plus(moved).unwrap_or(net))
}

/// The reasons for which a change order needs approval, which makes the contract `after` of the contract `before`. Its own
/// price is held against the limits, and the contract that it makes. What was over a limit before has been approved: it
/// counts again only where the change takes margin or discount further.
pub fn reasons_of_change(
    limits: &ApprovalLimits,
    before: &Estimated,
    after: &Estimated,
) -> Vec<ApprovalReason> {
    let (before, after) = (before.totals(), after.totals());
    // An amount too large to compare is not waved through.
    let own = after.net.minus(before.net);
    let own = price_over(limits, own.unwrap_or(after.net));
    let contract = || price_over(limits, after.net).filter(|_| price_over(limits, before.net).is_none());
    let margin = thin_margin(limits, after);
    let margin = margin.filter(|_| thin_margin(limits, before).is_none() || left_of(after) < left_of(before));
    let discount = large_discount(limits, after);
    let discount = discount
        .filter(|_| large_discount(limits, before).is_none() || discount_of(after) > discount_of(before));
    own.or_else(contract)
        .into_iter()
        .chain(margin)
        .chain(discount)
        .collect()
}

fn price_over(limits: &ApprovalLimits, net: Money) -> Option<ApprovalReason> {
    let limit = limits.price_over.filter(|limit| net.decimal() > *limit)?;
    Some(ApprovalReason::Price {
        net,
        limit: plain(limit),
    })
}

fn thin_margin(limits: &ApprovalLimits, totals: &TotalFigures) -> Option<ApprovalReason> {
    let limit = limits
        .margin_under_percent
        .filter(|limit| margin_is_under(totals, *limit))?;
    let left = totals.net.decimal().checked_sub(totals.cost.decimal());
    Some(ApprovalReason::Margin {
        percent: left.and_then(|left| told(left, totals.net.decimal(), limit)),
        limit: plain(limit),
    })
}

fn large_discount(limits: &ApprovalLimits, totals: &TotalFigures) -> Option<ApprovalReason> {
    let limit = limits
        .discount_over_percent
        .filter(|limit| part_is_over(totals.discount, totals.price, *limit))?;
    Some(ApprovalReason::Discount {
        percent: told(totals.discount.decimal(), totals.price.decimal(), limit),
        limit: plain(limit),
    })
}

/// What direct cost leaves of net, in percent; none where net is nothing.
pub(super) fn left_of(totals: &TotalFigures) -> Option<Decimal> {
    let left = totals.net.decimal().checked_sub(totals.cost.decimal())?;
    percent(left, totals.net.decimal())
}

/// The discount in percent of the price; none where that is nothing.
pub(super) fn discount_of(totals: &TotalFigures) -> Option<Decimal> {
    percent(totals.discount.decimal(), totals.price.decimal())
}

/// net − cost < net × limit ÷ 100. Where there is nothing to have a margin of, it is under any limit that a
/// cost makes it miss.
fn margin_is_under(totals: &TotalFigures, limit: Decimal) -> bool {
    let (net, cost) = (totals.net.decimal(), totals.cost.decimal());
    let least = net.checked_mul(limit);
    let left = net
        .checked_sub(cost)
        .and_then(|left| left.checked_mul(Decimal::ONE_HUNDRED));
    // Figures too large to compare are not waved through.
    least.zip(left).is_none_or(|(least, left)| left < least)
}

/// part > whole × limit ÷ 100.
fn part_is_over(part: Money, whole: Money, limit: Decimal) -> bool {
    let most = whole.decimal().checked_mul(limit);
    let part = part.decimal().checked_mul(Decimal::ONE_HUNDRED);
    most.zip(part).is_none_or(|(most, part)| part > most)
}

/// `part` of `whole` in percent beside a limit that it does not keep: with as many decimals as show that.
fn told(part: Decimal, whole: Decimal, limit: Decimal) -> Option<String> {
    let ratio = part.checked_mul(Decimal::ONE_HUNDRED)?.checked_div(whole)?;
    let mut shown = (2..=RATE_SCALE).map(|scale| to_scale(ratio, scale, Mode::HalfUp));
    let apart = shown.clone().find(|percent| *percent != limit);
    apart.or_else(|| shown.next_back()).map(plain)
}

/// `part` of `whole` in percent, to two decimals for a person to read. What differs less than that does not differ: amounts
/// are whole cents.
fn percent(part: Decimal, whole: Decimal) -> Option<Decimal> {
    let ratio = part.checked_mul(Decimal::ONE_HUNDRED)?.checked_div(whole)?;
    Some(to_scale(ratio, 2, Mode::HalfUp))
}

/// The digest that an approval is for: the draft's content and the money that it came to. An edit voids it,
/// and so does a rulebook, a price or a policy that makes other figures of the same draft.
///
/// # Errors
/// As [`Frozen::of`].
pub fn subject(draft: &Draft, estimated: &Estimated) -> Result<Digest, CanonicalFault> {
    #[derive(Serialize)]
    struct Subject<'a> {
        draft: &'a Draft,
        totals: &'a serde_json::Value,
    }
    let totals = estimated.part("totals");
    Ok(Frozen::of(&Subject { draft, totals })?.digest())
}

/// A person's approval of a draft.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Approval {
    /// What was approved: see [`subject`].
    pub subject: Digest,
    /// Who approved it.
    pub by: String,
    /// When.
    pub at: DateTime<Utc>,
    /// A remark.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

/// Why an approval does not count.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ApprovalFault {
    /// Nobody approved the draft.
    #[error("the draft needs the approval of another person than those who wrote it")]
    None,
    /// It was approved, and changed after that.
    #[error("the draft, or what it comes to, has changed since {by} approved it")]
    Changed {
        /// Who approved the earlier content.
        by: String,
    },
    /// The customer's choice goes beyond what was approved.
    #[error(
        "the chosen alternates together go beyond what was approved: begin a revision with them in its job, and have that \
         approved"
    )]
    Combination,
    /// The person who approves has written at the draft.
    #[error("{by} has written at this draft and cannot approve it")]
    OwnWork {
        /// Who.
        by: String,
    },
}

/// Whether `person` may approve a draft that `authors` wrote; `are_one` says whether two names are of one person.
///
/// # Errors
/// The person is one of the authors.
pub fn may_approve(
    person: &str,
    authors: &[String],
    are_one: impl Fn(&str, &str) -> bool,
) -> Result<(), ApprovalFault> {
    if authors.iter().any(|author| are_one(person, author)) {
        return Err(ApprovalFault::OwnWork {
            by: person.to_owned(),
        });
    }
    Ok(())
}

/// The approval among `given` that counts for `subject`, written by `authors`; `are_one` as for [`may_approve`].
///
/// # Errors
/// None does: the fault of the last one given, or that there is none.
pub fn counting<'a>(
    subject: Digest,
    authors: &[String],
    given: &'a [Approval],
    are_one: impl Fn(&str, &str) -> bool,
) -> Result<&'a Approval, ApprovalFault> {
    let mut fault = ApprovalFault::None;
    for approval in given.iter().rev() {
        let judged = if approval.subject == subject {
            may_approve(&approval.by, authors, &are_one)
        } else {
            Err(ApprovalFault::Changed {
                by: approval.by.clone(),
            })
        };
        match judged {
            Ok(()) => return Ok(approval),
            Err(other) if fault == ApprovalFault::None => fault = other,
            Err(_) => {}
        }
    }
    Err(fault)
}
