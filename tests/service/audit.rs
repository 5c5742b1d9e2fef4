//! The audit: every write leaves an entry, entries are never changed, and one that is missing or other is told.

use std::collections::BTreeSet;
use std::thread;

use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use tallyrule::api::ROWS;
use tallyrule::desk::access::Role;
use tallyrule::desk::{Desk, Verified};
use tallyrule::store::{Location, Store};

use crate::accounting::{number, put_receipt};
use crate::harness::{Answer, Engine, Office, key_of, project};
use crate::quotes_desk::{
    accepted, by_hand, customer_and_site, draft, issued, new_quote, post, put, quote, send, tamper,
};

const JSON: (&str, &str) = ("content-type", "application/json");

fn desk(office: &Office) -> Desk {
    Desk::new(Store::open(office.location().clone(), 1, false).unwrap())
}

fn verify(office: &Office) -> Verified {
    desk(office).verify().unwrap()
}

/// Every entry, page by page.
fn entries(office: &Office) -> Vec<Value> {
    let (mut found, mut place) = (Vec::new(), "/v1/audit-entries?limit=7".to_owned());
    loop {
        let page = office.get(&place).expect(200);
        found.extend(page["data"].as_array().unwrap().clone());
        match page["next"].as_str() {
            Some(next) => place = format!("/v1/audit-entries?limit=7&after={next}"),
            None => return found,
        }
    }
}

fn seed_file(name: &str) -> String {
    std::fs::read_to_string(project().join("seed-data").join(name)).unwrap()
}

/// PUT or POST under the tag of what is there.
pub fn tagged(office: &Office, method: &str, read: &str, path: &str, body: &Value) -> Answer {
    let tag = office.get(read).header("etag").unwrap().to_owned();
    let headers = [JSON, ("if-match", tag.as_str())];
    office.ask(method, path, &headers, body.to_string().as_bytes())
}

/// A price, a labour class with two rates, and policies, each written by itself.
pub fn catalogue_is_written(office: &Office) {
    let item = office.get("/v1/items?limit=1").expect(200)["data"][0].clone();
    let price = json!({"pack": item["packs"][0]["size"], "valid_from": "2031-01-01", "amount": "7", "source": "offer"});
    post(
        office,
        &format!("/v1/items/{}/prices", item["code"].as_str().unwrap()),
        &price,
    )
    .expect(201);
    let rate = json!({"valid_from": "2031-01-01", "wage": "30", "paid_hours": "2080", "source": "offer", "burden": [], "non_productive": []});
    let class = json!({"code": "rigger", "title": "Rigger", "cost_code": "LAB", "tax_category": "services", "rates": [rate]});
    post(office, "/v1/labour-classes", &class).expect(201);
    let mut later = rate.clone();
    later["valid_from"] = json!("2032-01-01");
    let path = "/v1/labour-classes/rigger";
    tagged(office, "POST", path, &format!("{path}/rates"), &later).expect(201);
    let mut policy = office.get("/v1/policies/home").expect(200);
    for name in ["version", "valid_from", "saved_at"] {
        policy.as_object_mut().unwrap().remove(name);
    }
    let dated = |policy: &Value| json!({"valid_from": "2031-01-01", "policy": policy});
    tagged(
        office,
        "POST",
        "/v1/policies/home",
        "/v1/policies/home/versions",
        &dated(&policy),
    )
    .expect(201);
    policy["id"] = json!("barn");
    post(office, "/v1/policies", &dated(&policy)).expect(201);
    let path = "/v1/rulebooks/hollowmoor-standard";
    let text = json!({"text": office.get(path).expect(200)["text"]});
    tagged(office, "PUT", path, path, &text).expect(200);
}

/// A list of a supplier with new items and prices, applied and taken back.
pub fn price_lists_are_written(office: &Office) {
    let mapping: Value = serde_json::from_str(&seed_file("price-lists/larkholt-mapping.json")).unwrap();
    post(office, "/v1/price-list-mappings", &mapping).expect(201);
    let path = "/v1/price-list-mappings/larkholt";
    tagged(office, "PUT", path, path, &mapping).expect(200);
    let list = seed_file("price-lists/larkholt-september-2025.csv");
    let path = "/v1/price-lists?mapping=larkholt&valid_from=2031-09-01&dry_run=false&accept=factor&\
        leave_out=unit,currency,duplicate,number,date,code,pack,day_taken,factor";
    let taken = office.ask("POST", path, &[("content-type", "text/csv")], list.as_bytes());
    taken.expect(201);
    let back = json!({"valid_from": "2031-10-01", "reason": "wrong list"});
    post(office, "/v1/price-lists/1/take-back?dry_run=false", &back).expect(201);
}

