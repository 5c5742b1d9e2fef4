//! Drafts of rulebooks: made from a version, read, listed, written anew, formatted.

use chrono::Utc;
use estimate::rules::{format_toml, parse_toml};
use serde_json::Value;
use uuid::Uuid;

use super::Given;
use super::view::{draft_head, draft_tag, draft_told};
use crate::desk::act::{Act, Told};
use crate::desk::{Desk, DeskFault, moment};
use crate::store::{DraftFilter, DraftHead, StoreFault, StoredDraft};

/// A draft that is to be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewDraft {
    /// The rulebook; the company's own when none is named.
    pub rulebook: Option<String>,
    /// The version that it begins with; the current one when none is named.
    pub version: Option<u32>,
}

/// A page of drafts.
#[derive(Debug)]
pub struct DraftPage {
    /// The drafts, without their rules.
    pub rows: Vec<Value>,
    /// The key after which the next page begins.
    pub next: Option<String>,
}

impl Desk {
    /// Makes a draft with the text of a version.
    ///
    /// # Errors
    /// There is no such rulebook or version.
    pub fn create_rulebook_draft(&self, act: &Act, new: &NewDraft) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || {
            let office = self.office()?;
            let id = new.rulebook.as_deref().unwrap_or(&office.company.rulebook);
            let current = || office.shelf.current_on(id, office.today());
            let base = new.version.or_else(current);
            let base = base.ok_or_else(|| DeskFault::unknown("rulebook", id).at("/rulebook"))?;
            let stored = office.shelf.text(id, base);
            let stored = stored.map_err(|fault| fault.at("/rulebook").at_version("/version"))?;
            let at = moment(Utc::now());
            let head = DraftHead {
                id: Uuid::now_v7().to_string(),
                rulebook: id.to_owned(),
                base_version: i32::try_from(base).unwrap_or(i32::MAX),
                edit: 1,
                created_at: at.clone(),
                created_by: act.person.clone(),
                changed_at: at,
                changed_by: act.person.clone(),
            };
            let answer = draft_told(&head).text()?;
            let draft = StoredDraft {
                head,
                text: stored.text,
            };
            Ok(self.store.add_rulebook_draft(act.key.as_ref(), &draft, &answer)?)
        })
    }

    /// A draft.
    ///
    /// # Errors
    /// There is none of this key.
    pub(super) fn stored_draft(&self, id: &str) -> Result<StoredDraft, DeskFault> {
        let found = self.store.rulebook_draft(id)?;
        found.ok_or_else(|| DeskFault::unknown("draft of a rulebook", id))
    }

    /// A draft with its text, and the same as a tree.
    ///
    /// # Errors
    /// There is none of this key.
    pub fn rulebook_draft(&self, id: &str) -> Result<Told, DeskFault> {
        let stored = self.stored_draft(id)?;
        let rules = parse_toml(&stored.text).map_err(DeskFault::Rulebook)?;
        let model = serde_json::to_value(&rules).map_err(|fault| DeskFault::Defect(fault.to_string()))?;
        let mut body = draft_head(&stored.head);
        if let Value::Object(members) = &mut body {
            members.insert("model".to_owned(), model);
            members.insert("text".to_owned(), Value::String(stored.text));
        }
        Ok(Told {
            tag: Some(draft_tag(&stored.head)),
            body,
        })
    }

    /// The text of a draft, and its tag.
    ///
    /// # Errors
    /// There is none of this key.
    pub fn rulebook_draft_text(&self, id: &str) -> Result<(String, String), DeskFault> {
        let stored = self.stored_draft(id)?;
        Ok((stored.text, draft_tag(&stored.head)))
    }

    /// A page of drafts.
    ///
    /// # Errors
    /// The database.
    pub fn rulebook_drafts(&self, filter: &DraftFilter) -> Result<DraftPage, DeskFault> {
        let more = DraftFilter {
            limit: filter.limit.saturating_add(1),
            ..filter.clone()
        };
        let mut rows = self.store.rulebook_drafts(&more)?;
        let limit = usize::try_from(filter.limit).unwrap_or(usize::MAX);
        let next = (rows.len() > limit).then(|| rows.truncate(limit));
        Ok(DraftPage {
            next: next.and_then(|()| rows.last().map(|row| row.id.clone())),
            rows: rows.iter().map(draft_head).collect(),
        })
    }

    /// Writes a draft anew. `matches` says whether the caller has seen the draft of this tag.
    ///
    /// # Errors
    /// Every fault of shape; the text is of another rulebook, or another draft stands than was seen. What else is
    /// wrong with the rules a check tells.
    pub fn replace_rulebook_draft(
        &self,
        act: &Act,
        id: &str,
        given: &Given,
        matches: impl Fn(&str) -> bool,
    ) -> Result<Told, DeskFault> {
        let office = self.office()?;
        self.write_rulebook_draft(act, id, matches, |before| {
            office.with_known_jobs(given.read()?.source().to_owned(), Some(before))
        })
    }

    /// Brings the text of a draft into its canonical form.
    ///
    /// # Errors
    /// Another draft stands than was seen.
    pub fn format_rulebook_draft(
        &self,
        act: &Act,
        id: &str,
        matches: impl Fn(&str) -> bool,
    ) -> Result<Told, DeskFault> {
        self.write_rulebook_draft(act, id, matches, |text| {
            format_toml(text).map_err(DeskFault::Rulebook)
        })
    }

    /// Writes what `edit` makes of the text of a draft.
    pub(super) fn write_rulebook_draft(
        &self,
        act: &Act,
        id: &str,
        matches: impl Fn(&str) -> bool,
        edit: impl Fn(&str) -> Result<String, DeskFault>,
    ) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || {
            let before = self.seen_draft(id, &matches)?;
            let text = edit(&before.text)?;
            let rules = parse_toml(&text).map_err(DeskFault::Rulebook)?;
            if *rules.id != *before.head.rulebook {
                return Err(DeskFault::OtherName {
                    wanted: before.head.rulebook,
                    named: rules.id.to_string(),
                });
            }
            let head = DraftHead {
                edit: before.head.edit.saturating_add(1),
                changed_at: moment(Utc::now()),
                changed_by: act.person.clone(),
                ..before.head
            };
            let answer = draft_told(&head).text()?;
            let after = StoredDraft { head, text };
            let written = self
                .store
                .change_rulebook_draft(act.key.as_ref(), &after, &answer);
            self.or_stale(id, written)
        })
    }

    /// The draft, once the caller has seen it as it is.
    pub(super) fn seen_draft(
        &self,
        id: &str,
        matches: impl Fn(&str) -> bool,
    ) -> Result<StoredDraft, DeskFault> {
        let stored = self.stored_draft(id)?;
        match draft_tag(&stored.head) {
            tag if matches(&tag) => Ok(stored),
            tag => Err(DeskFault::Stale { tag }),
        }
    }

    /// A write that somebody else was quicker at is told with the tag of what stands now.
    pub(super) fn or_stale<T>(&self, id: &str, written: Result<T, StoreFault>) -> Result<T, DeskFault> {
        match written {
            Err(StoreFault::Changed) => Err(DeskFault::Stale {
                tag: draft_tag(&self.stored_draft(id)?.head),
            }),
            other => Ok(other?),
        }
    }
}
