//! Whole jobs of the demonstration through every stage.

use estimate::job::Request;
use estimate::quantity::Money;
use rust_decimal::Decimal;
use serde_json::Value;

use crate::demo::{Demo, job_files};

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
        assert!(
            totals.total.minor() > 100_000,
            "{file} costs next to nothing: {}",
            totals.total
        );
    }
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

/// Every line of the rulebook's making says its formula, and what went in.
#[test]
fn every_line_explains_itself() {
    with_every_job(|file, _, estimate| {
        for line in estimate["lines"].as_array().unwrap() {
            let key = line["key"].as_str().unwrap();
            if key.starts_with("policy:") || key.starts_with("manual:") || key.starts_with("allowance:") {
                continue;
            }
            let formulas = line["explanation"]
                .as_array()
                .unwrap_or_else(|| panic!("{file} {key}"));
            assert!(!formulas.is_empty(), "{file} {key}");
            for formula in formulas {
                assert!(
                    formula["formula"].as_str().is_some_and(|text| !text.is_empty()),
                    "{file} {key}"
                );
                assert!(!formula["result"].is_null(), "{file} {key}");
            }
        }
    });
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
