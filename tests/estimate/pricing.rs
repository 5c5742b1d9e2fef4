//! Pricing: the build-up, rounding of hours, changes by hand, discount, tax treatments, schedule, faults.

use estimate::bill::LineKey;
use estimate::job::{BoughtKind, Discount, Replaced};
use estimate::pricing::policy::{
    DepositLimit, Freight, HoursTowards, Instalment, Policy, Profit, TaxTreatment,
};
use estimate::pricing::{CheckedPolicy, Line, Priced, PricingFault, Terms};
use estimate::quantity::rounding::Mode;
use estimate::quantity::unit::Unit;
use estimate::quantity::{Currency, Decimal, Money};
use estimate::rules::outcome::AmountKind;
use serde_json::{Value, json};

use crate::bill_case::{
    Case, catalogue, change, charge, checked, class, dec, from, item, manual, manual_hours, need, outcome,
    plain_policy, usd, work,
};

fn line<'p, 'a>(priced: &'p Priced<'a>, key: &str) -> &'p Line<'a> {
    priced
        .lines
        .iter()
        .find(|line| line.bill.key.to_string() == key)
        .unwrap()
}

fn instalments(shares: &[&str]) -> Vec<Instalment> {
    let part = |share: &&str| Instalment {
        label: format!("{share} percent"),
        share: dec(share),
    };
    shares.iter().map(part).collect()
}

fn paid(priced: &Priced<'_>) -> Vec<String> {
    priced
        .payment_schedule
        .iter()
        .map(|part| part.amount.text())
        .collect()
}