fn parties_are_written(office: &Office) {
    let (customer, site) = customer_and_site(office);
    for (kind, id) in [("customers", customer), ("sites", site)] {
        let path = format!("/v1/{kind}/{id}");
        let before = office.get(&path);
        let mut body = before.expect(200);
        for name in [
            "id",
            "archived",
            "created_at",
            "created_by",
            "changed_at",
            "changed_by",
        ] {
            body.as_object_mut().unwrap().remove(name);
        }
        put(office, &path, before.header("etag").unwrap(), &body).expect(200);
        post(office, &format!("{path}/archive"), &json!({"archived": true})).expect(200);
    }
    let made = post(office, "/v1/surveys", &json!({"job": {}}));
    let path = format!("/v1/surveys/{}", made.expect(201)["id"].as_str().unwrap());
    put(
        office,
        &path,
        made.header("etag").unwrap(),
        &json!({"job": {"title": "Loft"}}),
    )
    .expect(200);
    post(office, &format!("{path}/archive"), &json!({"archived": true})).expect(200);
}

/// Every move of an offer, and then of a change order on one that was accepted.
fn quotes_are_written(office: &Office) {
    let path = quote(office, &draft());
    let first = format!("{path}/revisions/1");
    let tag = office.get(&first).header("etag").unwrap().to_owned();
    let told = put(office, &first, &tag, &draft());
    told.expect(200);
    let tag = told.header("etag").unwrap();
    send(
        office,
        "Wim Tarrant",
        "POST",
        &format!("{first}/refresh"),
        &[("if-match", tag)],
        &json!({}),
    )
    .expect(200);
    send(
        office,
        "Orla Finnimore",
        "POST",
        &format!("{path}/approvals"),
        &[],
        &json!({"revision": 1}),
    )
    .expect(201);
    moves_are_written(office, &path);
    post(office, &format!("{path}/archive"), &json!({"archived": true})).expect(200);
    let path = accepted(office, &draft());
    let order = json!({"title": "Panel moved", "change": {"job": {"electrical": {"panel_length": {"value": "60", "unit": "ft"}}}}});
    let begun = post(office, &format!("{path}/change-orders"), &order);
    let place = begun.header("location").unwrap();
    put(office, place, begun.header("etag").unwrap(), &order).expect(200);
    let track = format!("{path}/change-orders/1");
    send(
        office,
        "Orla Finnimore",
        "POST",
        &format!("{track}/approvals"),
        &[],
        &json!({"revision": 1}),
    )
    .expect(201);
    moves_are_written(office, &track);
    post(office, &format!("{track}/revisions"), &json!({"from": 3})).expect(201);
    post(office, &format!("{track}/issue"), &json!({"revision": 4})).expect(200);
    post(
        office,
        &format!("{track}/accept"),
        &json!({"revision": 4, "accepted_by": "O"}),
    )
    .expect(200);
}

/// Issued and declined, issued and withdrawn, and a further draft.
fn moves_are_written(office: &Office, track: &str) {
    for (revision, end) in [(1, "decline"), (2, "withdraw")] {
        post(office, &format!("{track}/issue"), &json!({"revision": revision})).expect(200);
        post(office, &format!("{track}/{end}"), &json!({"revision": revision})).expect(200);
        post(office, &format!("{track}/revisions"), &json!({"from": revision})).expect(201);
    }
}

