//! Access keys: who they are of, and digests of their secrets.

use std::collections::BTreeMap;

use diesel::prelude::*;
use estimate::quote::canonical::Digest;
use serde::Serialize;

use super::audit::{self, Change, Written};
use super::once::RequestKey;
use super::schema::access_keys::{self, dsl};
use super::schema::audit_entries;
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
    /// Secrets before that one which have their grace still: a list in JSON of digest and end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub earlier: Option<String>,
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

    /// Puts a new key in, once for a request's name: whether this did it, or the same request before.
    ///
    /// # Errors
    /// [`StoreFault::Exists`] when the id is taken, [`StoreFault::KeyReused`].
    pub fn add_access_key(&self, key: Option<&RequestKey>, row: &AccessKeyRow) -> Result<Did, StoreFault> {
        let kept = self.write_once(key, |conn| {
            diesel::insert_into(dsl::access_keys).values(row).execute(conn)?;
            Ok(Change::of(KIND, &row.id).after(row)?.with(mark(row)))
        })?;
        Ok(Did::of(row, &kept))
    }

    /// The key that the same request made or changed before; none where there was none.
    ///
    /// # Errors
    /// [`StoreFault::KeyReused`].
    pub fn access_key_of_request(&self, key: &RequestKey) -> Result<Option<String>, StoreFault> {
        Ok(self.kept_answer(key)?.map(|mark| id_of(&mark)))
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

    /// Writes a key as it is to be, once for a request's name; `before` is what was read of it.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when it is another by now, [`StoreFault::KeyReused`].
    pub fn change_access_key(
        &self,
        key: Option<&RequestKey>,
        before: &AccessKeyRow,
        row: &AccessKeyRow,
    ) -> Result<Did, StoreFault> {
        let kept = self.write_once(key, |conn| {
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
                    dsl::earlier.eq(&row.earlier),
                ))
                .execute(conn)?;
            let change = Change::of(KIND, &row.id).before(before)?.after(row)?;
            match changed {
                1 => Ok(change.with(mark(row))),
                _ => Err(StoreFault::Changed),
            }
        })?;
        Ok(Did::of(row, &kept))
    }

    /// Everything in which the access keys are not what the audit says was written last.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn access_keys_unlike_written(&self) -> Result<Vec<String>, StoreFault> {
        self.read(|conn| {
            let entries: Vec<(String, i64, Option<String>)> = audit_entries::table
                .filter(audit_entries::subject.gt(format!("{KIND}/")))
                .filter(audit_entries::subject.lt(format!("{KIND}0")))
                .order(audit_entries::sequence)
                .select((
                    audit_entries::subject,
                    audit_entries::sequence,
                    audit_entries::after,
                ))
                .load(conn)?;
            let entries = entries
                .into_iter()
                .map(|(subject, number, after)| (subject, (number, after)));
            let mut last: BTreeMap<String, (i64, Option<String>)> = entries.collect();
            let rows: Vec<AccessKeyRow> = dsl::access_keys
                .order(dsl::id)
                .select(AccessKeyRow::as_select())
                .load(conn)?;
            let mut faults = Vec::new();
            for row in &rows {
                let word = match last.remove(&format!("{KIND}/{}", row.id)) {
                    Some((_, after)) if after.as_ref() == Some(&digest(row)?) => continue,
                    Some((number, _)) => format!("is not what audit entry {number} wrote"),
                    None => "was written by no audit entry".to_owned(),
                };
                faults.push(format!("the row {} of access_keys {word}", row.id));
            }
            faults.extend(last.into_iter().map(|(subject, (number, _))| {
                let id = subject.rsplit('/').next().unwrap_or_default();
                format!("the row {id} of access_keys, which audit entry {number} wrote, is missing")
            }));
            Ok(faults)
        })
    }

    /// Names under which somebody wrote at a quote, each with what let them in, where that lets in one person alone; and
    /// whoever this is in the hands of.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn writers_of_quote(&self, id: &str) -> Result<Vec<(String, String)>, StoreFault> {
        let hand = self.hand();
        self.read(|conn| {
            let mut found: Vec<(String, String)> = audit_entries::table
                .filter(audit_entries::subject.eq(format!("quotes/{id}")))
                .filter(audit_entries::key_id.is_not_null())
                .select((audit_entries::person, audit_entries::key_id.assume_not_null()))
                .distinct()
                .load(conn)?;
            found.extend(hand.key.iter().map(|key| (hand.person.clone(), key.clone())));
            let keys: Vec<&String> = found.iter().map(|(_, key)| key).collect();
            let shared: Vec<String> = dsl::access_keys
                .filter(dsl::id.eq_any(keys).and(dsl::shared.eq(true)))
                .select(dsl::id)
                .load(conn)?;
            found.retain(|(_, key)| !shared.contains(key));
            Ok(found)
        })
    }
}

/// Whether a write was done now, or by the same request before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Did {
    /// Now.
    Now,
    /// Before; the id of the key.
    Before(String),
}

impl Did {
    fn of(row: &AccessKeyRow, kept: &str) -> Self {
        if kept == mark(row) {
            Self::Now
        } else {
            Self::Before(id_of(kept))
        }
    }
}

/// What is kept of a request: which key it made, and which of its secrets.
fn mark(row: &AccessKeyRow) -> String {
    format!("{} {}", row.id, row.digest)
}

fn id_of(mark: &str) -> String {
    mark.split(' ').next().unwrap_or_default().to_owned()
}

/// A row as its audit entry puts it down.
fn digest(row: &AccessKeyRow) -> Result<String, StoreFault> {
    let bytes =
        serde_json::to_vec(row).map_err(|fault| StoreFault::corrupt("access_keys", &row.id, fault))?;
    Ok(Digest::of(&bytes).to_string())
}
