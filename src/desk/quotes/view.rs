//! Quotes and revisions as they are told.

use chrono::{DateTime, Utc};
use estimate::quote::acceptance::Acceptance;
use estimate::quote::alternates::{Choice, PricedAlternate, choose};
use estimate::quote::approval::{may_approve, subject};
use estimate::quote::estimated::TotalFigures;
use estimate::quote::life::Event;
use serde::Serialize;
use serde_json::{Map, Value, json};

use super::change::{row, standing, state};
use super::people::People;
use super::work::{acceptance, at_of, authors, no_choice, refused, sources};
use super::{At, Told};
use crate::desk::{Desk, DeskFault};
use crate::store::{ApprovalRow, RevisionRow, StoredQuote, TransitionRow};

pub(super) fn tree(value: &impl Serialize) -> Result<Value, DeskFault> {
    serde_json::to_value(value).map_err(|fault| DeskFault::Defect(fault.to_string()))
}

/// The moment and the last day in a row's end.
pub(super) fn ends(kept: &str) -> (&str, &str) {
    let mut parts = kept.split(' ');
    (parts.next().unwrap_or_default(), parts.next().unwrap_or_default())
}

pub(super) fn name(stored: &StoredQuote, row: &RevisionRow) -> String {
    match row.change_order {
        0 => format!("{}-R{}", stored.quote.number, row.revision),
        order => format!("{}-C{order}-R{}", stored.quote.number, row.revision),
    }
}

/// The tag of a revision at a moment. Time alone can end an offer, so its state stands in it; an approval is no write to
/// the revision and is told with it, so the number of approvals does.
pub(super) fn tag(stored: &StoredQuote, row: &RevisionRow, now: DateTime<Utc>) -> Result<String, DeskFault> {
    let state = standing(row)?.state(now).word();
    Ok(format!(
        "\"{}-{state}-{}\"",
        row.version,
        given(stored, row).count()
    ))
}

/// The approvals of a revision.
pub(super) fn given<'a>(
    stored: &'a StoredQuote,
    row: &'a RevisionRow,
) -> impl Iterator<Item = &'a ApprovalRow> {
    let approvals = stored.approvals.iter();
    approvals.filter(|given| given.change_order == row.change_order && given.revision == row.revision)
}

/// A revision in a list: its state, and when it was issued and ends.
fn head(
    stored: &StoredQuote,
    row: &RevisionRow,
    now: DateTime<Utc>,
) -> Result<Map<String, Value>, DeskFault> {
    let state = standing(row)?.state(now);
    let mut members = Map::new();
    let mut put = |name: &str, value: Value| members.insert(name.to_owned(), value);
    put("name", json!(name(stored, row)));
    put("revision", json!(row.revision));
    put("state", json!(state.word()));
    put("created_at", json!(row.created_at));
    put("created_by", json!(row.created_by));
    let issued = stored
        .issued
        .iter()
        .find(|issued| issued.change_order == row.change_order && issued.revision == row.revision);
    if let Some(issued) = issued {
        put("issued_at", json!(issued.issued_at));
        put("issued_by", json!(issued.issued_by));
        put("digest", json!(issued.digest));
    }
    if let Some(kept) = &row.ends_at {
        let (moment, day) = ends(kept);
        put("valid_until", json!(day));
        put("ends_at", json!(moment));
    }
    Ok(members)
}

pub(super) fn transition(stored: &StoredQuote, moved: &TransitionRow) -> Value {
    let row = stored
        .revisions
        .iter()
        .find(|row| row.change_order == moved.change_order && row.revision == moved.revision);
    json!({
        "position": moved.position,
        "name": row.map(|row| name(stored, row)),
        "event": moved.event,
        "from": moved.from_state,
        "to": moved.to_state,
        "at": moved.moved_at,
        "by": moved.moved_by,
        "reason": moved.reason,
    })
}

