//! Requests that a caller may send again: the answer is kept in the transaction of the effect.

use diesel::prelude::*;

use super::audit::Written;
use super::connection::{Conn, each};
use super::schema::idempotency_keys::dsl;
use super::{Store, StoreFault};

/// The name that a caller gave to a request, and what the request was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RequestKey {
    /// The caller's name for it.
    pub id: String,
    /// Digest of method, address, person and body.
    pub request: String,
    /// Now, as rows keep moments.
    pub now: String,
    /// Answers older than this are forgotten.
    pub oldest: String,
}

impl Store {
    /// The answer that was given to the same request before; none when there was none.
    ///
    /// # Errors
    /// [`StoreFault::KeyReused`] when another request had this name.
    pub fn kept_answer(&self, key: &RequestKey) -> Result<Option<String>, StoreFault> {
        self.read(|conn| kept(conn, key))
    }

    /// Runs `body` in one transaction that may write, at most once for a key. The answer is the body's own, or the
    /// one that was kept.
    ///
    /// # Errors
    /// As [`Store::kept_answer`], and what `body` fails with.
    pub(super) fn write_once(
        &self,
        key: Option<&RequestKey>,
        mut body: impl FnMut(&mut Conn) -> Result<Written<String>, StoreFault>,
    ) -> Result<String, StoreFault> {
        let Some(key) = key else {
            return self.write(body);
        };
        self.write(|conn| {
            let outlived = dsl::id.eq(&key.id).and(dsl::created_at.lt(&key.oldest));
            diesel::delete(dsl::idempotency_keys.filter(outlived)).execute(conn)?;
            let row = (
                dsl::id.eq(&key.id),
                dsl::request.eq(&key.request),
                dsl::answer.eq(""),
                dsl::created_at.eq(&key.now),
            );
            // Of two at once the second waits here until the first is done, and then finds its answer.
            let made = each!(conn, conn => diesel::insert_into(dsl::idempotency_keys)
                .values(row)
                .on_conflict_do_nothing()
                .execute(conn))?;
            if made == 0 {
                let answer = kept(conn, key)?.ok_or(StoreFault::Changed)?;
                return Ok(Written::nothing(answer));
            }
            let written = body(conn)?;
            diesel::update(dsl::idempotency_keys.filter(dsl::id.eq(&key.id)))
                .set(dsl::answer.eq(&written.value))
                .execute(conn)?;
            Ok(written)
        })
    }

    /// Forgets the answers that are older than `oldest`, and says how many they were.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn forget_answers(&self, oldest: &str) -> Result<usize, StoreFault> {
        self.write(|conn| {
            let outlived = dsl::idempotency_keys.filter(dsl::created_at.lt(oldest));
            Ok(Written::nothing(diesel::delete(outlived).execute(conn)?))
        })
    }
}

fn kept(conn: &mut Conn, key: &RequestKey) -> Result<Option<String>, StoreFault> {
    let alive = dsl::id.eq(&key.id).and(dsl::created_at.ge(&key.oldest));
    let found: Option<(String, String)> = dsl::idempotency_keys
        .filter(alive)
        .select((dsl::request, dsl::answer))
        .first(conn)
        .optional()?;
    match found {
        None => Ok(None),
        Some((request, answer)) if request == key.request => Ok(Some(answer)),
        Some(_) => Err(StoreFault::KeyReused),
    }
}
