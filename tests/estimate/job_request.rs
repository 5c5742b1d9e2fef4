//! Estimate requests: a job spec and what is asked of its pricing.

use estimate::job::{BoughtKind, Discount, ManualWork, Replaced, Request};
use estimate::quantity::decimal::{QUANTITY_SCALE, parse};
use estimate::quantity::{Currency, Quantity, unit::Unit};
use serde_json::{Value, json};

use crate::job_samples::{code, faults_of, form, rules, sample};

fn request() -> Value {
    json!({
        "job": sample("medium"),
        "priced_on": "2031-03-04",
        "rulebook": "hollowmoor-standard",
        "policy": "household",
        "discount": {"percent": "2.5"},
        "manual_lines": [
            {"kind": "material", "code": "RACK-TIE", "description": "Rack ties", "quantity": {"value": 12, "unit": "each"},
             "unit_cost": "0.125", "cost_code": "3100", "tax_category": "goods", "reason": "racks must be tied back"},
            {"kind": "labour", "description": "Move racks", "hours": {"value": "90", "unit": "min"},
             "labour_class": "apprentice", "cost_code": "2100", "tax_category": "labour", "reason": "asked for on site"},
            {"kind": "fee", "description": "Parking permit", "quantity": {"value": "2", "unit": "day"},
             "unit_cost": 18.5, "cost_code": "5100", "tax_category": "fees", "reason": "street parking"}
        ],
        "overrides": [
            {"line": "material:CABLE-15", "quantity": {"value": "2", "unit": "each"}, "reason": "one spare"},
            {"line": "material:CABLE-15", "unit_cost": "31.255", "reason": "supplier's offer of today"},
            {"line": "labour:HANG/hang_unit", "hours": {"value": "6", "unit": "h"}, "reason": "tight stair"},
            {"line": "fee:PERMIT/1", "price": {"amount": "180.00", "currency": "USD"}, "reason": "told by the permit office"}
        ]
    })
}

#[test]
fn a_request_is_understood() {
    let read = form().read_request(&request(), &rules()).expect("no faults");
    let decimal = |text: &str| parse(text, QUANTITY_SCALE).expect("a decimal");
    assert_eq!(
        read.priced_on.map(|day| day.to_string()).as_deref(),
        Some("2031-03-04")
    );
    assert_eq!(read.rulebook.as_deref(), Request::named_rulebook(&request()));
    assert_eq!(read.discount, Some(Discount::Percent(decimal("2.5"))));
    assert_eq!(
        read.manual_lines[0].work,
        ManualWork::Bought {
            kind: BoughtKind::Material,
            quantity: Quantity {
                value: decimal("12"),
                unit: Unit::EACH
            },
            unit_cost: decimal("0.125"),
        }
    );
    assert!(
        matches!(&read.manual_lines[1].work, ManualWork::Labour { hours, class }
        if hours.value() == decimal("1.5") && class == "apprentice")
    );
    assert!(matches!(read.overrides[1].replaced, Replaced::UnitCost(cost) if cost == decimal("31.255")));
    let usd = Currency::parse("USD").expect("a currency");
    assert_eq!(read.overrides[3].replaced, Replaced::Price(usd.minor(18_000)));
    assert_eq!(read.job.assumptions.len(), 1);
    assert_eq!(read.tree["job"], read.job.tree);
    assert_eq!(
        form().read_request(&read.tree, &rules()).expect("no faults"),
        read
    );
}

#[test]
fn a_job_alone_is_a_request() {
    let read = form()
        .read_request(&json!({"job": sample("simple")}), &rules())
        .expect("no faults");
    assert!(read.priced_on.is_none() && read.discount.is_none());
    assert!(read.manual_lines.is_empty() && read.overrides.is_empty());
    assert_eq!(read.tree["overrides"], json!([]));
}

#[test]
fn faults_of_request_and_job_are_told_together() {
    let mut request = request();
    request["priced_on"] = json!("2031-02-29");
    request["rulebook"] = json!("no spaces please");
    request["discount"] = json!({"percent": "2", "amount": {"amount": "10.00", "currency": "USD"}});
    request["manual_lines"][0]["hours"] = json!({"value": 1, "unit": "h"});
    request["manual_lines"][1]["hours"] = json!(null);
    request["manual_lines"][2]["unit_cost"] = json!("0.1234567");
    request["overrides"][0]["quantity"] = json!({"value": "-1", "unit": "each"});
    request["overrides"][1] =
        json!({"line": "labour:HANG/hang_unit", "hours": {"value": "7", "unit": "h"}, "reason": "slower"});
    request["overrides"][3]["price"] = json!({"amount": "180.005", "currency": "USD"});
    request["job"]["unit"]["mounting"] = json!("hung");
    request["job"]["basis"][0]["answer"] = json!("/electrical/panel");
    request["priced"] = json!("today");
    let faults = faults_of(form().read_request(&request, &rules()));
    let mut told: Vec<(String, String)> = faults.iter().map(|f| (f.pointer.clone(), code(f))).collect();
    told.sort();
    let mut wanted = [
        ("/priced_on", "bad_date"),
        ("/rulebook", "bad_text"),
        ("/discount", "contradiction"),
        ("/manual_lines/0/hours", "contradiction"),
        ("/manual_lines/1/hours", "wrong_type"),
        ("/manual_lines/2/unit_cost", "too_many_digits"),
        ("/overrides/0/quantity", "out_of_bounds"),
        ("/overrides/2", "contradiction"),
        ("/overrides/3/price/amount", "bad_money"),
        ("/job/unit/mounting", "unknown_word"),
        ("/job/electrical/panel_length", "missing"),
        ("/job/basis/0/answer", "not_an_answer"),
        ("/priced", "unknown_field"),
    ]
    .map(|(pointer, code)| (pointer.to_owned(), code.to_owned()));
    wanted.sort();
    assert_eq!(told, wanted, "{faults:#?}");
}

#[test]
fn what_is_needed_in_a_request_cannot_be_unknown() {
    let faults = faults_of(form().read_request(&json!({"overrides": [{"reason": "why not"}]}), &rules()));
    let told: Vec<(&str, String)> = faults.iter().map(|f| (f.pointer.as_str(), code(f))).collect();
    assert_eq!(
        told,
        [
            ("/job", "missing".to_owned()),
            ("/overrides/0/line", "missing".to_owned()),
            ("/overrides/0", "contradiction".to_owned()),
        ]
    );
    assert!(
        faults.iter().all(|fault| !fault.message.contains("basis")),
        "{faults:#?}"
    );
}
