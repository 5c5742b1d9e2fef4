//! Rows that are kept for good: no connection to the database changes, deletes or replaces them. Which tables keep their
//! rows is asked of the database, so one that is added later is tried as it is.

use std::collections::BTreeMap;

use diesel::prelude::*;
use diesel::sql_types::Text;
use serde_json::json;
use tallyrule::store::Location;

use crate::accounting::put_receipt;
use crate::harness::{Engine, Office, columns, empty_location, row_counts};
use crate::migrations::populate;
use crate::quotes_desk::{by_hand, draft, post, quote, send};

/// A column of a unique key of a table that keeps its rows.
#[derive(QueryableByName, Debug)]
struct KeyColumn {
    #[diesel(sql_type = Text)]
    tab: String,
    #[diesel(sql_type = Text)]
    key: String,
    #[diesel(sql_type = Text)]
    col: String,
    #[diesel(sql_type = Text)]
    kind: String,
}

// The rowid is a key by which a row can be replaced, too; where a key is one integer it is that key.
const SQLITE_KEYS: &str = "WITH kept AS (SELECT DISTINCT tbl_name AS tab FROM sqlite_master \
        WHERE type = 'trigger' AND sql LIKE '%RAISE(ABORT%'), \
    columns AS (SELECT kept.tab, c.name, c.type, c.pk FROM kept JOIN pragma_table_info(kept.tab) c) \
    SELECT kept.tab, i.name AS key, k.name AS col, columns.type AS kind FROM kept \
        JOIN pragma_index_list(kept.tab) i JOIN pragma_index_info(i.name) k \
        JOIN columns ON columns.tab = kept.tab AND columns.name = k.name WHERE i.\"unique\" = 1 \
    UNION ALL SELECT tab, 'rowid', 'rowid', 'INTEGER' FROM kept \
    UNION ALL SELECT tab, 'primary', name, type FROM columns WHERE pk = 1 AND type = 'INTEGER' \
        AND NOT EXISTS (SELECT 1 FROM columns c WHERE c.tab = columns.tab AND c.pk > 1)";
const POSTGRESQL_KEYS: &str = "SELECT c.relname::text AS tab, i.indexrelid::regclass::text AS key, \
        a.attname::text AS col, upper(a.atttypid::regtype::text) AS kind \
    FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid \
        JOIN pg_attribute a ON a.attrelid = c.oid AND a.attnum = ANY (i.indkey) \
    WHERE i.indisunique AND EXISTS (SELECT 1 FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid \
        WHERE t.tgrelid = c.oid AND p.proname = 'kept_row' AND NOT t.tgisinternal)";

type Keys = BTreeMap<String, BTreeMap<String, Vec<(String, String)>>>;

/// The tables that keep their rows, with the columns of each of their unique keys.
fn kept(location: &Location) -> Keys {
    let rows: Vec<KeyColumn> = match location {
        Location::File(path) => {
            let mut connection = SqliteConnection::establish(path.to_str().unwrap()).unwrap();
            diesel::sql_query(SQLITE_KEYS).load(&mut connection)
        }
        Location::Server(url) => {
            diesel::sql_query(POSTGRESQL_KEYS).load(&mut PgConnection::establish(url).unwrap())
        }
    }
    .unwrap();
    let mut keys = Keys::new();
    for row in rows {
        let columns = keys.entry(row.tab).or_default().entry(row.key).or_default();
        columns.push((row.col, row.kind));
    }
    keys
}

/// Something in every table that keeps its rows.
fn fill(office: &Office) {
    populate(office);
    let path = quote(office, &draft());
    let note = json!({"revision": 1, "note": "seen"});
    send(
        office,
        "Tobin Marsh",
        "POST",
        &format!("{path}/approvals"),
        &[],
        &note,
    )
    .expect(201);
    let quotes = office.get("/v1/quotes?state=accepted").expect(200);
    let number = quotes["data"][0]["number"].as_str().unwrap();
    let total =
        office.get(&format!("/v1/accounting/quotes/{number}")).expect(200)["amounts"]["total"].clone();
    let other = json!({"amount": "1.00", "currency": total["currency"]});
    put_receipt(office, number, "GL-0", &other).problem(409, "receipt-differs");
    put_receipt(office, number, "GL-1", &total).expect(201);
    office
        .post("/v1/surveys", &json!({"job": {"title": "Basement"}}))
        .expect(201);
    for row in [
        "INSERT INTO rulebook_retirements (rulebook, version, reason, retired_at, retired_by) \
            VALUES ('hollowmoor-standard', 1, '-', '-', '-')",
        "INSERT INTO house_styles (id, version, body, created_at) VALUES ('plain', 1, '{}', '-')",
    ] {
        by_hand(office.location(), row).unwrap();
    }
}

