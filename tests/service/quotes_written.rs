//! What the audit says was written, held against what is stored: no column can be changed without being told.

use diesel::prelude::*;
use diesel::sql_types::{Nullable, Text};
use serde_json::json;
use tallyrule::desk::Desk;
use tallyrule::store::{Location, Store};

use crate::accounting::put_receipt;
use crate::audit::{catalogue_is_written, price_lists_are_written, tagged};
use crate::harness::{Office, columns};
use crate::quotes_desk::{by_hand, job, post, quote, send};

/// Tables whose rows the audit puts down, with their primary keys.
const TABLES: &[(&str, &[&str])] = &[
    ("customers", &["id"]),
    ("sites", &["id"]),
    ("quotes", &["id", "year", "counter"]),
    ("revisions", &["quote_id", "change_order", "revision"]),
    ("issued_revisions", &["quote_id", "change_order", "revision"]),
    ("acceptances", &["quote_id", "change_order", "revision"]),
    ("approvals", &["quote_id", "change_order", "revision", "position"]),
    ("transitions", &["quote_id", "position"]),
    ("accounting_feed", &["position"]),
    ("accounting_receipts", &["quote_id", "change_order"]),
    ("accounting_refusals", &["quote_id", "change_order"]),
];

#[derive(QueryableByName)]
struct Cell {
    #[diesel(sql_type = Nullable<Text>)]
    cell: Option<String>,
}

fn cell(location: &Location, table: &str, column: &str, row: &str) -> Option<String> {
    let statement = diesel::sql_query(format!(
        "SELECT CAST({column} AS TEXT) AS cell FROM {table} WHERE {row}"
    ));
    let cell: Cell = match location {
        Location::File(path) => {
            statement.get_result(&mut SqliteConnection::establish(path.to_str().unwrap()).unwrap())
        }
        Location::Server(url) => statement.get_result(&mut PgConnection::establish(url).unwrap()),
    }
    .unwrap();
    cell.cell
}

/// As somebody does who has the database to himself.
fn by_force(location: &Location, statement: &str) {
    let statement = match location {
        Location::File(_) => format!("PRAGMA foreign_keys = OFF; {statement}"),
        Location::Server(_) => format!("SET session_replication_role = replica; {statement}"),
    };
    by_hand(location, &statement).unwrap();
}

fn without_triggers(location: &Location) {
    if let Location::File(path) = location {
        #[derive(QueryableByName)]
        struct Trigger {
            #[diesel(sql_type = Text)]
            name: String,
        }
        let mut connection = SqliteConnection::establish(path.to_str().unwrap()).unwrap();
        let triggers: Vec<Trigger> =
            diesel::sql_query("SELECT name FROM sqlite_master WHERE type = 'trigger'")
                .load(&mut connection)
                .unwrap();
        for trigger in triggers {
            by_hand(location, &format!("DROP TRIGGER {}", trigger.name)).unwrap();
        }
    }
}

/// An offer that needed approval, was issued, accepted and has a receipt; each table has one row of it.
fn story(office: &Office) {
    let mut dear = json!({"request": job("wickerlamp-restaurant")});
    dear["request"]["discount"] = json!({"percent": "9"});
    let path = quote(office, &dear);
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
    post(
        office,
        &format!("{path}/issue"),
        &json!({"revision": 1, "reason": "after the visit"}),
    )
    .expect(200);
    let word = json!({"revision": 1, "accepted_by": "O", "reference": "PO 7"});
    post(office, &format!("{path}/accept"), &word).expect(200);
    let number = office.get(&path).expect(200)["number"]
        .as_str()
        .unwrap()
        .to_owned();
    let accepted = office.get(&format!("/v1/accounting/quotes/{number}")).expect(200);
    let total = accepted["amounts"]["total"].clone();
    let other = json!({"amount": "1.00", "currency": total["currency"]});
    put_receipt(office, &number, "GL-0", &other).problem(409, "receipt-differs");
    put_receipt(office, &number, "GL-1", &total).expect(201);
}

/// The assignment that changes a column in a way that the table's own checks let pass.
fn changed(table: &str, column: &str, kept: Option<&str>) -> String {
    match (table, column, kept) {
        ("accounting_feed", "net", _) => "net = net + 1, tax = tax - 1".to_owned(),
        ("accounting_feed", "tax", _) => "tax = tax + 1, total = total + 1".to_owned(),
        ("accounting_feed", "total", _) => "total = total + 1, net = net + 1".to_owned(),
        (_, "archived", Some("0" | "1")) => "archived = 1 - archived".to_owned(),
        (_, "archived", _) => "archived = NOT archived".to_owned(),
        (_, _, None) => format!("{column} = 'x'"),
        (_, _, Some(kept)) if kept.parse::<i64>().is_ok() => format!("{column} = {column} + 1000"),
        (_, _, Some(kept)) if kept.len() == 64 => {
            let first = if kept.starts_with('0') { '1' } else { '0' };
            format!("{column} = '{first}{}'", &kept[1..])
        }
        _ => format!("{column} = {column} || 'x'"),
    }
}

