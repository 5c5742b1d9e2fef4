//! Slips of the office: each is told in its own words, with its place, and done only where it is meant.

use serde_json::{Value, json};

use crate::harness::{Answer, Engine, Office, project};
use crate::quotes_desk::{job, post};

const BOOK: &str = "/v1/rulebooks/hollowmoor-standard";

fn seeded(name: &str) -> String {
    std::fs::read_to_string(project().join("seed-data").join(name)).unwrap()
}

fn put_book(office: &Office, text: &str) -> Answer {
    let read = office.get(BOOK);
    let headers = [
        ("content-type", "application/toml"),
        ("if-match", read.header("etag").unwrap()),
    ];
    office.ask("PUT", BOOK, &headers, text.as_bytes())
}

fn check_text(office: &Office, text: &str) -> Value {
    let headers = [("content-type", "application/toml")];
    let checked = office.ask("POST", "/v1/rulebooks/check", &headers, text.as_bytes());
    checked.expect(200)
}

on_both_engines! {
    fn the_text_of_the_seed_data_can_be_edited_and_sent_as_it_is(office) {
        let seeded = seeded("rulebook.toml");
        assert!(seeded.contains("job = \"jobs/"), "its examples name files");
        let checked = check_text(office, &seeded);
        assert_eq!((&checked["publishable"], &checked["examples"]["failed"]), (&json!(true), &json!([])), "{checked}");
        assert_eq!(checked["examples"]["tried"], json!(10));
        let edited = seeded.replace("title = \"Controller cable extension\"", "title = \"Cable extension\"");
        let told = put_book(office, &edited).expect(200);
        assert_eq!((&told["version"], &told["examples"]), (&json!(2), &json!(10)));
        let text = office.get(BOOK).expect(200)["text"].as_str().unwrap().to_owned();
        assert!(!text.contains("job = \"jobs/") && text.contains("title = \"Cable extension\""));
        // What comes out goes in again.
        put_book(office, &text).expect(200);
        let renamed = seeded.replacen("[[example]]\ntitle = \"", "[[example]]\ntitle = \"Another ", 1);
        assert_ne!(renamed, seeded);
        let refused = put_book(office, &renamed).problem(422, "worked-examples");
        let said = refused["examples"].to_string();
        assert!(said.contains("jobs/") && said.contains("no example of this title is known here") && said.contains("format --with-jobs"), "{said}");
        let checked = check_text(office, &renamed);
        assert_eq!(checked["publishable"], json!(false), "{checked}");
        assert!(checked["examples"]["failed"][0]["title"].as_str().unwrap().starts_with("Another "));
    }

    fn a_day_of_the_calendar_has_one_version(office) {
        let calendar = format!("{BOOK}/calendar");
        let publish = |base: u32, from: &str| {
            let made = post(office, "/v1/rulebook-drafts", &json!({"version": base}));
            let path = made.header("location").unwrap().to_owned();
            let headers = [("content-type", "application/json"), ("if-match", made.header("etag").unwrap())];
            let body = if from.is_empty() { json!({}) } else { json!({"current_from": from}) };
            office.ask("POST", &format!("{path}/publish"), &headers, body.to_string().as_bytes())
        };
        publish(1, "2131-01-01").expect(200);
        let taken = publish(2, "2131-01-01").problem(409, "conflict");
        assert!(taken["detail"].as_str().unwrap().contains("version 2 is to be current from 2131-01-01 on"), "{taken}");
        let enter = |body: Value| post(office, &calendar, &body);
        let twice = enter(json!({"version": 2, "current_from": "2131-01-01"})).problem(409, "conflict");
        assert_eq!(twice["detail"], json!("version 2 is current from 2131-01-01 on already"));
        let other = json!({"version": 1, "current_from": "2131-01-01"});
        let refused = enter(other.clone()).problem(409, "conflict");
        assert!(refused["detail"].as_str().unwrap().contains("\"instead_of\": 2"), "{refused}");
        let mut meant = other;
        meant["instead_of"] = json!(2);
        enter(meant).expect(201);
        // Today one takes the place of another at once.
        publish(2, "").expect(200);
        enter(json!({"version": 1})).expect(201);
    }

    fn a_single_price_is_held_against_the_one_before_as_in_a_list(office) {
        let code = "HU-MODULE";
        let item = office.get(&format!("/v1/items/{code}")).expect(200);
        let pack = &item["packs"][0]["size"];
        let before: estimate::quantity::Decimal = item["packs"][0]["prices"][0]["amount"].as_str().unwrap().parse().unwrap();
        let add = |day: &str, amount: String, accept: &str| {
            let price = json!({"pack": pack, "valid_from": day, "amount": amount, "source": "offer"});
            office.post(&format!("/v1/items/{code}/prices{accept}"), &price)
        };
        let tenfold = (before * estimate::quantity::Decimal::TEN).normalize().to_string();
        let refused = add("2031-03-01", tenfold.clone(), "").problem(422, "invalid-input");
        assert_eq!(refused["errors"][0]["pointer"], json!("/amount"));
        let said = refused["errors"][0]["message"].as_str().unwrap();
        assert!(said.contains("a factor of 5 or more; say accept=factor in the address"), "{said}");
        add("2031-03-01", tenfold, "?accept=factor").expect(201);
        let refused = add("2032-03-01", "0.00".to_owned(), "?accept=factor").problem(422, "invalid-input");
        let said = refused["errors"][0]["message"].as_str().unwrap();
        assert!(said.starts_with("the price is 0: a pack would cost nothing; say accept=zero"), "{said}");
        add("2032-03-01", "0.00".to_owned(), "?accept=zero").expect(201);
        add("2033-03-01", "1".to_owned(), "?accept=backdated").problem(400, "invalid-parameter");
    }
}

