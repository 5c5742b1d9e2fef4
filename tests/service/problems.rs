//! Every kind of problem: its page says how it comes about and what to do, and here it happens.

use std::collections::BTreeSet;
use std::fs;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::{Value, json};
use tallyrule::api::{Kind, problem_pages};

use crate::accounting::{number, put_receipt};
use crate::harness::{Answer, BODY_LIMIT, Engine, Office, PERSON, project};
use crate::quotes_desk::{
    accepted, by_hand, customer_and_site, draft, issued, job, new_quote, post, put, quote, send, tamper,
};

const JSON: (&str, &str) = ("content-type", "application/json");

/// With `UPDATE=1` in the environment the file is written instead.
#[test]
fn the_page_of_all_problems_is_the_programs() {
    let file = project().join("docs/problems.md");
    if std::env::var("UPDATE").is_ok() {
        fs::write(&file, problem_pages()).unwrap();
    }
    assert!(
        fs::read_to_string(&file).unwrap() == problem_pages(),
        "run with UPDATE=1 and look at the change"
    );
}

#[test]
fn every_type_leads_to_its_page() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let mut words = BTreeSet::new();
    for kind in Kind::ALL {
        let (status, name, title) = kind.row();
        let path = format!("/problems/{name}");
        let told = office.get(&path).expect(200);
        assert_eq!(
            (&told["status"], &told["title"]),
            (&json!(status.as_u16()), &json!(title))
        );
        for member in ["cause", "cure"] {
            assert!(
                words.insert(told[member].to_string()),
                "{name} has the words of another"
            );
            assert!(
                told[member].as_str().unwrap().len() > 20,
                "{name} has no {member}"
            );
        }
        let page = [("accept", "text/html,application/xhtml+xml;q=0.9")];
        let page = crate::harness::try_ask(office.address(), "GET", &path, &page, b"").unwrap();
        assert_eq!(page.header("content-type"), Some("text/html"));
        assert!(
            page.text.contains("<h1>") && page.text.contains("What to do"),
            "{}",
            page.text
        );
    }
}

/// A body that is begun and never ended.
fn slow(office: &Office) -> String {
    let mut stream = TcpStream::connect(office.address()).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
    let key = office.key();
    let head = format!(
        "POST /v1/customers HTTP/1.1\r\nhost: a\r\nauthorization: Bearer {key}\r\nacting-person: O\r\n\
         content-type: application/json\r\ncontent-length: 100\r\n\r\n{{"
    );
    stream.write_all(head.as_bytes()).unwrap();
    let mut answer = String::new();
    let mut piece = [0_u8; 4_096];
    while !answer.contains("request-timeout") {
        let length = stream.read(&mut piece).unwrap();
        assert!(length > 0, "{answer}");
        answer.push_str(&String::from_utf8_lossy(&piece[..length]));
    }
    assert!(answer.starts_with("HTTP/1.1 408 "), "{answer}");
    answer
}

/// A site that is to be somebody else's.
fn moved_to_another_customer(office: &Office) -> Answer {
    let ((_, site), (other, _)) = (customer_and_site(office), customer_and_site(office));
    let path = format!("/v1/sites/{site}");
    let tag = office.get(&path).header("etag").unwrap().to_owned();
    let body = json!({"customer": other, "name": "Loft", "address": {"lines": ["1"]}});
    put(office, &path, &tag, &body)
}

/// An office that answers three requests a minute of each caller.
fn asked_too_often() -> Answer {
    let own = Office::open(Engine::Sqlite).unwrap();
    let office = own.another_limited(|limits| limits.requests_a_minute = 3);
    for _ in 0..3 {
        office.get("/v1/facts").expect(200);
    }
    let answer = office.get("/v1/facts");
    let seconds: u64 = answer.header("retry-after").unwrap().parse().unwrap();
    assert!((1..=20).contains(&seconds), "{seconds}");
    // Another caller has an allowance of its own, and so has who tries keys.
    let other = post_key(&own);
    office
        .ask_by(Some(&other), "GET", "/v1/facts", &[], b"")
        .expect(200);
    for status in [401, 401, 401, 429] {
        assert_eq!(
            office.ask_by(Some("trk_x"), "GET", "/v1/facts", &[], b"").status,
            status
        );
    }
    // So has who comes without one, of the same address.
    for path in ["/v1/facts", "/openapi.json", "/problems/not-found", "/docs/"] {
        let answer = office.ask_by(None, "GET", path, &[], b"");
        answer.problem(429, "too-many-requests");
        assert!(answer.header("retry-after").is_some(), "{path}");
    }
    for _ in 0..5 {
        office.get("/healthz").expect(200);
        office.get("/readyz").expect(200);
    }
    answer
}

