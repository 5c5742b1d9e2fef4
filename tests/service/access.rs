//! Who comes in, and who may do what.

use std::collections::BTreeMap;
use std::fs;

use diesel::prelude::*;
use serde_json::{Value, json};
use tallyrule::api::{Contract, ROWS, Row, Who, who_may_do_what};
use tallyrule::desk::access::{DEMO_KEYS, Role};
use tallyrule::desk::{Desk, Entrances};
use tallyrule::store::{Location, Store};

use crate::harness::{Answer, Engine, Office, empty_location, key_of, project};
use crate::quotes_desk::{by_hand, tamper};

const JSON: (&str, &str) = ("content-type", "application/json");

fn office() -> Office {
    Office::open(Engine::Sqlite).unwrap()
}

fn desk(office: &Office) -> Desk {
    Desk::new(Store::open(office.location().clone(), 1, false).unwrap())
}

/// An address of a row; what its parameters name is not there.
fn address(row: &Row) -> String {
    let part = |part: &str| {
        if part.starts_with('{') {
            "1".to_owned()
        } else {
            part.to_owned()
        }
    };
    row.path.split('/').map(part).collect::<Vec<_>>().join("/")
}

fn asked(office: &Office, row: &Row, key: Option<&str>) -> Answer {
    office.ask_by(key, row.method, &address(row), &[JSON], b"{}")
}

#[test]
fn every_route_is_tried_with_every_role_and_with_none() {
    let office = office();
    let desk = desk(&office);
    let keys: BTreeMap<Role, String> = Role::ALL
        .into_iter()
        .map(|role| (role, key_of(&desk, "Orla Finnimore", role, false)))
        .collect();
    let mut refused = 0;
    for row in ROWS {
        let place = format!("{} {}", row.method, row.path);
        match row.who {
            Who::Everybody => {
                let answer = asked(&office, row, None);
                assert!(![401, 403].contains(&answer.status), "{place}: {}", answer.text);
                continue;
            }
            Who::Roles(roles) => assert!(roles.contains(&Role::Owner), "{place} is closed to the owner"),
        }
        let nobody = asked(&office, row, None);
        nobody.problem(401, "unauthorized");
        assert_eq!(
            nobody.header("www-authenticate"),
            Some("Bearer realm=\"tallyrule\"")
        );
        for (role, key) in &keys {
            let answer = asked(&office, row, Some(key));
            if row.admits(*role) {
                assert!(
                    ![401, 403].contains(&answer.status),
                    "{place} by {}: {}",
                    role.word(),
                    answer.text
                );
            } else {
                refused += 1;
                let told = answer.problem(403, "forbidden");
                assert!(told["detail"].as_str().unwrap().contains(role.word()), "{told}");
            }
        }
    }
    assert!(refused > 150, "{refused} refusals");
}

/// Nobody but these may ever change what they name. The table is judged here once more, from the side of each role.
#[test]
fn each_role_writes_only_what_its_work_needs() {
    let writes = |role: Role| {
        let rows = ROWS.iter().filter(|row| row.writes && row.admits(role));
        rows.map(|row| row.operation).collect::<Vec<_>>()
    };
    assert_eq!(writes(Role::Auditor), Vec::<&str>::new());
    assert_eq!(
        writes(Role::Accounting),
        ["put_receipt", "edit_accounting_settings"]
    );
    assert_eq!(
        writes(Role::Field),
        [
            "create_customer",
            "create_site",
            "create_survey",
            "change_survey",
            "archive_survey",
            "create_quote"
        ]
    );
    for operation in writes(Role::RuleKeeper) {
        assert!(
            !operation.contains("quote") && !operation.contains("policy"),
            "{operation}"
        );
    }
    for operation in writes(Role::Estimator) {
        for closed in ["rulebook", "price", "policy", "labour", "access_key"] {
            assert!(!operation.contains(closed), "{operation}");
        }
    }
}

/// With `UPDATE=1` in the environment the file is written instead.
#[test]
fn the_page_of_who_may_do_what_is_the_table() {
    let file = project().join("docs/who-may-do-what.md");
    if std::env::var("UPDATE").is_ok() {
        fs::write(&file, who_may_do_what()).unwrap();
    }
    let committed = fs::read_to_string(&file).unwrap();
    assert!(
        committed == who_may_do_what(),
        "run with UPDATE=1 and look at the change"
    );
}

