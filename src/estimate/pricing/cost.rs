//! Direct cost: every line in whole minor units, hours rounded by class, and the lines that the policy makes.

use rust_decimal::Decimal;

use super::checked::{CheckedPolicy, fraction};
use super::fault::PricingFault;
use super::policy::{Freight, HoursTowards, LineCodes, TaxTreatment};
use super::result::{LabourTotal, Lines};
use super::tax::{ByCategory, share};
use crate::bill::line::{
    Bill, BillLine, Content, Figure, FixedPrice, LineKind, PolicyChange, PolicyFigure, Replacement, Sum, Work,
};
use crate::bill::{LineKey, PolicyLine, group};
use crate::catalogue::item::ItemGroup;
use crate::quantity::Money;
use crate::quantity::decimal::UNIT_PRICE_SCALE;
use crate::quantity::money::MoneyFault;
use crate::quantity::rounding::{Mode, Towards, count, share_out, to_minor, to_scale, to_step};

/// Lines with their cost, not yet with a price, and the labour that is in them.
pub(super) struct Costed<'a> {
    pub(super) lines: Lines<'a>,
    pub(super) labour: Vec<Group<'a>>,
}

/// Labour of one class at one rate.
pub(super) struct Group<'a> {
    pub(super) total: LabourTotal<'a>,
    place: usize,
    /// Its lines, and their hours in ten-thousandths.
    pub(super) lines: Vec<usize>,
    weights: Vec<i64>,
}

/// Puts a cost to every line of the bill and adds the lines of the policy.
pub(super) fn costs<'a>(
    bill: Bill<'a>,
    policy: &'a CheckedPolicy,
    treatment: TaxTreatment,
) -> Result<Costed<'a>, Vec<PricingFault>> {
    let nothing = policy.currency().minor(0);
    let mut faults = Vec::new();
    let mut labour = Vec::new();
    let mut costs = Vec::with_capacity(bill.lines.len());
    for (place, line) in bill.lines.iter().enumerate() {
        let cost = match &line.content {
            Content::Work(work) => {
                hours(&mut labour, place, work, nothing);
                Ok(nothing)
            }
            Content::Goods(goods) => amount(goods.cost, policy),
            Content::Sum(sum) => extended(sum, policy),
        };
        costs.push(cost.unwrap_or_else(|fault| {
            faults.push(PricingFault::too_large(line.key)(fault));
            nothing
        }));
    }
    let lines = Lines::new(bill.lines, costs, nothing);
    let mut costed = Costed { lines, labour };
    if let Err(fault) = costed.labour_cost(policy) {
        faults.push(fault);
    }
    if let Err(fault) = costed.policy_lines(policy, treatment, &bill.policy_changes) {
        faults.push(fault);
    }
    if faults.is_empty() {
        Ok(costed)
    } else {
        Err(faults)
    }
}

fn amount(exact: Decimal, policy: &CheckedPolicy) -> Result<Money, MoneyFault> {
    to_minor(exact, policy.currency(), policy.policy().rounding)
}

fn extended(sum: &Sum, policy: &CheckedPolicy) -> Result<Money, MoneyFault> {
    let exact = match sum.quantity {
        Some(quantity) => quantity
            .value
            .checked_mul(sum.unit_cost)
            .ok_or(MoneyFault::Overflow)?,
        None => sum.unit_cost,
    };
    amount(exact, policy)
}

/// Notes the hours of a line with its class and rate. A line whose rate a person gave is in a group of
/// its own rate.
fn hours<'a>(labour: &mut Vec<Group<'a>>, line: usize, work: &Work<'a>, nothing: Money) {
    let same = |group: &Group<'_>| group.place == work.place && group.total.rate == work.rate;
    let at = labour.iter().position(same).unwrap_or_else(|| {
        let total = LabourTotal {
            class: &work.class.code,
            rate: work.rate,
            line_hours: Decimal::ZERO,
            hours: Decimal::ZERO,
            cost: nothing,
            price: nothing,
        };
        labour.push(Group {
            total,
            place: work.place,
            lines: Vec::new(),
            weights: Vec::new(),
        });
        labour.len() - 1
    });
    if let Some(group) = labour.get_mut(at) {
        group.lines.push(line);
        // Hours beyond any count are caught when the group is rounded.
        group.weights.push(ten_thousandths(work.hours).unwrap_or(0));
        group.total.line_hours = group
            .total
            .line_hours
            .checked_add(work.hours)
            .unwrap_or(Decimal::MAX);
    }
}

impl<'a> Costed<'a> {
    /// Rounds the hours of each class as the policy says, costs them, and shares the cost over the lines by
    /// their hours.
    fn labour_cost(&mut self, policy: &CheckedPolicy) -> Result<(), PricingFault> {
        let rounding = &policy.policy().hours;
        let towards = match rounding.towards {
            HoursTowards::Up => Towards::Up,
            HoursTowards::Nearest => Towards::Nearest,
        };
        for group in &mut self.labour {
            let total = &mut group.total;
            let too_large = || PricingFault::TooLarge {
                what: format!("hours of {}", total.class),
            };
            ten_thousandths(total.line_hours).ok_or_else(too_large)?;
            total.hours = to_step(total.line_hours, rounding.step, towards).ok_or_else(too_large)?;
            let exact = total.hours.checked_mul(total.rate).ok_or_else(too_large)?;
            let cost = amount(exact, policy).and_then(|cost| {
                total.cost = cost;
                share_out(cost, group.weights.iter().copied())
            });
            let shares = cost.map_err(|_| PricingFault::TooLarge {
                what: format!("hours of {}", total.class),
            })?;
            for (place, share) in group.lines.iter().zip(shares) {
                if let Some(cost) = self.lines.costs.get_mut(*place) {
                    *cost = share;
                }
            }
        }
        Ok(())
    }

