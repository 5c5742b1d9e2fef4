//! What is told of drafts and versions.

use serde_json::{Value, json};

use crate::desk::act::Told;
use crate::desk::{DeskFault, Office};
use crate::store::{CalendarRow, DraftHead, RulebookHead};

/// The tag of a version: its number and the first half of its digest.
pub fn version_tag(head: &RulebookHead) -> String {
    let digest = head.digest.get(..32).unwrap_or_default();
    format!("\"{}-{digest}\"", head.version)
}

/// The tag of a draft and of its parts: they change together.
pub(super) fn draft_tag(head: &DraftHead) -> String {
    format!("\"{}\"", head.edit)
}

/// A draft without its rules.
pub(super) fn draft_head(head: &DraftHead) -> Value {
    json!({
        "id": head.id,
        "rulebook": head.rulebook,
        "base_version": head.base_version,
        "edit": head.edit,
        "created_at": head.created_at,
        "created_by": head.created_by,
        "changed_at": head.changed_at,
        "changed_by": head.changed_by,
    })
}

pub(super) fn draft_told(head: &DraftHead) -> Told {
    Told {
        tag: Some(draft_tag(head)),
        body: draft_head(head),
    }
}

/// A version that was just published.
pub(super) fn published(head: &RulebookHead, row: &CalendarRow, examples: usize) -> Told {
    Told {
        tag: Some(version_tag(head)),
        body: json!({
            "id": head.id,
            "version": head.version,
            "digest": head.digest,
            "published_at": head.created_at,
            "current_from": row.current_from,
            "examples": examples,
        }),
    }
}

/// The versions of a rulebook and its calendar.
pub(super) fn versions(office: &Office, id: &str) -> Result<Value, DeskFault> {
    let (shelf, today) = (&office.shelf, office.today());
    shelf.newest(id)?;
    let current = shelf.current_on(id, today);
    let one = |head: &RulebookHead| {
        let version = head.version;
        let retired = shelf.retirement(id, version);
        let state = match retired {
            Some(_) => "retired",
            None if current == Some(version) => "current",
            None if shelf.is_wanted_from(id, version, today) => "upcoming",
            None => "published",
        };
        let mut told = json!({
            "version": version,
            "state": state,
            "digest": head.digest,
            "published_at": head.created_at,
        });
        if let (Some(row), Value::Object(members)) = (retired, &mut told) {
            let retirement = json!({"at": row.retired_at, "by": row.retired_by, "reason": row.reason});
            members.insert("retirement".to_owned(), retirement);
        }
        told
    };
    let entry = |row: &CalendarRow| {
        json!({
            "version": row.version,
            "current_from": row.current_from,
            "entered_at": row.entered_at,
            "entered_by": row.entered_by,
        })
    };
    Ok(json!({
        "id": id,
        "current": current,
        "versions": shelf.heads(id).map(one).collect::<Vec<_>>(),
        "calendar": shelf.calendar(id).map(entry).collect::<Vec<_>>(),
    }))
}
