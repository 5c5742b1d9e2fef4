//! Jobs priced over REST, and faults told with their places.

use std::fs;
use std::path::PathBuf;

use estimate::quantity::Decimal;
use serde_json::{Value, json};

use crate::harness::{Engine, Office, project};

fn jobs() -> Vec<PathBuf> {
    let entries = fs::read_dir(project().join("seed-data/jobs")).unwrap();
    let mut files: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|ending| ending == "json"));
    files.sort();
    files
}

fn job(name: &str) -> Value {
    let file = project().join(format!("seed-data/jobs/{name}.json"));
    serde_json::from_str(&fs::read_to_string(file).unwrap()).unwrap()
}

fn amount(money: &Value) -> Decimal {
    Decimal::from_str_exact(money["amount"].as_str().unwrap()).unwrap()
}

fn sum<'a>(rows: &'a Value, of: impl Fn(&'a Value) -> &'a Value) -> Decimal {
    rows.as_array().unwrap().iter().map(|row| amount(of(row))).sum()
}

on_both_engines! {
    fn every_job_of_the_demonstration_is_priced_and_adds_up(office) {
        assert!(jobs().len() >= 6);
        for file in jobs() {
            let body = fs::read(&file).unwrap();
            let answer = office.ask("POST", "/v1/estimates", &[("content-type", "application/json")], &body);
            let estimate = answer.expect(200);
            let totals = &estimate["totals"];
            // EN 16931, BR-CO-13: net is the sum of the lines less the document's discount; BR-CO-14: tax is the sum
            // over the categories; BR-CO-15: the total is net and tax.
            assert_eq!(sum(&estimate["lines"], |line| &line["price"]) - amount(&totals["discount"]), amount(&totals["net"]));
            assert_eq!(sum(&totals["taxes"], |tax| &tax["amount"]), amount(&totals["tax"]));
            assert_eq!(amount(&totals["net"]) + amount(&totals["tax"]), amount(&totals["total"]));
            assert_eq!(sum(&estimate["payment_schedule"], |part| &part["amount"]), amount(&totals["total"]), "{file:?}");
            assert_eq!(sum(&estimate["lines"], |line| &line["cost"]), amount(&totals["cost"]));
        }
    }

    fn the_same_request_gives_the_same_bytes(office) {
        let body = job("pinfold-basement");
        let first = office.post("/v1/estimates?explain=true", &body);
        let again = office.another().post("/v1/estimates?explain=true", &body);
        first.expect(200);
        assert!(first.text == again.text);
    }
}

fn office() -> Office {
    Office::open(Engine::Sqlite).unwrap()
}

#[test]
fn an_explanation_is_given_when_it_is_asked_for() {
    let office = office();
    let body = job("pinfold-basement");
    let plain = office.post("/v1/estimates", &body).expect(200);
    let explained = office.post("/v1/estimates?explain=true", &body).expect(200);
    assert!(
        plain["lines"]
            .as_array()
            .unwrap()
            .iter()
            .all(|line| line.get("explanation").is_none())
    );
    let lines = explained["lines"].as_array().unwrap();
    assert!(
        explained["explanation"]
            .as_array()
            .is_some_and(|formulas| !formulas.is_empty()),
        "how the price of the job came about"
    );
    for line in lines {
        assert!(line["price_source"]["valid_from"].is_string(), "{line}");
        let formulas = line["explanation"].as_array().unwrap();
        assert!(
            !formulas.is_empty() && formulas.iter().all(|formula| formula["result"] != Value::Null),
            "{line}"
        );
    }
    assert!(
        lines
            .iter()
            .any(|line| line["explanation"].to_string().contains("\"cell\"")),
        "a table cell is shown"
    );
    office
        .post("/v1/estimates?explain=perhaps", &body)
        .problem(400, "invalid-parameter");
    office
        .post("/v1/estimates?explian=true", &body)
        .problem(400, "invalid-parameter");
}

#[test]
fn every_fault_of_a_job_is_told_at_once_with_its_place() {
    let office = office();
    let mut body = job("pinfold-basement");
    body["job"]["cellar"]["length"] = json!({"value": "12", "unit": "lb"});
    body["job"]["cellar"]["width"] = json!({"value": 12, "unit": "ftt"});
    body["job"]["unit"]["mounting"] = json!("flushh");
    body["job"]["site"]["colour"] = json!("red");
    body["job"]["line_set"]["legs"][0]["length"]["value"] = json!("1e3");
    body["priced_on"] = json!("2025-02-30");
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    let told: Vec<_> = problem["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|error| {
            (
                error["pointer"].as_str().unwrap(),
                error["code"].as_str().unwrap(),
            )
        })
        .collect();
    for wanted in [
        ("/job/cellar/length/unit", "wrong_dimension"),
        ("/job/cellar/width/unit", "unknown_unit"),
        ("/job/unit/mounting", "unknown_word"),
        ("/job/site/colour", "unknown_field"),
        ("/job/line_set/legs/0/length/value", "bad_number"),
        ("/priced_on", "bad_date"),
    ] {
        assert!(told.contains(&wanted), "{wanted:?} is not among {told:?}");
    }
    assert_eq!(told.len(), 6, "{told:?}");
}

