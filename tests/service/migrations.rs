//! The schema's steps: there and back, and the same on both engines.

use std::collections::BTreeMap;
use std::ffi::OsString;

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel_migrations::{FileBasedMigrations, MigrationHarness};
use serde_json::json;
use tallyrule::desk::Desk;
use tallyrule::store::{Location, Store};

use crate::database::by_hand;
use crate::harness::{Engine, Office, columns, empty_location, project, row_counts};
use crate::quotes_desk::{accepted, draft, draft_with_alternates, issued, post, quote};

/// Takes the last `count` steps back.
pub fn take_back(location: &Location, count: usize) {
    let steps =
        |engine: &str| FileBasedMigrations::from_path(project().join("migrations").join(engine)).unwrap();
    match location {
        Location::File(path) => {
            let mut connection = SqliteConnection::establish(path.to_str().unwrap()).unwrap();
            connection
                .batch_execute("PRAGMA busy_timeout = 5000; PRAGMA foreign_keys = ON")
                .unwrap();
            let steps = steps("sqlite");
            (0..count).for_each(|_| drop(connection.revert_last_migration(steps.clone()).unwrap()));
        }
        Location::Server(url) => {
            let mut connection = PgConnection::establish(url).unwrap();
            let steps = steps("postgresql");
            (0..count).for_each(|_| drop(connection.revert_last_migration(steps.clone()).unwrap()));
        }
    }
}

/// The names of the steps of an engine, in their order.
pub fn steps(engine: &str) -> Vec<OsString> {
    let folder = project().join("migrations").join(engine);
    let mut names: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    names.sort();
    names
}

fn there_and_back(engine: Engine) {
    let Some(location) = empty_location(engine) else {
        return;
    };
    drop(Store::open(location.clone(), 1, true).unwrap());
    let first = columns(&location);
    assert!(first.len() > 20, "{first:?}");
    take_back(&location, steps("sqlite").len());
    assert_eq!(columns(&location), []);
    drop(Store::open(location.clone(), 1, true).unwrap());
    assert_eq!(columns(&location), first);
}

#[test]
fn every_step_can_be_taken_back_and_again_sqlite() {
    there_and_back(Engine::Sqlite);
}

#[test]
fn every_step_can_be_taken_back_and_again_postgresql() {
    there_and_back(Engine::Postgresql);
}

/// An entry of a rulebook's calendar.
#[derive(QueryableByName)]
struct Entry {
    #[diesel(sql_type = diesel::sql_types::Text)]
    entry: String,
}

/// Takes the steps before versions of rulebooks, puts three versions in, and takes the rest.
fn versions_hold_from_their_publication(engine: Engine) {
    const STEPS_BEFORE: usize = 3;
    let Some(location) = empty_location(engine) else {
        return;
    };
    drop(Store::open(location.clone(), 1, true).unwrap());
    take_back(&location, steps("sqlite").len() - STEPS_BEFORE);
    for (id, version, day) in [
        ("a", 1, "2025-03-01"),
        ("b", 1, "2025-03-02"),
        ("a", 2, "2025-05-04"),
    ] {
        let digest = "0".repeat(64);
        let row = format!(
            "INSERT INTO rulebooks (id, version, state, text, digest, created_at) \
             VALUES ('{id}', {version}, 'published', '', '{digest}', '{day}T08:00:00.000000Z')"
        );
        by_hand(&location, &row).unwrap();
    }
    drop(Store::open(location.clone(), 1, true).unwrap());
    let read = "SELECT rulebook || ' ' || position || ' ' || version || ' ' || CAST(current_from AS TEXT) AS entry \
        FROM rulebook_calendar ORDER BY rulebook, position";
    let read = diesel::sql_query(read);
    let calendar: Vec<Entry> = match &location {
        Location::File(path) => read.load(&mut SqliteConnection::establish(path.to_str().unwrap()).unwrap()),
        Location::Server(url) => read.load(&mut PgConnection::establish(url).unwrap()),
    }
    .unwrap();
    let told: Vec<&str> = calendar.iter().map(|row| row.entry.as_str()).collect();
    assert_eq!(told, ["a 1 1 2025-03-01", "a 2 2 2025-05-04", "b 1 1 2025-03-02"]);
}

#[test]
fn published_versions_are_current_from_their_publication_sqlite() {
    versions_hold_from_their_publication(Engine::Sqlite);
}

#[test]
fn published_versions_are_current_from_their_publication_postgresql() {
    versions_hold_from_their_publication(Engine::Postgresql);
}

#[test]
fn both_engines_have_the_same_tables() {
    let Some(server) = empty_location(Engine::Postgresql) else {
        return;
    };
    let file = empty_location(Engine::Sqlite).unwrap();
    for location in [&server, &file] {
        drop(Store::open(location.clone(), 1, true).unwrap());
    }
    assert_eq!(columns(&server), columns(&file));
}

#[test]
fn both_engines_have_the_same_steps() {
    assert_eq!(steps("sqlite"), steps("postgresql"));
}