/// An approval; of a draft, whether it counts for the draft as it is now.
fn approval(given: &ApprovalRow, subject: Option<&str>, authors: &[String], people: &People) -> Value {
    let mut told =
        json!({"subject": given.subject, "at": given.given_at, "by": given.given_by, "note": given.note});
    if let (Some(subject), Value::Object(members)) = (subject, &mut told) {
        let other = may_approve(&given.given_by, authors, |one, other| people.are_one(one, other));
        let stands = given.subject == subject && other.is_ok();
        members.insert("stands".to_owned(), json!(stands));
    }
    told
}

pub(super) fn totals(of: &TotalFigures) -> Value {
    json!({"net": of.net, "tax": of.tax, "total": of.total, "hours": of.hours})
}

impl Desk {
    /// A quote with what stands under it.
    pub(super) fn quote_told(&self, stored: &StoredQuote, now: DateTime<Utc>) -> Result<Told, DeskFault> {
        let quote = &stored.quote;
        let track = |order: i32| {
            let rows = stored
                .revisions
                .iter()
                .filter(move |row| row.change_order == order);
            let heads = rows.map(|row| head(stored, row, now).map(Value::Object));
            heads.collect::<Result<Vec<_>, _>>()
        };
        let mut orders: Vec<i32> = stored.revisions.iter().map(|row| row.change_order).collect();
        orders.dedup();
        let orders = orders.into_iter().filter(|order| *order > 0);
        let orders = orders
            .map(|order| Ok(json!({"change_order": order, "revisions": track(order)?})))
            .collect::<Result<Vec<_>, DeskFault>>()?;
        let contract = self.contract(stored)?.map(|contract| {
            json!({
                "original": contract.original(),
                "changes": contract.changes(),
                "total": contract.total(),
            })
        });
        let mut body = super::list::row(quote, &crate::desk::moment(now));
        if let Value::Object(members) = &mut body {
            members.insert("revisions".to_owned(), Value::Array(track(0)?));
            members.insert("change_orders".to_owned(), Value::Array(orders));
            members.insert("contract".to_owned(), contract.unwrap_or_default());
        }
        let state = body.get("state").and_then(Value::as_str).unwrap_or_default();
        Ok(Told {
            tag: Some(format!("\"{}-{state}\"", quote.version)),
            body,
        })
    }

    /// A revision with its content.
    pub(super) fn revision_told(
        &self,
        stored: &StoredQuote,
        at: &At,
        now: DateTime<Utc>,
    ) -> Result<Told, DeskFault> {
        let row = row(stored, at)?;
        let mut members = head(stored, row, now)?;
        let mut put = |name: &str, value: Value| members.insert(name.to_owned(), value);
        let mut moves = standing(row)?.state(now).asked_for();
        let mut taken = stored.acceptances.iter();
        if taken.any(|kept| kept.change_order == row.change_order) {
            // What was accepted stands: no draft beside it goes out any more.
            moves.retain(|event| *event != Event::Issue);
        }
        put("quote", json!(row.quote_id));
        put("number", json!(stored.quote.number));
        put("change_order", json!(row.change_order));
        put("moves", tree(&moves)?);
        put("changed_at", json!(row.changed_at));
        put("changed_by", json!(row.changed_by));
        put("authors", json!(authors(row)?));
        put("made_from", tree(&sources(row)?)?);
        let draft: Value = serde_json::from_str(&row.draft)
            .map_err(|fault| super::work::unreadable("revisions", &row.quote_id, fault))?;
        put("content", draft);
        put("notices", tree(&self.notices(row)?)?);
        let subject = self.subject_now(stored, row)?;
        let authors = authors(row)?;
        let people = match (&subject, given(stored, row).next()) {
            (Some(_), Some(_)) => self.people(&row.quote_id)?,
            _ => People::default(),
        };
        let approvals =
            given(stored, row).map(|given| approval(given, subject.as_deref(), &authors, &people));
        put("approvals", approvals.collect());
        let accepted = stored
            .acceptances
            .iter()
            .find(|kept| kept.change_order == row.change_order && kept.revision == row.revision);
        if let Some(kept) = accepted {
            let (record, digest) = acceptance(kept)?;
            let choice = self.choice(&at_of(stored, kept), &record)?;
            put(
                "acceptance",
                accepted_told(&record, &choice, &digest.to_string())?,
            );
        }
        Ok(Told {
            tag: Some(tag(stored, row, now)?),
            body: Value::Object(members),
        })
    }

