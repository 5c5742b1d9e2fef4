//! Policies and labour rates in versions: each holds from its day on, one editor wins, and the core checks them.

use serde_json::{Value, json};

use crate::harness::{Office, project};

fn job() -> Value {
    let file = project().join("seed-data/jobs/pinfold-basement.json");
    serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap()
}

fn priced(office: &Office, day: &str) -> Value {
    let mut request = job();
    request["priced_on"] = json!(day);
    office.post("/v1/estimates", &request).expect(200)
}

/// The body of the policy that is used, as a new version takes it.
fn policy(office: &Office) -> (String, Value, String) {
    let id = priced(office, "2025-04-14")["policy"]["id"]
        .as_str()
        .unwrap()
        .to_owned();
    let read = office.get(&format!("/v1/policies/{id}"));
    let tag = read.header("etag").unwrap().to_owned();
    let mut body = read.expect(200);
    for name in ["version", "valid_from", "saved_at"] {
        body.as_object_mut().unwrap().remove(name);
    }
    (id, body, tag)
}

fn post(office: &Office, path: &str, tag: Option<&str>, body: &Value) -> crate::harness::Answer {
    let mut headers = vec![("content-type", "application/json")];
    headers.extend(tag.map(|tag| ("if-match", tag)));
    office.ask("POST", path, &headers, body.to_string().as_bytes())
}