#[track_caller]
fn refused(office: &Office, statement: &str) {
    match by_hand(office.location(), statement) {
        Ok(()) => panic!("it was done: {statement}"),
        Err(said) => assert!(said.contains("never"), "{statement}: {said}"),
    }
}

/// A value that the column has not.
fn another(column: &str, kind: &str) -> String {
    match kind {
        "TEXT" => format!("{column} || 'x'"),
        _ => format!("{column} + 1000"),
    }
}

fn statements(location: &Location, table: &str, key: &[(String, String)]) -> Vec<String> {
    let names: Vec<&str> = key.iter().map(|(name, _)| name.as_str()).collect();
    let (list, (first, kind)) = (names.join(", "), &key[0]);
    let qualified = format!("{table}.{first}");
    match location {
        Location::File(_) => vec![
            format!("DELETE FROM {table}"),
            format!("UPDATE {table} SET {first} = {}", another(first, kind)),
            format!("UPDATE OR REPLACE {table} SET {first} = {}", another(first, kind)),
            // Nothing but the key is given: whatever else would be refused, the guard speaks first.
            format!("INSERT OR REPLACE INTO {table} ({list}) SELECT {list} FROM {table} LIMIT 1"),
            format!("REPLACE INTO {table} ({list}) SELECT {list} FROM {table} LIMIT 1"),
        ],
        Location::Server(_) => vec![
            format!("DELETE FROM {table}"),
            format!("TRUNCATE {table} CASCADE"),
            format!("UPDATE {table} SET {first} = {}", another(first, kind)),
            format!(
                "INSERT INTO {table} SELECT * FROM {table} LIMIT 1 \
                ON CONFLICT ({list}) DO UPDATE SET {first} = {}",
                another(&qualified, kind)
            ),
        ],
    }
}

on_both_engines! {
    fn no_connection_changes_deletes_or_replaces_what_is_kept(office) {
        fill(office);
        let location = office.location();
        let before = row_counts(location);
        let kept = kept(location);
        assert!(kept.len() >= 29, "{:?}", kept.keys());
        for (table, keys) in &kept {
            assert!(before[table] > 0, "{table} is empty");
            for key in keys.values() {
                for statement in statements(location, table, key) {
                    refused(office, &statement);
                }
            }
        }
        assert_eq!(row_counts(location), before);
    }

    fn no_draft_is_moved_over_what_was_issued(office) {
        let path = crate::quotes_desk::issued(office, &draft());
        post(office, &format!("{path}/revisions"), &json!({"from": 1})).expect(201);
        let or_replace = if matches!(office.location(), Location::File(_)) { "OR REPLACE" } else { "" };
        refused(office, &format!("UPDATE {or_replace} revisions SET revision = 1 WHERE state = 'draft'"));
        assert_eq!(office.get(&format!("{path}/revisions/1")).expect(200)["state"], "issued");
    }

    fn what_is_there_is_still_told_as_such(office) {
        let item = office.get("/v1/items?limit=1").expect(200)["data"][0].clone();
        let price = json!({"pack": item["packs"][0]["size"], "valid_from": "2031-01-01", "amount": "7", "source": "offer"});
        let path = format!("/v1/items/{}/prices", item["code"].as_str().unwrap());
        office.post(&path, &price).expect(201);
        let problem = office.post(&path, &price).problem(409, "already-there");
        assert_eq!(problem["title"], "It is there already");
    }
}

#[test]
fn both_engines_keep_the_same_tables() {
    let Some(server) = empty_location(Engine::Postgresql) else {
        return;
    };
    let file = empty_location(Engine::Sqlite).unwrap();
    let [file, server] = [file, server].map(|location| {
        drop(tallyrule::store::Store::open(location.clone(), 1, true).unwrap());
        assert!(!columns(&location).is_empty());
        kept(&location).into_keys().collect::<Vec<_>>()
    });
    assert_eq!(file, server);
}