/// A rate of a labour class as the first version of the program wrote it, before burdens had groups.
const OLD_RATE: &str = r#"{"valid_from":"1999-01-01","wage":"20","burden":[{"kind":"percent","name":"Payroll taxes","percent":"12"}],"paid_hours":"2080","non_productive":[],"source":"old books"}"#;

/// Something of everything: prices of a list, quotes in every stage, a change order.
pub fn populate(office: &Office) {
    let file = |name: &str| std::fs::read(project().join("seed-data/price-lists").join(name)).unwrap();
    let mapping = serde_json::from_slice(&file("larkholt-mapping.json")).unwrap();
    office.post("/v1/price-list-mappings", &mapping).expect(201);
    let path = "/v1/price-lists?mapping=larkholt&valid_from=2025-09-01&dry_run=false&leave_out=factor";
    let list = file("larkholt-september-2025.csv");
    office
        .ask("POST", path, &[("content-type", "text/csv")], &list)
        .expect(201);
    quote(office, &draft());
    let path = issued(office, &draft_with_alternates());
    post(office, &format!("{path}/revisions"), &json!({"from": 1})).expect(201);
    let path = accepted(office, &draft());
    let change = json!({"title": "Conduit", "change": {"job": {"electrical": {"method": "conduit"}}}});
    post(office, &format!("{path}/change-orders"), &change).expect(201);
    post(
        office,
        &format!("{path}/change-orders/1/issue"),
        &json!({"revision": 1}),
    )
    .expect(200);
}

/// What is read of the catalogue, and of every quote.
pub fn told(office: &Office) -> BTreeMap<String, String> {
    let mut told = BTreeMap::new();
    let mut read = |path: &str| {
        let answer = office.get(path);
        answer.expect(200);
        told.insert(path.to_owned(), answer.text.clone());
        answer.json()
    };
    read("/v1/items?limit=500");
    read("/v1/equipment");
    read("/v1/customers");
    let quotes = read("/v1/quotes");
    for quote in quotes["data"].as_array().unwrap() {
        let path = format!("/v1/quotes/{}", quote["id"].as_str().unwrap());
        read(&format!("{path}/transitions"));
        let revisions = read(&path)["revisions"].as_array().unwrap().clone();
        for revision in revisions {
            let path = format!("{path}/revisions/{}", revision["revision"]);
            read(&path);
            read(&format!("{path}/estimate"));
            if revision["state"] != "draft" {
                read(&format!("{path}/document"));
            }
        }
    }
    told
}

/// From every earlier schema with rows in it up to the newest: the steps are taken back one more each time, and with the
/// last of them goes what only it has room for. A step that is added later is tried by this as it is.
fn up_with_rows(engine: Engine) {
    let Some(office) = Office::open(engine) else {
        return;
    };
    populate(&office);
    // What an earlier schema has no room for stood in no digest of the programs that wrote it.
    crate::audit::as_earlier_programs(office.location());
    let before = told(&office);
    let location = office.close();
    let steps = steps("sqlite").len();
    for count in 1..steps {
        take_back(&location, count);
        let rows = row_counts(&location);
        assert!(
            rows["items"] > 100 && rows["rulebooks"] > 0 && rows["policies"] > 0,
            "{rows:?}"
        );
        let has_quotes = rows.contains_key("quotes");
        if !has_quotes {
            let statement =
                format!("INSERT INTO labour_rates VALUES ('lead_mechanic', '1999-01-01', '{OLD_RATE}')");
            by_hand(&location, &statement).unwrap();
        }
        let office = Office::over(location.clone());
        let after = row_counts(&location);
        for (table, rows) in &rows {
            // The office that is opened has a key of its own, which the audit puts down.
            let own = ["access_keys", "audit_entries"].contains(&table.as_str());
            let added = i64::from(own || !has_quotes && table == "labour_rates");
            assert_eq!(after[table], rows + added, "{table}, {count} steps up");
        }
        let told = told(&office);
        if has_quotes {
            assert_eq!(told, before, "{count} steps up");
        } else {
            assert_eq!(told["/v1/items?limit=500"], before["/v1/items?limit=500"]);
            let class = office.get("/v1/labour-classes/lead_mechanic").expect(200);
            assert_eq!(class["rates"][0]["hour"]["cost_an_hour"], "22.40");
        }
        let verified = Desk::new(Store::open(location.clone(), 1, false).unwrap())
            .verify()
            .unwrap();
        assert_eq!(verified.faults, Vec::<String>::new(), "{count} steps up");
        let revisions = if has_quotes { 3 } else { 0 };
        assert_eq!(verified.revisions, revisions, "{count} steps up");
        office.post("/v1/estimates", &draft()["request"]).expect(200);
        // What was brought up is worked on as what was made today.
        if count + 1 == steps {
            issued(&office, &draft());
        }
    }
}

#[test]
fn every_earlier_schema_is_brought_up_with_its_rows_sqlite() {
    up_with_rows(Engine::Sqlite);
}

#[test]
fn every_earlier_schema_is_brought_up_with_its_rows_postgresql() {
    up_with_rows(Engine::Postgresql);
}