fn post_key(office: &Office) -> String {
    let made = office.post(
        "/v1/access-keys",
        &json!({"person": "Orla Finnimore", "role": "auditor"}),
    );
    made.expect(201)["key"].as_str().unwrap().to_owned()
}

fn answered_too_late() -> Answer {
    let own = Office::open(Engine::Sqlite).unwrap();
    let office = own.another_limited(|limits| {
        limits.request_time = Duration::from_millis(1);
    });
    let answer = office.post("/v1/estimates", &job("wickerlamp-restaurant"));
    assert_eq!(answer.header("retry-after"), Some("5"));
    answer
}

#[test]
fn every_kind_of_problem_happens() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let mut seen = BTreeSet::new();
    let mut happens = |answer: Answer| {
        assert_eq!(
            answer.header("content-type"),
            Some("application/problem+json"),
            "{}",
            answer.text
        );
        assert!(answer.header("x-request-id").is_some());
        let told = answer.json();
        seen.insert(
            told["type"]
                .as_str()
                .unwrap()
                .rsplit('/')
                .next()
                .unwrap()
                .to_owned(),
        );
        told
    };
    happens(office.ask("POST", "/v1/customers", &[JSON], b"{"));
    happens(office.get("/v1/items?limit=0"));
    happens(office.ask_by(None, "GET", "/v1/items", &[], b""));
    happens(office.get("/v1/nothing"));
    happens(office.ask("DELETE", "/v1/items", &[], b""));
    happens(office.ask(
        "POST",
        "/v1/customers",
        &[JSON],
        "x".repeat(BODY_LIMIT + 1).as_bytes(),
    ));
    happens(office.ask("POST", "/v1/customers", &[("content-type", "text/xml")], b"<a/>"));
    happens(office.post("/v1/customers", &json!({})));
    happens(office.ask_by(Some(office.key()), "POST", "/v1/customers", &[JSON], b"{}"));
    let auditor = post_key(&office);
    happens(office.ask_by(Some(&auditor), "POST", "/v1/customers", &[JSON], b"{}"));
    catalogue_problems(&office)
        .into_iter()
        .for_each(|answer| drop(happens(answer)));
    quote_problems(&office)
        .into_iter()
        .for_each(|answer| drop(happens(answer)));
    ledger_problems()
        .into_iter()
        .for_each(|answer| drop(happens(answer)));
    happens(crate::storage::damaged_row());
    happens(moved_to_another_customer(&office));
    happens(asked_too_often());
    happens(answered_too_late());
    happens(Office::empty(Engine::Sqlite).unwrap().get("/v1/items"));
    happens(office.get(&format!("/healthz?{}", "a".repeat(20_000))));
    let long = "a".repeat(70_000);
    happens(office.ask("GET", "/healthz", &[("x", long.as_str())], b""));
    assert!(slow(&office).contains("/problems/request-timeout"));
    seen.insert("request-timeout".to_owned());
    // A program has documents or has none, and rulebooks, papers and broken requests have tests of their own.
    let elsewhere = [
        "not-built",
        "cannot-be-printed",
        "worked-examples",
        "malformed-request",
    ];
    let all: BTreeSet<String> = Kind::ALL
        .iter()
        .map(|kind| kind.row().1.to_owned())
        .filter(|name| !elsewhere.contains(&name.as_str()))
        .collect();
    assert_eq!(seen, all);
}

