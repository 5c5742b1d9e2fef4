//! Putting an archive into an empty place: the schema as far as it went, the rows in one transaction, the steps that
//! came since.

use std::collections::BTreeMap;
use std::path::Path;

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::sql_types::Text;
use serde_json::Value;

use super::file::Written;
use super::tables::{Table, quoted, tables};
use super::{ArchiveFault, Manifest};
use crate::store::connection::{self, Conn, Manager, each};
use crate::store::location::prepare_file;
use crate::store::{Location, StoreFault, migrate};

/// Bytes of lines that go into one statement.
const AT_ONCE: usize = 1024 * 1024;

/// Why a text with this sign in it does not go in, and what helps.
const NUL: &str = "it holds the sign U+0000, which PostgreSQL keeps in no text. Write it anew without that sign where the \
    backup was taken (a survey: PUT /v1/surveys/ and its key), and take the backup again";

#[derive(QueryableByName)]
struct Guard {
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    statement: String,
}

/// Puts the archive `path` into an empty place, byte for byte. All of it or nothing.
///
/// # Errors
/// The archive is damaged, or the place is not empty; then nothing was changed. Else what the database says.
pub fn restore(location: &Location, path: &Path) -> Result<Manifest, ArchiveFault> {
    let mut archive = Written::open(path)?;
    let steps = archive.manifest.steps.clone();
    let mut fresh = migrate::fresh()?;
    migrate::take_steps(&mut fresh, &steps)?;
    if let Location::File(file) = location {
        prepare_file(file, true)?;
    }
    let mut conn = Manager::new(location).connect_now()?;
    let not_empty = |found: String| ArchiveFault::NotEmpty {
        place: location.to_string(),
        found,
    };
    if let Some(step) = migrate::taken(&mut conn)?
        .into_iter()
        .find(|step| !steps.contains(step))
    {
        return Err(not_empty(format!(
            "it has schema step {step}, and the archive has not"
        )));
    }
    let usual = counts(&mut fresh)?;
    migrate::take_steps(&mut conn, &steps)?;
    connection::write(&mut conn, |conn| {
        let tables = tables(conn)?;
        lock(conn, &tables)?;
        for table in &tables {
            let (rows, usual) = (table.rows(conn)?, usual.get(&table.name).copied());
            if rows > usual.unwrap_or_default() {
                return Err(not_empty(format!("{} has rows", table.name)));
            }
        }
        put_in(conn, &tables, &mut archive, path)
    })?;
    migrate::bring_up_to_date(&mut conn)?;
    Ok(archive.manifest)
}

fn counts(conn: &mut Conn) -> Result<BTreeMap<String, i64>, StoreFault> {
    let mut counts = BTreeMap::new();
    for table in tables(conn)? {
        counts.insert(table.name.clone(), table.rows(conn)?);
    }
    Ok(counts)
}

/// Nobody writes beside it. On SQLite the transaction itself sees to that.
fn lock(conn: &mut Conn, tables: &[Table]) -> Result<(), StoreFault> {
    if let Conn::Pg(conn) = conn {
        let names: Vec<String> = tables.iter().map(|table| quoted(&table.name)).collect();
        let statement = format!("LOCK TABLE {} IN ACCESS EXCLUSIVE MODE", names.join(", "));
        diesel::sql_query(statement).execute(conn)?;
    }
    Ok(())
}

fn put_in(conn: &mut Conn, tables: &[Table], archive: &mut Written, path: &Path) -> Result<(), ArchiveFault> {
    let by_name: BTreeMap<&str, &Table> = tables.iter().map(|table| (table.name.as_str(), table)).collect();
    let kept = archive.manifest.tables.clone();
    if let Some(table) = tables
        .iter()
        .find(|table| kept.iter().all(|kept| kept.name != table.name))
    {
        return Err(ArchiveFault::damaged(
            path,
            format_args!("it has no table {}", table.name),
        ));
    }
    for kept in &kept {
        let Some(table) = by_name.get(kept.name.as_str()) else {
            let word = format!("its table {} is not one of its schema", kept.name);
            return Err(ArchiveFault::damaged(path, word));
        };
        if !table.columns.iter().map(|column| &column.name).eq(&kept.columns) {
            let word = format!(
                "the columns of its table {} are not those of its schema",
                kept.name
            );
            return Err(ArchiveFault::damaged(path, word));
        }
    }
    for table in tables {
        if table.rows(conn)? > 0 {
            empty(conn, table)?;
        }
        fill(conn, table, archive)?;
    }
    Ok(())
}

/// Takes out the row that a new schema begins with. What guards it stands aside for that.
fn empty(conn: &mut Conn, table: &Table) -> Result<(), StoreFault> {
    let name = quoted(&table.name);
    match conn {
        Conn::Sqlite(conn) => {
            let guards: Vec<Guard> = diesel::sql_query(
                "SELECT name, sql AS statement FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = ?1",
            )
            .bind::<Text, _>(&table.name)
            .load(conn)?;
            for guard in &guards {
                conn.batch_execute(&format!("DROP TRIGGER {}", quoted(&guard.name)))?;
            }
            conn.batch_execute(&format!("DELETE FROM {name}"))?;
            for guard in &guards {
                conn.batch_execute(&guard.statement)?;
            }
        }
        Conn::Pg(conn) => conn.batch_execute(&format!(
            "ALTER TABLE {name} DISABLE TRIGGER USER; DELETE FROM {name}; ALTER TABLE {name} ENABLE TRIGGER USER"
        ))?,
    }
    Ok(())
}

fn fill(conn: &mut Conn, table: &Table, archive: &mut Written) -> Result<(), ArchiveFault> {
    let statement = table.writing(matches!(conn, Conn::Sqlite(_)));
    let (mut batch, mut length) = (Vec::new(), 0_usize);
    archive.lines(&table.name, |line| {
        batch.push(String::from_utf8_lossy(line).into_owned());
        length = length.saturating_add(line.len());
        if length > AT_ONCE {
            put(conn, table, &statement, &batch)?;
            batch.clear();
            length = 0;
        }
        Ok::<_, ArchiveFault>(())
    })?;
    put(conn, table, &statement, &batch)
}

/// Puts rows in together; where they do not go in, one by one, so that the one that does not is told.
fn put(conn: &mut Conn, table: &Table, statement: &str, rows: &[String]) -> Result<(), ArchiveFault> {
    if rows.is_empty() || together(conn, statement, rows).is_ok() {
        return Ok(());
    }
    for row in rows {
        together(conn, statement, std::slice::from_ref(row)).map_err(|fault| {
            if fault.may_pass() || matches!(fault, StoreFault::Storage(_)) {
                return fault.into();
            }
            let values: Vec<Value> = serde_json::from_str(row).unwrap_or_default();
            let has_nul = |value: &Value| value.as_str().is_some_and(|text| text.contains('\0'));
            let message = match values.iter().any(has_nul) {
                true => NUL.to_owned(),
                false => fault.to_string(),
            };
            ArchiveFault::Row {
                table: table.name.clone(),
                key: table.key_of(&values),
                message,
            }
        })?;
    }
    Ok(())
}

/// Puts rows in, all or none, and leaves the transaction as it was where none go in.
fn together(conn: &mut Conn, statement: &str, rows: &[String]) -> Result<(), StoreFault> {
    let list = format!("[{}]", rows.join(","));
    conn.transaction(|conn| {
        let query = diesel::sql_query(statement).bind::<Text, _>(list);
        each!(conn, conn => query.execute(conn)).map(drop)
    })
    .map_err(|fault: diesel::result::Error| fault.into())
}
