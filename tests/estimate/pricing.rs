//! Pricing: the build-up, rounding of hours, changes by hand, discount, tax treatments, schedule, faults.

use estimate::job::{BoughtKind, Replaced};
use estimate::pricing::policy::{Freight, HoursTowards, Instalment, Policy, Profit};
use estimate::pricing::{CheckedPolicy, Line, Priced, PricingFault};
use estimate::quantity::rounding::Mode;
use estimate::quantity::{Currency, Decimal, Money};
use serde_json::json;

use crate::bill_case::{
    Case, catalogue, change, checked, class, dec, from, manual, outcome, plain_policy, usd, work,
};

fn line<'p, 'a>(priced: &'p Priced<'a>, key: &str) -> Line<'p, 'a> {
    priced
        .lines
        .iter()
        .find(|line| line.bill.key.to_string() == key)
        .unwrap()
}

pub fn instalments(shares: &[&str]) -> Vec<Instalment> {
    let part = |share: &&str| Instalment {
        label: format!("{share} percent"),
        share: dec(share),
        due_after_days: None,
    };
    shares.iter().map(part).collect()
}

pub fn paid(priced: &Priced<'_>) -> Vec<String> {
    priced
        .payment_schedule
        .iter()
        .map(|part| part.amount.text())
        .collect()
}

pub fn fees(policy: Policy, amounts: &[&str]) -> Case {
    Case::by_hand(
        policy,
        amounts
            .iter()
            .map(|amount| manual(BoughtKind::Fee, "goods", "1", amount))
            .collect(),
    )
}

/// What must hold of every priced bill, to the minor unit.
pub fn identities(priced: &Priced<'_>) {
    let totals = &priced.totals;
    let currency = totals.total.currency();
    let sum = |amounts: &mut dyn Iterator<Item = Money>| Money::sum(currency, amounts).unwrap();
    let plus = |a: Money, b: Money| a.plus(b).unwrap();
    assert_eq!(sum(&mut priced.lines.iter().map(|line| line.price)), totals.price);
    assert_eq!(sum(&mut priced.lines.iter().map(|line| line.cost)), totals.cost);
    assert_eq!(
        sum(&mut priced.lines.iter().map(|line| line.discount)),
        totals.discount
    );
    assert_eq!(totals.price.minus(totals.discount).unwrap(), totals.net);
    assert_eq!(sum(&mut totals.taxes.iter().map(|tax| tax.amount)), totals.tax);
    assert_eq!(sum(&mut totals.taxes.iter().map(|tax| tax.base)), totals.net);
    assert_eq!(plus(totals.net, totals.tax), totals.total);
    assert_eq!(
        sum(&mut priced.payment_schedule.iter().map(|part| part.amount)),
        totals.total
    );
    assert_eq!(
        priced.labour.iter().map(|class| class.hours).sum::<Decimal>(),
        totals.hours
    );
    let full_cost = plus(plus(totals.cost, totals.contingency), totals.overhead);
    assert_eq!(full_cost, totals.full_cost);
    assert_eq!(
        plus(plus(full_cost, totals.warranty_reserve), totals.profit),
        totals.net
    );
    let labour = priced
        .lines
        .iter()
        .filter(|line| line.bill.kind == estimate::bill::line::LineKind::Labour);
    assert_eq!(
        sum(&mut labour.map(|line| line.cost)),
        sum(&mut priced.labour.iter().map(|class| class.cost))
    );
    assert!(
        priced
            .lines
            .iter()
            .map(|line| line.position)
            .eq(1..=priced.lines.len())
    );
}