/// A draft in every way in which one is written, published; and versions that come and go.
fn rules_are_written(office: &Office) {
    let drafts = "/v1/rulebook-drafts";
    let made = post(office, drafts, &json!({}));
    let path = made.header("location").unwrap().to_owned();
    let write = |method: &str, below: &str, body: &Value| {
        let told = tagged(office, method, &path, &format!("{path}{below}"), body);
        assert!(
            [200, 204].contains(&told.status),
            "{method} {below}: {}",
            told.text
        );
    };
    let check =
        json!({"code": "long", "level": "caution", "when": "line_set.length > 120 ft", "message": "Long."});
    write("PUT", "/parts/check/long", &check);
    write("DELETE", "/parts/check/long", &Value::Null);
    write("POST", "/examples", &json!({}));
    write("POST", "/format", &json!({}));
    let whole = office.get(&path).expect(200)["text"].clone();
    write("PUT", "", &json!({"text": whole}));
    write("POST", "/publish", &json!({}));
    let versions = office
        .get("/v1/rulebooks/hollowmoor-standard/versions")
        .expect(200);
    let newest = versions["versions"].as_array().unwrap().len();
    let calendar = "/v1/rulebooks/hollowmoor-standard/calendar";
    post(
        office,
        calendar,
        &json!({"version": newest, "current_from": "2131-01-01"}),
    )
    .expect(201);
    let retire = "/v1/rulebooks/hollowmoor-standard/versions/1/retire";
    post(office, retire, &json!({"reason": "old"})).expect(200);
    let made = post(office, drafts, &json!({}));
    let path = made.header("location").unwrap();
    let gone = tagged(office, "DELETE", path, path, &Value::Null);
    assert!([200, 204].contains(&gone.status), "{}", gone.text);
    let style = "/v1/house-styles/standard";
    tagged(office, "PUT", style, style, &json!({"prices": "all_lines"})).expect(200);
}

fn the_ledger_writes(office: &Office) {
    let number = number(office, &accepted(office, &draft()));
    let total =
        office.get(&format!("/v1/accounting/quotes/{number}")).expect(200)["amounts"]["total"].clone();
    put_receipt(office, &number, "GL-1", &total).expect(201);
    let path = "/v1/company/quote-numbers";
    tagged(
        office,
        "PUT",
        path,
        path,
        &json!({"pattern": "Q{year}-{counter:4}"}),
    )
    .expect(200);
    let path = "/v1/accounting/settings";
    tagged(office, "PUT", path, path, &json!({"receivable": "1200"})).expect(200);
}

fn access_keys_are_written(office: &Office) {
    let made = post(
        office,
        "/v1/access-keys",
        &json!({"person": "Wim Tarrant", "role": "field"}),
    )
    .expect(201);
    let path = format!("/v1/access-keys/{}", made["id"].as_str().unwrap());
    post(office, &format!("{path}/rotate"), &json!({})).expect(200);
    post(office, &format!("{path}/revoke"), &json!({})).expect(200);
}

#[test]
fn every_writing_operation_leaves_an_entry() {
    let office = Office::open(Engine::Sqlite).unwrap();
    rules_are_written(&office);
    catalogue_is_written(&office);
    price_lists_are_written(&office);
    parties_are_written(&office);
    quotes_are_written(&office);
    the_ledger_writes(&office);
    access_keys_are_written(&office);
    let entries = entries(&office);
    let found: BTreeSet<&str> = entries
        .iter()
        .map(|entry| entry["operation"].as_str().unwrap())
        .collect();
    let missing: Vec<&str> = ROWS
        .iter()
        .filter(|row| row.writes && !found.contains(row.operation))
        .map(|row| row.operation)
        .collect();
    assert_eq!(
        missing,
        Vec::<&str>::new(),
        "written without an entry, or not tried here"
    );
    for row in ROWS.iter().filter(|row| !row.writes) {
        assert!(!found.contains(row.operation), "{} writes", row.operation);
    }
    assert_eq!(verify(&office).faults, Vec::<String>::new());
    // Whoever knows how can hold an entry against what is stored.
    let current = office.get("/v1/rulebooks/hollowmoor-standard").expect(200);
    let text: String = Sha256::digest(current["text"].as_str().unwrap().as_bytes())
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let edit = entries
        .iter()
        .find(|entry| entry["operation"] == "edit_rulebook")
        .unwrap();
    assert_eq!(edit["after"], json!(text));
}

#[derive(diesel::QueryableByName)]
struct Stored {
    #[diesel(sql_type = diesel::sql_types::BigInt)]
    sequence: i64,
    #[diesel(sql_type = diesel::sql_types::Text)]
    written_at: String,
    #[diesel(sql_type = diesel::sql_types::Text)]
    person: String,
    #[diesel(sql_type = diesel::sql_types::Text)]
    role: String,
    #[diesel(sql_type = diesel::sql_types::Nullable<diesel::sql_types::Text>)]
    key_id: Option<String>,
    #[diesel(sql_type = diesel::sql_types::Text)]
    operation: String,
    #[diesel(sql_type = diesel::sql_types::Text)]
    subject: String,
    #[diesel(sql_type = diesel::sql_types::Nullable<diesel::sql_types::Text>)]
    before: Option<String>,
    #[diesel(sql_type = diesel::sql_types::Nullable<diesel::sql_types::Text>)]
    after: Option<String>,
    #[diesel(sql_type = diesel::sql_types::Nullable<diesel::sql_types::Text>)]
    request_id: Option<String>,
}