/// Bodies that are not of the shape, the place that is told, and the words.
#[test]
fn no_answer_speaks_of_types_and_variants() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let policy = {
        let read = office.get("/v1/policies").expect(200)["data"][0].clone();
        let mut policy = read;
        for name in ["version", "valid_from", "saved_at"] {
            policy.as_object_mut().unwrap().remove(name);
        }
        policy["id"] = json!("another");
        policy
    };
    let with_policy = |change: fn(&mut Value)| {
        let mut policy = policy.clone();
        change(&mut policy);
        json!({"valid_from": "2031-01-01", "policy": policy})
    };
    let mapping = |change: fn(&mut Value)| {
        let mut mapping: Value = serde_json::from_str(&seeded("price-lists/larkholt-mapping.json")).unwrap();
        change(&mut mapping);
        mapping
    };
    let class = |change: fn(&mut Value)| {
        let mut class = json!({
            "code": "rigger", "title": "Rigger", "cost_code": "LAB", "tax_category": "services",
            "rates": [{
                "valid_from": "2031-01-01", "wage": "28.00", "paid_hours": "2080", "source": "offer",
                "burden": [{"kind": "percent", "name": "Payroll taxes", "percent": "12"}], "non_productive": [],
            }],
        });
        change(&mut class);
        class
    };
    let cases: Vec<(&str, Value, &str, &str)> = vec![
        (
            "/v1/policies",
            with_policy(|policy| policy["price_age_days"] = json!(-3)),
            "/policy/price_age_days",
            "-3 came; a whole number, 0 or more is asked for",
        ),
        (
            "/v1/policies",
            with_policy(|policy| policy["profit"] = json!({"kind": "margn", "percent": "20"})),
            "/policy/profit/kind",
            "`margn` is none of markup, margin; did you mean margin?",
        ),
        (
            "/v1/policies",
            with_policy(|policy| policy["overhead_pecent"] = json!("3")),
            "/policy/overhead_pecent",
            "there is no `overhead_pecent` here; did you mean overhead_percent?",
        ),
        (
            "/v1/policies",
            with_policy(|policy| drop(policy.as_object_mut().unwrap().remove("validity_days"))),
            "/policy/validity_days",
            "`validity_days` is missing",
        ),
        (
            "/v1/policies",
            with_policy(|policy| policy["contingency_percent"] = json!("a lot")),
            "/policy/contingency_percent",
            "\"a lot\" came; a decimal, such as \"12.5\" is asked for",
        ),
        (
            "/v1/price-list-mappings",
            mapping(|mapping| mapping["columns"]["code"] = json!({"titel": "Code"})),
            "/columns/code",
            "`titel` is none of title, letters; did you mean title?",
        ),
        (
            "/v1/price-list-mappings",
            mapping(|mapping| mapping["colums"] = json!({})),
            "/colums",
            "there is no `colums` here; did you mean columns?",
        ),
        (
            "/v1/price-list-mappings",
            mapping(|mapping| mapping["separator"] = json!("simicolon")),
            "/separator",
            "`simicolon` is none of comma, semicolon, tab, bar; did you mean semicolon?",
        ),
        (
            "/v1/labour-classes",
            class(|class| class["rates"][0]["valid_from"] = json!("1 January")),
            "/rates/0/valid_from",
            "\"1 January\" came; a date such as 2026-03-01 is asked for",
        ),
        (
            "/v1/labour-classes",
            class(|class| class["rates"] = json!("none")),
            "/rates",
            "\"none\" came; a list is asked for",
        ),
        (
            "/v1/labour-classes",
            class(|class| class["cost_code"] = json!("LBA")),
            "/cost_code",
            "`LBA` is no cost code of an item, a labour class, a policy or the rules, and the ledger has no account for it; did you \
             mean LAB?",
        ),
    ];
    for (path, body, pointer, message) in cases {
        let problem = office.post(path, &body).problem(422, "invalid-input");
        let error = &problem["errors"][0];
        assert_eq!(
            (error["pointer"].as_str(), error["message"].as_str()),
            (Some(pointer), Some(message)),
            "{problem}"
        );
    }
    let mapping = mapping(|_| {});
    office.post("/v1/price-list-mappings", &mapping).expect(201);
    let id = mapping["id"].as_str().unwrap();
    let xlsx = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
    let path = format!("/v1/price-lists?mapping={id}");
    for bytes in [&b"no zip at all"[..], &b"PK\x03\x04broken"[..], &b""[..]] {
        let problem = office
            .ask("POST", &path, &[("content-type", xlsx)], bytes)
            .problem(422, "invalid-input");
        assert_eq!(
            problem["errors"][0]["message"],
            json!(
                "the workbook cannot be read: it is damaged, or no XLSX at all: open it in a spreadsheet and save it \
                 anew as XLSX"
            )
        );
    }
}

