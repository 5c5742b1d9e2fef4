//! Drafts of rulebooks: the only texts of rules that change.

use diesel::prelude::*;

use super::audit::Change;
use super::connection::Conn;
use super::schema::rulebook_drafts::{self, dsl};
use super::{RequestKey, Store, StoreFault};

/// A draft without its text.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable, serde::Serialize)]
#[diesel(table_name = rulebook_drafts)]
pub struct DraftHead {
    /// Its key.
    pub id: String,
    /// The rulebook whose next version it may become.
    pub rulebook: String,
    /// The version that it was made from.
    pub base_version: i32,
    /// Counts the writes, from 1.
    pub edit: i64,
    /// When it was made, RFC 3339 in UTC.
    pub created_at: String,
    /// By whom.
    pub created_by: String,
    /// When it was last written.
    pub changed_at: String,
    /// By whom.
    pub changed_by: String,
}

/// A draft.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredDraft {
    /// Which one.
    pub head: DraftHead,
    /// Its text.
    pub text: String,
}

/// Which drafts a list is of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DraftFilter {
    /// Of this rulebook.
    pub rulebook: Option<String>,
    /// Behind this key.
    pub after: Option<String>,
    /// At most so many.
    pub limit: i64,
}

const KIND: &str = "rulebook-drafts";

/// A draft as it is stored.
fn one(conn: &mut Conn, id: &str) -> Result<(DraftHead, String), StoreFault> {
    let found = dsl::rulebook_drafts.filter(dsl::id.eq(id));
    let found = found.select((DraftHead::as_select(), dsl::text)).first(conn);
    found.optional()?.ok_or(StoreFault::Changed)
}

impl Store {
    /// The draft of this key.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn rulebook_draft(&self, id: &str) -> Result<Option<StoredDraft>, StoreFault> {
        let found: Option<(DraftHead, String)> = self.read(|conn| {
            let columns = (DraftHead::as_select(), dsl::text);
            let row = dsl::rulebook_drafts.filter(dsl::id.eq(id)).select(columns);
            Ok(row.first(conn).optional()?)
        })?;
        Ok(found.map(|(head, text)| StoredDraft { head, text }))
    }

    /// The drafts of a list, in the order of their keys.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn rulebook_drafts(&self, filter: &DraftFilter) -> Result<Vec<DraftHead>, StoreFault> {
        self.read(|conn| {
            let mut query = dsl::rulebook_drafts
                .select(DraftHead::as_select())
                .filter(dsl::id.gt(filter.after.as_deref().unwrap_or_default()))
                .order(dsl::id)
                .limit(filter.limit)
                .into_boxed();
            if let Some(rulebook) = &filter.rulebook {
                query = query.filter(dsl::rulebook.eq(rulebook));
            }
            Ok(query.load(conn)?)
        })
    }

    /// Puts a new draft in.
    ///
    /// # Errors
    /// [`StoreFault::Missing`] when its base is not there.
    pub fn add_rulebook_draft(
        &self,
        key: Option<&RequestKey>,
        draft: &StoredDraft,
        answer: &str,
    ) -> Result<String, StoreFault> {
        self.write_once(key, |conn| {
            diesel::insert_into(rulebook_drafts::table)
                .values((&draft.head, dsl::text.eq(&draft.text)))
                .execute(conn)?;
            let change = Change::of(KIND, &draft.head.id);
            Ok(change.after(&(&draft.head, &draft.text))?.with(answer.to_owned()))
        })
    }

    /// Writes a draft whose edit was `draft.head.edit - 1`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when it is another by now, or gone.
    pub fn change_rulebook_draft(
        &self,
        key: Option<&RequestKey>,
        draft: &StoredDraft,
        answer: &str,
    ) -> Result<String, StoreFault> {
        let head = &draft.head;
        self.write_once(key, |conn| {
            let before = one(conn, &head.id)?;
            let old = dsl::id.eq(&head.id).and(dsl::edit.eq(head.edit - 1));
            let changed = diesel::update(dsl::rulebook_drafts.filter(old))
                .set((
                    dsl::text.eq(&draft.text),
                    dsl::edit.eq(head.edit),
                    dsl::changed_at.eq(&head.changed_at),
                    dsl::changed_by.eq(&head.changed_by),
                ))
                .execute(conn)?;
            match changed {
                1 => {
                    let change = Change::of(KIND, &head.id).before(&before)?;
                    Ok(change.after(&(head, &draft.text))?.with(answer.to_owned()))
                }
                _ => Err(StoreFault::Changed),
            }
        })
    }

    /// Discards a draft as it is after `edit` writes.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when it is another by now, or gone.
    pub fn discard_rulebook_draft(&self, id: &str, edit: i64) -> Result<(), StoreFault> {
        self.write(|conn| {
            let before = one(conn, id)?;
            let same = dsl::id.eq(id).and(dsl::edit.eq(edit));
            match diesel::delete(dsl::rulebook_drafts.filter(same)).execute(conn)? {
                1 => Ok(Change::of(KIND, id).before(&before)?.with(())),
                _ => Err(StoreFault::Changed),
            }
        })
    }
}