/// Gives every entry the digest that earlier programs gave it, which left out what was written.
pub fn as_earlier_programs(location: &Location) {
    use diesel::{Connection, PgConnection, RunQueryDsl, SqliteConnection};
    let all = diesel::sql_query("SELECT * FROM audit_entries ORDER BY sequence");
    let all: Vec<Stored> = match location {
        Location::File(path) => all.load(&mut SqliteConnection::establish(path.to_str().unwrap()).unwrap()),
        Location::Server(url) => all.load(&mut PgConnection::establish(url).unwrap()),
    }
    .unwrap();
    let mut previous = "0".repeat(64);
    let mut statements = String::new();
    for entry in &all {
        let members = json!([
            entry.sequence,
            entry.written_at,
            entry.person,
            entry.role,
            entry.key_id,
            entry.operation,
            entry.subject,
            entry.before,
            entry.after,
            entry.request_id,
            previous,
        ]);
        let digest = Sha256::digest(members.to_string().as_bytes());
        let digest: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        statements += &format!(
            "UPDATE audit_entries SET previous = '{previous}', digest = '{digest}' WHERE sequence = {};",
            entry.sequence
        );
        previous = digest;
    }
    tamper(location, "audit_entries", &statements);
    let head = format!("UPDATE audit_head SET digest = '{previous}'");
    tamper(location, "audit_head", &head);
}

