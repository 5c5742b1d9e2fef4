//! Pricing at its edges: credits, nothing to price, what is refused, what is told.

use estimate::job::{BoughtKind, Discount, Replaced};
use estimate::pricing::policy::{ApprovalLimits, Freight, Policy, Profit};
use estimate::pricing::{CheckedPolicy, PricingFault};
use estimate::quantity::unit::Unit;
use estimate::quantity::{Currency, Decimal};
use estimate::rules::outcome::Level;

use crate::bill_case::{
    Case, catalogue, change, checked, dec, from, item, manual, manual_hours, need, outcome, plain_policy, usd,
};
use crate::pricing::{fees, identities, instalments};

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
        [PricingFault::NegativeCost {
            pointer: Some("/manual_lines/0/unit_cost".to_owned()),
            cost: usd("-100.00")
        }]
    );
    case.manual = vec![manual(BoughtKind::Fee, "goods", "1", "100")];
    case.overrides = vec![change("manual:1", Replaced::Price(usd("-1.00")))];
    assert_eq!(
        case.priced().unwrap_err(),
        [PricingFault::NegativePrice {
            pointer: Some("/overrides/0/price".to_owned()),
            price: usd("-1.00")
        }]
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
        "the amount must be in USD",
        "line manual:2 is of tax category luxury, which the policy does not know",
        "the amount must be in USD",
        "the amount must be in USD",
    ];
    assert_eq!(told, expected);
    let mut case = fees(plain_policy(), &["100"]);
    for (discount, pointer) in [
        (Discount::Amount(usd("100.01")), "/discount/amount"),
        (Discount::Percent(dec("-1")), "/discount/percent"),
    ] {
        case.terms.discount = Some(discount);
        assert_eq!(
            case.priced().unwrap_err()[0].of_request().unwrap().pointer,
            pointer
        );
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
    let case = Case::by_hand(plain_policy(), vec![manual_hours("lead", "999999999999999")]);
    let told: Vec<_> = case
        .priced()
        .unwrap_err()
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(told, ["hours of lead: the amount is too large"]);
}

/// What a person gives is at most what any job could be, by line and in all; the fault names the largest figure.
#[test]
fn amounts_beyond_any_job_are_told_with_their_place() {
    let told = |case: &Case| -> Vec<(String, String)> {
        let faults = case.priced().unwrap_err();
        let faults = faults.iter().map(|fault| fault.of_request().unwrap());
        faults.map(|fault| (fault.pointer, fault.message)).collect()
    };
    let at_most = fees(plain_policy(), &["1000000000.00"]);
    assert!(at_most.priced().is_ok());
    let line = |number: usize, cost: &str| {
        (
            format!("/manual_lines/{}/unit_cost", number - 1),
            format!(
                "the cost of line manual:{number} comes to {cost} USD; at most 1000000000.00 USD is taken"
            ),
        )
    };
    let over = fees(plain_policy(), &["1000000000.01", "5", "-1000000000.01"]);
    let wanted = [line(1, "1000000000.01"), line(3, "-1000000000.01")];
    assert_eq!(told(&over), wanted);
    let many = fees(plain_policy(), &["1000000000"; 11]);
    let whole = "the cost of the job, line manual:11 its largest, comes to 11000000000.00 USD; at most 10000000000.00 USD is taken";
    let [(pointer, message)] = &told(&many)[..] else {
        panic!("one fault is told")
    };
    assert!(
        pointer.ends_with("/unit_cost") && message == whole,
        "{pointer} {message}"
    );
    let mut dear = fees(plain_policy(), &["5"; 11]);
    let high = usd("1000000000.00");
    dear.overrides = (1..=11)
        .map(|line| change(&format!("manual:{line}"), Replaced::Price(high)))
        .collect();
    let [(pointer, message)] = &told(&dear)[..] else {
        panic!("one fault is told")
    };
    assert!(
        pointer.ends_with("/price")
            && message
                .starts_with("the price of the job, line manual:11 its largest, comes to 11000000000.00 USD")
    );
    // Where the largest is no figure by hand, none of those is blamed.
    let mut policy = plain_policy();
    policy.freight = Freight::Fixed {
        amount: dec("11000000000"),
    };
    let ruled = Case::by_hand(policy, vec![manual(BoughtKind::Material, "goods", "1", "5")]);
    let faults = ruled.priced().unwrap_err();
    let told = "the cost of the job, line policy:freight its largest, comes to 11000000005.00 USD; at most 10000000000.00 USD is taken";
    assert!(
        faults
            .iter()
            .all(|fault| fault.of_request().is_none() && fault.to_string() == told),
        "{faults:?}"
    );
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

#[test]
fn a_net_below_direct_cost_stops_and_a_discount_over_its_limit_needs_approval() {
    let policy = Policy {
        profit: Profit::Margin { percent: dec("20") },
        approval: Some(ApprovalLimits {
            price_over: Some(dec("1200")),
            margin_under_percent: Some(dec("15")),
            discount_over_percent: Some(dec("10")),
        }),
        ..plain_policy()
    };
    // Cost 800, price 1,000: net, profit and codes by discount in percent.
    let rows: [(&str, &str, &str, &[&str]); 5] = [
        ("5", "950.00", "150.00", &[]),
        ("10", "900.00", "100.00", &["approval_needed"]),
        ("20", "800.00", "0.00", &["approval_needed"]),
        ("30", "700.00", "-100.00", &["below_cost", "approval_needed"]),
        ("100", "0.00", "-800.00", &["below_cost", "approval_needed"]),
    ];
    for (percent, net, profit, codes) in rows {
        let mut case = fees(policy.clone(), &["800"]);
        case.terms.discount = Some(Discount::Percent(dec(percent)));
        let priced = case.priced().unwrap();
        identities(&priced);
        assert_eq!(
            (priced.totals.net, priced.totals.profit),
            (usd(net), usd(profit)),
            "{percent}"
        );
        let told: Vec<_> = priced.cautions.iter().map(|caution| caution.code).collect();
        assert_eq!(told, codes, "{percent}");
        for caution in &priced.cautions {
            assert_eq!(caution.level == Level::Stop, caution.code == "below_cost");
        }
    }
    let over = fees(policy, &["1000"]);
    let told = over.priced().unwrap().cautions[0].message.clone();
    assert_eq!(
        told,
        "another person must approve this offer: the net price of 1250.00 USD is over 1200"
    );
}

#[test]
fn an_unknown_tax_category_of_a_manual_line_is_a_fault_of_the_request() {
    let lines = vec![
        manual(BoughtKind::Fee, "goods", "1", "1"),
        manual(BoughtKind::Fee, "zzz", "1", "1"),
    ];
    let faults = Case::by_hand(plain_policy(), lines).priced().unwrap_err();
    let places: Vec<_> = faults
        .iter()
        .map(|fault| fault.of_request().unwrap().pointer)
        .collect();
    assert_eq!(places, ["/manual_lines/1/tax_category"]);
}