#[test]
fn hours_of_a_class_are_rounded_together_and_their_cost_shared_by_hours() {
    let mut asked = outcome();
    asked.labour = vec![
        work(from(0, 1), "one", "lead", "1.1"),
        work(from(0, 2), "two", "lead", "2.05"),
        work(from(0, 3), "three", "mate", "0.4"),
    ];
    let classes = || vec![class("lead", "50.00"), class("mate", "30.00")];
    let mut case = Case::new(catalogue(Vec::new(), classes()), asked);
    // 3.15 h go up to 3.25 h: 162.50, as 1.1 to 2.05. Rounded line by line it would be 1.25 + 2.25 = 3.5 h.
    let priced = case.priced().unwrap();
    assert_eq!(priced.labour[0].hours, dec("3.25"));
    assert_eq!(priced.labour[0].cost, usd("162.50"));
    assert_eq!(line(&priced, "labour:A0/one").cost, usd("56.75"));
    assert_eq!(line(&priced, "labour:A0/two").cost, usd("105.75"));
    assert_eq!(
        (priced.labour[1].hours, priced.totals.hours),
        (dec("0.5"), dec("3.75"))
    );
    identities(&priced);
    let mut policy = plain_policy();
    policy.hours.towards = HoursTowards::Nearest;
    case.policy = checked(policy);
    let priced = case.priced().unwrap();
    assert_eq!(
        (priced.labour[0].hours, priced.labour[1].hours),
        (dec("3.25"), dec("0.5"))
    );
}

#[test]
fn a_rate_by_hand_is_a_group_of_its_own() {
    let mut asked = outcome();
    asked.labour = vec![
        work(from(0, 1), "day", "lead", "2"),
        work(from(0, 2), "night", "lead", "3"),
    ];
    let mut case = Case::new(catalogue(Vec::new(), vec![class("lead", "50.00")]), asked);
    case.overrides = vec![change("labour:A0/night", Replaced::UnitCost(dec("75")))];
    let priced = case.priced().unwrap();
    let groups: Vec<_> = priced
        .labour
        .iter()
        .map(|group| (group.rate, group.hours, group.cost))
        .collect();
    assert_eq!(
        groups,
        [
            (dec("50.00"), dec("2"), usd("100.00")),
            (dec("75"), dec("3"), usd("225.00"))
        ]
    );
    identities(&priced);
}

#[test]
fn markup_and_margin_are_never_the_same() {
    let price = |profit: Profit, reserve: &str| {
        let policy = Policy {
            profit,
            warranty_reserve_percent: dec(reserve),
            ..plain_policy()
        };
        let case = fees(policy, &["1000"]);
        let priced = case.priced().unwrap();
        identities(&priced);
        (
            priced.totals.price,
            priced.totals.warranty_reserve,
            priced.totals.profit,
            priced.totals.profit_margin,
        )
    };
    let percent = || dec("25");
    let margin = price(Profit::Margin { percent: percent() }, "0");
    assert_eq!(
        margin,
        (usd("1333.33"), usd("0.00"), usd("333.33"), Some(dec("0.25")))
    );
    let markup = price(Profit::Markup { percent: percent() }, "0");
    assert_eq!(
        markup,
        (usd("1250.00"), usd("0.00"), usd("250.00"), Some(dec("0.2")))
    );
    // With 2 % of the price set aside: 1000 ÷ 0.73, and 1250 ÷ 0.98.
    let margin = price(Profit::Margin { percent: percent() }, "2");
    assert_eq!(
        margin,
        (usd("1369.86"), usd("27.40"), usd("342.46"), Some(dec("0.25")))
    );
    let markup = price(Profit::Markup { percent: percent() }, "2");
    assert_eq!(
        markup,
        (usd("1275.51"), usd("25.51"), usd("250.00"), Some(dec("0.196")))
    );
}

#[test]
fn subcontract_markup_goes_on_top_of_the_lines_of_other_firms() {
    let policy = Policy {
        subcontract_markup_percent: dec("10"),
        ..plain_policy()
    };
    let lines = vec![
        manual(BoughtKind::Subcontract, "services", "1", "1200"),
        manual(BoughtKind::Subcontract, "services", "1", "300.05"),
        manual(BoughtKind::Fee, "services", "1", "500"),
    ];
    let case = Case::by_hand(policy, lines);
    let priced = case.priced().unwrap();
    // 10 % of 1,500.05 is 150.005: 150.01, shared 120.00 and 30.01.
    assert_eq!(priced.totals.subcontract_markup, usd("150.01"));
    let prices: Vec<_> = priced.lines.iter().map(|line| line.price.text()).collect();
    assert_eq!(prices, ["1320.00", "330.06", "500.00"]);
    identities(&priced);
}