#[test]
fn a_name_that_the_office_does_not_know_is_a_fault_of_its_member() {
    let office = office();
    for (member, pointer) in [("rulebook", "/rulebook"), ("policy", "/policy")] {
        let mut body = job("pinfold-basement");
        body[member] = json!("nobody");
        let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], pointer);
    }
    let mut body = job("pinfold-basement");
    body["overrides"] = json!([{"line": "material:NO-SUCH", "unit_cost": "1", "reason": "a test"}]);
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["pointer"], "/overrides/0/line");
}

fn pointers(problem: &Value) -> Vec<&str> {
    let errors = problem["errors"].as_array().unwrap();
    let told = |error: &Value| error["came"].is_string() && error["allowed"].is_string();
    assert!(errors.iter().all(told), "{problem:#}");
    errors
        .iter()
        .map(|error| error["pointer"].as_str().unwrap())
        .collect()
}

/// Wrong names, faults of the job, of lines by hand and of overrides come in one answer.
#[test]
fn everything_that_is_wrong_with_a_request_is_told_at_once() {
    let office = office();
    let by_hand = json!({"kind": "labour", "description": "Move racks", "hours": {"value": "2", "unit": "h"},
        "labour_class": "installr", "cost_code": "L", "tax_category": "labur", "reason": "asked for"});
    let mut body = job("pinfold-basement");
    body["rulebook"] = json!("hollowmoor-standrad");
    body["job"]["site"]["colour"] = json!("red");
    body["manual_lines"] = json!([by_hand]);
    body["overrides"] = json!([{"line": "material:NO-SUCH", "unit_cost": "-1", "reason": "a test"}]);
    body["discount"] = json!({"amount": {"amount": "1", "currency": "EUR"}});
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    let wanted = [
        "/rulebook",
        "/overrides/0/unit_cost",
        "/discount/amount/currency",
        "/manual_lines/0/labour_class",
        "/manual_lines/0/tax_category",
        "/job/site/colour",
    ];
    assert_eq!(pointers(&problem), wanted, "{problem:#}");
    assert!(
        problem["errors"][0]["message"]
            .as_str()
            .unwrap()
            .ends_with("did you mean hollowmoor-standard?")
    );
    // The same where only the policy is unknown: its tax categories are not, and the lines of the rulebook are.
    body["rulebook"] = json!("hollowmoor-standard");
    body["policy"] = json!("nobody");
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    let wanted = [
        "/policy",
        "/overrides/0/unit_cost",
        "/discount/amount/currency",
        "/manual_lines/0/labour_class",
        "/overrides/0/line",
        "/job/site/colour",
    ];
    assert_eq!(pointers(&problem), wanted, "{problem:#}");
}

/// A line that the rulebook could make and this job does not have is told beside the form's faults, and so is what the
/// policy does not make; entries that have a fault are left out of that.
#[test]
fn what_only_the_bill_can_tell_comes_with_the_rest() {
    let office = office();
    let mut body = job("alderwick-closet");
    let estimate = office.post("/v1/estimates", &body).expect(200);
    let missing = "material:CT-EXT";
    assert!(
        estimate["lines"]
            .as_array()
            .unwrap()
            .iter()
            .all(|line| line["key"] != missing)
    );
    let change =
        |line: &str, figure: &str, value: Value| json!({"line": line, figure: value, "reason": "a test"});
    body["manual_lines"] = json!([
        {"kind": "fee", "description": "Lift", "quantity": {"value": "1", "unit": "degF"}, "unit_cost": "9",
         "cost_code": "FIN", "tax_category": "goods", "reason": "a test"},
    ]);
    body["overrides"] = json!([
        change("policy:freight", "unit_cost", json!("one")),
        change(missing, "unit_cost", json!("1")),
        change("manual:1", "unit_cost", json!("2")),
    ]);
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    let wanted = [
        "/manual_lines/0/quantity/unit",
        "/overrides/0/unit_cost",
        "/overrides/1/line",
    ];
    assert_eq!(pointers(&problem), wanted, "{problem:#}");
    let told = problem["errors"][2].to_string();
    assert!(told.contains("this job has no line material:CT-EXT\""), "{told}");
    // Without faults of the form: both at once, the bill's and the policy's.
    body["manual_lines"] = json!([]);
    body["overrides"] = json!([
        change(missing, "unit_cost", json!("1")),
        change("labour:NOTHING/here", "hours", json!({"value": "1", "unit": "h"})),
    ]);
    body["overrides"][1]["line"] = estimate["lines"]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["kind"] == "material")
        .unwrap()["key"]
        .clone();
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    assert_eq!(
        pointers(&problem),
        ["/overrides/0/line", "/overrides/1/hours"],
        "{problem:#}"
    );
}