#[test]
fn the_contract_says_of_every_operation_who_may() {
    let contract: Value = serde_json::from_str(&Contract::collect().unwrap().text()).unwrap();
    let scheme = &contract["components"]["securitySchemes"]["bearer"];
    assert_eq!(
        (&scheme["type"], &scheme["scheme"]),
        (&json!("http"), &json!("bearer"))
    );
    let mut found = 0;
    for (path, item) in contract["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let own = |row: &&Row| row.path == path && row.method.eq_ignore_ascii_case(method);
            let row = ROWS.iter().find(own).unwrap();
            found += 1;
            assert_eq!(operation["operationId"], row.operation);
            match row.who {
                Who::Everybody => assert_eq!(operation["security"], json!([])),
                Who::Roles(_) => {
                    assert_eq!(operation["security"], json!([{"bearer": []}]));
                    assert_eq!(operation["x-roles"], json!(row.roles()));
                    assert!(
                        operation["responses"]["401"].is_object()
                            && operation["responses"]["403"].is_object()
                    );
                }
            }
        }
    }
    assert_eq!(found, ROWS.len());
}

#[test]
fn only_a_bearer_text_lets_in() {
    let office = office();
    let own = office.key();
    let doubled = format!("{own}{own}");
    let other_secret = format!(
        "{}{}",
        &own[..own.len() - 1],
        if own.ends_with('0') { '1' } else { '0' }
    );
    let lower = format!("bearer {own}");
    let of = |header: &str| office.ask_by(None, "GET", "/v1/facts", &[("authorization", header)], b"");
    assert_eq!(of(&lower).status, 200);
    for header in [
        "",
        own,
        "Bearer",
        "Bearer ",
        &format!("Basic {own}"),
        &format!("Bearer {doubled}"),
        &format!("Bearer {other_secret}"),
        &format!("Bearer {} {own}", own),
        &format!("Bearer {}", own.to_uppercase()),
        "Bearer trk_demo_owner",
        "Bearer eyJhbGciOiJub25lIn0.e30.",
        &format!("Bearer {}", "x".repeat(9_000)),
    ] {
        of(header).problem(401, "unauthorized");
    }
    let bearer = format!("Bearer {own}");
    let twice = [("authorization", bearer.as_str()), ("authorization", "Bearer x")];
    office
        .ask_by(None, "GET", "/v1/facts", &twice, b"")
        .problem(401, "unauthorized");
}

/// The table matches an address as it is written; whatever else a router may make of it lets nobody in.
#[test]
fn another_spelling_of_an_address_leads_nowhere() {
    let office = office();
    for path in [
        "/v1/item%73",
        "/v1//items",
        "/v1/items/",
        "//v1/items",
        "/v1/./items",
        "/V1/items",
        "/v1/items;a",
        "/docs/../v1/items",
    ] {
        let answer = office.ask_by(None, "GET", path, &[], b"");
        assert!([401, 404].contains(&answer.status), "{path}: {}", answer.text);
    }
    for method in ["PUT", "DELETE", "PATCH", "TRACE", "OPTIONS", "get"] {
        let answer = office.ask_by(None, method, "/v1/items", &[], b"");
        assert_eq!(answer.status, 405, "{method}: {}", answer.text);
    }
    office.ask_by(None, "HEAD", "/v1/items", &[], b"");
    assert_eq!(office.ask_by(None, "HEAD", "/v1/items", &[], b"").status, 401);
}

#[test]
fn a_key_is_of_a_person_and_only_an_applications_key_acts_for_others() {
    let office = office();
    let own = key_of(&desk(&office), "Orla Finnimore", Role::Estimator, false);
    let customer = json!({"name": "Wren Aldous", "address": {"lines": ["3 Low Row"]}}).to_string();
    let make = |person: Option<&str>| {
        let mut headers = vec![JSON];
        headers.extend(person.map(|person| ("acting-person", person)));
        office.ask_by(Some(&own), "POST", "/v1/customers", &headers, customer.as_bytes())
    };
    assert_eq!(make(None).expect(201)["created_by"], "Orla Finnimore");
    assert_eq!(
        make(Some("Orla Finnimore")).expect(201)["created_by"],
        "Orla Finnimore"
    );
    let told = make(Some("Somebody Else")).problem(403, "forbidden");
    assert!(told["detail"].as_str().unwrap().contains("Orla Finnimore"));
    let by_application = office.ask(
        "POST",
        "/v1/customers",
        &[JSON, ("acting-person", "Wim Tarrant")],
        customer.as_bytes(),
    );
    assert_eq!(by_application.expect(201)["created_by"], "Wim Tarrant");
}

