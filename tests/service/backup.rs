//! A company in one file: moved between engines, written while others work, put into empty places only.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use diesel::prelude::*;
use diesel::sql_types::{BigInt, Text};
use serde_json::json;
use tallyrule::desk::Desk;
use tallyrule::store::archive::{ArchiveFault, Kept, back_up, restore};
use tallyrule::store::{Location, Store};

use crate::command_line::{folder, out, run_in, told as complaint};
use crate::database::by_hand;
use crate::harness::{Engine, Office, columns, empty_location, fresh_name, row_counts, scratch};
use crate::migrations::{populate, steps, take_back, told};
use crate::quotes_desk::{draft, issued, new_quote, post, put, quote};

fn new_file() -> PathBuf {
    scratch().join(fresh_name("backup"))
}

/// An archive of what is there, and its tables.
fn archive(location: &Location) -> (PathBuf, Vec<Kept>) {
    let file = new_file();
    let manifest = back_up(location, &file).unwrap();
    (file, manifest.tables)
}

fn faults(location: &Location) -> Vec<String> {
    Desk::new(Store::open(location.clone(), 1, false).unwrap())
        .verify()
        .unwrap()
        .faults
}

#[derive(QueryableByName, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Trigger {
    #[diesel(sql_type = Text)]
    place: String,
    #[diesel(sql_type = Text)]
    text: String,
}

/// Every trigger with its text, and whether it is on.
fn triggers(location: &Location) -> BTreeSet<Trigger> {
    let found: Vec<Trigger> = match location {
        Location::File(path) => diesel::sql_query(
            "SELECT tbl_name || ' ' || name AS place, sql AS text FROM sqlite_schema WHERE type = 'trigger'",
        )
        .load(&mut SqliteConnection::establish(path.to_str().unwrap()).unwrap()),
        Location::Server(url) => diesel::sql_query(
            "SELECT tgrelid::regclass::text || ' ' || tgname AS place, tgenabled::text || pg_get_triggerdef(oid) AS text \
             FROM pg_trigger WHERE NOT tgisinternal",
        )
        .load(&mut PgConnection::establish(url).unwrap()),
    }
    .unwrap();
    found.into_iter().collect()
}

/// From `from` to `to` and back to `from`.
fn moves(from: Engine, to: Engine) {
    let (Some(office), Some(there), Some(back)) =
        (Office::open(from), empty_location(to), empty_location(from))
    else {
        return;
    };
    populate(&office);
    let mut body = new_quote(&office, &draft());
    let survey = json!({"site": body["site"], "job": {"title": "Closet"}});
    body["survey"] = post(&office, "/v1/surveys", &survey).expect(201)["id"].clone();
    post(&office, "/v1/quotes", &body).expect(201);
    let before = told(&office);
    let location = office.close();
    let (file, tables) = archive(&location);
    let of_schema: BTreeSet<(String, String)> = columns(&location)
        .into_iter()
        .map(|column| (column.table_name, column.column_name))
        .collect();
    let of_archive: BTreeSet<(String, String)> = tables
        .iter()
        .flat_map(|table| {
            table
                .columns
                .iter()
                .map(|column| (table.name.clone(), column.clone()))
        })
        .collect();
    assert_eq!(of_archive, of_schema, "every table and column is in the archive");
    let rows: BTreeMap<String, i64> = tables
        .iter()
        .map(|table| (table.name.clone(), i64::try_from(table.rows).unwrap()))
        .collect();
    assert_eq!(rows, row_counts(&location));
    assert!(
        rows["issued_revisions"] > 2 && rows["acceptances"] > 0,
        "{rows:?}"
    );
    for place in [&there, &back] {
        restore(place, &file).unwrap();
        assert_eq!(faults(place), Vec::<String>::new());
        assert_eq!(
            archive(place).1,
            tables,
            "every row of every table, byte for byte"
        );
    }
    let (file_of_there, _) = archive(&there);
    let home = empty_location(from).unwrap();
    restore(&home, &file_of_there).unwrap();
    assert_eq!(archive(&home).1, tables);
    for place in [&there, &home] {
        let fresh = empty_location(if place == &there { to } else { from }).unwrap();
        drop(Store::open(fresh.clone(), 1, true).unwrap());
        assert_eq!(triggers(place), triggers(&fresh));
        let refused = by_hand(place, "UPDATE audit_head SET sequence = sequence + 2").unwrap_err();
        assert!(refused.contains("never"), "{refused}");
        // Work goes on there, and nothing is lost or given twice.
        let office = Office::over(place.clone());
        assert_eq!(told(&office), before);
        let path = issued(&office, &draft());
        let number = office.get(&path).expect(200)["number"].clone();
        assert!(
            before
                .values()
                .all(|text| !text.contains(number.as_str().unwrap()))
        );
        let found = office.get("/v1/quotes?text=fallowmere").expect(200);
        assert!(
            found["data"].as_array().unwrap().len() > 3,
            "texts are found: {found}"
        );
        drop(office);
        assert_eq!(faults(place), Vec::<String>::new());
    }
}

