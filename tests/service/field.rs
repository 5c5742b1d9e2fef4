//! Cost is secret: whatever the field may ask, no answer has a cost, a margin, a wage or a supplier's price in it.

use std::collections::BTreeSet;

use serde_json::{Value, json};
use tallyrule::api::ROWS;
use tallyrule::desk::Desk;
use tallyrule::desk::access::Role;
use tallyrule::store::Store;

use crate::harness::{Engine, Office, key_of};
use crate::quotes_desk::{by_hand, customer_and_site, job, minor, post};

const JSON: (&str, &str) = ("content-type", "application/json");

/// Members that nothing the field sees may have. Sizing has margins to its limits of its own, which are physics, and taxes
/// have rates that everybody may know.
const WORDS: &[&str] = &[
    "cost",
    "unit_cost",
    "computed",
    "given",
    "full_cost",
    "contingency",
    "overhead",
    "profit",
    "profit_margin",
    "margin",
    "warranty_reserve",
    "subcontract_markup",
    "price_changes",
    "rate",
    "wage",
    "burden",
    "supplier",
    "price_source",
    "replaced",
    "explanation",
    "manual_lines",
    "overrides",
    "approval_reasons",
    "prices",
    "amount_an_hour",
];

/// Figures that are planted where cost stands, each like no other.
const FIGURES: &[&str] = &["7919.37", "91.73", "4321.09", "23.17"];

struct Story {
    office: Office,
    field: String,
    seen: BTreeSet<&'static str>,
}

fn story() -> Story {
    let office = Office::open(Engine::Sqlite).unwrap();
    let desk = Desk::new(Store::open(office.location().clone(), 1, false).unwrap());
    let field = key_of(&desk, "Wim Tarrant", Role::Field, false);
    plant(&office);
    Story {
        office,
        field,
        seen: BTreeSet::new(),
    }
}

/// Puts each figure where the price of the job comes from.
fn plant(office: &Office) {
    let day = "2031-03-01";
    let prices = format!(
        "INSERT INTO item_prices (item_code, pack_size, valid_from, amount, source) \
         SELECT DISTINCT item_code, pack_size, '{day}', '7919.37', 'offer' FROM item_prices"
    );
    by_hand(office.location(), &prices).unwrap();
    for class in office.get("/v1/labour-classes").expect(200)["data"]
        .as_array()
        .unwrap()
    {
        let path = format!("/v1/labour-classes/{}", class["code"].as_str().unwrap());
        let tag = office.get(&path).header("etag").unwrap().to_owned();
        let rate = json!({"valid_from": day, "wage": "91.73", "paid_hours": "2080", "source": "offer", "burden": [], "non_productive": []});
        let headers = [JSON, ("if-match", tag.as_str())];
        office
            .ask(
                "POST",
                &format!("{path}/rates"),
                &headers,
                rate.to_string().as_bytes(),
            )
            .expect(201);
    }
    for id in ["home", "trade"] {
        let read = office.get(&format!("/v1/policies/{id}"));
        let mut policy = read.expect(200);
        for name in ["version", "valid_from", "saved_at"] {
            policy.as_object_mut().unwrap().remove(name);
        }
        policy["overhead_percent"] = json!("23.17");
        let headers = [JSON, ("if-match", read.header("etag").unwrap())];
        let body = json!({"valid_from": day, "policy": policy});
        office
            .ask(
                "POST",
                &format!("/v1/policies/{id}/versions"),
                &headers,
                body.to_string().as_bytes(),
            )
            .expect(201);
    }
}

/// A request with a line whose cost somebody typed in, and a cost that somebody replaced.
fn request() -> Value {
    let mut request = job("wickerlamp-restaurant");
    request["priced_on"] = json!("2031-03-02");
    request["manual_lines"][0]["unit_cost"] = json!("4321.09");
    request
}

fn secret_members(value: &Value, at: &str, found: &mut Vec<String>) {
    match value {
        Value::Object(members) => {
            for (name, inner) in members
                .iter()
                .filter(|(name, _)| !["sizing", "taxes"].contains(&name.as_str()))
            {
                let place = format!("{at}/{name}");
                if WORDS.contains(&name.as_str()) {
                    found.push(place.clone());
                }
                secret_members(inner, &place, found);
            }
        }
        Value::Array(entries) => entries.iter().for_each(|entry| secret_members(entry, at, found)),
        _ => {}
    }
}