#[test]
fn a_fixed_price_changes_its_line_and_the_profit_and_nothing_else() {
    let policy = Policy {
        profit: Profit::Margin { percent: dec("20") },
        ..plain_policy()
    };
    let mut case = fees(policy, &["400", "400"]);
    let before = case.priced().unwrap();
    assert_eq!(
        (before.totals.price, before.totals.profit),
        (usd("1000.00"), usd("200.00"))
    );
    case.overrides = vec![change("manual:2", Replaced::Price(usd("450.00")))];
    let after = case.priced().unwrap();
    assert_eq!(line(&after, "manual:1").price, usd("500.00"));
    assert_eq!(line(&after, "manual:2").price, usd("450.00"));
    assert_eq!(
        (after.totals.profit, after.totals.price_changes),
        (usd("150.00"), usd("-50.00"))
    );
    assert_eq!(after.totals.warranty_reserve, usd("0.00"));
    identities(&after);
    let replaced = &serde_json::to_value(line(&after, "manual:2")).unwrap()["replaced"];
    let expected = json!([{
        "figure": "price",
        "computed": {"amount": "500.00", "currency": "USD"},
        "given": {"amount": "450.00", "currency": "USD"},
        "reason": "the office knows better",
    }]);
    assert_eq!(*replaced, expected);
}

#[test]
fn freight_is_fixed_or_a_percentage_and_only_where_goods_are_bought() {
    let freight = |freight: Freight, kind: BoughtKind| {
        let policy = Policy {
            freight,
            ..plain_policy()
        };
        let case = Case::by_hand(policy, vec![manual(kind, "goods", "3", "111.11")]);
        let priced = case.priced().unwrap();
        identities(&priced);
        priced.lines.iter().nth(1).map(|line| line.cost.text())
    };
    let fixed = || Freight::Fixed { amount: dec("145") };
    let percent = || Freight::Percent { percent: dec("2.5") };
    assert_eq!(freight(fixed(), BoughtKind::Material).as_deref(), Some("145.00"));
    assert_eq!(freight(percent(), BoughtKind::Material).as_deref(), Some("8.33"));
    assert_eq!(freight(fixed(), BoughtKind::Fee), None);
    assert_eq!(freight(percent(), BoughtKind::Subcontract), None);
}

#[test]
fn lines_of_the_policy_can_be_replaced_by_hand() {
    let policy = Policy {
        consumables_percent: dec("3"),
        ..plain_policy()
    };
    let mut case = Case::by_hand(policy, vec![manual(BoughtKind::Material, "goods", "1", "1000")]);
    case.overrides = vec![
        change("policy:freight", Replaced::UnitCost(dec("88.50"))),
        change("policy:consumables", Replaced::Price(usd("25.00"))),
    ];
    let priced = case.priced().unwrap();
    assert_eq!(line(&priced, "policy:freight").cost, usd("88.50"));
    let consumables = line(&priced, "policy:consumables");
    assert_eq!(
        (consumables.cost, consumables.price),
        (usd("30.00"), usd("25.00"))
    );
    identities(&priced);
    // Use tax is no line of a job whose customer pays the tax.
    case.overrides = vec![change("policy:use_tax", Replaced::UnitCost(dec("1")))];
    let fault = PricingFault::NoSuchLine {
        pointer: "/overrides/0/line".to_owned(),
        line: "policy:use_tax".to_owned(),
    };
    assert_eq!(case.priced().unwrap_err(), [fault]);
}

#[test]
fn half_even_where_the_policy_says_so() {
    let policy = Policy {
        rounding: Mode::HalfEven,
        ..plain_policy()
    };
    let case = Case::by_hand(
        policy,
        vec![manual(BoughtKind::Fee, "services", "0.335", "95.00")],
    );
    assert_eq!(case.priced().unwrap().totals.cost, usd("31.82"));
}

#[test]
fn a_currency_without_minor_units_is_counted_in_whole_units() {
    let yen = Currency::parse("JPY").unwrap();
    let mut policy = plain_policy();
    policy.schedule = instalments(&["33", "33", "34"]);
    let mut case = fees(plain_policy(), &["1000.5", "999.4"]);
    case.policy = CheckedPolicy::new(policy, yen).unwrap();
    let priced = case.priced().unwrap();
    identities(&priced);
    // 1,001 + 999 = 2,000; tax 6.25 % is 125; 33 % of 2,125 is 701.25.
    assert_eq!(
        (priced.totals.net, priced.totals.total),
        (yen.minor(2000), yen.minor(2125))
    );
    assert_eq!(paid(&priced), ["701", "701", "723"]);
}
