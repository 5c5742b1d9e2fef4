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
    in_turn(conn, take_missing_steps)
}

fn in_turn(
    conn: &mut Conn,
    steps: impl FnOnce(&mut Conn) -> Result<(), StoreFault>,
) -> Result<(), StoreFault> {
    if let Conn::Pg(conn) = conn {
        // Even to look which steps have been taken makes a table, so the turn comes first.
        // A step may take longer than a statement may usually wait; the connection is not used for anything else.
        diesel::sql_query("SET lock_timeout = 0").execute(conn)?;
        diesel::sql_query(format!("SELECT pg_advisory_lock({LOCK})")).execute(conn)?;
    }
    let taken = steps(conn);
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
    let known = known(conn)?;
    Ok(taken(conn)?.len() == known.len())
}

/// The steps that this program knows.
fn known(conn: &Conn) -> Result<BTreeSet<String>, StoreFault> {
    match conn {
        Conn::Sqlite(_) => names::<diesel::sqlite::Sqlite>(&SQLITE),
        Conn::Pg(_) => names::<diesel::pg::Pg>(&POSTGRESQL),
    }
}

/// The steps that have been taken, in their order; a database with steps that this program does not know is refused.
pub(super) fn taken(conn: &mut Conn) -> Result<Vec<String>, StoreFault> {
    let known = known(conn)?;
    let taken: BTreeSet<String> = each!(conn, conn => conn.applied_migrations())
        .map_err(failed)?
        .iter()
        .map(ToString::to_string)
        .collect();
    match taken.difference(&known).next() {
        Some(step) => Err(StoreFault::Newer { step: step.clone() }),
        None => Ok(taken.into_iter().collect()),
    }
}

/// Takes these steps, the first ones of those that this program knows, where they are missing.
pub(super) fn take_steps(conn: &mut Conn, wanted: &[String]) -> Result<(), StoreFault> {
    let known = known(conn)?;
    if let Some(step) = wanted.iter().find(|step| !known.contains(*step)) {
        return Err(StoreFault::Newer { step: step.clone() });
    }
    if !known.iter().take(wanted.len()).eq(wanted) {
        return Err(failed("steps between the ones that are wanted are missing"));
    }
    in_turn(conn, |conn| {
        while taken(conn)?.len() < wanted.len() {
            match conn {
                Conn::Sqlite(conn) => conn.run_next_migration(SQLITE).map(drop).map_err(failed)?,
                Conn::Pg(conn) => conn.run_next_migration(POSTGRESQL).map(drop).map_err(failed)?,
            }
        }
        Ok(())
    })
}

/// An empty database in memory, for what a step does to be looked at.
pub(super) fn fresh() -> Result<Conn, StoreFault> {
    let conn = SqliteConnection::establish(":memory:");
    conn.map(Conn::Sqlite)
        .map_err(|fault| StoreFault::Unreachable(fault.to_string()))
}

fn names<DB: diesel::backend::Backend>(steps: &EmbeddedMigrations) -> Result<BTreeSet<String>, StoreFault> {
    use diesel::migration::MigrationSource;
    let steps = MigrationSource::<DB>::migrations(steps).map_err(failed)?;
    Ok(steps
        .iter()
        .map(|step| step.name().version().to_string())
        .collect())
}