fn fees(policy: Policy, amounts: &[&str]) -> Case {
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
    let earned = plus(totals.subcontract_markup, totals.profit);
    assert_eq!(
        plus(plus(full_cost, totals.warranty_reserve), earned),
        totals.price
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
    assert_eq!(after.lines[0].price, usd("500.00"));
    assert_eq!(after.lines[1].price, usd("450.00"));
    assert_eq!(
        (after.totals.profit, after.totals.price_changes),
        (usd("150.00"), usd("-50.00"))
    );
    assert_eq!(after.totals.warranty_reserve, usd("0.00"));
    identities(&after);
    let replaced = &serde_json::to_value(&after.lines[1]).unwrap()["replaced"];
    let expected = json!([{
        "figure": "price",
        "computed": {"amount": "500.00", "currency": "USD"},
        "given": {"amount": "450.00", "currency": "USD"},
        "reason": "the office knows better",
    }]);
    assert_eq!(*replaced, expected);
}

#[test]
fn a_discount_is_shared_over_the_lines_to_the_cent() {
    let mut case = fees(plain_policy(), &["33.33", "33.33", "33.34"]);
    case.terms.discount = Some(Discount::Amount(usd("10.00")));
    let priced = case.priced().unwrap();
    let shares: Vec<_> = priced.lines.iter().map(|line| line.discount.text()).collect();
    // 3.333, 3.333, 3.334: the cent that is left goes to the largest remainder.
    assert_eq!(shares, ["3.33", "3.33", "3.34"]);
    identities(&priced);
    case.terms.discount = Some(Discount::Percent(dec("2.5")));
    let priced = case.priced().unwrap();
    assert_eq!(
        (priced.totals.discount, priced.totals.net),
        (usd("2.50"), usd("97.50"))
    );
    // 97.50 at 6.25 % is 6.09375.
    assert_eq!(priced.totals.tax, usd("6.09"));
    identities(&priced);
    case.terms.discount = Some(Discount::Percent(dec("100")));
    let free = case.priced().unwrap();
    assert_eq!((free.totals.total, free.totals.margin), (usd("0.00"), None));
    identities(&free);
}

#[test]
fn tax_is_charged_borne_or_exempt() {
    let goods_and_work = || {
        vec![
            manual(BoughtKind::Material, "goods", "1", "1000"),
            manual_hours("lead", "10"),
        ]
    };
    let priced_under = |treatment| {
        let mut case = Case::by_hand(plain_policy(), goods_and_work());
        case.terms = Terms {
            treatment: Some(treatment),
            discount: None,
        };
        let priced = case.priced().unwrap();
        identities(&priced);
        let taxes = priced.totals.taxes.iter();
        let taxes: Vec<_> = taxes
            .map(|tax| {
                format!(
                    "{} {} {} on {}: {}",
                    tax.category,
                    tax.uncl5305,
                    tax.rate,
                    tax.base.text(),
                    tax.amount.text()
                )
            })
            .collect();
        (taxes, priced.totals.cost, priced.totals.total)
    };
    let (taxes, cost, total) = priced_under(TaxTreatment::TaxOnSale);
    assert_eq!(
        taxes,
        ["goods S 6.25 on 1000.00: 62.50", "services E 0 on 500.00: 0.00"]
    );
    assert_eq!((cost, total), (usd("1500.00"), usd("1562.50")));
    let (taxes, cost, total) = priced_under(TaxTreatment::ContractorPays);
    assert_eq!(
        taxes,
        ["goods O 0 on 1062.50: 0.00", "services O 0 on 500.00: 0.00"]
    );
    assert_eq!((cost, total), (usd("1562.50"), usd("1562.50")));
    let (taxes, cost, total) = priced_under(TaxTreatment::Exempt);
    assert_eq!(
        taxes,
        ["goods E 0 on 1000.00: 0.00", "services E 0 on 500.00: 0.00"]
    );
    assert_eq!((cost, total), (usd("1500.00"), usd("1500.00")));
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
        priced.lines.get(1).map(|line| line.cost.text())
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
fn the_deposit_keeps_within_its_limit() {
    let schedule = |limit: Option<(&str, &str)>, shares: &[&str], total: &str| {
        let limit = limit.map(|(percent, amount)| DepositLimit {
            percent: dec(percent),
            amount: dec(amount),
        });
        let mut policy = Policy {
            schedule: instalments(shares),
            deposit_limit: limit,
            ..plain_policy()
        };
        policy.tax.treatment = TaxTreatment::Exempt;
        let case = fees(policy, &[total]);
        let priced = case.priced().unwrap();
        identities(&priced);
        let cut = priced.cautions.iter().any(|caution| caution.code == "deposit");
        (paid(&priced), cut)
    };
    let amounts = |list: &[&str]| list.iter().map(|amount| (*amount).to_owned()).collect::<Vec<_>>();
    // The lesser of 10 % and 1,000.00 (from memory: California, home improvement).
    let limit = Some(("10", "1000"));
    assert_eq!(
        schedule(limit, &["40", "40", "20"], "9000"),
        (amounts(&["900.00", "6300.00", "1800.00"]), true)
    );
    assert_eq!(
        schedule(limit, &["40", "40", "20"], "20000"),
        (amounts(&["1000.00", "15000.00", "4000.00"]), true)
    );
    assert_eq!(
        schedule(limit, &["10", "90"], "9000"),
        (amounts(&["900.00", "8100.00"]), false)
    );
    // The limit is rounded down: 10 % of 100.19 is 10.01, not 10.02.
    assert_eq!(
        schedule(limit, &["50", "50"], "100.19"),
        (amounts(&["10.01", "90.18"]), true)
    );
    // One payment for everything is no deposit.
    assert_eq!(schedule(limit, &["100"], "9000"), (amounts(&["9000.00"]), false));
    // A total of two cents in four parts: no part takes more than is left.
    assert_eq!(
        schedule(None, &["25", "25", "25", "25"], "0.02"),
        (amounts(&["0.01", "0.01", "0.00", "0.00"]), false)
    );
}

#[test]
fn credits_lower_the_price_and_may_not_outweigh_the_job() {
    let mut case = fees(
        Policy {
            profit: Profit::Margin { percent: dec("20") },
            ..plain_policy()
        },
        &["500", "-100"],
    );
    let priced = case.priced().unwrap();
    let prices: Vec<_> = priced.lines.iter().map(|line| line.price.text()).collect();
    assert_eq!(prices, ["625.00", "-125.00"]);
    identities(&priced);
    case.manual = vec![manual(BoughtKind::Fee, "goods", "1", "-100")];
    assert_eq!(
        case.priced().unwrap_err(),
        [PricingFault::NegativeCost { cost: usd("-100.00") }]
    );
    case.manual = vec![manual(BoughtKind::Fee, "goods", "1", "100")];
    case.overrides = vec![change("manual:1", Replaced::Price(usd("-1.00")))];
    assert_eq!(
        case.priced().unwrap_err(),
        [PricingFault::NegativePrice { price: usd("-1.00") }]
    );
}

#[test]
fn a_job_of_nothing_comes_to_nothing() {
    let case = fees(plain_policy(), &[]);
    let priced = case.priced().unwrap();
    identities(&priced);
    assert!(priced.lines.is_empty() && priced.totals.total.is_zero() && priced.totals.taxes.is_empty());
    // Credits that cancel the cost: nothing to sell, nothing to share.
    let priced_to_nothing = fees(plain_policy(), &["80", "-80"]);
    let priced = priced_to_nothing.priced().unwrap();
    identities(&priced);
    assert!(priced.totals.total.is_zero());
}

#[test]
fn what_does_not_fit_the_policy_is_told_with_its_place() {
    let mut case = fees(plain_policy(), &["100", "5"]);
    case.manual[1].tax_category = "luxury".to_owned();
    let euro = Currency::parse("EUR").unwrap().amount("9.00").unwrap();
    case.overrides = vec![
        change("manual:1", Replaced::Price(euro)),
        change("policy:freight", Replaced::Price(euro)),
    ];
    case.terms.discount = Some(Discount::Amount(euro));
    let faults = case.priced().unwrap_err();
    let told: Vec<_> = faults.iter().map(ToString::to_string).collect();
    let expected = [
        "/overrides/0/price: the amount must be in USD",
        "line manual:2 is of tax category luxury, which the policy does not know",
        "/overrides/1/price: the amount must be in USD",
        "/discount/amount: the amount must be in USD",
    ];
    assert_eq!(told, expected);
    let mut case = fees(plain_policy(), &["100"]);
    for (discount, pointer) in [
        (Discount::Amount(usd("100.01")), "/discount/amount"),
        (Discount::Percent(dec("-1")), "/discount/percent"),
    ] {
        case.terms.discount = Some(discount);
        assert_eq!(case.priced().unwrap_err()[0].pointer(), Some(pointer));
    }
}

#[test]
fn amounts_that_cannot_be_counted_are_refused_by_name() {
    let huge = || manual(BoughtKind::Fee, "goods", "999999999999999", "999999999999999");
    let case = Case::by_hand(
        plain_policy(),
        vec![huge(), manual(BoughtKind::Fee, "goods", "1", "1"), huge()],
    );
    let told: Vec<_> = case
        .priced()
        .unwrap_err()
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        told,
        [
            "manual:1: the amount is too large",
            "manual:3: the amount is too large"
        ]
    );
    let case = fees(plain_policy(), &["90000000000000000", "90000000000000000"]);
    let told: Vec<_> = case
        .priced()
        .unwrap_err()
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(told, ["cost: the amount is too large"]);
    let case = Case::by_hand(plain_policy(), vec![manual_hours("lead", "999999999999999")]);
    let told: Vec<_> = case
        .priced()
        .unwrap_err()
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(told, ["hours of lead: the amount is too large"]);
}

#[test]
fn a_faulty_policy_is_refused_with_every_fault() {
    let mut policy = plain_policy();
    policy.hours.step = Decimal::ZERO;
    policy.contingency_percent = dec("-4");
    policy.profit = Profit::Margin { percent: dec("60") };
    policy.warranty_reserve_percent = dec("40");
    policy.schedule = instalments(&["40", "40", "10"]);
    policy.freight = Freight::Fixed { amount: dec("1.005") };
    policy.tax.categories[1].percent = dec("5");
    let mut again = policy.tax.categories[0].clone();
    again.uncl5305 = "Q".to_owned();
    policy.tax.categories.push(again);
    policy.lines.use_tax.tax_category = "levy".to_owned();
    let faults = CheckedPolicy::new(policy, Currency::parse("USD").unwrap()).unwrap_err();
    let told: Vec<_> = faults.iter().map(ToString::to_string).collect();
    let expected = [
        "/contingency_percent is -4, and must be from 0 to 100 percent with at most 8 decimals",
        "/tax/categories/1/percent must be a rate of zero for E",
        "/tax/categories/2/code goods is there twice",
        "/tax/categories/2/uncl5305 must be S, Z, E or O",
        "/lines/use_tax/tax_category levy is not a tax category of this policy",
        "/freight/amount must not be negative and may have at most 2 decimals",
        "/schedule adds up to 90 and not to 100 percent",
        "/hours/step must be more than zero",
        "/profit/percent with the warranty reserve leaves nothing of the price for the cost",
    ];
    assert_eq!(told, expected);
}

#[test]
fn old_prices_and_a_thin_margin_are_cautions() {
    let mut asked = outcome();
    asked.needs = vec![
        need(from(0, 1), "INS", "12", "0"),
        need(from(0, 2), "PAD", "1", "0"),
    ];
    let mut pad = item("PAD", Unit::EACH, &[("1", "45")]);
    pad.packs[0].prices[0].valid_from = "2030-11-02".parse().unwrap();
    let items = vec![item("INS", Unit::FT, &[("6", "4.80")]), pad];
    let mut case = Case::new(catalogue(items, Vec::new()), asked);
    let mut policy = Policy {
        least_margin_percent: dec("25"),
        ..plain_policy()
    };
    policy.profit = Profit::Margin { percent: dec("20") };
    case.policy = checked(policy);
    let priced = case.priced().unwrap();
    let told: Vec<_> = priced
        .cautions
        .iter()
        .map(|caution| (caution.code, caution.message.as_str()))
        .collect();
    let expected = [
        (
            "price_age",
            "1 price is more than 60 days old; the oldest is of material:PAD, 91 days",
        ),
        (
            "margin",
            "direct cost leaves 20 % of the net price; the policy asks for 25 % or more",
        ),
    ];
    assert_eq!(told, expected);
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

#[test]
fn a_priced_bill_as_json() {
    let mut asked = outcome();
    asked.needs = vec![need(from(0, 1), "INS", "43", "0.05")];
    let mut hang = work(from(0, 2), "hang_unit", "lead", "2");
    hang.crew = dec("2");
    hang.line.note = Some("two persons");
    asked.labour = vec![hang];
    asked.amounts = vec![charge(from(2, 1), AmountKind::Fee, "services", "165")];
    let items = vec![item("INS", Unit::FT, &[("6", "4.805")])];
    let case = Case::new(catalogue(items, vec![class("lead", "50.00")]), asked);
    let priced = case.priced().unwrap();
    let wire: Value = serde_json::to_value(&priced).unwrap();
    let money = |amount: &str| json!({"amount": amount, "currency": "USD"});
    let ft = |value: &str| json!({"value": value, "unit": "ft"});
    let h = |value: &str| json!({"value": value, "unit": "h"});
    let insulation = json!({
        "position": 1, "key": "material:INS", "section": "Unit", "assembly": "A0", "assembly_title": "assembly",
        "kind": "material", "code": "INS", "description": "item INS", "group": "material",
        "quantity": ft("43"), "waste": ft("2.15"),
        "shares": [{"assembly": "A0", "line": 1, "quantity": ft("43"), "waste": ft("2.15"), "one_piece": false}],
        "bought": {
            "packs": [{"size": ft("6"), "name": "pack", "count": 8, "unit_cost": money("4.805")}],
            "total": ft("48"), "left_over": ft("2.85"),
        },
        "supplier": "Fenwold Supply", "lead_days": 2,
        "unit_cost": money("0.800833"), "cost": money("38.44"), "price": money("38.44"), "discount": money("0.00"),
        "tax_category": "goods", "cost_code": "MAT",
        "price_source": {"valid_from": "2031-01-10", "age_days": 22, "source": "list of January"},
    });
    assert_eq!(wire["lines"][0], insulation);
    let hang = json!({
        "position": 2, "key": "labour:A0/hang_unit", "section": "Unit", "assembly": "A0", "assembly_title": "assembly",
        "kind": "labour", "code": "hang_unit", "description": "hang_unit", "labour_class": "lead",
        "hours": h("4"), "clock_hours": h("2"), "crew": "2", "factors": [], "factors_capped": false,
        "unit_cost": money("50.00"), "cost": money("200.00"), "price": money("200.00"), "discount": money("0.00"),
        "tax_category": "services", "cost_code": "LAB",
        "price_source": {"valid_from": "2031-01-01", "age_days": 31, "source": "payroll"},
        "note": "two persons",
    });
    assert_eq!(wire["lines"][1], hang);
    let totals = json!({
        "cost": money("403.44"), "contingency": money("0.00"), "overhead": money("0.00"), "full_cost": money("403.44"),
        "warranty_reserve": money("0.00"), "subcontract_markup": money("0.00"), "profit": money("0.00"),
        "price_changes": money("0.00"), "price": money("403.44"), "discount": money("0.00"), "net": money("403.44"),
        "taxes": [
            {"category": "goods", "title": "goods", "uncl5305": "S", "rate": "6.25", "base": money("38.44"), "amount": money("2.40")},
            {"category": "services", "title": "services", "uncl5305": "E", "rate": "0", "base": money("365.00"), "amount": money("0.00")},
        ],
        "tax": money("2.40"), "total": money("405.84"), "hours": h("4"), "margin": "0", "profit_margin": "0",
    });
    assert_eq!(wire["totals"], totals);
    let labour = json!([{
        "labour_class": "lead", "rate": money("50.00"), "line_hours": h("4"), "hours": h("4"),
        "cost": money("200.00"), "price": money("200.00"),
    }]);
    assert_eq!(wire["labour"], labour);
    let schedule = json!([{"label": "when done", "share": "100", "amount": money("405.84")}]);
    assert_eq!(wire["payment_schedule"], schedule);
    assert_eq!(
        priced.lines[2].bill.key,
        LineKey::Fee {
            assembly: "A2",
            number: 1
        }
    );
}

#[test]
fn the_demo_policies_stand() {
    #[derive(serde::Deserialize)]
    struct File {
        policy: Vec<Policy>,
    }
    let file: File = toml::from_str(include_str!("../../seed-data/policy.toml")).unwrap();
    for policy in file.policy {
        let id = policy.id.clone();
        let faults = CheckedPolicy::new(policy, Currency::parse("USD").unwrap()).err();
        assert_eq!(faults, None, "{id}");
    }
}
