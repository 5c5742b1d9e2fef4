//! From direct cost to the price, its taxes and its instalments.

use rust_decimal::Decimal;

use super::checked::CheckedPolicy;
use super::cost::{Costed, Group, costs};
use super::fault::PricingFault;
use super::policy::TaxTreatment;
use super::result::{Caution, LabourTotal, Lines, Priced, Totals};
use super::{beyond, caution, schedule, tax};
use crate::bill::key::{LineKey, PolicyLine};
use crate::bill::line::{Bill, BillLine, Figure, LineKind, PolicyFigure, Replacement};
use crate::job::Discount;
use crate::quantity::Money;
use crate::quantity::money::MoneyFault;
use crate::quantity::rounding::{Mode, share_out, to_minor, to_scale};

/// What one job asks of its pricing beside the policy.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Terms {
    /// Discount on the whole offer.
    pub discount: Option<Discount>,
    /// How sales tax is treated; as the policy says where it is not given.
    pub treatment: Option<TaxTreatment>,
}

/// Decimals of a margin.
const MARGIN_SCALE: u32 = 4;

/// Prices a bill. The room's page says how.
///
/// # Errors
/// Every fault that can be told: tax categories that the policy does not know, amounts of another currency,
/// a discount larger than the price, credits larger than all other cost, amounts that do not fit.
pub fn price<'a>(
    bill: Bill<'a>,
    policy: &'a CheckedPolicy,
    terms: &Terms,
) -> Result<Priced<'a>, Vec<PricingFault>> {
    let treatment = terms.treatment.unwrap_or(policy.policy().tax.treatment);
    let faults = unfit(&bill, policy, terms);
    if !faults.is_empty() {
        return Err(faults);
    }
    let Costed { mut lines, labour } = costs(bill, policy, treatment)?;
    let faults = beyond::lines(&lines, policy.currency());
    if !faults.is_empty() {
        return Err(faults);
    }
    let sale = sell(&mut lines, policy, terms).map_err(|fault| vec![fault])?;
    finish(lines, labour, sale, policy, treatment).map_err(|fault| vec![fault])
}

/// Tax categories that are not known, amounts in another currency, and lines of the policy that this job does not
/// have.
pub fn unfit(bill: &Bill<'_>, policy: &CheckedPolicy, terms: &Terms) -> Vec<PricingFault> {
    let categories = policy.tax_categories();
    let currency = policy.currency();
    let treatment = terms.treatment.unwrap_or(policy.policy().tax.treatment);
    let other = |pointer: String| PricingFault::OtherCurrency { pointer, currency };
    let mut faults = Vec::new();
    for line in &bill.lines {
        if !categories.iter().any(|known| known == line.tax_category) {
            let pointer = match line.key {
                LineKey::Manual { number } => number
                    .checked_sub(1)
                    .map(|index| format!("/manual_lines/{index}/tax_category")),
                _ => None,
            };
            faults.push(PricingFault::TaxCategory {
                pointer,
                line: line.key.to_string(),
                category: line.tax_category.to_owned(),
            });
        }
        if let Some(fixed) = line
            .fixed
            .as_ref()
            .filter(|fixed| fixed.price.currency() != currency)
        {
            faults.push(other(format!("/overrides/{}/price", fixed.index)));
        }
    }
    for change in &bill.policy_changes {
        if change.line == PolicyLine::UseTax && treatment != TaxTreatment::ContractorPays {
            faults.push(PricingFault::NoSuchLine {
                pointer: format!("/overrides/{}/line", change.index),
                line: LineKey::Policy(change.line).to_string(),
            });
        }
        if matches!(change.figure, PolicyFigure::Price(price) if price.currency() != currency) {
            faults.push(other(format!("/overrides/{}/price", change.index)));
        }
    }
    if matches!(terms.discount, Some(Discount::Amount(amount)) if amount.currency() != currency) {
        faults.push(other("/discount/amount".to_owned()));
    }
    faults
}

/// The build-up from direct cost to net.
struct Sale {
    cost: Money,
    contingency: Money,
    overhead: Money,
    full_cost: Money,
    reserve: Money,
    subcontract_markup: Money,
    price_changes: Money,
    price: Money,
    discount: Money,
    net: Money,
}

