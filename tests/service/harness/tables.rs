//! The tables of a database, as its engine tells them.

use std::collections::BTreeMap;
use std::path::Path;

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::query_builder::SqlQuery;
use diesel::sql_types::{BigInt, Bool, Text};
use tallyrule::store::Location;

/// A column of a table.
#[derive(QueryableByName, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Column {
    #[diesel(sql_type = Text)]
    pub table_name: String,
    #[diesel(sql_type = Text)]
    pub column_name: String,
    #[diesel(sql_type = Bool)]
    pub required: bool,
}

#[derive(QueryableByName)]
struct Count {
    #[diesel(sql_type = BigInt)]
    rows: i64,
}

// A text index is no table that rows are kept in.
const SQLITE_COLUMNS: &str = "SELECT t.name AS table_name, c.name AS column_name, c.\"notnull\" AS required \
    FROM pragma_table_list t JOIN pragma_table_info(t.name) c \
    WHERE t.type = 'table' AND t.schema = 'main' AND t.name NOT LIKE '\\_\\_%' ESCAPE '\\' AND t.name NOT LIKE 'sqlite%'";
const POSTGRESQL_COLUMNS: &str = "SELECT table_name::text, column_name::text, is_nullable = 'NO' AS required \
    FROM information_schema.columns WHERE table_schema = 'public' AND table_name NOT LIKE '\\_\\_%'";

/// Every column of every table, in order.
pub fn columns(location: &Location) -> Vec<Column> {
    let loaded = match location {
        Location::File(path) => {
            let mut connection = sqlite(path);
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

/// How many rows each table has.
pub fn row_counts(location: &Location) -> BTreeMap<String, i64> {
    let mut tables: Vec<String> = columns(location)
        .into_iter()
        .map(|column| column.table_name)
        .collect();
    tables.dedup();
    let counts = |count: &mut dyn FnMut(SqlQuery) -> Count| {
        let mut counts = BTreeMap::new();
        for table in &tables {
            let statement = diesel::sql_query(format!("SELECT count(*) AS rows FROM {table}"));
            counts.insert(table.clone(), count(statement).rows);
        }
        counts
    };
    match location {
        Location::File(path) => {
            let mut connection = sqlite(path);
            counts(&mut |statement| statement.get_result(&mut connection).unwrap())
        }
        Location::Server(url) => {
            let mut connection = PgConnection::establish(url).unwrap();
            counts(&mut |statement| statement.get_result(&mut connection).unwrap())
        }
    }
}

/// A connection of its own to a data file, which waits while the program writes.
fn sqlite(path: &Path) -> SqliteConnection {
    let mut connection = SqliteConnection::establish(path.to_str().unwrap()).unwrap();
    connection.batch_execute("PRAGMA busy_timeout = 5000").unwrap();
    connection
}