#[test]
fn what_is_not_an_estimate_request_is_refused() {
    let office = office();
    for body in [
        json!(null),
        json!([]),
        json!("job"),
        json!(1),
        json!({}),
        json!({"job": null}),
        json!({"job": {}}),
    ] {
        office.post("/v1/estimates", &body).problem(422, "invalid-input");
        office
            .post("/v1/sizing-reports", &body)
            .problem(422, "invalid-input");
    }
}

#[test]
fn a_sizing_report_is_given_alone() {
    let office = office();
    let body = job("pinfold-basement");
    let sized = office.post("/v1/sizing-reports", &body).expect(200);
    let estimate = office.post("/v1/estimates", &body).expect(200);
    assert_eq!(sized["sizing"], estimate["sizing"]);
    assert_eq!(sized["job"], estimate["job"]);
}

on_both_engines! {
    fn a_new_price_holds_from_its_day_on(office) {
        let mut body = job("pinfold-basement");
        let estimate = office.post("/v1/estimates", &body).expect(200);
        let lines = estimate["lines"].as_array().unwrap();
        let line = lines.iter().find(|line| line["kind"] == "material" && line["bought"]["packs"][0]["count"] == 1).unwrap();
        let code = line["code"].as_str().unwrap();
        let item = office.get(&format!("/v1/items/{code}")).expect(200);
        for pack in item["packs"].as_array().unwrap() {
            let price = json!({"pack": pack["size"], "valid_from": "2031-06-01", "amount": "999.99", "source": "offer"});
            office.post(&format!("/v1/items/{code}/prices?accept=factor"), &price).expect(201);
        }
        let cost = |estimate: &Value| {
            let lines = estimate["lines"].as_array().unwrap();
            lines.iter().find(|other| other["key"] == line["key"]).unwrap()["cost"].clone()
        };
        body["priced_on"] = json!("2031-05-31");
        assert_eq!(cost(&office.post("/v1/estimates", &body).expect(200)), line["cost"]);
        body["priced_on"] = json!("2031-06-01");
        assert_eq!(cost(&office.post("/v1/estimates", &body).expect(200))["amount"], "999.99");
    }
}

/// A day before all prices is one fault of that day, whatever the job needs.
#[test]
fn a_day_before_all_prices_is_told_once() {
    let office = office();
    let mut body = job("pinfold-basement");
    body["priced_on"] = json!("2019-06-01");
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    assert_eq!(pointers(&problem), ["/priced_on"], "{problem:#}");
    let told = problem["errors"][0]["message"].as_str().unwrap();
    assert!(
        told.contains(" items (") && told.contains(" labour classes ("),
        "{told}"
    );
    let first = problem["errors"][0]["allowed"].as_str().unwrap();
    let first = first.strip_suffix(" or later").unwrap().to_owned();
    assert!(told.contains(&format!("from {first} on")), "{told}");
    body["priced_on"] = json!(first);
    office.post("/v1/estimates", &body).expect(200);
    // Beside a fault of another member.
    body["priced_on"] = json!("2019-06-01");
    body["discount"] = json!({"percent": "101"});
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    assert_eq!(
        pointers(&problem),
        ["/discount/percent", "/priced_on"],
        "{problem:#}"
    );
}

