//! Estimate requests: a job spec and what is asked of its pricing.

use estimate::handoff::answers;
use estimate::job::{BoughtKind, Discount, ManualWork, Names, Replaced, Request, RequestReader};
use estimate::pricing::CheckedPolicy;
use estimate::quantity::decimal::{QUANTITY_SCALE, parse};
use estimate::quantity::{Currency, Quantity, unit::Unit};
use estimate::workbook::Workbook;
use serde_json::{Value, json};

use crate::demo::Demo;
use crate::job_samples::{code, faults_of, form, kept, read_request, rules, sample};

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
    let read = read_request(&request(), Names::default()).expect("no faults");
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
    let again = read_request(&read.tree, Names::default()).expect("no faults");
    let kept = |read: Request| Request {
        job: kept(read.job),
        ..read
    };
    assert_eq!(kept(again), kept(read));
}

#[test]
fn a_job_alone_is_a_request() {
    let read = read_request(&json!({"job": sample("simple")}), Names::default()).expect("no faults");
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
    let faults = faults_of(read_request(&request, Names::default()));
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

/// What may be named is judged beside every other fault, and the likely name is told.
#[test]
fn names_that_nothing_has_are_told_with_the_likely_one() {
    let texts = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    let classes = texts(&["apprentice", "lead"]);
    let categories = texts(&["goods", "labour", "fees"]);
    let (codes, of_policy) = (texts(&["2100", "3100"]), texts(&["5100"]));
    let items = [("CABLE-15".to_owned(), Unit::FT), ("RACK".to_owned(), Unit::EACH)];
    let lines = texts(&["fee:PERMIT/1", "labour:HANG/hang_unit", "material:CABLE-15"]);
    let names = Names {
        labour_classes: Some(&classes),
        tax_categories: Some(&categories),
        cost_codes: Some([&codes, &of_policy]),
        items: Some(&items),
        lines: Some(&lines),
        currency: Some(Currency::parse("USD").expect("a currency")),
    };
    read_request(&request(), names).expect("every name is known");
    let mut request = request();
    request["discount"] = json!({"amount": {"amount": "1.00", "currency": "EUR"}});
    request["manual_lines"][0]["tax_category"] = json!("godos");
    request["manual_lines"][1]["labour_class"] = json!("aprentice");
    request["manual_lines"][1]["cost_code"] = json!("2010");
    request["manual_lines"][0]["code"] = json!("CABLE-15");
    request["overrides"][0]["line"] = json!("material:CABEL-15");
    request["overrides"][1]["line"] = json!("manual:4");
    request["overrides"][3]["price"]["currency"] = json!("CAD");
    request["job"]["unit"]["mounting"] = json!("hung");
    let faults = faults_of(read_request(&request, names));
    let told: Vec<(&str, String, &str)> = faults
        .iter()
        .map(|f| (f.pointer.as_str(), code(f), f.message.as_str()))
        .collect();
    let unknown = || "unknown_name".to_owned();
    let other = || "other_currency".to_owned();
    for wanted in [
        (
            "/discount/amount/currency",
            other(),
            "the amount is in EUR; the company's currency is USD",
        ),
        (
            "/manual_lines/0/tax_category",
            unknown(),
            "there is no tax category godos; did you mean goods?",
        ),
        (
            "/manual_lines/1/labour_class",
            unknown(),
            "there is no labour class aprentice; did you mean apprentice?",
        ),
        (
            "/manual_lines/0/quantity/unit",
            "wrong_dimension".to_owned(),
            "item CABLE-15 is counted in ft (length), and not in each",
        ),
        (
            "/manual_lines/1/cost_code",
            unknown(),
            "there is no cost code 2010; did you mean 2100?",
        ),
        (
            "/overrides/0/line",
            unknown(),
            "neither the rulebook nor the policy makes a line material:CABEL-15; did you mean material:CABLE-15?",
        ),
        (
            "/overrides/1/line",
            unknown(),
            "neither the rulebook nor the policy makes a line manual:4",
        ),
        (
            "/overrides/3/price/currency",
            other(),
            "the amount is in CAD; the company's currency is USD",
        ),
    ] {
        assert!(told.contains(&wanted), "{wanted:?} is not among {told:#?}");
    }
    assert_eq!(told.len(), 9, "{told:#?}");
    let category = faults
        .iter()
        .find(|f| f.pointer.ends_with("tax_category"))
        .expect("it is told");
    assert_eq!(category.allowed, "one of goods, labour, fees");
}

#[test]
fn goods_are_counted_in_units_of_goods() {
    for unit in ["each", "1", "ft", "m2", "gal", "lb", "day"] {
        let mut request = request();
        request["manual_lines"][0]["quantity"]["unit"] = json!(unit);
        read_request(&request, Names::default()).unwrap_or_else(|fault| panic!("{unit}: {fault}"));
    }
    for unit in ["degF", "F_diff", "money", "money/h", "ft/min", "W", "psi", "A"] {
        let mut request = request();
        request["manual_lines"][0]["quantity"]["unit"] = json!(unit);
        request["overrides"][0]["quantity"]["unit"] = json!(unit);
        let faults = faults_of(read_request(&request, Names::default()));
        let told: Vec<(&str, String)> = faults.iter().map(|f| (f.pointer.as_str(), code(f))).collect();
        let code = || "no_unit_of_measure".to_owned();
        let wanted = [
            ("/manual_lines/0/quantity/unit", code()),
            ("/overrides/0/quantity/unit", code()),
        ];
        assert_eq!(told, wanted, "{unit}");
    }
}

/// A credit is a cost or a price below zero; a quantity, an override of a unit cost and a discount are never.
#[test]
fn credits_are_understood() {
    let mut request = request();
    request["manual_lines"][2]["unit_cost"] = json!("-240.5");
    request["overrides"][3]["price"]["amount"] = json!("-180.00");
    let read = read_request(&request, Names::default()).expect("no faults");
    let cost = parse("-240.5", QUANTITY_SCALE).expect("a decimal");
    assert!(matches!(read.manual_lines[2].work, ManualWork::Bought { unit_cost, .. } if unit_cost == cost));
    assert!(matches!(read.overrides[3].replaced, Replaced::Price(price) if price.minor() == -18_000));
    request["manual_lines"][2]["quantity"]["value"] = json!("-1");
    request["overrides"][1]["unit_cost"] = json!("-1");
    request["discount"] = json!({"amount": {"amount": "-1.00", "currency": "USD"}});
    let faults = faults_of(read_request(&request, Names::default()));
    let told: Vec<&str> = faults.iter().map(|f| f.pointer.as_str()).collect();
    assert_eq!(
        told,
        [
            "/discount/amount",
            "/manual_lines/2/quantity",
            "/overrides/1/unit_cost"
        ]
    );
}

#[test]
fn what_is_needed_in_a_request_cannot_be_unknown() {
    let faults = faults_of(read_request(
        &json!({"overrides": [{"reason": "why not"}]}),
        Names::default(),
    ));
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

#[test]
fn a_building_that_will_not_stand_for_years_is_told() {
    for (year, priced_on, told) in [
        (2033, "2031-03-04", false),
        (2034, "2031-03-04", true),
        (2100, "2031-12-31", true),
    ] {
        let mut job = sample("simple");
        job["site"]["built_year"] = json!(year);
        let request = json!({"job": job, "priced_on": priced_on});
        let faults = faults_of(read_request(&request, Names::default()));
        let places: Vec<&str> = faults.iter().map(|fault| fault.pointer.as_str()).collect();
        let expected: &[&str] = if told { &["/job/site/built_year"] } else { &[] };
        assert_eq!(places, expected, "{year}");
    }
}

/// An offer that was issued stays one, whatever the program learns to refuse.
#[test]
fn a_settled_request_is_not_held_against_what_was_learned_since() {
    let mut job = sample("simple");
    job["site"]["built_year"] = json!(2100);
    job["site"]["ceiling_height"] = json!({"value": "8", "unit": "m"});
    let request = json!({"job": job, "priced_on": "2031-03-04"});
    let (form, rules) = (form(), rules());
    let reader = |settled| RequestReader {
        form: &form,
        rules: &rules,
        names: Names::default(),
        today: None,
        settled,
    };
    assert_eq!(faults_of(reader(false).read(&request)).len(), 2);
    assert!(reader(true).read(&request).is_ok());
}

/// A hint names only what may stand in that place; one at the head of the request may belong into the job.
#[test]
fn hints_name_what_may_stand_there() {
    let mut request = request();
    request["mounting"] = json!("flush");
    request["manual_lines"][0]["title"] = json!("Rack ties");
    request["manual_lines"][0]["site"] = json!("Quay");
    request["manual_lines"][0]["desciption"] = json!("Rack ties");
    request["overrides"][0]["occupied"] = json!(true);
    request["discount"]["customer"] = json!("Tarn-Hestley");
    request["job"]["site"]["title"] = json!("Cellar");
    request["job"]["site"]["supply_voltage"] = json!("v115");
    request["job"]["basis"][0]["title"] = json!("Hours");
    request["job"]["line_set"]["legs"][0]["discharge"] = json!("outdoors");
    let faults = faults_of(read_request(&request, Names::default()));
    let mut told: Vec<(&str, &str)> = faults
        .iter()
        .map(|fault| (fault.pointer.as_str(), fault.message.as_str()))
        .collect();
    told.sort_unstable();
    assert_eq!(
        told,
        [
            ("/discount/customer", "there is no customer here"),
            ("/job/basis/0/title", "there is no title here"),
            ("/job/line_set/legs/0/discharge", "there is no discharge here"),
            (
                "/job/site/supply_voltage",
                "there is no supply_voltage here; did you mean electrical.supply_voltage?"
            ),
            ("/job/site/title", "there is no title here"),
            (
                "/manual_lines/0/desciption",
                "there is no desciption here; did you mean description?"
            ),
            ("/manual_lines/0/site", "there is no site here"),
            ("/manual_lines/0/title", "there is no title here"),
            (
                "/mounting",
                "there is no mounting here; did you mean job.unit.mounting?"
            ),
            ("/overrides/0/occupied", "there is no occupied here"),
        ]
    );
}

/// Rules that ask for parking as a rate of the day.
fn parking_by_rate(demo: &Demo) -> Workbook {
    let amount = "day\"\ntype = \"quantity\"\nunit = \"money";
    let rules = crate::demo::text("rulebook.toml")
        .replacen(amount, &format!("{amount}/day"), 1)
        .replacen("parking_cost * (", "parking_cost * 1 day * (", 1);
    let policy = demo.policies.first().unwrap();
    let tax: Vec<&str> = policy.tax_categories().iter().map(String::as_str).collect();
    Workbook::compile(&rules, 1, &demo.catalogue, &tax).unwrap()
}

/// What is money is told in the company's currency, with its decimals.
#[test]
fn money_among_the_answers_is_told_in_the_companys_currency() {
    let mut demo = Demo::load();
    let mut request = Demo::job("wickerlamp-restaurant.json");
    let reader = demo.workbook.reader(demo.policies.first());
    let usual = reader.read(&request).unwrap().job.usual_answers;
    let parking = usual.iter().find(|one| one.answer == "/extra/parking_cost");
    assert_eq!(parking.map(|one| one.in_words.as_str()), Some("24.00 USD"));
    demo.workbook = parking_by_rate(&demo);
    let words = |request: &Value, policy: Option<&CheckedPolicy>| {
        let read = demo.workbook.reader(policy).read(request).unwrap();
        let usual = read
            .job
            .usual_answers
            .iter()
            .map(|one| (&one.answer, &one.in_words));
        let told = read
            .job
            .not_measured
            .iter()
            .map(|one| (&one.answer, &one.in_words));
        let mut all = usual.chain(told);
        let found = all.find(|(answer, _)| *answer == "/extra/parking_cost");
        found.unwrap().1.clone()
    };
    assert_eq!(words(&request, demo.policies.first()), "24.00 USD/day");
    request["job"]["extra"]["parking_cost"] = json!({"value": "31.5", "unit": "money/day"});
    request["job"]["basis"] = json!([{"answer": "/extra/parking_cost", "known": "told"}]);
    assert_eq!(words(&request, demo.policies.first()), "31.50 USD/day");
    let read = demo
        .workbook
        .reader(demo.policies.first())
        .read(&request)
        .unwrap();
    let told = &read.job.not_measured[0];
    assert_eq!(answers::value(told, Default::default()), "31.50 USD/day");
    let years = read
        .job
        .usual_answers
        .iter()
        .find(|one| one.answer == "/extra/labour_cover_years");
    assert_eq!(years.map(|one| one.in_words.as_str()), Some("0"));
}