on_both_engines! {
    fn an_entry_says_who_when_what_and_by_which_request(office) {
        let key = key_of(&desk(office), "Orla Finnimore", Role::Estimator, false);
        let body = json!({"name": "Wren Aldous", "address": {"lines": ["3 Low Row"]}}).to_string();
        let headers = [JSON, ("x-request-id", "phone-17"), ("idempotency-key", "once")];
        let make = || office.ask_by(Some(&key), "POST", "/v1/customers", &headers, body.as_bytes());
        let made = make().expect(201);
        let subject = format!("customers/{}", made["id"].as_str().unwrap());
        let of_it = || {
            let page = office.get(&format!("/v1/audit-entries?subject={subject}")).expect(200);
            page["data"].as_array().unwrap().clone()
        };
        let [entry] = of_it().try_into().unwrap();
        assert_eq!(entry["person"], "Orla Finnimore");
        assert_eq!(entry["role"], "estimator");
        assert_eq!(entry["operation"], "create_customer");
        assert_eq!(entry["request_id"], "phone-17");
        assert_eq!(entry["key"], key.split('_').nth(1).unwrap());
        assert_eq!(entry["before"], Value::Null);
        assert!(entry["at"].as_str().unwrap() >= made["created_at"].as_str().unwrap());
        // The same request again, a refused one and a read change nothing and leave nothing.
        make().expect(201);
        office.ask_by(Some(&key), "POST", "/v1/customers", &[JSON], b"{}").problem(422, "invalid-input");
        office.get(&format!("/v1/customers/{}", made["id"].as_str().unwrap())).expect(200);
        assert_eq!(of_it().len(), 1);
        let tag = office.get(&format!("/v1/{subject}")).header("etag").unwrap().to_owned();
        put(office, &format!("/v1/{subject}"), &tag, &json!({"name": "Wren Aldous", "address": {"lines": ["4 Low Row"]}})).expect(200);
        let [first, second] = of_it().try_into().unwrap();
        assert_eq!(second["before"], first["after"]);
        assert_ne!(second["after"], first["after"]);
        let by_person = office.get("/v1/audit-entries?person=Orla%20Finnimore").expect(200);
        assert_eq!(by_person["data"].as_array().unwrap().len(), 1);
        office.get("/v1/audit-entries?after=x").problem(400, "invalid-parameter");
    }

    fn an_entry_is_changed_by_nobody(office) {
        issued(office, &draft());
        for statement in [
            "UPDATE audit_entries SET person = 'Somebody Else'",
            "DELETE FROM audit_entries",
            "DELETE FROM audit_head",
            "UPDATE audit_head SET sequence = sequence - 1",
            "UPDATE audit_head SET digest = previous FROM audit_entries",
        ] {
            let said = by_hand(office.location(), statement).unwrap_err();
            assert!(said.contains("never"), "{statement}: {said}");
        }
        if let Location::Server(_) = office.location() {
            let said = by_hand(office.location(), "TRUNCATE audit_entries").unwrap_err();
            assert!(said.contains("never"), "{said}");
        }
    }

    fn an_entry_that_was_changed_is_told(office) {
        issued(office, &draft());
        assert_eq!(verify(office).faults, Vec::<String>::new());
        tamper(office.location(), "audit_entries", "UPDATE audit_entries SET person = 'Somebody Else' WHERE sequence = 3");
        assert_eq!(verify(office).faults, ["audit entry 3: it is not what was written"]);
    }

    fn an_entry_that_was_written_anew_breaks_the_chain(office) {
        issued(office, &draft());
        let digest = "ab".repeat(32);
        tamper(office.location(), "audit_entries", &format!("UPDATE audit_entries SET digest = '{digest}' WHERE sequence = 3"));
        let faults = verify(office).faults;
        assert!(faults.iter().any(|fault| fault == "audit entry 4: the chain of digests is broken before it"), "{faults:?}");
    }

    fn an_entry_that_is_missing_is_told(office) {
        issued(office, &draft());
        let last = entries(office).len();
        tamper(office.location(), "audit_entries", "DELETE FROM audit_entries WHERE sequence = 2");
        // It was that of the access key by which this test comes in.
        let [key, chain] = verify(office).faults.try_into().unwrap();
        assert!(key.ends_with("of access_keys was written by no audit entry"), "{key}");
        assert_eq!(chain, "audit: between entries 1 and 3 one is missing");
        tamper(office.location(), "audit_entries", &format!("DELETE FROM audit_entries WHERE sequence = {last}"));
        let faults = verify(office).faults;
        let word = format!("audit: the head is entry {last}, the newest entry found is {}", last - 1);
        assert!(faults.contains(&word), "{faults:?}");
    }

    /// What an entry wrote is of the entry: it is not taken out of it to change the rows unnoticed.
    fn an_entry_that_lost_what_it_wrote_is_told(office) {
        accepted(office, &draft());
        catalogue_is_written(office);
        assert_eq!(verify(office).faults, Vec::<String>::new());
        tamper(office.location(), "audit_entries", "UPDATE audit_entries SET written = NULL");
        tamper(office.location(), "customers", "UPDATE customers SET body = replace(body, 'a', 'b')");
        let told = verify(office).faults;
        for operation in ["create_customer", "create_site", "create_quote", "add_price", "create_policy"] {
            let entry = entries(office).into_iter().find(|entry| entry["operation"] == operation).unwrap();
            let word = format!("audit entry {}: it is not what was written", entry["sequence"]);
            assert!(told.contains(&word), "{word} is not in {told:?}");
        }
    }

    /// Entries as earlier programs wrote them: at first without what they wrote, then with it beside their digest.
    fn entries_of_earlier_programs_verify(office) {
        accepted(office, &draft());
        let silent = entries(office).len();
        accepted(office, &draft());
        tamper(office.location(), "audit_entries", &format!("UPDATE audit_entries SET written = NULL WHERE sequence <= {silent}"));
        as_earlier_programs(office.location());
        assert_eq!(verify(office).faults, Vec::<String>::new());
        let loud = entries(office).len();
        accepted(office, &draft());
        assert_eq!(verify(office).faults, Vec::<String>::new());
        // Behind the first that said it, none is silent.
        tamper(office.location(), "audit_entries", &format!("UPDATE audit_entries SET written = NULL WHERE sequence = {loud}"));
        let told = verify(office).faults;
        assert!(told.contains(&format!("audit entry {loud} does not say what it wrote")), "{told:?}");
    }

    fn many_who_write_at_once_leave_one_chain(office) {
        let other = office.another();
        let doors = match office.location() {
            // A data file belongs to one program.
            Location::File(_) => [office, office],
            Location::Server(_) => [office, &other],
        };
        let before = entries(office).len();
        thread::scope(|scope| {
            for door in [doors[0], doors[1], doors[0], doors[1]] {
                scope.spawn(move || {
                    let body = new_quote(door, &draft());
                    for _ in 0..5 {
                        post(door, "/v1/quotes", &body).expect(201);
                    }
                });
            }
        });
        let found = verify(office);
        assert_eq!(found.faults, Vec::<String>::new());
        assert_eq!(found.audit_entries, before + 4 * (2 + 5));
    }
}
