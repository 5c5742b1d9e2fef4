//! The schema's steps, compiled in, and taken at the start.

use std::collections::BTreeSet;

use diesel::prelude::*;
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

use super::StoreFault;
use super::connection::{Conn, each};

const SQLITE: EmbeddedMigrations = embed_migrations!("migrations/sqlite");
const POSTGRESQL: EmbeddedMigrations = embed_migrations!("migrations/postgresql");

/// Replicas that start together take their turn under this advisory lock. The number is arbitrary and ours.
const LOCK: i64 = 7_104_223_506_611;

fn failed(fault: impl std::fmt::Display) -> StoreFault {
    StoreFault::Migration(fault.to_string())
}

/// Takes the steps that are missing; refuses a database that has steps which this program does not know.
pub(super) fn bring_up_to_date(conn: &mut Conn) -> Result<(), StoreFault> {
    if let Conn::Pg(conn) = conn {
        // Even to look which steps have been taken makes a table, so the turn comes first.
        // A step may take longer than a statement may usually wait; the connection is not used for anything else.
        diesel::sql_query("SET lock_timeout = 0").execute(conn)?;
        diesel::sql_query(format!("SELECT pg_advisory_lock({LOCK})")).execute(conn)?;
    }
    let taken = take_missing_steps(conn);
    if let Conn::Pg(conn) = conn {
        diesel::sql_query(format!("SELECT pg_advisory_unlock({LOCK})")).execute(conn)?;
    }
    taken
}

fn take_missing_steps(conn: &mut Conn) -> Result<(), StoreFault> {
    if up_to_date(conn)? {
        return Ok(());
    }
    match conn {
        Conn::Sqlite(conn) => conn.run_pending_migrations(SQLITE).map(|_| ()).map_err(failed),
        Conn::Pg(conn) => conn
            .run_pending_migrations(POSTGRESQL)
            .map(|_| ())
            .map_err(failed),
    }
}

/// Whether every step has been taken, and no other.
fn up_to_date(conn: &mut Conn) -> Result<bool, StoreFault> {
    let known = match conn {
        Conn::Sqlite(_) => names::<diesel::sqlite::Sqlite>(&SQLITE)?,
        Conn::Pg(_) => names::<diesel::pg::Pg>(&POSTGRESQL)?,
    };
    let applied: BTreeSet<String> = each!(conn, conn => conn.applied_migrations())
        .map_err(failed)?
        .iter()
        .map(ToString::to_string)
        .collect();
    match applied.difference(&known).next() {
        Some(step) => Err(StoreFault::Newer { step: step.clone() }),
        None => Ok(applied.len() == known.len()),
    }
}

fn names<DB: diesel::backend::Backend>(steps: &EmbeddedMigrations) -> Result<BTreeSet<String>, StoreFault> {
    use diesel::migration::MigrationSource;
    let steps = MigrationSource::<DB>::migrations(steps).map_err(failed)?;
    Ok(steps
        .iter()
        .map(|step| step.name().version().to_string())
        .collect())
}