fn sell(lines: &mut Lines<'_>, policy: &CheckedPolicy, terms: &Terms) -> Result<Sale, PricingFault> {
    let (currency, mode) = (policy.currency(), policy.policy().rounding);
    let fits = |what: &'static str| PricingFault::too_large(what);
    let cost = Money::sum(currency, lines.costs.iter().copied()).map_err(fits("cost"))?;
    if cost.minor() < 0 {
        let pointer = largest_credit(lines);
        return Err(PricingFault::NegativeCost { pointer, cost });
    }
    beyond::amount(lines, "cost", cost)?;
    let contingency = tax::share(cost, policy.contingency, mode).map_err(fits("contingency"))?;
    let base = cost.plus(contingency).map_err(fits("contingency"))?;
    let overhead = tax::share(base, policy.overhead, mode).map_err(fits("overhead"))?;
    let full_cost = base.plus(overhead).map_err(fits("overhead"))?;
    let asked = asked(full_cost, policy).map_err(fits("price"))?;
    let reserve = tax::share(asked, policy.reserve, mode).map_err(fits("warranty reserve"))?;

    lines.prices = share_out(asked, Money::minors(&lines.costs)).map_err(fits("price"))?;
    let subcontract_markup = mark_up_subcontracts(lines, policy).map_err(fits("subcontract markup"))?;
    let computed = asked.plus(subcontract_markup).map_err(fits("price"))?;
    fix_prices(lines);
    let price = Money::sum(currency, lines.prices.iter().copied()).map_err(fits("price"))?;
    if price.minor() < 0 {
        let pointer = lowest_price(lines);
        return Err(PricingFault::NegativePrice { pointer, price });
    }
    beyond::amount(lines, "price", price)?;
    let discount = give_discount(lines, price, policy, terms)?;
    Ok(Sale {
        cost,
        contingency,
        overhead,
        full_cost,
        reserve,
        subcontract_markup,
        price_changes: price.minus(computed).map_err(fits("price"))?,
        price,
        discount,
        net: price.minus(discount).map_err(fits("net"))?,
    })
}

/// Where the request puts in the largest credit.
fn largest_credit(lines: &Lines<'_>) -> Option<String> {
    let by_hand = lines.iter().filter_map(|line| match line.bill.key {
        LineKey::Manual { number } if line.cost.minor() < 0 => {
            Some((line.cost.minor(), number.checked_sub(1)?))
        }
        _ => None,
    });
    let (_, index) = by_hand.min()?;
    Some(format!("/manual_lines/{index}/unit_cost"))
}

/// Where the request fixes the price that is the furthest below nothing.
fn lowest_price(lines: &Lines<'_>) -> Option<String> {
    let fixed = lines
        .iter()
        .filter_map(|line| Some((line.price.minor(), line.bill.fixed.as_ref()?.index)));
    let (_, index) = fixed.min()?;
    Some(format!("/overrides/{index}/price"))
}

/// The price that full cost asks for: by margin cost ÷ (1 − margin − reserve), by markup
/// cost × (1 + markup) ÷ (1 − reserve).
fn asked(full_cost: Money, policy: &CheckedPolicy) -> Result<Money, MoneyFault> {
    let exact = full_cost
        .decimal()
        .checked_mul(policy.multiplier)
        .and_then(|marked_up| marked_up.checked_div(policy.divisor))
        .ok_or(MoneyFault::Overflow)?;
    to_minor(exact, policy.currency(), policy.policy().rounding)
}

