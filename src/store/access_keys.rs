//! Access keys: who they are of, and digests of their secrets.

use diesel::prelude::*;
use serde::Serialize;

use super::audit::{self, Change, Written};
use super::schema::access_keys::{self, dsl};
use super::{Store, StoreFault};

/// An access key.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, Serialize)]
#[diesel(table_name = access_keys)]
pub struct AccessKeyRow {
    /// By which it is known.
    pub id: String,
    /// Whose it is: a person, or an application for many.
    pub person: String,
    /// What it lets do.
    pub role: String,
    /// Whether it is an application's, which names the person who acts.
    pub shared: bool,
    /// SHA-256 of the secret.
    pub digest: String,
    /// When it ends.
    pub expires_at: String,
    /// SHA-256 of the secret before the last rotation.
    pub previous_digest: Option<String>,
    /// Until when that one holds.
    pub previous_until: Option<String>,
    /// When it was made.
    pub created_at: String,
    /// By whom.
    pub created_by: String,
    /// When it was revoked.
    pub revoked_at: Option<String>,
    /// By whom.
    pub revoked_by: Option<String>,
}

const KIND: &str = "access-keys";

impl Store {
    /// The key of this id.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn access_key(&self, id: &str) -> Result<Option<AccessKeyRow>, StoreFault> {
        let found = dsl::access_keys
            .filter(dsl::id.eq(id))
            .select(AccessKeyRow::as_select());
        Ok(found.first(&mut *self.connection()?).optional()?)
    }

    /// At most `limit` keys after the id `after`, by id.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn access_keys(&self, after: &str, limit: i64) -> Result<Vec<AccessKeyRow>, StoreFault> {
        let found = dsl::access_keys
            .filter(dsl::id.gt(after))
            .order(dsl::id)
            .limit(limit);
        Ok(found
            .select(AccessKeyRow::as_select())
            .load(&mut *self.connection()?)?)
    }

    /// Puts a new key in.
    ///
    /// # Errors
    /// [`StoreFault::Exists`] when the id is taken.
    pub fn add_access_key(&self, row: &AccessKeyRow) -> Result<(), StoreFault> {
        self.write(|conn| {
            diesel::insert_into(dsl::access_keys).values(row).execute(conn)?;
            Ok(Change::of(KIND, &row.id).after(row)?.with(()))
        })
    }

    /// Puts the very first key in, and says whether it did. Of several programs that start together one does.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn add_first_access_key(&self, row: &AccessKeyRow) -> Result<bool, StoreFault> {
        self.write(|conn| {
            audit::take_turn(conn)?;
            if dsl::access_keys.count().get_result::<i64>(conn)? > 0 {
                return Ok(Written::nothing(false));
            }
            diesel::insert_into(dsl::access_keys).values(row).execute(conn)?;
            Ok(Change::of(KIND, &row.id).after(row)?.with(true))
        })
    }

    /// Writes a key as it is to be; `before` is what was read of it.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when it is another by now.
    pub fn change_access_key(&self, before: &AccessKeyRow, row: &AccessKeyRow) -> Result<(), StoreFault> {
        self.write(|conn| {
            let same = dsl::id
                .eq(&before.id)
                .and(dsl::digest.eq(&before.digest))
                .and(dsl::revoked_at.is_null());
            let changed = diesel::update(dsl::access_keys.filter(same))
                .set((
                    dsl::digest.eq(&row.digest),
                    dsl::expires_at.eq(&row.expires_at),
                    dsl::previous_digest.eq(&row.previous_digest),
                    dsl::previous_until.eq(&row.previous_until),
                    dsl::revoked_at.eq(&row.revoked_at),
                    dsl::revoked_by.eq(&row.revoked_by),
                ))
                .execute(conn)?;
            match changed {
                1 => Ok(Change::of(KIND, &row.id).before(before)?.after(row)?.with(())),
                _ => Err(StoreFault::Changed),
            }
        })
    }
}
