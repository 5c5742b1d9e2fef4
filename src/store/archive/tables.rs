//! The tables of a database, as its engine tells them.

use std::collections::{BTreeMap, BTreeSet};

use diesel::prelude::*;
use diesel::sql_types::{BigInt, Integer, Text};
use serde_json::Value;

use crate::store::StoreFault;
use crate::store::connection::{Conn, each};

/// A table and its columns in their order.
pub(super) struct Table {
    pub(super) name: String,
    pub(super) columns: Vec<Column>,
}

/// A column of a table.
pub(super) struct Column {
    pub(super) name: String,
    pub(super) kind: Kind,
    /// Its place in the primary key; 0 for none.
    key: i32,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Text,
    /// A whole number; 32 and 64 bits are one in an archive.
    Whole,
    /// A yes or no, 1 or 0 in an archive.
    Truth,
    /// A day, as a text in an archive.
    Day,
}

#[derive(QueryableByName)]
struct ColumnRow {
    #[diesel(sql_type = Text)]
    table_name: String,
    #[diesel(sql_type = Text)]
    column_name: String,
    #[diesel(sql_type = Text)]
    kind: String,
    #[diesel(sql_type = Integer)]
    key: i32,
}

#[derive(QueryableByName)]
struct Reference {
    #[diesel(sql_type = Text)]
    from_table: String,
    #[diesel(sql_type = Text)]
    to_table: String,
}

#[derive(QueryableByName)]
struct Count {
    #[diesel(sql_type = BigInt)]
    rows: i64,
}

// An index over text is a virtual table with tables of its own; triggers fill it. Names that begin with two underscores are
// those of whoever takes the steps.
const SQLITE_TABLES: &str = "FROM pragma_table_list t JOIN pragma_{} c WHERE t.type = 'table' AND t.schema = 'main' \
    AND t.name NOT LIKE '\\_\\_%' ESCAPE '\\' AND t.name NOT LIKE 'sqlite\\_%' ESCAPE '\\'";
const SQLITE_COLUMNS: &str =
    "SELECT t.name AS table_name, c.name AS column_name, c.type AS kind, c.pk AS key";
const SQLITE_REFERENCES: &str = "SELECT t.name AS from_table, c.\"table\" AS to_table";
const PG_TABLES: &str =
    "t.relnamespace = current_schema()::regnamespace AND t.relkind = 'r' AND t.relname NOT LIKE '\\_\\_%'";
const PG_COLUMNS: &str = "SELECT t.relname::text AS table_name, c.attname::text AS column_name, \
    format_type(c.atttypid, c.atttypmod) AS kind, coalesce(array_position(k.indkey::int2[], c.attnum), -1) + 1 AS key \
    FROM pg_class t JOIN pg_attribute c ON c.attrelid = t.oid AND c.attnum > 0 AND NOT c.attisdropped \
    LEFT JOIN pg_index k ON k.indrelid = t.oid AND k.indisprimary WHERE ";
const PG_REFERENCES: &str = "SELECT t.relname::text AS from_table, r.relname::text AS to_table FROM pg_class t \
    JOIN pg_constraint f ON f.conrelid = t.oid AND f.contype = 'f' JOIN pg_class r ON r.oid = f.confrelid WHERE ";

/// Every table, each behind those that it refers to.
pub(super) fn tables(conn: &mut Conn) -> Result<Vec<Table>, StoreFault> {
    let (columns, references): (Vec<ColumnRow>, Vec<Reference>) = match conn {
        Conn::Sqlite(conn) => {
            let of = |pragma: &str| SQLITE_TABLES.replace("{}", pragma);
            let columns = format!(
                "{SQLITE_COLUMNS} {} ORDER BY t.name, c.cid",
                of("table_info(t.name)")
            );
            let references = format!("{SQLITE_REFERENCES} {}", of("foreign_key_list(t.name)"));
            (
                diesel::sql_query(columns).load(conn)?,
                diesel::sql_query(references).load(conn)?,
            )
        }
        Conn::Pg(conn) => {
            let columns = format!("{PG_COLUMNS}{PG_TABLES} ORDER BY t.relname COLLATE \"C\", c.attnum");
            let references = format!("{PG_REFERENCES}{PG_TABLES}");
            (
                diesel::sql_query(columns).load(conn)?,
                diesel::sql_query(references).load(conn)?,
            )
        }
    };
    let mut found: BTreeMap<String, Vec<Column>> = BTreeMap::new();
    for row in columns {
        let kind = kind(&row)?;
        found.entry(row.table_name).or_default().push(Column {
            name: row.column_name,
            kind,
            key: row.key,
        });
    }
    Ok(in_order(found, &references))
}