/// Adds the subcontract markup to the lines of other firms, by their cost.
fn mark_up_subcontracts(lines: &mut Lines<'_>, policy: &CheckedPolicy) -> Result<Money, MoneyFault> {
    let nothing = policy.currency().minor(0);
    if policy.subcontract_markup.is_zero() {
        return Ok(nothing);
    }
    let of_others =
        |(place, line): (usize, &BillLine<'_>)| (line.kind == LineKind::Subcontract).then_some(place);
    let others: Vec<usize> = lines.bill.iter().enumerate().filter_map(of_others).collect();
    let cost_at = |place: &usize| lines.costs.get(*place).copied();
    let costs: Vec<Money> = others.iter().filter_map(cost_at).collect();
    let cost = Money::sum(policy.currency(), costs.iter().copied())?;
    let markup = tax::share(cost, policy.subcontract_markup, policy.policy().rounding)?;
    if markup.minor() <= 0 {
        return Ok(nothing);
    }
    for (place, share) in others.into_iter().zip(share_out(markup, Money::minors(&costs))?) {
        if let Some(price) = lines.prices.get_mut(place) {
            *price = price.plus(share)?;
        }
    }
    Ok(markup)
}

/// Puts the prices that a person fixed in the place of the computed ones. The other lines stay as they are.
fn fix_prices(lines: &mut Lines<'_>) {
    for (line, price) in lines.bill.iter_mut().zip(&mut lines.prices) {
        if let Some(fixed) = &line.fixed {
            let computed = std::mem::replace(price, fixed.price);
            line.replaced.push(Replacement {
                index: fixed.index,
                field: "price",
                computed: Figure::Amount(computed),
                given: Figure::Amount(fixed.price),
                reason: fixed.reason,
            });
        }
    }
}

/// Works out the document's discount and shares it over the lines by their prices.
fn give_discount(
    lines: &mut Lines<'_>,
    price: Money,
    policy: &CheckedPolicy,
    terms: &Terms,
) -> Result<Money, PricingFault> {
    let fits = || PricingFault::too_large("discount");
    let (pointer, discount) = match terms.discount {
        None => return Ok(policy.currency().minor(0)),
        Some(Discount::Amount(amount)) => ("/discount/amount", amount),
        Some(Discount::Percent(percent)) => {
            let amount = tax::on_base(price, percent, policy.policy().rounding).map_err(fits())?;
            ("/discount/percent", amount)
        }
    };
    if discount.minor() < 0 || discount.minor() > price.minor() {
        return Err(PricingFault::Discount {
            pointer,
            discount,
            price,
        });
    }
    lines.discounts = share_out(discount, Money::minors(&lines.prices)).map_err(fits())?;
    Ok(discount)
}

fn finish<'a>(
    lines: Lines<'a>,
    labour: Vec<Group<'a>>,
    sale: Sale,
    policy: &'a CheckedPolicy,
    treatment: TaxTreatment,
) -> Result<Priced<'a>, PricingFault> {
    let fits = |what: &'static str| PricingFault::too_large(what);
    let currency = policy.currency();
    let labour = labour
        .into_iter()
        .map(|group| sold(group, &lines))
        .collect::<Result<Vec<_>, _>>();
    let labour = labour.map_err(fits("labour"))?;
    let taxes = tax::taxes(&lines, policy, treatment)?;
    let tax = Money::sum(currency, taxes.iter().map(|tax| tax.amount)).map_err(fits("tax"))?;
    let total = sale.net.plus(tax).map_err(fits("total"))?;
    if total.minor() < 0 {
        // A credit of goods can take more tax off than the rest of the job bears.
        let pointer = largest_credit(&lines).or_else(|| lowest_price(&lines));
        return Err(PricingFault::NegativeTotal { pointer, total });
    }
    beyond::amount(&lines, "total", total)?;
    let (payment_schedule, cut) = schedule::payments(total, policy).map_err(fits("payment schedule"))?;
    let own = sale.full_cost.plus(sale.reserve).map_err(fits("full cost"))?;
    let profit = sale.net.minus(own);
    let hours = labour
        .iter()
        .try_fold(Decimal::ZERO, |sum, class| sum.checked_add(class.hours));
    let totals = Totals {
        cost: sale.cost,
        contingency: sale.contingency,
        overhead: sale.overhead,
        full_cost: sale.full_cost,
        warranty_reserve: sale.reserve,
        subcontract_markup: sale.subcontract_markup,
        profit: profit.map_err(fits("profit"))?,
        price_changes: sale.price_changes,
        price: sale.price,
        discount: sale.discount,
        net: sale.net,
        taxes,
        tax,
        total,
        hours: hours.ok_or_else(|| PricingFault::TooLarge {
            what: "hours".to_owned(),
        })?,
        margin: margin(sale.net, sale.cost),
        profit_margin: margin(sale.net, own),
    };
    let cautions: Vec<Caution> = caution::all(&lines, &totals, cut, policy);
    Ok(Priced {
        lines,
        labour,
        totals,
        payment_schedule,
        cautions,
        explanation: None,
    })
}

fn sold<'a>(group: Group<'a>, lines: &Lines<'_>) -> Result<LabourTotal<'a>, MoneyFault> {
    let mut total = group.total;
    let prices = group
        .lines
        .iter()
        .filter_map(|place| lines.prices.get(*place).copied());
    total.price = Money::sum(total.cost.currency(), prices)?;
    Ok(total)
}

/// What `cost` leaves of `net`, as a fraction of `net`.
fn margin(net: Money, cost: Money) -> Option<Decimal> {
    if net.is_zero() {
        return None;
    }
    let left = net.minus(cost).ok()?;
    Some(to_scale(
        left.decimal().checked_div(net.decimal())?,
        MARGIN_SCALE,
        Mode::HalfUp,
    ))
}