#[test]
fn a_company_moves_to_postgresql_and_back() {
    moves(Engine::Sqlite, Engine::Postgresql);
}

#[test]
fn a_company_moves_to_a_data_file_and_back() {
    moves(Engine::Postgresql, Engine::Sqlite);
}

/// A data file of an earlier program may hold what PostgreSQL does not keep: that is told with its row, and can be mended.
#[test]
fn a_row_that_does_not_go_in_is_told() {
    let (Some(office), Some(there)) = (Office::open(Engine::Sqlite), empty_location(Engine::Postgresql))
    else {
        return;
    };
    let made = post(&office, "/v1/surveys", &json!({"job": {"title": "Loft"}}));
    let path = made.header("location").unwrap().to_owned();
    let id = path.rsplit('/').next().unwrap().to_owned();
    post(&office, "/v1/surveys", &json!({"job": {"title": "Annexe"}})).expect(201);
    let nul = format!("UPDATE surveys SET search = 'a' || char(0) || 'b' WHERE id = '{id}'");
    by_hand(office.location(), &nul).unwrap();
    let fault = restore(&there, &archive(office.location()).0)
        .unwrap_err()
        .to_string();
    assert!(
        fault.starts_with(&format!("the row {id} of surveys cannot be put in: ")),
        "{fault}"
    );
    assert!(
        fault.contains("U+0000") && fault.contains("PUT /v1/surveys/"),
        "{fault}"
    );
    let tag = office.get(&path).header("etag").unwrap().to_owned();
    put(&office, &path, &tag, &json!({"job": {"title": "Loft"}})).expect(200);
    restore(&there, &archive(office.location()).0).unwrap();
    assert_eq!(faults(&there), Vec::<String>::new());
}

/// Rows get their keys from the program; a sequence would need a place in the archive.
#[test]
fn no_table_has_a_sequence() {
    #[derive(QueryableByName)]
    struct Count {
        #[diesel(sql_type = BigInt)]
        rows: i64,
    }
    let Some(location @ Location::Server(_)) = &empty_location(Engine::Postgresql) else {
        return;
    };
    drop(Store::open(location.clone(), 1, true).unwrap());
    let Location::Server(url) = location else { return };
    let count: Count = diesel::sql_query("SELECT count(*) AS rows FROM pg_class WHERE relkind = 'S'")
        .get_result(&mut PgConnection::establish(url).unwrap())
        .unwrap();
    assert_eq!(count.rows, 0);
}

on_both_engines! {
    fn a_backup_is_one_state_while_others_write(office) {
        let stop = AtomicBool::new(false);
        let states = thread::scope(|scope| {
            for _ in 0..2 {
                scope.spawn(|| {
                    while !stop.load(Ordering::Relaxed) {
                        issued(office, &draft());
                    }
                });
            }
            let pause = || thread::sleep(Duration::from_millis(300));
            let states: Vec<_> = (0..4).map(|_| (pause(), archive(office.location())).1).collect();
            stop.store(true, Ordering::Relaxed);
            states
        });
        let mut entries = Vec::new();
        for (file, tables) in &states {
            let place = empty_location(Engine::Sqlite).unwrap();
            restore(&place, file).unwrap();
            assert_eq!(faults(&place), Vec::<String>::new());
            entries.push(tables.iter().find(|table| table.name == "audit_entries").unwrap().rows);
        }
        assert!(entries.is_sorted() && entries[0] < entries[3], "others went on writing: {entries:?}");
        assert_eq!(faults(office.location()), Vec::<String>::new());
    }

    fn an_archive_goes_into_an_empty_place_only(office) {
        let (file, tables) = archive(office.location());
        match restore(office.location(), &file) {
            Err(ArchiveFault::NotEmpty { .. }) => {}
            other => panic!("{other:?}"),
        }
        assert_eq!(archive(office.location()).1, tables, "nothing was changed");
        // A place in which only an access key was made is not empty either.
        let engine = match office.location() {
            Location::File(_) => Engine::Sqlite,
            Location::Server(_) => Engine::Postgresql,
        };
        let begun = Office::empty(engine).unwrap();
        let fault = restore(begun.location(), &file).unwrap_err();
        assert!(fault.to_string().ends_with("(access_keys has rows): an archive goes into an empty place only"), "{fault}");
        // One that has its schema and nothing else is.
        let schema = empty_location(engine).unwrap();
        drop(Store::open(schema.clone(), 1, true).unwrap());
        restore(&schema, &file).unwrap();
        assert_eq!(archive(&schema).1, tables);
    }

    fn a_backup_of_an_older_schema_is_brought_up_where_it_is_put(office) {
        quote(office, &draft());
        let location = office.location().clone();
        let since = steps("sqlite").iter().filter(|step| step.to_str().unwrap() >= "0009").count();
        // What an earlier schema has no room for stood in no digest of the programs that wrote it.
        crate::audit::as_earlier_programs(&location);
        take_back(&location, since);
        let (file, tables) = archive(&location);
        assert!(tables.iter().all(|table| table.name != "snapshot_parts"));
        for engine in [Engine::Sqlite, Engine::Postgresql] {
            let Some(place) = empty_location(engine) else { continue };
            restore(&place, &file).unwrap();
            assert_eq!(faults(&place), Vec::<String>::new());
            let rows = row_counts(&place);
            assert_eq!((rows["snapshot_parts"], rows["quotes"]), (0, 1));
        }
    }
}

