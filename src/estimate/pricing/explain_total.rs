//! How the job came from its direct cost to its total, figure by figure.

use super::checked::CheckedPolicy;
use super::explain_price::asked;
use super::policy::{Policy, Profit};
use super::price::Terms;
use super::result::{Priced, TaxLine, Totals};
use super::workings::of;
use crate::bill::line::LineKind;
use crate::job::Discount;
use crate::quantity::Money;
use crate::quantity::unit::Unit;
use crate::rules::trace::{FormulaTrace, Place};

/// Every step, in the order in which pricing takes them.
pub(super) fn of_the_job<'a>(
    priced: &Priced<'a>,
    policy: &CheckedPolicy,
    terms: &Terms,
) -> Vec<FormulaTrace<'a>> {
    let totals = &priced.totals;
    let Some(asked) = asked(totals) else {
        return Vec::new();
    };
    let mut formulas = Vec::from(to_full_cost(totals, policy.policy()));
    formulas.extend(to_asked(totals, asked, policy.policy()));
    formulas.extend(markup(priced, policy));
    formulas.extend(to_net(totals, asked, terms));
    formulas.extend(totals.taxes.iter().map(tax));
    formulas.extend(to_total(totals));
    formulas
}

fn total(figure: &'static str) -> Place<'static> {
    Place::Total {
        figure,
        category: None,
    }
}

fn to_full_cost<'a>(totals: &Totals<'_>, policy: &Policy) -> [FormulaTrace<'a>; 3] {
    [
        of("direct cost * percent / 100, rounded")
            .money("direct cost", totals.cost)
            .with("percent", policy.contingency_percent, Unit::ONE)
            .give(total("contingency"), totals.contingency.decimal()),
        of("(direct cost + contingency) * percent / 100, rounded")
            .money("direct cost", totals.cost)
            .money("contingency", totals.contingency)
            .with("percent", policy.overhead_percent, Unit::ONE)
            .give(total("overhead"), totals.overhead.decimal()),
        of("direct cost + contingency + overhead")
            .money("direct cost", totals.cost)
            .money("contingency", totals.contingency)
            .money("overhead", totals.overhead)
            .give(total("full cost"), totals.full_cost.decimal()),
    ]
}

fn to_asked<'a>(totals: &Totals<'_>, asked: Money, policy: &Policy) -> [FormulaTrace<'a>; 2] {
    let reserve = policy.warranty_reserve_percent;
    let price = match &policy.profit {
        Profit::Margin { percent } => of("full cost / (1 - margin / 100 - warranty reserve / 100), rounded")
            .money("full cost", totals.full_cost)
            .with("margin", *percent, Unit::ONE),
        Profit::Markup { percent } => {
            of("full cost * (1 + markup / 100) / (1 - warranty reserve / 100), rounded")
                .money("full cost", totals.full_cost)
                .with("markup", *percent, Unit::ONE)
        }
    };
    [
        price
            .with("warranty reserve", reserve, Unit::ONE)
            .give(total("price by full cost"), asked.decimal()),
        of("price by full cost * percent / 100, rounded")
            .money("price by full cost", asked)
            .with("percent", reserve, Unit::ONE)
            .give(total("warranty reserve"), totals.warranty_reserve.decimal()),
    ]
}

/// The markup on the work of other firms, where there is one.
fn markup<'a>(priced: &Priced<'_>, policy: &CheckedPolicy) -> Option<FormulaTrace<'a>> {
    let markup = priced.totals.subcontract_markup;
    if markup.is_zero() {
        return None;
    }
    let subcontracts = priced.lines.iter();
    let subcontracts = subcontracts.filter(|line| line.bill.kind == LineKind::Subcontract);
    let cost = Money::sum(policy.currency(), subcontracts.map(|line| line.cost)).ok()?;
    let workings = of("cost of subcontracts * percent / 100, rounded")
        .money("cost of subcontracts", cost)
        .with("percent", policy.policy().subcontract_markup_percent, Unit::ONE);
    Some(workings.give(total("markup on subcontracts"), markup.decimal()))
}

fn to_net<'a>(totals: &Totals<'_>, asked: Money, terms: &Terms) -> Vec<FormulaTrace<'a>> {
    let (markup, changes) = (totals.subcontract_markup, totals.price_changes);
    let price = match (markup.is_zero(), changes.is_zero()) {
        (true, true) => of("price by full cost"),
        (false, true) => of("price by full cost + markup on subcontracts"),
        (true, false) => of("price by full cost + what prices by hand change"),
        (false, false) => of("price by full cost + markup on subcontracts + what prices by hand change"),
    };
    let price = price
        .money("price by full cost", asked)
        .money("markup on subcontracts", markup)
        .money("what prices by hand change", changes);
    let mut formulas = vec![price.give(total("price"), totals.price.decimal())];
    let discount = terms.discount.map(|discount| match discount {
        Discount::Percent(percent) => of("price * percent / 100, rounded")
            .money("price", totals.price)
            .with("percent", percent, Unit::ONE),
        Discount::Amount(_) => of("the amount that the request gives"),
    });
    let discount = discount.map(|workings| workings.give(total("discount"), totals.discount.decimal()));
    formulas.extend(discount);
    let net = of("price - discount")
        .money("price", totals.price)
        .money("discount", totals.discount);
    formulas.push(net.give(total("net"), totals.net.decimal()));
    formulas
}

fn tax<'a>(tax: &TaxLine<'a>) -> FormulaTrace<'a> {
    let place = Place::Total {
        figure: "tax",
        category: Some(tax.category),
    };
    of("net of the category * percent / 100, rounded")
        .money("net of the category", tax.base)
        .with("percent", tax.rate, Unit::ONE)
        .give(place, tax.amount.decimal())
}

fn to_total<'a>(totals: &Totals<'_>) -> [FormulaTrace<'a>; 2] {
    [
        of("net + tax")
            .money("net", totals.net)
            .money("tax", totals.tax)
            .give(total("total"), totals.total.decimal()),
        of("net - full cost - warranty reserve")
            .money("net", totals.net)
            .money("full cost", totals.full_cost)
            .money("warranty reserve", totals.warranty_reserve)
            .give(total("profit"), totals.profit.decimal()),
    ]
}
