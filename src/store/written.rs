//! What the audit says was written, row by row, and what is stored held against it.

use std::collections::BTreeMap;

use diesel::prelude::*;
use estimate::quote::canonical::Digest;
use serde::Serialize;
use sha2::{Digest as _, Sha256};

use super::StoreFault;
use super::connection::Conn;
use super::schema::audit_entries;

/// Rows by table and key, each with the digest of what stands in it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Rows(Vec<(String, String, String)>);

impl Rows {
    /// With one more row.
    pub(super) fn add(
        &mut self,
        table: &'static str,
        key: impl std::fmt::Display,
        row: &impl Serialize,
    ) -> Result<(), StoreFault> {
        let key = key.to_string();
        let bytes = serde_json::to_vec(row).map_err(|fault| StoreFault::corrupt(table, &key, fault))?;
        self.0
            .push((table.to_owned(), key, Digest::of(&bytes).to_string()));
        Ok(())
    }

    /// One row.
    pub(super) fn one(
        table: &'static str,
        key: impl std::fmt::Display,
        row: &impl Serialize,
    ) -> Result<Self, StoreFault> {
        let mut rows = Self::default();
        rows.add(table, key, row)?;
        Ok(rows)
    }

    /// With rows that are put down together.
    pub(super) fn add_together(&mut self, rows: Together) {
        let digest = rows.digest.finalize();
        let digest = digest.iter().map(|byte| format!("{byte:02x}")).collect();
        self.0.push((rows.table.to_owned(), rows.key, digest));
    }

    /// The digest of what was put down under a table and key; none where nothing was.
    pub(super) fn digest_of(&self, table: &str, key: &str) -> Option<&str> {
        let mut rows = self.0.iter();
        let row = rows.find(|(of, named, _)| of == table && named == key)?;
        Some(&row.2)
    }

    /// As an entry of the audit keeps them.
    pub(super) fn text(&self) -> Result<String, StoreFault> {
        serde_json::to_string(&self.0).map_err(|fault| StoreFault::corrupt("audit_entries", "", fault))
    }
}

/// Rows of one table in their order, put down by one digest over all of them.
pub(super) struct Together {
    table: &'static str,
    key: String,
    digest: Sha256,
    line: Vec<u8>,
}

impl Together {
    /// No rows yet, under this key.
    pub(super) fn new(table: &'static str, key: impl std::fmt::Display) -> Self {
        Self {
            table,
            key: key.to_string(),
            digest: Sha256::new(),
            line: Vec::new(),
        }
    }

    /// With one more row.
    pub(super) fn take(&mut self, row: &impl Serialize) -> Result<(), StoreFault> {
        self.line.clear();
        serde_json::to_writer(&mut self.line, row)
            .map_err(|fault| StoreFault::corrupt(self.table, &self.key, fault))?;
        self.line.push(b'\n');
        self.digest.update(&self.line);
        Ok(())
    }
}

/// The rows that an entry says it wrote, each with its table, key and digest.
pub(super) fn said(
    number: i64,
    after: Option<&str>,
    text: &str,
) -> Result<Vec<(String, String, String)>, String> {
    let rows = serde_json::from_str(text).ok();
    let own = Digest::of(text.as_bytes()).to_string();
    rows.filter(|_| after == Some(own.as_str()))
        .ok_or_else(|| format!("audit entry {number}: it wrote something else than it says"))
}

/// What the entries of a subject wrote last of each row.
#[derive(Default)]
struct Last {
    rows: BTreeMap<(String, String), (i64, String)>,
    /// Whether an entry says what it wrote.
    any: bool,
    /// Whether none before those does not.
    from_the_beginning: bool,
    faults: Vec<String>,
}

impl Last {
    fn of(conn: &mut Conn, subject: &str) -> Result<Self, StoreFault> {
        type Entry = (i64, Option<String>, Option<String>);
        let entries: Vec<Entry> = audit_entries::table
            .filter(audit_entries::subject.eq(subject))
            .order(audit_entries::sequence)
            .select((
                audit_entries::sequence,
                audit_entries::after,
                audit_entries::written,
            ))
            .load(conn)?;
        let mut last = Self {
            from_the_beginning: true,
            ..Self::default()
        };
        for (number, after, written) in entries {
            match written {
                Some(text) => last.take(number, after.as_deref(), &text),
                None if last.any => last
                    .faults
                    .push(format!("audit entry {number} does not say what it wrote")),
                None => last.from_the_beginning = false,
            }
        }
        Ok(last)
    }

    fn take(&mut self, number: i64, after: Option<&str>, text: &str) {
        self.any = true;
        match said(number, after, text) {
            Ok(rows) => {
                for (table, key, digest) in rows {
                    self.rows.insert((table, key), (number, digest));
                }
            }
            Err(fault) => self.faults.push(fault),
        }
    }
}

/// Everything in which the rows that are stored of a subject are not what the audit says was written last. Where the audit
/// began after the subject, rows that no entry wrote are left alone.
pub(super) fn differences(conn: &mut Conn, subject: &str, stored: Rows) -> Result<Vec<String>, StoreFault> {
    held(conn, subject, stored, Others::Told)
}

/// What of the rows of a subject that no entry wrote.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Others {
    /// They are told.
    Told,
    /// Seed data and price lists put such rows in too, whose entries name them together.
    LeftAlone,
}

/// The same, where `others` says what of rows that no entry wrote.
pub(super) fn held(
    conn: &mut Conn,
    subject: &str,
    stored: Rows,
    others: Others,
) -> Result<Vec<String>, StoreFault> {
    let mut last = Last::of(conn, subject)?;
    let mut faults = std::mem::take(&mut last.faults);
    if !last.any {
        return Ok(faults);
    }
    let told = others == Others::Told && last.from_the_beginning;
    for (table, key, digest) in stored.0 {
        let place = (table, key);
        let word = match last.rows.remove(&place) {
            Some((_, written)) if written == digest => continue,
            Some((number, _)) => format!("is not what audit entry {number} wrote"),
            None if told => "was written by no audit entry".to_owned(),
            None => continue,
        };
        let (table, key) = place;
        faults.push(format!("the row {key} of {table} {word}"));
    }
    for ((table, key), (number, _)) in last.rows {
        faults.push(format!(
            "the row {key} of {table}, which audit entry {number} wrote, is missing"
        ));
    }
    Ok(faults)
}