    /// Adds freight, consumables and use tax, each where it comes to something or a person gave it.
    fn policy_lines(
        &mut self,
        policy: &'a CheckedPolicy,
        treatment: TaxTreatment,
        changes: &[PolicyChange<'a>],
    ) -> Result<(), PricingFault> {
        let rounding = policy.policy().rounding;
        let codes = &policy.policy().lines;
        let goods = self.goods(policy, |_| true)?;
        let freight = match &policy.policy().freight {
            Freight::Fixed { .. } if !self.lines.bill.iter().any(|line| group(line).is_some()) => {
                Ok(goods.currency().minor(0))
            }
            Freight::Fixed { amount: fixed } => amount(*fixed, policy),
            Freight::Percent { percent } => share(goods, fraction(*percent), rounding),
        };
        self.policy_line(
            PolicyLine::Freight,
            "Freight on goods",
            &codes.freight,
            freight,
            policy,
            changes,
        )?;

        let material = self.goods(policy, |group| group == ItemGroup::Material)?;
        let consumables = share(material, policy.consumables, rounding);
        let title = "Consumables and small parts";
        self.policy_line(
            PolicyLine::Consumables,
            title,
            &codes.consumables,
            consumables,
            policy,
            changes,
        )?;

        if treatment == TaxTreatment::ContractorPays {
            let tax = self.use_tax(policy)?;
            let title = "Sales and use tax on purchases";
            self.policy_line(
                PolicyLine::UseTax,
                title,
                &codes.use_tax,
                Ok(tax),
                policy,
                changes,
            )?;
        }
        Ok(())
    }

    /// Cost of the goods of some groups.
    fn goods(&self, policy: &CheckedPolicy, of: impl Fn(ItemGroup) -> bool) -> Result<Money, PricingFault> {
        let lines = self.lines.costed();
        let goods = lines.filter(|(line, _)| group(line).is_some_and(&of));
        Money::sum(policy.currency(), goods.map(|(_, cost)| cost))
            .map_err(PricingFault::too_large("cost of goods"))
    }

    /// Tax on goods and consumables at the rate of each line's category, rounded by category.
    fn use_tax(&self, policy: &CheckedPolicy) -> Result<Money, PricingFault> {
        let mut bases = ByCategory::new(policy);
        let consumables = LineKey::Policy(PolicyLine::Consumables);
        let lines = self.lines.costed();
        for (line, cost) in lines.filter(|(line, _)| group(line).is_some() || line.key == consumables) {
            let added = bases.add(line.tax_category, cost);
            added.transpose().map_err(PricingFault::too_large("use tax"))?;
        }
        let tax = bases
            .sums()
            .try_fold(policy.currency().minor(0), |sum, (category, base)| {
                sum.plus(share(base, fraction(category.percent), policy.policy().rounding)?)
            });
        tax.map_err(PricingFault::too_large("use tax"))
    }

    fn policy_line(
        &mut self,
        which: PolicyLine,
        description: &'static str,
        codes: &'a LineCodes,
        cost: Result<Money, MoneyFault>,
        policy: &CheckedPolicy,
        changes: &[PolicyChange<'a>],
    ) -> Result<(), PricingFault> {
        let key = LineKey::Policy(which);
        let mut cost = cost.map_err(PricingFault::too_large(key))?;
        let mut replaced = Vec::new();
        let mut fixed = None;
        for change in changes.iter().filter(|change| change.line == which) {
            match change.figure {
                PolicyFigure::Cost(given) => {
                    let computed = Figure::UnitCost(Some(cost.decimal()));
                    cost = amount(given, policy).map_err(PricingFault::too_large(key))?;
                    let given = Figure::UnitCost(Some(given));
                    replaced.push(Replacement {
                        index: change.index,
                        field: "unit_cost",
                        computed,
                        given,
                        reason: change.reason,
                    });
                }
                PolicyFigure::Price(price) => {
                    fixed = Some(Box::new(FixedPrice {
                        index: change.index,
                        price,
                        reason: change.reason,
                    }));
                }
            }
        }
        if cost.is_zero() && replaced.is_empty() && fixed.is_none() {
            return Ok(());
        }
        let line = BillLine {
            key,
            kind: LineKind::Fee,
            from: None,
            code: None,
            description,
            cost_code: &codes.cost_code,
            tax_category: &codes.tax_category,
            reason: None,
            content: Content::Sum(Sum {
                quantity: None,
                unit_cost: cost.decimal(),
            }),
            replaced,
            fixed,
            explanation: None,
        };
        self.lines.push(line, cost);
        Ok(())
    }
}

/// Hours as a count of ten-thousandths, where they can be counted.
fn ten_thousandths(hours: Decimal) -> Option<i64> {
    count(hours, 4, Mode::HalfUp)
}

/// Cost of a unit as it is shown.
pub(super) fn shown(unit_cost: Decimal) -> Decimal {
    to_scale(unit_cost, UNIT_PRICE_SCALE, Mode::HalfUp)
}