#[test]
fn what_a_check_calls_publishable_can_be_published() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let sound = office.get(BOOK).expect(200)["text"].as_str().unwrap().to_owned();
    let head: String = sound
        .lines()
        .take_while(|line| !line.starts_with("[["))
        .map(|line| format!("{line}\n"))
        .collect();
    let checked = check_text(&office, &head);
    assert_eq!(checked["publishable"], json!(false));
    assert_eq!(checked["findings"][0]["code"], json!("empty"), "{checked}");
    assert_eq!(checked["examples"], Value::Null);
    put_book(&office, &head).problem(422, "rulebook-findings");
    let wrong = sound
        .replacen("title = \"", "title = \"Renamed ", 1)
        .replacen("0.75 h", "1.5 h", 1);
    let checked = check_text(&office, &wrong);
    let fails = !checked["examples"]["failed"].as_array().unwrap().is_empty();
    assert_eq!((&checked["publishable"], fails), (&json!(false), true));
    put_book(&office, &wrong).problem(422, "worked-examples");
}

#[test]
fn an_example_that_tests_nothing_is_a_warning() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let sound = office.get(BOOK).expect(200)["text"].as_str().unwrap().to_owned();
    let warned = |text: &str| -> Vec<(String, Value)> {
        let checked = check_text(&office, text);
        let findings = checked["findings"].as_array().unwrap().clone();
        assert!(
            findings.iter().all(|finding| finding["severity"] == "warning"),
            "{findings:?}"
        );
        let told = findings.into_iter().map(|one| {
            (
                one["code"].as_str().unwrap().to_owned(),
                one["suggestion"].clone(),
            )
        });
        told.collect()
    };
    assert_eq!(warned(&sound), []);
    let title = "title = \"A basement: soffit, pumped drain with its anti-siphon device, patch and paint\"";
    let misspelt = sound.replacen("\"material:CT-EXT\"", "\"material:CT-EXTT\"", 1);
    assert_eq!(
        warned(&misspelt),
        [("unknown_line".to_owned(), json!("material:CT-EXT"))]
    );
    let (before, after) = sound.split_once(title).unwrap();
    let (job, expected) = after.split_once("expect").unwrap();
    let rest = expected
        .split_once("\n[")
        .map_or(String::new(), |(_, rest)| format!("\n[{rest}"));
    let empty = format!("{before}{title}{job}expect = []\n{rest}");
    assert_eq!(warned(&empty), [("expects_nothing".to_owned(), Value::Null)]);
    let (rules, _) = sound.split_once("[[example]]").unwrap();
    assert_eq!(warned(rules), [("no_example".to_owned(), Value::Null)]);
}

#[test]
fn a_retired_version_prices_only_where_it_is_named() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let text = office.get(BOOK).expect(200)["text"].as_str().unwrap().to_owned();
    put_book(&office, &text).expect(200);
    let retire = |version: u32| {
        post(
            &office,
            &format!("{BOOK}/versions/{version}/retire"),
            &json!({"reason": "old"}),
        )
    };
    retire(2).problem(409, "conflict");
    retire(1).expect(200);
    let price = |version: Option<u32>| {
        let mut request = job("pinfold-basement");
        if let Some(version) = version {
            request["rulebook_version"] = json!(version);
        }
        office.post("/v1/estimates", &request).expect(200)["rulebook"]["version"].clone()
    };
    assert_eq!(
        (price(None), price(Some(1))),
        (json!(1), json!(1)),
        "it was current on the day of the job"
    );
    let mut today = job("pinfold-basement");
    today.as_object_mut().unwrap().remove("priced_on");
    let today = office.post("/v1/estimates", &today).expect(200);
    assert_eq!(today["rulebook"]["version"], 2);
    let again = post(&office, &format!("{BOOK}/calendar"), &json!({"version": 1})).problem(409, "conflict");
    assert!(
        again["detail"].as_str().unwrap().contains("is retired"),
        "{again}"
    );
}