/// What the ledger is told where amounts have three decimals, which one of its formats has no room for.
fn ledger_problems() -> Vec<Answer> {
    let office = Office::open(Engine::Sqlite).unwrap();
    for table in ["company", "policies"] {
        let statement = format!("UPDATE {table} SET body = replace(body, 'USD', 'KWD')");
        tamper(office.location(), table, &statement);
    }
    by_hand(
        office.location(),
        "UPDATE catalogue_state SET revision = revision + 1",
    )
    .unwrap();
    let number = number(&office, &accepted(&office, &draft()));
    let place = format!("/v1/accounting/quotes/{number}");
    let format = |name: &str| office.ask("GET", &place, &[("accept", name)], b"");
    let total = json!({"amount": "1.000", "currency": "KWD"});
    vec![
        format("image/png"),
        format("application/xml"),
        put_receipt(&office, &number, "GL-1", &total),
    ]
}

fn catalogue_problems(office: &Office) -> Vec<Answer> {
    let path = "/v1/rulebooks/hollowmoor-standard";
    let tag = office.get(path).header("etag").unwrap().to_owned();
    let toml = |headers: &[(&str, &str)]| {
        let mut all = vec![("content-type", "application/toml")];
        all.extend(headers);
        office.ask("PUT", path, &all, b"[rulebook]\n")
    };
    let mapping = fs::read_to_string(project().join("seed-data/price-lists/larkholt-mapping.json")).unwrap();
    let mapping: Value = serde_json::from_str(&mapping).unwrap();
    office.post("/v1/price-list-mappings", &mapping).expect(201);
    let list = fs::read(project().join("seed-data/price-lists/larkholt-september-2025.csv")).unwrap();
    let lists = "/v1/price-lists?mapping=larkholt&valid_from=2031-09-01&dry_run=false";
    vec![
        toml(&[]),
        toml(&[("if-match", "\"other\"")]),
        toml(&[("if-match", &tag)]),
        office.ask("POST", lists, &[("content-type", "text/csv")], &list),
        office.post("/v1/price-list-mappings", &mapping),
    ]
}

/// Two alternates, each of which can be built, and which cannot be built together.
fn too_much_together(office: &Office) -> Answer {
    let mut offered = json!({"request": job("pinfold-basement")});
    offered["request"]["job"]["unit"]["mounting"] = json!("exposed");
    offered["alternates"] = json!([
        {"name": "sunk", "title": "Recessed", "change": {"job": {"unit": {"mounting": "partly_recessed"}}}},
        {"name": "shallow", "title": "No void", "change": {"job": {"unit": {"ceiling_void": {"value": "0", "unit": "in"}}}}},
    ]);
    let path = quote(office, &offered);
    let first = json!({"revision": 1});
    let approvals = format!("{path}/approvals");
    send(office, "Tobin Marsh", "POST", &approvals, &[], &first).expect(201);
    post(office, &format!("{path}/issue"), &first).expect(200);
    let word = json!({"revision": 1, "accepted_by": "O", "alternates": ["sunk", "shallow"]});
    post(office, &format!("{path}/accept"), &word)
}

fn quote_problems(office: &Office) -> Vec<Answer> {
    let path = issued(office, &draft());
    let illegal = post(office, &format!("{path}/issue"), &json!({"revision": 1}));
    let change = json!({"title": "Conduit", "change": {"job": {"electrical": {"method": "conduit"}}}});
    let early = post(office, &format!("{path}/change-orders"), &change);
    let stopped = quote(office, &json!({"request": job("wickerlamp-first-scheme")}));
    let stopped = post(office, &format!("{stopped}/issue"), &json!({"revision": 1}));
    let mut dear = job("alderwick-closet");
    dear["discount"] = json!({"percent": "9"});
    let dear = quote(office, &json!({"request": dear}));
    let dear = post(office, &format!("{dear}/issue"), &json!({"revision": 1}));
    let together = too_much_together(office);
    let body = new_quote(office, &draft());
    let key = [("idempotency-key", "one")];
    send(office, PERSON, "POST", "/v1/quotes", &key, &body).expect(201);
    let reused = send(office, "Somebody Else", "POST", "/v1/quotes", &key, &body);
    let document = "UPDATE issued_revisions SET document = replace(document, 'Fallowmere', 'Elsewhere')";
    tamper(office.location(), "issued_revisions", document);
    let internal = office.get(&format!("{path}/revisions/1"));
    assert!(
        !internal.text.contains("Elsewhere") && !internal.text.contains("digest"),
        "{}",
        internal.text
    );
    vec![illegal, early, stopped, dear, together, reused, internal]
}
