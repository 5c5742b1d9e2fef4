//! Versions of rulebooks. A published version is never changed; an edit is the next version.

use diesel::prelude::*;
use sha2::{Digest, Sha256};

use super::audit::Change;
use super::connection::Conn;
use super::schema::rulebooks::dsl;
use super::{Store, StoreFault, catalogue};

const PUBLISHED: &str = "published";

/// A published version of a rulebook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredRulebook {
    /// The rulebook's own name.
    pub id: String,
    /// 1 for the first.
    pub version: u32,
    /// The text as it was handed in, byte for byte.
    pub text: String,
    /// SHA-256 of the text, in hexadecimal digits.
    pub digest: String,
    /// When it was published, RFC 3339 in UTC.
    pub created_at: String,
}

impl StoredRulebook {
    /// Version `version` of the rulebook `id`, published at `created_at`.
    pub fn new(id: &str, version: u32, text: &str, created_at: &str) -> Self {
        Self {
            id: id.to_owned(),
            version,
            text: text.to_owned(),
            digest: digest(text),
            created_at: created_at.to_owned(),
        }
    }
}

fn digest(text: &str) -> String {
    Sha256::digest(text.as_bytes())
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

type Row = (String, i32, String, String, String);

fn stored((id, version, text, kept, created_at): Row) -> Result<StoredRulebook, StoreFault> {
    if digest(&text) != kept {
        return Err(StoreFault::corrupt(
            "rulebooks",
            &id,
            "a text that is not the one that was published",
        ));
    }
    let version = u32::try_from(version).map_err(|fault| StoreFault::corrupt("rulebooks", &id, fault))?;
    Ok(StoredRulebook {
        id,
        version,
        text,
        digest: kept,
        created_at,
    })
}

/// The newest published version of each rulebook, by name.
pub(super) fn current(conn: &mut Conn) -> Result<Vec<StoredRulebook>, StoreFault> {
    let heads: Vec<(String, Option<i32>)> = dsl::rulebooks
        .filter(dsl::state.eq(PUBLISHED))
        .group_by(dsl::id)
        .select((dsl::id, diesel::dsl::max(dsl::version)))
        .order(dsl::id)
        .load(conn)?;
    let mut found = Vec::with_capacity(heads.len());
    for (id, version) in heads {
        let key = dsl::id.eq(&id).and(dsl::version.eq(version.unwrap_or_default()));
        let columns = (dsl::id, dsl::version, dsl::text, dsl::digest, dsl::created_at);
        found.push(stored(dsl::rulebooks.filter(key).select(columns).first(conn)?)?);
    }
    Ok(found)
}

pub(super) fn insert(conn: &mut Conn, rulebook: &StoredRulebook) -> Result<(), StoreFault> {
    let version = i32::try_from(rulebook.version)
        .map_err(|fault| StoreFault::corrupt("rulebooks", &rulebook.id, fault))?;
    let values = (
        dsl::id.eq(&rulebook.id),
        dsl::version.eq(version),
        dsl::state.eq(PUBLISHED),
        dsl::text.eq(&rulebook.text),
        dsl::digest.eq(&rulebook.digest),
        dsl::created_at.eq(&rulebook.created_at),
    );
    diesel::insert_into(dsl::rulebooks).values(values).execute(conn)?;
    Ok(())
}

impl Store {
    /// Publishes `rulebook` as the version after `rulebook.version - 1`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when the newest version is another one by now; else what the database says.
    pub fn publish_rulebook(&self, rulebook: &StoredRulebook) -> Result<(), StoreFault> {
        self.write(|conn| {
            catalogue::move_revision(conn)?;
            let newest: Option<i32> = dsl::rulebooks
                .filter(dsl::id.eq(&rulebook.id))
                .select(diesel::dsl::max(dsl::version))
                .first(conn)?;
            if i64::from(newest.unwrap_or(0)) + 1 != i64::from(rulebook.version) {
                return Err(StoreFault::Changed);
            }
            insert(conn, rulebook)?;
            let last = dsl::id.eq(&rulebook.id).and(dsl::version.eq(newest.unwrap_or(0)));
            let last = dsl::rulebooks.filter(last).select(dsl::digest);
            Ok(Change::of("rulebooks", &rulebook.id)
                .before_digest(last.first(conn).optional()?)
                .after_digest(&rulebook.digest)
                .with(()))
        })
    }
}
