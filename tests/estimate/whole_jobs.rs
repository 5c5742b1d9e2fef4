//! Whole jobs of the demonstration through every stage.

use estimate::estimate::{Estimate, EstimateFault};
use estimate::job::Request;
use estimate::pricing::PricingFault;
use estimate::quantity::Money;
use rust_decimal::Decimal;
use serde_json::{Value, json};

use crate::demo::{Demo, job_files};

/// Every line of every job is one that an override may name.
#[test]
fn every_line_may_be_overridden() {
    let demo = Demo::load();
    for file in job_files() {
        let mut request = Demo::job(&file);
        let plain = demo.read(&request);
        let prices = demo.prices(&plain);
        let estimate = demo.estimate(&plain, &prices, false).unwrap();
        let all: Vec<Value> = estimate
            .priced
            .lines
            .iter()
            .map(|line| {
                json!({"line": line.bill.key.to_string(), "price": {"amount": line.price.text(), "currency": "USD"},
                       "reason": "kept as it is"})
            })
            .collect();
        request["overrides"] = json!(all);
        let kept = demo.read(&request);
        let again = demo.estimate(&kept, &prices, false).unwrap();
        assert_eq!(again.priced.totals.total, estimate.priced.totals.total, "{file}");
    }
}

/// The owner supplies the trim: a credit lowers cost, net and tax, and everything still adds up. Credits larger than
/// the job are refused.
#[test]
fn a_credit_by_hand_reconciles() {
    let demo = Demo::load();
    let with_credit = |unit_cost: &str| {
        let mut request = Demo::job("alderwick-closet.json");
        request["manual_lines"] = json!([{"kind": "material", "description": "Trim supplied by the owner",
            "quantity": {"value": "1", "unit": "each"}, "unit_cost": unit_cost, "cost_code": "FIN",
            "tax_category": "goods", "reason": "the owner has it already"}]);
        demo.read(&request)
    };
    let plain = demo.read(&Demo::job("alderwick-closet.json"));
    let prices = demo.prices(&plain);
    let before = demo.estimate(&plain, &prices, false).unwrap().priced.totals;
    let request = with_credit("-185.40");
    let after = demo.estimate(&request, &prices, false).unwrap();
    reconciles("credit", &after);
    let line = after
        .priced
        .lines
        .iter()
        .find(|line| line.bill.key.to_string() == "manual:1")
        .unwrap();
    assert!(
        line.cost.text() == "-185.40" && line.price.minor() < -18_540,
        "{} {}",
        line.cost,
        line.price
    );
    let totals = &after.priced.totals;
    assert!(totals.net.minor() < before.net.minor() - 18_540);
    let request = with_credit("-90000");
    let EstimateFault::Unfit { pricing, .. } = demo.estimate(&request, &prices, false).unwrap_err() else {
        panic!("the bill itself stands");
    };
    assert!(
        matches!(pricing[..], [PricingFault::NegativeCost { .. }]),
        "{pricing:?}"
    );
}

fn with_every_job(mut check: impl FnMut(&str, &Request, &Value)) {
    let demo = Demo::load();
    for file in job_files() {
        let request = demo.read(&Demo::job(&file));
        let prices = demo.prices(&request);
        let estimate = demo
            .estimate(&request, &prices, true)
            .unwrap_or_else(|fault| panic!("{file}: {fault:#?}"));
        check(&file, &request, &serde_json::to_value(&estimate).unwrap());
    }
}

/// The identities that hold in every estimate: lines to net, net and tax to total, instalments to total.
#[test]
fn every_job_reconciles_to_the_cent() {
    let demo = Demo::load();
    for file in job_files() {
        let request = demo.read(&Demo::job(&file));
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, false).unwrap();
        reconciles(&file, &estimate);
        let totals = &estimate.priced.totals;
        assert!(
            totals.total.minor() > 100_000,
            "{file} costs next to nothing: {}",
            totals.total
        );
    }
}

fn reconciles(file: &str, estimate: &Estimate<'_>) {
    let (priced, currency) = (&estimate.priced, estimate.currency);
    let totals = &priced.totals;
    let sum = |amounts: &mut dyn Iterator<Item = Money>| Money::sum(currency, amounts).unwrap();
    assert_eq!(
        sum(&mut priced.lines.iter().map(|l| l.price)),
        totals.price,
        "{file}"
    );
    assert_eq!(
        sum(&mut priced.lines.iter().map(|l| l.cost)),
        totals.cost,
        "{file}"
    );
    assert_eq!(totals.price.minus(totals.discount).unwrap(), totals.net, "{file}");
    assert_eq!(
        sum(&mut totals.taxes.iter().map(|t| t.amount)),
        totals.tax,
        "{file}"
    );
    assert_eq!(totals.net.plus(totals.tax).unwrap(), totals.total, "{file}");
    assert_eq!(
        sum(&mut priced.payment_schedule.iter().map(|p| p.amount)),
        totals.total,
        "{file}"
    );
    assert_eq!(
        priced.labour.iter().map(|l| l.hours).sum::<Decimal>(),
        totals.hours,
        "{file}"
    );
}

/// The hard job is as long a bill as promised.
#[test]
fn the_reference_job_has_eighty_lines_or_more() {
    let demo = Demo::load();
    let request = demo.read(&Demo::job("wickerlamp-restaurant.json"));
    let prices = demo.prices(&request);
    let lines = demo
        .estimate(&request, &prices, false)
        .unwrap()
        .priced
        .lines
        .len();
    assert!(lines >= 80, "{lines} lines");
}

#[test]
fn the_same_inputs_give_the_same_bytes() {
    let bytes = |explain| {
        let demo = Demo::load();
        let request = demo.read(&Demo::job("wickerlamp-restaurant.json"));
        let prices = demo.prices(&request);
        serde_json::to_vec(&demo.estimate(&request, &prices, explain).unwrap()).unwrap()
    };
    assert_eq!(bytes(false), bytes(false));
    assert_eq!(bytes(true), bytes(true));
}

/// Nothing that leaves the core is a binary float: every number in the answer is a whole one.
#[test]
fn figures_leave_as_text() {
    fn whole(value: &Value, at: &str) {
        match value {
            Value::Number(number) => assert!(number.is_i64() || number.is_u64(), "{at}: {number}"),
            Value::Array(entries) => entries
                .iter()
                .enumerate()
                .for_each(|(i, e)| whole(e, &format!("{at}/{i}"))),
            Value::Object(members) => members.iter().for_each(|(n, v)| whole(v, &format!("{at}/{n}"))),
            _ => {}
        }
    }
    with_every_job(|file, _, estimate| whole(estimate, file));
}