    /// What an approval of a draft would be of now; nothing where it is no draft, or nobody approved it.
    fn subject_now(&self, stored: &StoredQuote, row: &RevisionRow) -> Result<Option<String>, DeskFault> {
        if !state(row)?.may_be_edited() || given(stored, row).next().is_none() {
            return Ok(None);
        }
        let from = sources(row)?;
        let priced = self.priced(stored, row, &*self.past(&from)?, &from)?;
        let subject = subject(&priced.content(), priced.estimated());
        let subject = subject.map_err(|fault| DeskFault::Defect(fault.to_string()))?;
        Ok(Some(subject.to_string()))
    }

    /// The choice of an acceptance, made again of what the records hold.
    fn choice(&self, at: &At, record: &Acceptance) -> Result<Choice, DeskFault> {
        let (revision, ..) = self.document(at)?;
        let read = || record.estimated().map_err(|fault| refused(fault.into()));
        let base = revision.estimated().map_err(|fault| refused(fault.into()))?;
        let offered = revision.alternates.iter().map(|offered| offered.priced(&base));
        let offered = offered
            .collect::<Result<Vec<PricedAlternate>, _>>()
            .map_err(refused)?;
        choose(&revision.request, &base, &offered, &record.chosen, |_| read()).map_err(no_choice)
    }

    /// A quote.
    ///
    /// # Errors
    /// There is none of this key.
    pub fn quote(&self, id: &str) -> Result<Told, DeskFault> {
        self.quote_told(&self.stored(id)?, Utc::now())
    }

    /// A revision.
    ///
    /// # Errors
    /// There is none of this key, or what is stored is not what was issued.
    pub fn revision(&self, at: &At) -> Result<Told, DeskFault> {
        let stored = self.stored(&at.quote)?;
        if !state(row(&stored, at)?)?.may_be_edited() {
            // Read only to hold its bytes against their digest.
            self.document(at)?;
        }
        self.revision_told(&stored, at, Utc::now())
    }

    /// The bytes of an issued revision, and their digest.
    ///
    /// # Errors
    /// There is none, or what is stored is not what was issued.
    pub fn issued_document(&self, at: &At) -> Result<(String, String), DeskFault> {
        let stored = self.stored(&at.quote)?;
        row(&stored, at)?;
        let (_, digest, text) = self.document(at)?;
        Ok((text, digest.to_string()))
    }

    /// The moves of a quote and its change orders, in their order.
    ///
    /// # Errors
    /// There is no quote of this key.
    pub fn transitions(&self, id: &str) -> Result<Value, DeskFault> {
        let stored = self.stored(id)?;
        let rows = stored.transitions.iter().map(|moved| transition(&stored, moved));
        Ok(json!({"data": rows.collect::<Vec<_>>()}))
    }
}

fn accepted_told(record: &Acceptance, choice: &Choice, digest: &str) -> Result<Value, DeskFault> {
    let estimated = record.estimated().map_err(|fault| refused(fault.into()))?;
    Ok(json!({
        "accepted_by": record.accepted_by,
        "reference": record.reference,
        "chosen": record.chosen,
        "at": record.at,
        "recorded_by": record.recorded_by,
        "clashes": record.clashes,
        "totals": totals(estimated.totals()),
        "moved": {"net": choice.moved.net, "total": choice.moved.total, "hours": choice.moved.hours},
        "beyond_single_differences": tree(&choice.beyond)?,
        "digest": digest,
    }))
}