on_both_engines! {
    fn a_new_version_prices_jobs_of_its_days_and_no_others(office) {
        let (id, mut body, tag) = policy(office);
        let before = priced(office, "2031-03-01");
        body["overhead_percent"] = json!("31.5");
        let path = format!("/v1/policies/{id}/versions");
        let new = json!({"valid_from": "2031-03-01", "policy": body});
        post(office, &path, None, &new).problem(428, "precondition-required");
        let saved = post(office, &path, Some(&tag), &new).expect(201);
        assert_eq!((&saved["version"], &saved["overhead_percent"]), (&json!(2), &json!("31.5")));
        post(office, &path, Some(&tag), &new).problem(412, "precondition-failed");
        let (earlier, later) = (priced(office, "2031-02-28"), priced(office, "2031-03-01"));
        assert_eq!((&earlier["policy"]["version"], &later["policy"]["version"]), (&json!(1), &json!(2)));
        assert_eq!(before["policy"]["version"], json!(1));
        assert_ne!(before["totals"]["overhead"], later["totals"]["overhead"]);
        assert_eq!(before["totals"]["cost"], later["totals"]["cost"]);
        let on = |day: &str| office.get(&format!("/v1/policies/{id}?on={day}")).expect(200)["version"].clone();
        assert_eq!([on("2031-02-28"), on("2031-03-01")], [json!(1), json!(2)]);
        let versions = office.get(&path).expect(200);
        assert_eq!(versions["data"].as_array().unwrap().len(), 2);
        // The newest version holds from its day on, also where an older one begins later.
        let tag = office.get(&format!("/v1/policies/{id}")).header("etag").unwrap().to_owned();
        let third = json!({"valid_from": "2031-02-01", "policy": saved_body(&saved)});
        let problem = post(office, &path, Some(&tag), &third).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], json!("/valid_from"));
        let said = problem["errors"][0]["message"].as_str().unwrap();
        assert!(said.starts_with("is 2031-02-01, and the newest version holds from 2031-03-01 on: "), "{said}");
        post(office, &format!("{path}?accept=factor"), Some(&tag), &third).problem(400, "invalid-parameter");
        post(office, &format!("{path}?accept=backdated"), Some(&tag), &third).expect(201);
        assert_eq!([on("2031-01-31"), on("2031-02-01"), on("2031-03-01")], [json!(1), json!(3), json!(3)]);
    }

    fn a_policy_that_cannot_be_priced_by_is_told_whole(office) {
        let (id, body, tag) = policy(office);
        let path = format!("/v1/policies/{id}/versions");
        let mut wrong = body.clone();
        wrong["overhead_percent"] = json!("-1");
        wrong["schedule"][0]["share"] = json!("1");
        wrong["tax"]["categories"].as_array_mut().unwrap().retain(|category| category["code"] != "services");
        let told = post(office, &path, Some(&tag), &json!({"valid_from": "2031-03-01", "policy": wrong}));
        let problem = told.problem(422, "invalid-input");
        let pointers: Vec<&str> = problem["errors"].as_array().unwrap().iter().map(|error| error["pointer"].as_str().unwrap()).collect();
        for wanted in ["/policy/overhead_percent", "/policy/schedule", "/policy/tax/categories"] {
            assert!(pointers.contains(&wanted), "{wanted}: {pointers:?}");
        }
        // What can be priced by and is surely a slip is told with the rest, all at once.
        let mut slip = body.clone();
        for (name, value) in [("title", json!(" ")), ("overhead_percent", json!("500")), ("contingency_percent", json!("100")), ("subcontract_markup_percent", json!("301")), ("profit", json!({"kind": "markup", "percent": "301"})), ("hours", json!({"step": "100", "towards": "up"}))] {
            slip[name] = value;
        }
        let told = post(office, &path, Some(&tag), &json!({"valid_from": "2031-03-01", "policy": slip})).problem(422, "invalid-input");
        let mut pointers: Vec<&str> = told["errors"].as_array().unwrap().iter().map(|error| error["pointer"].as_str().unwrap()).collect();
        pointers.sort_unstable();
        assert_eq!(pointers, ["/policy/contingency_percent", "/policy/hours/step", "/policy/overhead_percent", "/policy/profit/percent", "/policy/subcontract_markup_percent", "/policy/title"]);
        let mut shape = body.clone();
        shape["validity_days"] = json!("soon");
        let problem = post(office, &path, Some(&tag), &json!({"valid_from": "2031-03-01", "policy": shape})).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], json!("/policy/validity_days"));
        let mut other = body.clone();
        other["id"] = json!("another");
        post(office, &path, Some(&tag), &json!({"valid_from": "2031-03-01", "policy": other})).problem(422, "invalid-input");
        office.post("/v1/policies", &json!({"valid_from": "2031-03-01", "policy": body})).problem(409, "already-there");
        office.post("/v1/policies", &json!({"valid_from": "2025-01-01", "policy": other})).expect(201);
        assert_eq!(office.get("/v1/policies/another").expect(200)["version"], json!(1));
        post(office, "/v1/policies/none/versions", Some("*"), &json!({"valid_from": "2031-03-01", "policy": body})).problem(422, "invalid-input");
        assert_eq!(office.get(&path).expect(200)["data"].as_array().unwrap().len(), 1);
    }

    fn a_new_rate_is_explained_and_holds_from_its_day(office) {
        let path = "/v1/labour-classes/lead_mechanic";
        let read = office.get(path);
        let tag = read.header("etag").unwrap().to_owned();
        let class = read.expect(200);
        let last = class["rates"].as_array().unwrap().last().unwrap();
        let hour = &last["hour"];
        assert_eq!(hour["cost_an_hour"], last["loaded"]["cost_an_hour"]);
        let cents = |amount: &Value| amount.as_str().unwrap().replace('.', "").parse::<i64>().unwrap();
        let parts: i64 = hour["parts"].as_array().unwrap().iter().map(|part| cents(&part["an_hour"])).sum();
        assert_eq!(parts, cents(&hour["cost_an_hour"]));
        let groups: Vec<&str> = hour["groups"].as_array().unwrap().iter().map(|group| group["group"].as_str().unwrap()).collect();
        assert_eq!(groups, ["wage", "payroll_tax", "insurance", "benefits", "other", "non_productive"]);
        // The published example of the core's tests: 43.69 an hour.
        let rate = json!({
            "valid_from": "2031-03-01", "wage": "30", "paid_hours": "2080", "source": "example",
            "burden": [
                {"kind": "percent", "name": "Payroll taxes", "group": "payroll_tax", "percent": "12"},
                {"kind": "yearly", "name": "Benefits", "group": "benefits", "amount": "10000"},
                {"kind": "yearly", "name": "Overhead", "amount": "4000"},
            ],
            "non_productive": [{"name": "Paid time off", "hours": "160"}],
        });
        let rates = format!("{path}/rates");
        post(office, &rates, None, &rate).problem(428, "precondition-required");
        let before = priced(office, "2031-02-28");
        let added = post(office, &rates, Some(&tag), &rate).expect(201);
        let new = added["rates"].as_array().unwrap().last().unwrap();
        assert_eq!((&new["hour"]["cost_an_hour"], &new["hour"]["parts"][2]["an_hour"]), (&json!("43.69"), &json!("4.81")));
        post(office, &rates, Some(&tag), &rate).problem(412, "precondition-failed");
        let labour = |estimate: &Value| estimate["labour"].as_array().unwrap().iter().find(|one| one["labour_class"] == "lead_mechanic").unwrap()["cost"].clone();
        assert_eq!(labour(&priced(office, "2031-02-28")), labour(&before));
        assert_ne!(labour(&priced(office, "2031-03-01")), labour(&before));
        let tag = office.get(path).header("etag").unwrap().to_owned();
        let mut wrong = rate.clone();
        wrong["wage"] = json!("0");
        wrong["burden"][0]["percent"] = json!("-1");
        let problem = post(office, &rates, Some(&tag), &wrong).problem(422, "invalid-input");
        let pointers: Vec<&str> = problem["errors"].as_array().unwrap().iter().map(|error| error["pointer"].as_str().unwrap()).collect();
        assert_eq!(pointers, ["/wage", "/burden/0/percent", "/valid_from"]);
        let mut idle = rate.clone();
        // Days that are over keep what they cost, unless it is meant.
        let mut past = rate.clone();
        past["valid_from"] = json!("2025-02-01");
        let problem = post(office, &rates, Some(&tag), &past).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], json!("/valid_from"));
        assert!(problem["errors"][0]["message"].as_str().unwrap().contains("in the past"), "{problem}");
        let mut slip = rate.clone();
        slip["valid_from"] = json!("2031-04-01");
        slip["wage"] = json!("300");
        let problem = post(office, &rates, Some(&tag), &slip).problem(422, "invalid-input");
        assert!(problem["errors"][0]["message"].as_str().unwrap().contains("a factor of 5 or more"), "{problem}");
        slip["wage"] = json!("30000");
        slip["burden"][0]["percent"] = json!("700");
        let problem = post(office, &rates, Some(&tag), &slip).problem(422, "invalid-input");
        let pointers: Vec<&str> = problem["errors"].as_array().unwrap().iter().map(|error| error["pointer"].as_str().unwrap()).collect();
        assert_eq!(pointers[..2], ["/wage", "/burden/0/percent"]);
        let back = post(office, &format!("{rates}?accept=backdated"), Some(&tag), &past);
        back.expect(201);
        let tag = back.header("etag").unwrap().to_owned();
        idle["valid_from"] = json!("2031-04-01");
        idle["non_productive"][0]["hours"] = json!("2080");
        let problem = post(office, &rates, Some(&tag), &idle).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], json!("/non_productive"));
    }

    fn the_lines_of_a_policy_have_cost_codes_that_are_known(office) {
        let (id, mut body, tag) = policy(office);
        body["lines"]["freight"]["cost_code"] = json!("FRTT");
        body["lines"]["use_tax"]["cost_code"] = json!("SUB");
        let new = json!({"valid_from": "2031-03-01", "policy": body});
        let problem = post(office, &format!("/v1/policies/{id}/versions"), Some(&tag), &new).problem(422, "invalid-input");
        let errors = problem["errors"].as_array().unwrap();
        assert_eq!((errors.len(), &errors[0]["pointer"]), (1, &json!("/policy/lines/freight/cost_code")), "{problem:#}");
        assert!(errors[0]["message"].as_str().unwrap().ends_with("; did you mean FRT?"), "{problem:#}");
    }

    fn the_charges_of_a_rulebook_have_cost_codes_that_are_known(office) {
        let path = "/v1/rulebooks/hollowmoor-standard";
        let read = office.get(path);
        let tag = read.header("etag").unwrap().to_owned();
        let text = read.expect(200)["text"].as_str().unwrap().to_owned();
        let place = text.find("kind = \"subcontract\"").unwrap();
        let (before, behind) = text.split_at(place);
        let text = format!("{before}{}", behind.replacen("cost_code = \"SUB\"", "cost_code = \"SUBB\"", 1));
        let toml = [("content-type", "application/toml"), ("if-match", tag.as_str())];
        let told = office.ask("POST", "/v1/rulebooks/check", &toml[..1], text.as_bytes()).expect(200);
        let findings = told["findings"].as_array().unwrap();
        let found: Vec<&Value> = findings.iter().filter(|finding| finding["code"] == "unknown_cost_code").collect();
        assert_eq!((found.len(), &told["publishable"]), (1, &json!(false)), "{told:#}");
        assert_eq!((&found[0]["field"], &found[0]["suggestion"]), (&json!("cost_code"), &json!("SUB")), "{told:#}");
        office.ask("PUT", path, &toml, text.as_bytes()).problem(422, "rulebook-findings");
    }

    fn a_new_labour_class_is_checked_and_added(office) {
        let class = json!({
            "code": "rigger", "title": "Rigger", "cost_code": "LAB", "tax_category": "services",
            "rates": [{
                "valid_from": "2025-01-01", "wage": "28.00", "paid_hours": "2080", "source": "offer",
                "burden": [], "non_productive": [],
            }],
        });
        let added = office.post("/v1/labour-classes", &class).expect(201);
        assert_eq!(added["rates"][0]["hour"]["cost_an_hour"], json!("28.00"));
        assert_eq!(office.get("/v1/labour-classes/rigger").expect(200), added);
        office.post("/v1/labour-classes", &class).problem(409, "already-there");
        let mut wrong = class.clone();
        wrong["code"] = json!("other");
        wrong["tax_category"] = json!("weather");
        wrong["rates"] = json!([]);
        let problem = office.post("/v1/labour-classes", &wrong).problem(422, "invalid-input");
        let pointers: Vec<&str> = problem["errors"].as_array().unwrap().iter().map(|error| error["pointer"].as_str().unwrap()).collect();
        assert_eq!(pointers[0], "/rates");
        assert_eq!(pointers[1], "/tax_category");
    }

    fn the_price_of_an_item_is_read_as_of_any_day(office) {
        let items = office.get("/v1/items?limit=500").expect(200)["data"].clone();
        let dated = |item: &&Value| item["packs"][0]["prices"].as_array().unwrap().len() > 1;
        let item = items.as_array().unwrap().iter().find(dated).unwrap();
        let path = format!("/v1/items/{}/prices", item["code"].as_str().unwrap());
        let dated = item["packs"][0]["prices"].as_array().unwrap();
        let on = |day: &str| office.get(&format!("{path}?on={day}")).expect(200)["packs"][0].clone();
        assert_eq!(on("1999-12-31")["price"], Value::Null);
        let (first, second) = (dated[0]["valid_from"].as_str().unwrap(), dated[1]["valid_from"].as_str().unwrap());
        assert_eq!(on(first)["price"]["valid_from"], json!(first));
        assert_eq!(on(second)["price"]["valid_from"], json!(second));
        assert_eq!(on(second)["prices"], item["packs"][0]["prices"]);
        for wrong in ["on=2031-2-3", "on=soon", "day=2031-02-03"] {
            office.get(&format!("{path}?{wrong}")).problem(400, "invalid-parameter");
        }
        office.get("/v1/items/no-such/prices").problem(404, "not-found");
    }
}

/// What is asked for is what is answered, less what the service adds.
#[test]
fn the_contract_asks_for_a_policy_as_it_answers_one() {
    let contract: Value = serde_json::from_str(&tallyrule::api::Contract::collect().unwrap().text()).unwrap();
    let shapes = &contract["components"]["schemas"];
    let mut answered = shapes["Policy"]["properties"].as_object().unwrap().clone();
    for name in ["version", "valid_from", "saved_at"] {
        assert!(answered.shift_remove(name).is_some(), "{name}");
    }
    assert_eq!(
        shapes["NewPolicy"]["properties"]["policy"]["properties"],
        Value::Object(answered)
    );
    let mut mapping = shapes["PriceListMapping"]["properties"]
        .as_object()
        .unwrap()
        .clone();
    mapping.retain(|name, _| name != "version" && name != "saved_at");
    assert_eq!(
        shapes["NewPriceListMapping"]["properties"],
        Value::Object(mapping)
    );
}

fn saved_body(saved: &Value) -> Value {
    let mut body = saved.clone();
    for name in ["version", "valid_from", "saved_at"] {
        body.as_object_mut().unwrap().remove(name);
    }
    body
}