fn literal(kept: Option<&str>) -> String {
    match kept {
        None => "NULL".to_owned(),
        Some("true" | "false") => kept.unwrap_or_default().to_owned(),
        Some(kept) if kept.parse::<i64>().is_ok() => kept.to_owned(),
        Some(kept) => format!("'{}'", kept.replace('\'', "''")),
    }
}

on_both_engines! {
    fn every_column_that_is_changed_is_told(office) {
        story(office);
        let location = office.location();
        let desk = Desk::new(Store::open(location.clone(), 1, false).unwrap());
        assert_eq!(desk.verify().unwrap().faults, Vec::<String>::new());
        without_triggers(location);
        let mut tried = 0;
        for column in columns(location) {
            let (table, name) = (column.table_name.as_str(), column.column_name.as_str());
            let Some((_, keys)) = TABLES.iter().find(|(known, _)| *known == table) else {
                continue;
            };
            if keys.contains(&name) {
                continue;
            }
            // Rows after the first are as they were: one that is changed is enough.
            let last = keys[keys.len() - 1];
            let first = format!("{last} = (SELECT min({last}) FROM {table})");
            let kept = |column: &str| cell(location, table, column, &first);
            let assigned = changed(table, name, kept(name).as_deref());
            let parts = assigned.split(", ").map(|part| part.split(" = ").next().unwrap());
            let back: Vec<String> = parts.map(|part| format!("{part} = {}", literal(kept(part).as_deref()))).collect();
            by_force(location, &format!("UPDATE {table} SET {assigned} WHERE {first}"));
            let faults = desk.verify().unwrap().faults;
            assert!(faults.iter().any(|fault| fault.contains(table)), "{table}.{name} ({assigned}): {faults:?}");
            by_force(location, &format!("UPDATE {table} SET {} WHERE {first}", back.join(", ")));
            tried += 1;
        }
        assert!(tried > 60, "{tried}");
        assert_eq!(desk.verify().unwrap().faults, Vec::<String>::new());
    }

    fn a_row_that_is_taken_away_or_put_in_is_told(office) {
        story(office);
        let location = office.location();
        let desk = Desk::new(Store::open(location.clone(), 1, false).unwrap());
        without_triggers(location);
        let tells = |word: &str| {
            let faults = desk.verify().unwrap().faults;
            assert!(faults.iter().any(|fault| fault.contains(word)), "{word}: {faults:?}");
        };
        by_force(location, "DELETE FROM approvals");
        tells("the row 0/1/1 of approvals, which audit entry");
        by_force(location, "INSERT INTO approvals SELECT quote_id, 0, 1, 2, digest, issued_at, 'Nobody', NULL FROM issued_revisions");
        tells("the row 0/1/2 of approvals was written by no audit entry");
        by_force(location, "UPDATE audit_entries SET written = NULL WHERE operation = 'accept'");
        tells("does not say what it wrote");
        by_force(location, "UPDATE audit_entries SET written = '[]' WHERE operation = 'issue'");
        tells("it wrote something else than it says");
    }

    /// Of what was written by itself no row is gone or changed unnoticed, and where it is the whole thing that is gone.
    fn a_thing_that_is_gone_is_told(office) {
        story(office);
        catalogue_is_written(office);
        let style = "/v1/house-styles/standard";
        tagged(office, "PUT", style, style, &json!({"prices": "all_lines"})).expect(200);
        let settings = "/v1/accounting/settings";
        tagged(office, "PUT", settings, settings, &json!({"receivable": "1200"})).expect(200);
        let survey = json!({"job": {"title": "Loft"}});
        post(office, "/v1/surveys", &survey).expect(201);
        let location = office.location();
        let desk = Desk::new(Store::open(location.clone(), 1, false).unwrap());
        assert_eq!(desk.verify().unwrap().faults, Vec::<String>::new());
        without_triggers(location);
        for (table, column, rows) in [
            ("customers", "body", "1 = 1"),
            ("sites", "body", "1 = 1"),
            ("surveys", "body", "1 = 1"),
            ("item_prices", "amount", "valid_from = '2031-01-01'"),
            ("labour_rates", "body", "labour_class = 'rigger' AND valid_from = '2032-01-01'"),
            ("policies", "body", "id = 'home' AND valid_from = '2031-01-01'"),
            ("house_styles", "body", "version = (SELECT max(version) FROM house_styles)"),
            ("accounting_settings", "created_by", "version = (SELECT max(version) FROM accounting_settings)"),
        ] {
            let is_told = |word: &str| {
                let faults = desk.verify().unwrap().faults;
                assert!(faults.iter().any(|fault| fault.contains(table) && fault.contains(word)), "{table}: {faults:?}");
            };
            by_force(location, &format!("UPDATE {table} SET {column} = {column} || '1' WHERE {rows}"));
            is_told("is not what audit entry");
            by_force(location, &format!("DELETE FROM {table} WHERE {rows}"));
            is_told("is missing");
        }
        // The last quote with all that is of it, and the counter as it was before it.
        for table in ["quotes", "revisions", "issued_revisions", "acceptances", "approvals", "transitions",
            "accounting_feed", "accounting_receipts", "accounting_references", "accounting_refusals", "quote_counters"] {
            by_force(location, &format!("DELETE FROM {table}"));
        }
        let faults = desk.verify().unwrap().faults;
        assert!(faults.iter().any(|fault| fault.contains("of issued_revisions, which audit entry")), "{faults:?}");
    }

    /// What seed data and a price list put in has one entry for all of it: no column of it is changed unnoticed either, no row is
    /// gone, and none is put beside.
    fn what_came_in_together_is_held_together(office) {
        price_lists_are_written(office);
        catalogue_is_written(office);
        let location = office.location();
        let desk = Desk::new(Store::open(location.clone(), 1, false).unwrap());
        let faults = || desk.verify().unwrap().faults;
        assert_eq!(faults(), Vec::<String>::new());
        without_triggers(location);
        let is_told = |statement: &str, word: &str| {
            by_force(location, statement);
            let told = faults();
            assert!(told.iter().any(|fault| fault.contains(word)), "{statement}: {told:?}");
        };
        is_told(
            "INSERT INTO item_prices SELECT item_code, pack_size, '2039-01-01', amount, source FROM item_prices \
                WHERE valid_from = (SELECT min(valid_from) FROM item_prices)",
            "rows of item_prices, taken together (*)",
        );
        by_force(location, "DELETE FROM item_prices WHERE valid_from = '2039-01-01'");
        assert_eq!(faults(), Vec::<String>::new());
        is_told(
            "INSERT INTO price_lists SELECT 7, supplier, source, valid_from, mapping_id, mapping_version, takes_back, digest, body, \
                created_at FROM price_lists WHERE number = 1",
            "the row 7 of price_lists was written by no audit entry",
        );
        by_force(location, "DELETE FROM price_lists WHERE number = 7");
        let of_list = "EXISTS (SELECT 1 FROM price_list_rows r WHERE r.price_list = 2 AND r.item_code = item_prices.item_code \
            AND r.pack_size = item_prices.pack_size AND r.valid_from = item_prices.valid_from)";
        is_told(&format!("DELETE FROM item_prices WHERE {of_list}"), "rows of item_prices, taken together (2/*)");
        for column in ["kind", "replaced"] {
            let one = format!("UPDATE price_list_rows SET {column} = 'x' WHERE price_list = 1 AND position = \
                (SELECT min(position) FROM price_list_rows WHERE price_list = 1)");
            is_told(&one, "rows of price_list_rows, taken together (1/*)");
        }
        is_told("DELETE FROM price_list_rows WHERE price_list = 2", "rows of price_list_rows, taken together (2/*)");
        is_told("UPDATE price_lists SET source = source || 'x' WHERE number = 2", "the row 2 of price_lists is not what audit entry");
        is_told("DELETE FROM price_lists WHERE number = 1", "the row 1 of price_lists, which audit entry");
        for (table, column) in [
            ("item_prices", "source"),
            ("items", "body"),
            ("labour_rates", "body"),
            ("equipment", "body"),
            ("policies", "created_at"),
            ("house_styles", "created_at"),
            ("accounting_settings", "created_by"),
        ] {
            let word = format!("rows of {table}, taken together (*)");
            assert!(faults().iter().all(|fault| !fault.contains(&word)), "{table}");
            is_told(&format!("UPDATE {table} SET {column} = {column} || ' '"), &word);
        }
        is_told("UPDATE catalogue_state SET seed = 'x'", "the row seed of catalogue_state is not what audit entry");
    }
}