/// Credits that outweigh the job are faults of the largest of them.
#[test]
fn a_credit_larger_than_the_job_is_told_with_its_place() {
    let office = office();
    let line = |cost: &str| {
        json!({"kind": "fee", "description": "Taken back", "quantity": {"value": "1", "unit": "each"},
               "unit_cost": cost, "cost_code": "FIN", "tax_category": "goods", "reason": "a test"})
    };
    let mut body = job("alderwick-closet");
    body["manual_lines"] = json!([line("-10"), line("-90000"), line("-20")]);
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    assert_eq!(pointers(&problem), ["/manual_lines/1/unit_cost"], "{problem:#}");
    body["manual_lines"] = json!([line("10"), line("20")]);
    let price = |line: &str, amount: &str| json!({"line": line, "price": {"amount": amount, "currency": "USD"}, "reason": "a test"});
    body["overrides"] = json!([price("manual:1", "-15.00"), price("manual:2", "-80000.00")]);
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    assert_eq!(pointers(&problem), ["/overrides/1/price"], "{problem:#}");
    // The net is above nothing, and the tax on the goods takes the total below it.
    let mut body = job("pinfold-basement");
    body["job"]["tax"] = json!({"treatment": "tax_on_sale"});
    body["manual_lines"] = json!([line("-14005.13")]);
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    assert_eq!(pointers(&problem), ["/manual_lines/0/unit_cost"], "{problem:#}");
}

/// A line put in by hand is counted as its item is, and booked where something is booked.
#[test]
fn a_line_by_hand_is_of_its_item_and_of_a_cost_code() {
    let office = office();
    let mut body = job("alderwick-closet");
    body["manual_lines"] = json!([
        {"kind": "material", "code": "TS-12", "description": "More tube", "quantity": {"value": "1", "unit": "each"},
         "unit_cost": "9", "cost_code": "PIPE", "tax_category": "goods", "reason": "a test"},
        {"kind": "material", "code": "TS-12", "description": "More tube", "quantity": {"value": "3", "unit": "m"},
         "unit_cost": "9", "cost_code": "PIP", "tax_category": "goods", "reason": "a test"},
    ]);
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    let wanted = ["/manual_lines/0/cost_code", "/manual_lines/0/quantity/unit"];
    assert_eq!(pointers(&problem), wanted, "{problem:#}");
    let [code, unit] = [0, 1].map(|at| problem["errors"][at]["message"].as_str().unwrap());
    assert_eq!(code, "there is no cost code PIPE; did you mean PIP?");
    let allowed = problem["errors"][0]["allowed"].as_str().unwrap();
    let mut known: Vec<&str> = allowed.strip_prefix("one of ").unwrap().split(", ").collect();
    let all = known.len();
    known.sort_unstable();
    known.dedup();
    assert_eq!(known.len(), all, "each code once: {allowed}");
    assert_eq!(unit, "item TS-12 is counted in ft (length), and not in each");
}

/// A cost of one unit is an amount of money like a price; its digits alone are taken as they were before, and come to the
/// same.
#[test]
fn a_unit_cost_is_an_amount_or_its_digits() {
    let office = office();
    let priced = |cost: &Value| {
        let mut body = job("alderwick-closet");
        body["manual_lines"] = json!([
            {"kind": "fee", "description": "Gate key", "quantity": {"value": "3", "unit": "each"}, "unit_cost": cost,
             "cost_code": "FIN", "tax_category": "goods", "reason": "a test"}
        ]);
        body["overrides"] = json!([{"line": "policy:freight", "unit_cost": cost, "reason": "a test"}]);
        office.post("/v1/estimates", &body)
    };
    let usd = |amount: Value, currency: &str| json!({"amount": amount, "currency": currency});
    let bare = priced(&json!("12.345678")).expect(200);
    for amount in [json!("12.345678"), json!(12.345678)] {
        let as_money = priced(&usd(amount, "USD")).expect(200);
        assert_eq!(as_money, bare);
    }
    let told = |cost: Value| {
        let problem = priced(&cost).problem(422, "invalid-input");
        pointers(&problem)
            .into_iter()
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    let in_both =
        |member: &str| ["manual_lines", "overrides"].map(|list| format!("/{list}/0/unit_cost{member}"));
    assert_eq!(told(usd(json!("1"), "EUR")), in_both("/currency"));
    assert_eq!(told(usd(json!("1"), "US")), in_both("/currency"));
    assert_eq!(told(usd(json!("1.1234567"), "USD")), in_both("/amount"));
    assert_eq!(told(usd(json!("100000000.01"), "USD")), in_both(""));
    assert_eq!(told(json!("100000000.01")), in_both(""));
    assert_eq!(told(json!({"amount": "1", "curency": "USD"})).len(), 4);
}

/// An empty name is a fault of the form, and of nothing else.
#[test]
fn an_empty_name_is_told_once() {
    let office = office();
    let mut body = job("alderwick-closet");
    body["policy"] = json!("");
    body["rulebook"] = json!("");
    let problem = office.post("/v1/estimates", &body).problem(422, "invalid-input");
    assert_eq!(pointers(&problem), ["/rulebook", "/policy"], "{problem:#}");
}