fn kind(row: &ColumnRow) -> Result<Kind, StoreFault> {
    match row.kind.to_ascii_lowercase().as_str() {
        "text" => Ok(Kind::Text),
        "integer" | "bigint" => Ok(Kind::Whole),
        "boolean" => Ok(Kind::Truth),
        "date" => Ok(Kind::Day),
        other => Err(StoreFault::Migration(format!(
            "no archive can keep the column {}.{} of the type {other}",
            row.table_name, row.column_name
        ))),
    }
}

/// By name, but each behind those that it refers to.
fn in_order(mut left: BTreeMap<String, Vec<Column>>, references: &[Reference]) -> Vec<Table> {
    let mut order = Vec::with_capacity(left.len());
    while !left.is_empty() {
        let waits: BTreeSet<&str> = references
            .iter()
            .filter(|one| one.from_table != one.to_table && left.contains_key(&one.to_table))
            .map(|one| one.from_table.as_str())
            .collect();
        let next = left.keys().find(|name| !waits.contains(name.as_str()));
        // Tables that refer to one another in a ring have no order; then the first name comes first.
        let Some((name, columns)) = next
            .or_else(|| left.keys().next())
            .cloned()
            .and_then(|name| left.remove_entry(&name))
        else {
            break;
        };
        order.push(Table { name, columns });
    }
    order
}

/// A name as it stands in a statement.
pub(super) fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

impl Table {
    /// How many rows there are.
    pub(super) fn rows(&self, conn: &mut Conn) -> Result<i64, StoreFault> {
        let statement = format!("SELECT count(*) AS rows FROM {}", quoted(&self.name));
        let count: Count = each!(conn, conn => diesel::sql_query(statement).get_result(conn))?;
        Ok(count.rows)
    }

    /// What reads each row as a list in JSON, by the primary key; text in the order of its bytes.
    pub(super) fn reading(&self, sqlite: bool) -> String {
        let list = |texts: Vec<String>| texts.join(", ");
        let values = self.columns.iter().map(|column| {
            let name = quoted(&column.name);
            match column.kind {
                _ if sqlite => name,
                Kind::Text | Kind::Whole => name,
                Kind::Truth => format!("{name}::int"),
                Kind::Day => format!("to_char({name}, 'YYYY-MM-DD')"),
            }
        });
        let make = if sqlite { "json_array" } else { "json_build_array" };
        let key = self.key().into_iter().map(|(_, column)| {
            let name = quoted(&column.name);
            match column.kind {
                Kind::Text if !sqlite => format!("{name} COLLATE \"C\""),
                _ => name,
            }
        });
        let text = if sqlite { "" } else { "::text" };
        format!(
            "SELECT {make}({}){text} AS line FROM {} ORDER BY {}",
            list(values.collect()),
            quoted(&self.name),
            list(key.collect())
        )
    }

    /// The columns of the primary key in their order, each with its place in a row.
    fn key(&self) -> Vec<(usize, &Column)> {
        let all = self.columns.iter().enumerate();
        let mut key: Vec<(usize, &Column)> = all.filter(|(_, column)| column.key > 0).collect();
        key.sort_by_key(|(_, column)| column.key);
        key
    }

    /// The primary key of a row, as a person reads it.
    pub(super) fn key_of(&self, row: &[Value]) -> String {
        let part = |(place, _): (usize, &Column)| match row.get(place) {
            Some(Value::String(text)) => text.clone(),
            other => other.map(Value::to_string).unwrap_or_default(),
        };
        self.key().into_iter().map(part).collect::<Vec<_>>().join(" ")
    }

    /// What puts in a list of such lists.
    pub(super) fn writing(&self, sqlite: bool) -> String {
        let names: Vec<String> = self.columns.iter().map(|column| quoted(&column.name)).collect();
        let value = |(place, column): (usize, &Column)| match column.kind {
            _ if sqlite => format!("json_extract(value, '$[{place}]')"),
            Kind::Text => format!("value->>{place}"),
            Kind::Whole => format!("(value->>{place})::bigint"),
            Kind::Truth => format!("(value->>{place})::int::boolean"),
            Kind::Day => format!("(value->>{place})::date"),
        };
        let values: Vec<String> = self.columns.iter().enumerate().map(value).collect();
        let from = if sqlite {
            "json_each(?1) ORDER BY key"
        } else {
            "json_array_elements($1::json) WITH ORDINALITY AS rows (value, place) ORDER BY place"
        };
        format!(
            "INSERT INTO {} ({}) SELECT {} FROM {from}",
            quoted(&self.name),
            names.join(", "),
            values.join(", ")
        )
    }
}
