//! Discount, tax treatments and the payment schedule.

use estimate::job::{BoughtKind, Discount};
use estimate::pricing::Terms;
use estimate::pricing::policy::{DepositLimit, Policy, TaxTreatment};

use crate::bill_case::{Case, dec, manual, manual_hours, plain_policy, usd};
use crate::pricing::{fees, identities, instalments, paid};

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
