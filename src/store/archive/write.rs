//! Writing an archive, beside whoever works with the database meanwhile.

use std::path::Path;

use chrono::{SecondsFormat, Utc};
use diesel::connection::DefaultLoadingMode;
use diesel::pg::PgRowByRowLoadingMode;
use diesel::prelude::*;
use diesel::sql_types::Text;
use serde_json::Value;

use super::file::{Lines, Writing};
use super::tables::{Table, tables};
use super::{ArchiveFault, Manifest};
use crate::store::connection::{self, Conn, Manager};
use crate::store::location::prepare_file;
use crate::store::{Location, StoreFault, migrate};

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = Text)]
    line: String,
}

/// Writes everything of one state of the database into a new file `path`. The schema stays as it is.
///
/// # Errors
/// The database does not answer, or the file cannot be written; then there is none.
pub fn back_up(location: &Location, path: &Path) -> Result<Manifest, ArchiveFault> {
    if let Location::File(file) = location {
        prepare_file(file, false)?;
    }
    let mut conn = Manager::new(location).connect_now()?;
    let steps = migrate::taken(&mut conn)?;
    let mut writing = Writing::begin(path)?;
    let written_at = Utc::now().to_rfc3339_opts(SecondsFormat::Micros, true);
    connection::read(&mut conn, |conn| {
        for table in tables(conn)? {
            let columns = table.columns.iter().map(|column| column.name.clone()).collect();
            writing.table(&table.name, columns, |lines| put_rows(conn, &table, lines, path))?;
        }
        Ok::<_, ArchiveFault>(())
    })?;
    writing.finish(written_at, steps)
}

fn put_rows(conn: &mut Conn, table: &Table, lines: &mut Lines<'_>, path: &Path) -> Result<(), ArchiveFault> {
    let sqlite = matches!(conn, Conn::Sqlite(_));
    let query = diesel::sql_query(table.reading(sqlite));
    let mut put = |row: Result<Line, diesel::result::Error>| {
        let row = row.map_err(StoreFault::from)?;
        // Both engines write JSON in their own way; here it gets one.
        let bytes = serde_json::from_str::<Value>(&row.line).and_then(|value| serde_json::to_vec(&value));
        let bytes = bytes.map_err(|fault| StoreFault::Corrupt {
            table: "archive",
            key: table.name.clone(),
            message: fault.to_string(),
        })?;
        lines.put(&bytes).map_err(|fault| ArchiveFault::file(path, fault))
    };
    match conn {
        Conn::Sqlite(conn) => {
            let mut rows = query
                .load_iter::<Line, DefaultLoadingMode>(conn)
                .map_err(StoreFault::from)?;
            rows.try_for_each(&mut put)
        }
        Conn::Pg(conn) => {
            let mut rows = query
                .load_iter::<Line, PgRowByRowLoadingMode>(conn)
                .map_err(StoreFault::from)?;
            rows.try_for_each(&mut put)
        }
    }
}