impl Story {
    /// Asks as the field and judges the answer.
    fn ask(&mut self, operation: &'static str, path: &str, body: Option<&Value>) -> Value {
        let row = ROWS.iter().find(|row| row.operation == operation).unwrap();
        assert!(row.admits(Role::Field), "{operation} is closed to the field");
        let text = body.map(Value::to_string).unwrap_or_default();
        let answer = self.office.ask_by(
            Some(&self.field),
            row.method,
            path,
            &[JSON, ("if-match", "*")],
            text.as_bytes(),
        );
        assert!(answer.status < 300, "{operation}: {}", answer.text);
        let told = answer.json();
        // The form and the table of units tell what may be asked, not what anything costs.
        if operation != "read_form" {
            let mut found = Vec::new();
            secret_members(&told, "", &mut found);
            assert_eq!(found, Vec::<String>::new(), "{operation}");
        }
        for figure in FIGURES {
            assert!(!answer.text.contains(figure), "{operation} tells {figure}");
        }
        self.seen.insert(operation);
        told
    }

    /// Asks for a paper as the field. What is written in it as text has no planted figure; that the texts of a PDF have no
    /// cost is a test of papers.
    fn look_at(&mut self, path: &str) {
        let answer = self.office.ask_by(Some(&self.field), "GET", path, &[], b"");
        assert!([200, 501].contains(&answer.status), "{path}: {}", answer.text);
        for figure in FIGURES {
            assert!(!answer.text.contains(figure), "{path} tells {figure}");
        }
        let parts = |path: &str| path.split('/').count();
        let paper = path.rsplit('/').next().unwrap();
        let own = |row: &&tallyrule::api::Row| parts(row.path) == parts(path) && row.path.ends_with(paper);
        self.seen.insert(ROWS.iter().find(own).unwrap().operation);
    }
}

/// A quote with a change order.
fn order_of(office: &Office) -> String {
    let path = crate::quotes_desk::accepted(office, &crate::quotes_desk::draft());
    let change = json!({"title": "Conduit", "change": {"job": {"electrical": {"method": "conduit"}}}});
    post(office, &format!("{path}/change-orders"), &change).expect(201);
    path
}

#[test]
fn no_answer_to_the_field_has_cost_in_it() {
    let mut story = story();
    let (customer, site) = customer_and_site(&story.office);
    let whole = story
        .office
        .post("/v1/estimates?explain=true", &request())
        .expect(200);
    for figure in FIGURES.iter().filter(|figure| **figure != "23.17") {
        assert!(
            whole.to_string().contains(figure),
            "{figure} is not in the estimate"
        );
    }
    let survey = json!({"job": request()["job"], "priced_on": request()["priced_on"]});
    let whole = story
        .office
        .post("/v1/estimates?explain=true", &survey)
        .expect(200);
    let part = story.ask("create_estimate", "/v1/estimates?explain=true", Some(&survey));
    for member in ["net", "tax", "total", "hours", "discount"] {
        assert_eq!(part["totals"][member], whole["totals"][member], "{member}");
    }
    assert_eq!(part["payment_schedule"], whole["payment_schedule"]);
    assert_eq!(
        part["lines"].as_array().unwrap().len(),
        whole["lines"].as_array().unwrap().len()
    );
    story.ask("create_sizing_report", "/v1/sizing-reports", Some(&survey));
    story.ask("read_form", "/v1/job-spec-form", None);
    let units = story.ask("list_equipment", "/v1/equipment", None);
    let class = units["data"][0]["class"].as_str().unwrap().to_owned();
    story.ask("read_equipment", &format!("/v1/equipment/{class}"), None);
    let place = json!({"lines": ["3 Low Row"]});
    let made = story.ask(
        "create_customer",
        "/v1/customers",
        Some(&json!({"name": "Wren Aldous", "address": place})),
    );
    let own = made["id"].as_str().unwrap().to_owned();
    let body = json!({"customer": own, "name": "Cellar", "address": place});
    let own_site = story.ask("create_site", "/v1/sites", Some(&body))["id"]
        .as_str()
        .unwrap()
        .to_owned();
    story.ask("list_customers", "/v1/customers", None);
    story.ask("read_customer", &format!("/v1/customers/{own}"), None);
    story.ask("list_sites", "/v1/sites", None);
    story.ask("read_site", &format!("/v1/sites/{own_site}"), None);
    let survey = json!({"site": own_site, "job": {"title": "Closet"}});
    let kept = story.ask("create_survey", "/v1/surveys", Some(&survey))["id"]
        .as_str()
        .unwrap()
        .to_owned();
    story.ask("list_surveys", "/v1/surveys", None);
    story.ask("read_survey", &format!("/v1/surveys/{kept}"), None);
    story.ask("change_survey", &format!("/v1/surveys/{kept}"), Some(&survey));
    let new = json!({"customer": own, "site": own_site, "survey": kept, "draft": {"request": job("alderwick-closet")}});
    story.ask("create_quote", "/v1/quotes", Some(&new));
    story.ask("list_quotes", &format!("/v1/quotes?survey={kept}"), None);
    story.ask(
        "archive_survey",
        &format!("/v1/surveys/{kept}/archive"),
        Some(&json!({"archived": true})),
    );
    // A quote of the office, with everything in it that is secret.
    let conduit = json!({"name": "conduit", "title": "Wiring in conduit", "change": {"job": {"electrical": {"method": "conduit"}},
        "manual_lines": [request()["manual_lines"][0]]}});
    let draft = json!({"request": request(), "alternates": [conduit]});
    let made = post(
        &story.office,
        "/v1/quotes",
        &json!({"customer": customer, "site": site, "draft": draft}),
    );
    made.expect(201);
    let path = made.header("location").unwrap().to_owned();
    story.ask("read_quote", &path, None);
    let revision = story.ask("read_revision", &format!("{path}/revisions/1"), None);
    assert!(revision["content"]["request"]["job"]["cellar"].is_object());
    let estimate = story.ask(
        "read_revision_estimate",
        &format!("{path}/revisions/1/estimate"),
        None,
    );
    let whole = story
        .office
        .get(&format!("{path}/revisions/1/estimate"))
        .expect(200);
    assert_eq!(
        minor(&estimate["estimate"]["totals"]["total"]),
        minor(&whole["estimate"]["totals"]["total"])
    );
    for paper in ["job-sheet", "drawing", "cellar-load"] {
        story.look_at(&format!("{path}/revisions/1/{paper}"));
    }
    let path = order_of(&story.office);
    for paper in ["job-sheet", "drawing"] {
        story.look_at(&format!("{path}/change-orders/1/revisions/1/{paper}"));
    }
    let untried: Vec<&str> = ROWS
        .iter()
        .filter(|row| {
            row.admits(Role::Field) && row.roles().contains(&"field") && !story.seen.contains(row.operation)
        })
        .map(|row| row.operation)
        .collect();
    assert_eq!(
        untried,
        Vec::<&str>::new(),
        "the field may ask these, and no answer was looked at"
    );
}