/// Whatever happened to the file, it is told, and nothing is put in.
#[test]
fn a_damaged_archive_is_refused() {
    let office = Office::open(Engine::Sqlite).unwrap();
    quote(&office, &draft());
    let (file, _) = archive(office.location());
    let whole = fs::read(&file).unwrap();
    let refused = |bytes: &[u8]| {
        let damaged = new_file();
        fs::write(&damaged, bytes).unwrap();
        let place = empty_location(Engine::Sqlite).unwrap();
        let fault = restore(&place, &damaged).unwrap_err();
        assert!(matches!(fault, ArchiveFault::Damaged { .. }), "{fault}");
        assert!(!place.exists(), "{fault}");
        fault.to_string()
    };
    for place in (0..whole.len()).step_by(whole.len() / 40) {
        let mut flipped = whole.clone();
        flipped[place] ^= 0x10;
        // A bit of a date or a flag in a head does no harm to what is in it.
        let damaged = new_file();
        fs::write(&damaged, &flipped).unwrap();
        let empty = empty_location(Engine::Sqlite).unwrap();
        match restore(&empty, &damaged) {
            Err(fault) => assert!(
                matches!(fault, ArchiveFault::Damaged { .. }) && !empty.exists(),
                "{fault}"
            ),
            Ok(_) => assert_eq!(archive(&empty).1, archive(office.location()).1, "byte {place}"),
        }
    }
    refused(&whole[..whole.len() / 2]);
    refused(&whole[..whole.len() - 1]);
    refused(b"");
    refused(b"these are notes and no archive");
}

#[test]
fn backup_and_restore_from_the_command_line() {
    let office = Office::open(Engine::Sqlite).unwrap();
    issued(&office, &draft());
    let Location::File(data) = office.location() else {
        panic!()
    };
    let (folder, data) = (folder(), data.to_str().unwrap());
    let made = run_in(&folder, &["backup", "office.backup", "--data", data]);
    assert!(made.status.success(), "{}", complaint(&made));
    assert!(
        out(&made).contains(" rows of ") && out(&made).contains(" tables, as of 20"),
        "{}",
        out(&made)
    );
    let mode = std::os::unix::fs::PermissionsExt::mode(
        &fs::metadata(folder.join("office.backup")).unwrap().permissions(),
    );
    assert_eq!(mode & 0o777, 0o600, "only its owner reads it");
    let again = run_in(&folder, &["backup", "office.backup", "--data", data]);
    assert_eq!(again.status.code(), Some(1));
    assert!(
        complaint(&again).contains("office.backup is there already"),
        "{}",
        complaint(&again)
    );
    let nowhere = run_in(&folder, &["backup", "other.backup", "--data", "nowhere.sqlite"]);
    assert!(
        complaint(&nowhere).contains("there is no data file nowhere.sqlite"),
        "{}",
        complaint(&nowhere)
    );
    assert!(!folder.join("other.backup").exists());
    let put = run_in(
        &folder,
        &["restore", "office.backup", "--data", "new/office.sqlite"],
    );
    assert!(put.status.success(), "{}", complaint(&put));
    let verified = run_in(&folder, &["verify", "--data", "new/office.sqlite"]);
    assert!(
        out(&verified).contains("1 issued revision") && out(&verified).contains("every byte is as it was")
    );
    let twice = run_in(
        &folder,
        &["restore", "office.backup", "--data", "new/office.sqlite"],
    );
    assert_eq!(twice.status.code(), Some(1));
    assert!(
        complaint(&twice).contains("is not empty"),
        "{}",
        complaint(&twice)
    );
}