on_both_engines! {
    fn a_key_is_made_told_once_rotated_and_revoked(office) {
        let body = json!({"person": "Orla Finnimore", "role": "auditor", "valid_days": 30});
        let made = office.post("/v1/access-keys", &body).expect(201);
        let (id, key) = (made["id"].as_str().unwrap(), made["key"].as_str().unwrap());
        let comes_in = |key: &str| office.ask_by(Some(key), "GET", "/v1/quotes", &[], b"");
        comes_in(key).expect(200);
        let path = format!("/v1/access-keys/{id}");
        let read = office.get(&path).expect(200);
        assert_eq!((&read["state"], &read["person"], read.get("key")), (&json!("active"), &json!("Orla Finnimore"), None));
        let listed = office.get("/v1/access-keys").expect(200);
        assert!(listed["data"].as_array().unwrap().iter().any(|row| row["id"] == id));
        let secret = key.rsplit('_').next().unwrap();
        assert!(!listed.to_string().contains(secret) && !stored(office.location()).contains(secret));

        let rotated = office.post(&format!("{path}/rotate"), &json!({"grace_hours": 1})).expect(200);
        let newer = rotated["key"].as_str().unwrap();
        assert_ne!(newer, key);
        // Nobody said that it should hold longer.
        assert_eq!(rotated["expires_at"], made["expires_at"]);
        comes_in(key).expect(200);
        comes_in(newer).expect(200);
        let rotated = office.post(&format!("{path}/rotate"), &json!({"grace_hours": 0})).expect(200);
        let newest = rotated["key"].as_str().unwrap();
        assert_eq!(rotated["expires_at"], made["expires_at"]);
        comes_in(key).problem(401, "unauthorized");
        comes_in(newer).problem(401, "unauthorized");
        comes_in(newest).expect(200);

        assert_eq!(office.post(&format!("{path}/revoke"), &json!({})).expect(200)["state"], "revoked");
        let told = comes_in(newest).problem(401, "unauthorized");
        assert!(told["detail"].as_str().unwrap().contains("revoked"));
        let again = office.post(&format!("{path}/revoke"), &json!({})).expect(200);
        assert_eq!(again, office.get(&path).expect(200));
        office.post(&format!("{path}/rotate"), &json!({})).problem(409, "conflict");
        office.get("/v1/access-keys/0000000000000000").problem(404, "not-found");
    }

    /// Whoever rotates again may have lost the answer, and still come in by the first secret.
    fn a_secret_keeps_its_grace_over_further_rotations(office) {
        let body = json!({"person": "Orla Finnimore", "role": "auditor"});
        let made = office.post("/v1/access-keys", &body).expect(201);
        let rotate = format!("/v1/access-keys/{}/rotate", made["id"].as_str().unwrap());
        let comes_in = |key: &Value| office.ask_by(key.as_str(), "GET", "/v1/quotes", &[], b"");
        let mut keys = vec![made["key"].clone()];
        let refused = loop {
            let rotated = office.post(&rotate, &json!({"grace_hours": 1}));
            if rotated.status != 200 {
                break rotated;
            }
            keys.push(rotated.json()["key"].clone());
            for key in &keys {
                comes_in(key).expect(200);
            }
        };
        let told = refused.problem(409, "conflict");
        assert!(told["detail"].as_str().unwrap().contains("8 secrets of the access key"), "{told}");
        let last = office.post(&rotate, &json!({"grace_hours": 0})).expect(200);
        for key in &keys {
            comes_in(key).problem(401, "unauthorized");
        }
        comes_in(&last["key"]).expect(200);
        assert_eq!(desk(office).verify().unwrap().faults, Vec::<String>::new());
    }

    fn a_request_for_a_key_has_one_effect_for_one_name(office) {
        let ask = |path: &str, name: &str, body: &Value| {
            office.ask("POST", path, &[JSON, ("idempotency-key", name)], body.to_string().as_bytes())
        };
        let body = json!({"person": "Orla Finnimore", "role": "auditor"});
        let keys = || office.get("/v1/access-keys?limit=500").expect(200)["data"].as_array().unwrap().len();
        let (first, count) = (ask("/v1/access-keys", "one", &body), keys());
        let again = ask("/v1/access-keys", "one", &body);
        assert_eq!(again.header("location"), first.header("location"));
        let mut known = first.expect(201);
        let key = known.as_object_mut().unwrap().remove("key").unwrap();
        assert_eq!((again.expect(201), keys()), (known.clone(), count));
        ask("/v1/access-keys", "one", &json!({"person": "Wim Tarrant", "role": "owner"})).problem(422, "idempotency-key-reused");
        let rotate = format!("/v1/access-keys/{}/rotate", known["id"].as_str().unwrap());
        let first = ask(&rotate, "two", &json!({"grace_hours": 0})).expect(200);
        let again = ask(&rotate, "two", &json!({"grace_hours": 0})).expect(200);
        assert_eq!((again.get("key"), &again["id"]), (None, &first["id"]));
        office.ask_by(first["key"].as_str(), "GET", "/v1/quotes", &[], b"").expect(200);
        office.ask_by(key.as_str(), "GET", "/v1/quotes", &[], b"").problem(401, "unauthorized");
    }

    fn a_key_that_was_written_by_hand_is_told(office) {
        let desk = desk(office);
        let (location, own) = (office.location(), "Orla Finnimore");
        for _ in 0..4 {
            key_of(&desk, own, Role::Field, false);
        }
        let ids: Vec<String> = desk.access_keys("", 100).unwrap().iter()
            .filter(|key| key.row().person == own).map(|key| key.row().id.clone()).collect();
        desk.revoke_access_key(&ids[1]).unwrap();
        assert_eq!(desk.verify().unwrap().faults, Vec::<String>::new());
        let (digest, forged) = ("ab".repeat(32), "0123456789abcdef");
        tamper(location, "access_keys", &format!(
            "UPDATE access_keys SET role = 'owner' WHERE id = '{}';
             UPDATE access_keys SET revoked_at = NULL, revoked_by = NULL WHERE id = '{}';
             UPDATE access_keys SET digest = '{digest}' WHERE id = '{}';
             DELETE FROM access_keys WHERE id = '{}';
             INSERT INTO access_keys (id, person, role, shared, digest, expires_at, created_at, created_by)
             SELECT '{forged}', person, 'owner', shared, '{digest}', expires_at, created_at, created_by
             FROM access_keys WHERE id = '{}'", ids[0], ids[1], ids[2], ids[3], ids[2]));
        let faults = desk.verify().unwrap().faults.join("\n");
        for (id, word) in [
            (ids[0].as_str(), "is not what audit entry"),
            (ids[1].as_str(), "is not what audit entry"),
            (ids[2].as_str(), "is not what audit entry"),
            (forged, "was written by no audit entry"),
        ] {
            assert!(faults.contains(&format!("the row {id} of access_keys {word}")), "{faults}");
        }
        assert!(faults.contains(&format!("the row {} of access_keys, which audit entry", ids[3])), "{faults}");
        assert_eq!(faults.lines().count(), 5, "{faults}");
    }

    fn a_key_ends_with_its_time(office) {
        let made = office.post("/v1/access-keys", &json!({"person": "Orla Finnimore", "role": "auditor"})).expect(201);
        let (id, key) = (made["id"].as_str().unwrap(), made["key"].as_str().unwrap());
        let past = "2020-01-01T00:00:00.000000Z";
        by_hand(office.location(), &format!("UPDATE access_keys SET expires_at = '{past}' WHERE id = '{id}'")).unwrap();
        let told = office.ask_by(Some(key), "GET", "/v1/quotes", &[], b"").problem(401, "unauthorized");
        assert!(told["detail"].as_str().unwrap().contains(past), "{told}");
        assert_eq!(office.get(&format!("/v1/access-keys/{id}")).expect(200)["state"], "expired");
        let rotate = format!("/v1/access-keys/{id}/rotate");
        office.post(&rotate, &json!({})).problem(409, "conflict");
        let longer = office.post(&rotate, &json!({"valid_days": 2})).expect(200);
        assert_eq!(longer["state"], "active");
    }

    fn whose_a_key_is_cannot_be_changed(office) {
        for statement in [
            "UPDATE access_keys SET role = 'owner', person = 'Somebody'",
            "UPDATE access_keys SET shared = NOT shared",
            "DELETE FROM access_keys",
        ] {
            let said = by_hand(office.location(), statement).unwrap_err();
            assert!(said.contains("never"), "{statement}: {said}");
        }
    }

    fn the_first_start_makes_one_owners_key(office) {
        let engine = match office.location() {
            Location::File(_) => Engine::Sqlite,
            Location::Server(_) => Engine::Postgresql,
        };
        let location = empty_location(engine).unwrap();
        let desk = Desk::new(Store::open(location, 1, true).unwrap());
        let key = desk.first_access_key().unwrap().unwrap();
        let caller = desk.admit(key.text()).unwrap();
        assert_eq!((caller.role, caller.shared), (Role::Owner, false));
        assert!(desk.first_access_key().unwrap().is_none());
    }
}

/// Everything that is stored of access keys and of the audit, as text.
fn stored(location: &Location) -> String {
    use diesel::sql_types::Text;
    #[derive(QueryableByName)]
    struct Whole {
        #[diesel(sql_type = Text)]
        whole: String,
    }
    let rows: Vec<Whole> = match location {
        Location::File(path) => {
            let statement = "SELECT id || person || role || digest || coalesce(previous_digest, '') AS whole FROM access_keys \
                UNION ALL SELECT subject || coalesce(after, '') || digest FROM audit_entries";
            let mut connection = SqliteConnection::establish(path.to_str().unwrap()).unwrap();
            diesel::sql_query(statement).load(&mut connection).unwrap()
        }
        Location::Server(url) => {
            let statement =
                "SELECT k::text AS whole FROM access_keys k UNION ALL SELECT a::text FROM audit_entries a";
            let mut connection = PgConnection::establish(url).unwrap();
            diesel::sql_query(statement).load(&mut connection).unwrap()
        }
    };
    rows.into_iter().map(|row| row.whole).collect()
}

#[test]
fn a_faulty_request_for_a_key_is_told_with_every_fault() {
    let office = office();
    let body = json!({"person": " ", "role": "boss", "valid_days": 0, "shared": "yes", "colour": "red"});
    let told = office
        .post("/v1/access-keys", &body)
        .problem(422, "invalid-input");
    let mut pointers: Vec<&str> = told["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|error| error["pointer"].as_str().unwrap())
        .collect();
    pointers.sort_unstable();
    assert_eq!(
        pointers,
        ["/colour", "/person", "/role", "/shared", "/valid_days"]
    );
    let made = office
        .post("/v1/access-keys", &json!({"person": "A", "role": "field"}))
        .expect(201);
    let path = format!("/v1/access-keys/{}/rotate", made["id"].as_str().unwrap());
    let told = office
        .post(&path, &json!({"grace_hours": 169, "valid_days": 731}))
        .problem(422, "invalid-input");
    assert_eq!(told["errors"].as_array().unwrap().len(), 2);
}

#[test]
fn the_keys_of_the_demonstration_let_in_only_there() {
    let office = office();
    let demo = office.another_with(Entrances {
        demo_keys: true,
        ..Entrances::default()
    });
    for (key, role, person) in DEMO_KEYS {
        office
            .ask_by(Some(key), "GET", "/v1/job-spec-form", &[], b"")
            .problem(401, "unauthorized");
        demo.ask_by(Some(key), "GET", "/v1/job-spec-form", &[], b"")
            .expect(200);
        assert!(key.ends_with(role.word()) && !person.is_empty());
    }
}

/// What the contract says may be null may be: it says as much as leaving it out.
#[test]
fn null_is_as_good_as_nothing_where_the_contract_takes_it() {
    let office = office();
    let bare = json!({"person": "Wim Tarrant", "role": "field"});
    let mut nulls = bare.clone();
    nulls["shared"] = Value::Null;
    nulls["valid_days"] = Value::Null;
    let made = office.post("/v1/access-keys", &nulls).expect(201);
    let usual = office.post("/v1/access-keys", &bare).expect(201);
    assert_eq!(
        (&made["shared"], &usual["shared"]),
        (&json!(false), &json!(false))
    );
    let day = |key: &Value| key["expires_at"].as_str().unwrap()[..10].to_owned();
    assert_eq!(day(&made), day(&usual));
    let path = format!("/v1/access-keys/{}/rotate", made["id"].as_str().unwrap());
    let turned = office
        .post(&path, &json!({"grace_hours": null, "valid_days": null}))
        .expect(200);
    assert!(turned["previous_until"].is_string());
    assert_eq!(turned["expires_at"], made["expires_at"]);
    for (name, value) in [
        ("shared", json!("no")),
        ("valid_days", json!(0)),
        ("role", Value::Null),
    ] {
        let mut body = bare.clone();
        body[name] = value;
        office
            .post("/v1/access-keys", &body)
            .problem(422, "invalid-input");
    }
}
