//! The schema's steps: there and back, and the same on both engines.

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::sql_types::{Bool, Text};
use diesel_migrations::{FileBasedMigrations, MigrationHarness};
use tallyrule::store::{Location, Store};

use crate::harness::{Engine, empty_location, project};

#[derive(QueryableByName, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Column {
    #[diesel(sql_type = Text)]
    table_name: String,
    #[diesel(sql_type = Text)]
    column_name: String,
    #[diesel(sql_type = Bool)]
    required: bool,
}

const SQLITE_COLUMNS: &str = "SELECT m.name AS table_name, c.name AS column_name, c.\"notnull\" AS required \
    FROM sqlite_master m JOIN pragma_table_info(m.name) c WHERE m.type = 'table' AND m.name NOT LIKE '\\_\\_%' ESCAPE '\\'";
const POSTGRESQL_COLUMNS: &str = "SELECT table_name::text, column_name::text, is_nullable = 'NO' AS required \
    FROM information_schema.columns WHERE table_schema = 'public' AND table_name NOT LIKE '\\_\\_%'";

fn columns(location: &Location) -> Vec<Column> {
    let loaded = match location {
        Location::File(path) => {
            let mut connection = SqliteConnection::establish(path.to_str().unwrap()).unwrap();
            diesel::sql_query(SQLITE_COLUMNS).load(&mut connection)
        }
        Location::Server(url) => {
            diesel::sql_query(POSTGRESQL_COLUMNS).load(&mut PgConnection::establish(url).unwrap())
        }
    };
    let mut columns: Vec<Column> = loaded.unwrap();
    columns.sort();
    columns
}

/// Takes every step back.
fn take_back(location: &Location) {
    let steps =
        |engine: &str| FileBasedMigrations::from_path(project().join("migrations").join(engine)).unwrap();
    match location {
        Location::File(path) => {
            let mut connection = SqliteConnection::establish(path.to_str().unwrap()).unwrap();
            connection.batch_execute("PRAGMA foreign_keys = ON").unwrap();
            connection.revert_all_migrations(steps("sqlite")).unwrap();
        }
        Location::Server(url) => {
            PgConnection::establish(url)
                .unwrap()
                .revert_all_migrations(steps("postgresql"))
                .unwrap();
        }
    }
}

fn there_and_back(engine: Engine) {
    let Some(location) = empty_location(engine) else {
        return;
    };
    drop(Store::open(location.clone(), 1, true).unwrap());
    let first = columns(&location);
    assert!(first.len() > 20, "{first:?}");
    take_back(&location);
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
    let steps = |engine: &str| {
        let folder = project().join("migrations").join(engine);
        let mut names: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name())
            .collect();
        names.sort();
        names
    };
    assert_eq!(steps("sqlite"), steps("postgresql"));
}
