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

/// Takes the steps before versions of rulebooks, puts three versions in, and takes the rest.
fn versions_hold_from_their_publication(engine: Engine) {
    let Some(location) = empty_location(engine) else {
        return;
    };
    let steps = project().join("migrations").join(match engine {
        Engine::Sqlite => "sqlite",
        Engine::Postgresql => "postgresql",
    });
    let steps = FileBasedMigrations::from_path(steps).unwrap();
    let row = |id: &str, version: u32, day: &str| {
        let digest = "0".repeat(64);
        format!(
            "INSERT INTO rulebooks (id, version, state, text, digest, created_at) \
             VALUES ('{id}', {version}, 'published', '', '{digest}', '{day}T08:00:00.000000Z');"
        )
    };
    let rows = [
        row("a", 1, "2025-03-01"),
        row("b", 1, "2025-03-02"),
        row("a", 2, "2025-05-04"),
    ]
    .concat();
    match &location {
        Location::File(path) => {
            let mut connection = SqliteConnection::establish(path.to_str().unwrap()).unwrap();
            (0..3).for_each(|_| drop(connection.run_next_migration(steps.clone()).unwrap()));
            connection.batch_execute(&rows).unwrap();
        }
        Location::Server(url) => {
            let mut connection = PgConnection::establish(url).unwrap();
            (0..3).for_each(|_| drop(connection.run_next_migration(steps.clone()).unwrap()));
            connection.batch_execute(&rows).unwrap();
        }
    }
    drop(Store::open(location.clone(), 1, true).unwrap());
    let read = "SELECT rulebook || ' ' || position || ' ' || version AS table_name, \
        CAST(current_from AS TEXT) AS column_name, TRUE AS required FROM rulebook_calendar ORDER BY rulebook, position";
    let calendar: Vec<Column> = match &location {
        Location::File(path) => diesel::sql_query(read)
            .load(&mut SqliteConnection::establish(path.to_str().unwrap()).unwrap())
            .unwrap(),
        Location::Server(url) => diesel::sql_query(read)
            .load(&mut PgConnection::establish(url).unwrap())
            .unwrap(),
    };
    let told: Vec<(&str, &str)> = calendar
        .iter()
        .map(|row| (row.table_name.as_str(), row.column_name.as_str()))
        .collect();
    assert_eq!(
        told,
        [
            ("a 1 1", "2025-03-01"),
            ("a 2 2", "2025-05-04"),
            ("b 1 1", "2025-03-02")
        ]
    );
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
