//! Figures of a labour rate that nobody pays are told as slips. The limits are common practice, no source.

use super::rules_sample::decimal;
use estimate::catalogue::labour::{Burden, BurdenGroup, LabourRate, NonProductive};
use estimate::catalogue::labour_limits::{beyond_reason, suspicious_beside};
use estimate::quantity::Currency;

fn rate() -> LabourRate {
    LabourRate {
        valid_from: "2031-03-01".parse().unwrap(),
        wage: decimal("30"),
        paid_hours: decimal("2080"),
        burden: vec![
            Burden::Percent {
                name: "Payroll taxes".to_owned(),
                group: BurdenGroup::PayrollTax,
                percent: decimal("12"),
                on_first: None,
            },
            Burden::Yearly {
                name: "Health plan".to_owned(),
                group: BurdenGroup::Benefits,
                amount: decimal("10000"),
            },
        ],
        non_productive: vec![NonProductive {
            name: "Paid time off".to_owned(),
            hours: decimal("160"),
        }],
        source: "example".to_owned(),
    }
}

fn dollars() -> Currency {
    Currency::parse("USD").unwrap()
}

fn told(change: impl FnOnce(&mut LabourRate)) -> Vec<(String, String)> {
    let mut rate = rate();
    change(&mut rate);
    beyond_reason(&rate, dollars())
}

#[test]
fn each_absurd_figure_is_told_at_its_place() {
    assert_eq!(told(|_| {}), []);
    let one = |change: fn(&mut LabourRate), pointer: &str, words: &str| {
        let told = told(change);
        assert_eq!(told.len(), 1, "{told:?}");
        assert_eq!((told[0].0.as_str(), told[0].1.as_str()), (pointer, words));
    };
    one(
        |rate| rate.wage = decimal("3000"),
        "/wage",
        "is 3000 an hour; at most 1000 is taken",
    );
    one(
        |rate| rate.paid_hours = decimal("20800"),
        "/paid_hours",
        "is 20800; a year has at most 8784 hours",
    );
    one(
        |rate| {
            if let Burden::Percent { percent, .. } = &mut rate.burden[0] {
                *percent = decimal("1200");
            }
        },
        "/burden/0/percent",
        "is 1200 percent; at most 100 is taken",
    );
    one(
        |rate| {
            if let Burden::Yearly { amount, .. } = &mut rate.burden[1] {
                *amount = decimal("1000000");
            }
        },
        "/burden/1/amount",
        "is 1000000 a year; at most 2 times the wage of the year is taken, which is 124800",
    );
    one(
        |rate| rate.non_productive[0].hours = decimal("1900"),
        "/burden",
        "brings an hour worked to 443.82, more than 5 times the wage: look at the burden and at the hours that nobody \
         works",
    );
    one(
        |rate| rate.source = " ".to_owned(),
        "/source",
        "is needed: where the figures come from",
    );
    one(
        |rate| rate.non_productive[0].name.clear(),
        "/non_productive/0/name",
        "is needed: what the hours are for",
    );
}

#[test]
fn a_currency_without_cents_has_larger_wages() {
    let mut rate = rate();
    rate.wage = decimal("4000");
    rate.burden.clear();
    assert_eq!(beyond_reason(&rate, Currency::parse("JPY").unwrap()), []);
    assert_eq!(beyond_reason(&rate, dollars()).len(), 1);
}

#[test]
fn a_rate_far_from_the_one_before_is_suspicious() {
    let (before, mut after) = (rate(), rate());
    assert_eq!(suspicious_beside(&after, &before), None);
    after.wage = decimal("300");
    assert!(
        suspicious_beside(&after, &before)
            .unwrap()
            .contains("a factor of 5 or more")
    );
    assert!(suspicious_beside(&before, &after).is_some());
}
