//! What is to be invoiced, and when: the payment schedule of what was accepted, with its part of each tax.
//!
//! Each instalment bears its share of what is taxed at each rate, and tax on it by the rate (BR-CO-17), so every
//! invoice stands by itself. What all of them bear adds up to what was accepted, to the cent; the tax of the parts,
//! rounded by itself each time, may be a cent or two away from that of the whole, and that is the rounding of the last.
//! Of a change order, the instalments are what it moves of the schedule.

use chrono::{Days, NaiveDate};
use rust_decimal::Decimal;
use serde::Serialize;

use super::accepted::Accepted;
use super::codes::{CREDIT_NOTE, InvoiceKind};
use super::fault::HandoffFault;
use super::sheet::SheetPayment;
use super::tax_groups::{TaxGroup, groups};
use crate::quantity::Money;
use crate::quantity::rounding::share_out;

/// What is to be invoiced of one acceptance.
#[derive(Debug, Clone, PartialEq)]
pub struct Instalments {
    /// The tax groups that every instalment is of.
    pub groups: Vec<TaxGroup>,
    /// The instalments that come to something.
    pub list: Vec<Instalment>,
    /// What they add up to.
    pub sums: InvoiceSums,
}

/// One instalment.
#[derive(Debug, Clone, PartialEq)]
pub struct Instalment {
    /// 1 for the first of the schedule.
    pub number: u32,
    /// What kind of invoice it is.
    pub kind: InvoiceKind,
    /// When it falls due, in words.
    pub label: String,
    /// Its share by the policy, in percent.
    pub share: Decimal,
    /// The day on which it falls due, where the policy says.
    pub due_on: Option<NaiveDate>,
    /// What is taxed, and the tax, by tax group.
    pub parts: Vec<(Money, Money)>,
    /// What it is rounded by.
    pub rounding: Money,
    /// What is to be paid.
    pub amount: Money,
}

/// What all instalments add up to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct InvoiceSums {
    /// Before tax: that of what was accepted.
    pub net: Money,
    /// Tax.
    pub tax: Money,
    /// Roundings: with the tax, the tax of what was accepted.
    pub rounding: Money,
    /// What is to be paid: the total of what was accepted.
    pub payable: Money,
}

impl Instalment {
    /// Whether it goes to the customer: its document is a credit note.
    pub fn is_credit(&self) -> bool {
        self.amount.minor() < 0
    }

    /// The code of its document in UNTDID 1001.
    pub fn code(&self) -> &'static str {
        if self.is_credit() {
            CREDIT_NOTE
        } else {
            self.kind.code()
        }
    }

    /// The day of its document: the one that is told, else that on which it falls due. A credit is due with the
    /// acceptance.
    ///
    /// # Errors
    /// It falls due when something comes about and no day was told, or the day is before the acceptance.
    pub fn issue_day(&self, accepted: &Accepted, told: Option<NaiveDate>) -> Result<NaiveDate, HandoffFault> {
        let credit = self.is_credit().then_some(accepted.accepted_on);
        let day = told.or(credit).or(self.due_on);
        let day = day.ok_or_else(|| HandoffFault::NoDay(self.label.clone()))?;
        if day < accepted.accepted_on {
            return Err(HandoffFault::EarlyDay {
                day,
                accepted_on: accepted.accepted_on,
            });
        }
        Ok(day)
    }

    /// Net and tax.
    ///
    /// # Errors
    /// A sum does not fit.
    pub fn net_and_tax(&self) -> Result<(Money, Money), HandoffFault> {
        let currency = self.amount.currency();
        Ok((
            Money::sum(currency, self.parts.iter().map(|(base, _)| *base))?,
            Money::sum(currency, self.parts.iter().map(|(_, tax)| *tax))?,
        ))
    }
}

/// The instalments of what was accepted.
///
/// # Errors
/// They do not add up, or a day is beyond the calendar.
pub fn instalments(accepted: &Accepted) -> Result<Instalments, HandoffFault> {
    let currency = accepted.currency();
    let groups = groups(&accepted.taxes()?, currency)?;
    let payments = moved_payments(accepted)?;
    let last = payments.len().saturating_sub(1);
    let weights = payments.iter().map(|(_, amount)| amount.minor());
    let shares = groups.iter().map(|group| share_out(group.base, weights.clone()));
    let mut shares = shares.collect::<Result<Vec<_>, _>>()?;
    let mut list = Vec::with_capacity(payments.len());
    for (index, (payment, amount)) in payments.iter().enumerate() {
        if index < last {
            fit(&groups, &mut shares, index, *amount)?;
        }
        let mut parts = Vec::with_capacity(groups.len());
        for (group, share) in groups.iter().zip(&shares) {
            let base = share.get(index).copied().unwrap_or(currency.minor(0));
            parts.push((base, group.tax_on(base)?));
        }
        let mut instalment = Instalment {
            number: u32::try_from(index).unwrap_or(u32::MAX).saturating_add(1),
            kind: match index {
                _ if index == last => InvoiceKind::Final,
                0 => InvoiceKind::Deposit,
                _ => InvoiceKind::Progress,
            },
            label: payment.label.clone(),
            share: payment.share,
            due_on: due(accepted, payment)?,
            parts,
            rounding: currency.minor(0),
            amount: *amount,
        };
        let (net, tax) = instalment.net_and_tax()?;
        instalment.rounding = amount.minus(net)?.minus(tax)?;
        list.push(instalment);
    }
    let stands =
        |one: &Instalment| !one.amount.is_zero() || one.parts.iter().any(|(base, _)| !base.is_zero());
    list.retain(stands);
    let sums = proved(&list, accepted)?;
    Ok(Instalments { groups, list, sums })
}