/// The tag of what the field sees is not one over what it does not.
#[test]
fn a_view_has_a_tag_of_its_own() {
    let story = story();
    let made = crate::quotes_desk::quote(&story.office, &crate::quotes_desk::draft());
    let path = format!("{made}/revisions/1/estimate");
    let whole = story.office.get(&path);
    let part = story.office.ask_by(Some(&story.field), "GET", &path, &[], b"");
    assert_ne!(whole.header("etag").unwrap(), part.header("etag").unwrap());
    let again = [("if-none-match", part.header("etag").unwrap())];
    assert_eq!(
        story
            .office
            .ask_by(Some(&story.field), "GET", &path, &again, b"")
            .status,
        304
    );
}

/// Whoever may put a cost in and see the price that comes of it knows the margin.
#[test]
fn the_field_sends_the_survey_and_nothing_of_the_pricing() {
    let story = story();
    let told = |path: &str, body: &Value| {
        let body = body.to_string();
        let answer = story
            .office
            .ask_by(Some(&story.field), "POST", path, &[JSON], body.as_bytes());
        let told = answer.problem(422, "invalid-input");
        let mut pointers: Vec<String> = Vec::new();
        for error in told["errors"].as_array().unwrap() {
            assert_eq!(error["code"], "not_for_role", "{error}");
            pointers.push(error["pointer"].as_str().unwrap().to_owned());
        }
        pointers
    };
    let mut request = request();
    request["discount"] = json!({"percent": "1"});
    request["policy"] = json!("trade");
    let beyond = told("/v1/estimates", &request);
    for member in ["/manual_lines", "/discount", "/policy"] {
        assert!(beyond.iter().any(|place| place == member), "{beyond:?}");
    }
    assert_eq!(told("/v1/sizing-reports", &request), beyond);
    let alternate = json!({"name": "a", "title": "A", "change": {"job": {}, "overrides": []}});
    let draft = json!({"request": {"job": request["job"], "overrides": []}, "alternates": [alternate], "validity_days": 3});
    let mut beyond = told(
        "/v1/quotes",
        &json!({"customer": "1", "site": "1", "draft": draft}),
    );
    beyond.sort_unstable();
    assert_eq!(
        beyond,
        [
            "/draft/alternates/0/change/overrides",
            "/draft/request/overrides",
            "/draft/validity_days"
        ]
    );
}
