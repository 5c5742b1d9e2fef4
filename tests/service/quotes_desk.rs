//! What the tests of quotes have in common: a customer with a site, quotes on them, and people who act.

use std::sync::atomic::{AtomicU32, Ordering};

use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection, SqliteConnection};
use serde_json::{Value, json};
use tallyrule::store::Location;

pub use crate::harness::PERSON;
use crate::harness::{Answer, Office, project};

/// A job of the demonstration.
pub fn job(name: &str) -> Value {
    let file = project().join(format!("seed-data/jobs/{name}.json"));
    serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap()
}

/// The draft of a job without anything around it.
pub fn draft() -> Value {
    json!({"request": job("alderwick-closet")})
}

/// The same with two alternates whose prices do not simply add up.
pub fn draft_with_alternates() -> Value {
    json!({
        "request": job("alderwick-closet"),
        "alternates": [
            {"name": "conduit", "title": "Wiring in conduit", "change": {"job": {"electrical": {"method": "conduit"}}}},
            {"name": "long-run", "title": "Panel in the annexe",
                "change": {"job": {"electrical": {"panel_length": {"value": "95", "unit": "ft"}}}}},
        ],
        "exclusions": ["Painting of the ceiling"],
        "wording": {"introduction": "As seen on site."},
    })
}

/// Sends JSON as `person`, with more headers.
pub fn send(
    office: &Office,
    person: &str,
    method: &str,
    path: &str,
    more: &[(&str, &str)],
    body: &Value,
) -> Answer {
    let mut headers = vec![("content-type", "application/json"), ("acting-person", person)];
    headers.extend(more);
    office.ask(method, path, &headers, body.to_string().as_bytes())
}

/// POST as the usual person.
pub fn post(office: &Office, path: &str, body: &Value) -> Answer {
    send(office, PERSON, "POST", path, &[], body)
}

/// PUT of what was seen under `tag`.
pub fn put(office: &Office, path: &str, tag: &str, body: &Value) -> Answer {
    send(office, PERSON, "PUT", path, &[("if-match", tag)], body)
}

/// A customer with a site: their keys.
pub fn customer_and_site(office: &Office) -> (String, String) {
    static NEXT: AtomicU32 = AtomicU32::new(1);
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let customer = json!({
        "name": format!("Odalie Brackwater {number}"),
        "address": {"lines": ["14 Alderwick Lane", "Fallowmere"], "country": "US"},
        "mail": "odalie@brackwater.example",
    });
    let customer = post(office, "/v1/customers", &customer).expect(201);
    let customer = customer["id"].as_str().unwrap().to_owned();
    let site =
        json!({"customer": customer, "name": "Closet cellar", "address": {"lines": ["14 Alderwick Lane"]}});
    let site = post(office, "/v1/sites", &site).expect(201);
    (customer, site["id"].as_str().unwrap().to_owned())
}

/// The body that makes a quote.
pub fn new_quote(office: &Office, draft: &Value) -> Value {
    let (customer, site) = customer_and_site(office);
    json!({"customer": customer, "site": site, "draft": draft})
}

/// A new quote: its address.
pub fn quote(office: &Office, draft: &Value) -> String {
    let made = post(office, "/v1/quotes", &new_quote(office, draft));
    made.expect(201);
    made.header("location").unwrap().to_owned()
}

/// A quote whose first revision was issued: its address.
pub fn issued(office: &Office, draft: &Value) -> String {
    let path = quote(office, draft);
    post(office, &format!("{path}/issue"), &json!({"revision": 1})).expect(200);
    path
}

/// A quote that was accepted as it was offered: its address.
pub fn accepted(office: &Office, draft: &Value) -> String {
    let path = issued(office, draft);
    let word = json!({"revision": 1, "accepted_by": "Odalie Brackwater"});
    post(office, &format!("{path}/accept"), &word).expect(200);
    path
}

/// The policy of the demonstration that is used when none is named: its address, its body as a new version takes it, and
/// its tag.
pub fn house_policy(office: &Office) -> (String, Value, String) {
    let path = "/v1/policies/home";
    let read = office.get(path);
    let mut body = read.expect(200);
    for name in ["version", "valid_from", "saved_at"] {
        body.as_object_mut().unwrap().remove(name);
    }
    (path.to_owned(), body, read.header("etag").unwrap().to_owned())
}

/// What the engine itself says to a statement, past everything that this program would do.
pub fn by_hand(location: &Location, statement: &str) -> Result<(), String> {
    match location {
        Location::File(path) => SqliteConnection::establish(path.to_str().unwrap())
            .unwrap()
            .batch_execute(&format!("PRAGMA busy_timeout = 5000; {statement}")),
        Location::Server(url) => PgConnection::establish(url).unwrap().batch_execute(statement),
    }
    .map_err(|fault| fault.to_string())
}

/// The same, with the triggers that would refuse it taken away: what somebody with a tool could do.
pub fn tamper(location: &Location, table: &str, statement: &str) {
    let lift = match location {
        Location::File(_) => format!(
            "DROP TRIGGER IF EXISTS {table}_kept_on_update; DROP TRIGGER IF EXISTS {table}_kept_on_delete; \
            DROP TRIGGER IF EXISTS {table}_content_kept; \
            DROP TRIGGER IF EXISTS {table}_state_kept; DROP TRIGGER IF EXISTS {table}_one_on;"
        ),
        Location::Server(_) => format!("ALTER TABLE {table} DISABLE TRIGGER USER;"),
    };
    by_hand(location, &lift).unwrap();
    by_hand(location, statement).unwrap();
}

/// The amount of money, in minor units.
pub fn minor(money: &Value) -> i64 {
    money["amount"]
        .as_str()
        .unwrap()
        .replace('.', "")
        .parse()
        .unwrap()
}