/// The schedule; of a change order, what it moves of each instalment. The contract after it has the same instalments.
fn moved_payments(accepted: &Accepted) -> Result<Vec<(&SheetPayment, Money)>, HandoffFault> {
    let before = accepted
        .sheet_before()
        .map_or(&[][..], |sheet| &sheet.payment_schedule);
    let nothing = accepted.currency().minor(0);
    let after = &accepted.sheet.payment_schedule;
    let moved = after.iter().enumerate().map(|(index, payment)| {
        let old = before.get(index).map_or(nothing, |old| old.amount);
        Ok((payment, payment.amount.minus(old)?))
    });
    moved.collect()
}

fn due(accepted: &Accepted, payment: &SheetPayment) -> Result<Option<NaiveDate>, HandoffFault> {
    let Some(days) = payment.due_after_days else {
        return Ok(None);
    };
    let day = accepted.accepted_on.checked_add_days(Days::new(days.into()));
    day.map(Some).ok_or(HandoffFault::BeyondCalendar(days))
}

/// Moves what is missing from the instalment `index` between it and the last one, in the group with the lowest rate:
/// cents, so that net and tax come to `amount`, or to within the step that the rate leaves.
fn fit(
    groups: &[TaxGroup],
    shares: &mut [Vec<Money>],
    index: usize,
    amount: Money,
) -> Result<(), HandoffFault> {
    let Some((place, group)) = groups.iter().enumerate().min_by_key(|(_, group)| group.rate) else {
        return Ok(());
    };
    let mut others = amount.currency().minor(0);
    for (_, (group, share)) in groups
        .iter()
        .zip(shares.iter())
        .enumerate()
        .filter(|(other, _)| *other != place)
    {
        let base = share.get(index).copied().unwrap_or(amount.currency().minor(0));
        others = others.plus(base)?.plus(group.tax_on(base)?)?;
    }
    let wanted = amount.minus(others)?;
    let Some(share) = shares.get_mut(place) else {
        return Ok(());
    };
    let Some(before) = share.get(index).copied() else {
        return Ok(());
    };
    let missing =
        |base: Money| Ok::<_, HandoffFault>(wanted.minus(base)?.minus(group.tax_on(base)?)?.minor());
    let mut base = before;
    // Each step goes by what is missing; where the rate skips the amount, the last step would go back and forth.
    for _ in 0..8 {
        let left = missing(base)?;
        let next = base.plus(amount.currency().minor(left))?;
        if left == 0 || missing(next)?.abs() >= left.abs() {
            break;
        }
        base = next;
    }
    let moved = base.minus(before)?;
    if let Some(one) = share.get_mut(index) {
        *one = base;
    }
    if let Some(one) = share.last_mut() {
        *one = one.minus(moved)?;
    }
    Ok(())
}

/// What the instalments add up to, once that is what was accepted.
fn proved(list: &[Instalment], accepted: &Accepted) -> Result<InvoiceSums, HandoffFault> {
    let nothing = accepted.currency().minor(0);
    let mut sums = InvoiceSums {
        net: nothing,
        tax: nothing,
        rounding: nothing,
        payable: nothing,
    };
    for instalment in list {
        let (net, tax) = instalment.net_and_tax()?;
        sums.net = sums.net.plus(net)?;
        sums.tax = sums.tax.plus(tax)?;
        sums.rounding = sums.rounding.plus(instalment.rounding)?;
        sums.payable = sums.payable.plus(instalment.amount)?;
    }
    let amounts = accepted.amounts;
    HandoffFault::unless_equal("net of the instalments", amounts.net, sums.net)?;
    HandoffFault::unless_equal(
        "tax of the instalments",
        amounts.tax,
        sums.tax.plus(sums.rounding)?,
    )?;
    HandoffFault::unless_equal("sum of the instalments", amounts.total, sums.payable)?;
    Ok(sums)
}
