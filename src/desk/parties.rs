//! Customers and their sites: made, read, listed, changed, put away.

use chrono::Utc;
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::act::{Act, Told};
use super::{Desk, DeskFault, moment};
use crate::store::{PartyFilter, PartyKind, PartyRow, StoreFault};

/// A page of customers or sites.
#[derive(Debug)]
pub struct PartyPage {
    /// The rows.
    pub rows: Vec<Value>,
    /// The key after which the next page begins.
    pub next: Option<String>,
}

fn word(kind: PartyKind) -> &'static str {
    match kind {
        PartyKind::Customer => "customer",
        PartyKind::Site => "site",
        PartyKind::Survey => "survey",
    }
}

/// A key as it is kept: of a UUID in lower case, since letters of either case name the same (RFC 9562, section 4).
pub fn kept_key(key: &str) -> String {
    match Uuid::try_parse(key) {
        Ok(_) => key.to_ascii_lowercase(),
        Err(_) => key.to_owned(),
    }
}

/// The tag of a row.
fn tag(row: &PartyRow) -> String {
    format!("\"{}\"", row.version)
}

fn told(kind: PartyKind, row: &PartyRow) -> Result<Told, DeskFault> {
    Ok(Told {
        tag: Some(tag(row)),
        body: view(kind, row)?,
    })
}

/// The document with what is known of its row.
fn view(kind: PartyKind, row: &PartyRow) -> Result<Value, DeskFault> {
    let mut members = Map::new();
    members.insert("id".to_owned(), json!(row.id));
    let body: Map<String, Value> = serde_json::from_str(&row.body)
        .map_err(|fault| DeskFault::Defect(format!("{} {}: {fault}", word(kind), row.id)))?;
    members.extend(body);
    members.insert("archived".to_owned(), json!(row.archived));
    members.insert("created_at".to_owned(), json!(row.created_at));
    members.insert("created_by".to_owned(), json!(row.created_by));
    members.insert("changed_at".to_owned(), json!(row.changed_at));
    members.insert("changed_by".to_owned(), json!(row.changed_by));
    Ok(Value::Object(members))
}

/// The customer that a site is of.
pub(super) fn customer_of(site: &PartyRow) -> Option<String> {
    let body: Value = serde_json::from_str(&site.body).ok()?;
    body.get("customer").and_then(Value::as_str).map(str::to_owned)
}

/// Every text in a document, in lower case.
fn search(body: &Value, into: &mut String) {
    match body {
        Value::String(text) => {
            into.push_str(&text.to_lowercase());
            into.push('\n');
        }
        Value::Array(entries) => entries.iter().for_each(|entry| search(entry, into)),
        Value::Object(members) => members
            .iter()
            .filter(|(name, _)| *name != "customer")
            .for_each(|(_, value)| search(value, into)),
        _ => {}
    }
}

fn searched(body: &Value) -> String {
    let mut text = String::new();
    search(body, &mut text);
    text
}

/// A row for something new. `id` is the caller's own key.
pub(super) fn new_row(act: &Act, id: Option<String>, body: &Value) -> PartyRow {
    let at = moment(Utc::now());
    PartyRow {
        id: id.unwrap_or_else(|| Uuid::now_v7().to_string()),
        body: body.to_string(),
        search: searched(body),
        version: 1,
        archived: false,
        created_at: at.clone(),
        created_by: act.person.clone(),
        changed_at: at,
        changed_by: act.person.clone(),
    }
}

/// The row with another document.
pub(super) fn rewritten(before: PartyRow, body: &Value) -> PartyRow {
    PartyRow {
        body: body.to_string(),
        search: searched(body),
        ..before
    }
}

impl Desk {
    /// Makes a customer or a site of `body`, which has been checked. `id` is the caller's own key.
    ///
    /// # Errors
    /// The key is taken, or a site names a customer that is not there.
    pub fn add_party(
        &self,
        kind: PartyKind,
        act: &Act,
        id: Option<String>,
        body: &Value,
    ) -> Result<Told, DeskFault> {
        let customer = body.get("customer").and_then(Value::as_str);
        self.once(act.key.as_ref(), || {
            if let Some(customer) = customer {
                self.in_use(customer)?;
            }
            let row = new_row(act, id.clone(), body);
            let answer = told(kind, &row)?.text()?;
            let key = act.key.as_ref();
            let added = self.store.add_party(key, kind, &row, customer, &answer);
            added.map_err(|fault| match fault {
                StoreFault::Exists => DeskFault::Exists {
                    what: word(kind),
                    name: row.id,
                },
                StoreFault::Missing => DeskFault::Named {
                    pointer: "/customer",
                    what: "customer",
                    name: customer.unwrap_or_default().to_owned(),
                },
                other => other.into(),
            })
        })
    }

    /// Whether new sites may be put under a customer. One that is not there is told by the store.
    fn in_use(&self, customer: &str) -> Result<(), DeskFault> {
        match self.store.party(PartyKind::Customer, customer)? {
            Some(row) if row.archived => Err(DeskFault::Member {
                pointer: "/customer",
                message: format!("the customer {customer} is put away: take it out again first"),
            }),
            _ => Ok(()),
        }
    }

    /// A customer or a site.
    ///
    /// # Errors
    /// There is none of this key.
    pub fn party(&self, kind: PartyKind, id: &str) -> Result<Told, DeskFault> {
        told(kind, &self.party_row(kind, id)?)
    }

    pub(super) fn party_row(&self, kind: PartyKind, id: &str) -> Result<PartyRow, DeskFault> {
        let found = self.store.party(kind, &kept_key(id))?;
        found.ok_or_else(|| DeskFault::unknown(word(kind), id))
    }

    /// A page of customers or sites.
    ///
    /// # Errors
    /// The database.
    pub fn parties(&self, kind: PartyKind, filter: &PartyFilter) -> Result<PartyPage, DeskFault> {
        self.party_page(kind, filter, |row| view(kind, row))
    }

    /// A page of rows, each told by `view`.
    pub(super) fn party_page(
        &self,
        kind: PartyKind,
        filter: &PartyFilter,
        view: impl Fn(&PartyRow) -> Result<Value, DeskFault>,
    ) -> Result<PartyPage, DeskFault> {
        let more = PartyFilter {
            limit: filter.limit.saturating_add(1),
            ..filter.clone()
        };
        let mut rows = self.store.parties(kind, &more)?;
        let limit = usize::try_from(filter.limit).unwrap_or(usize::MAX);
        let next = (rows.len() > limit).then(|| rows.truncate(limit));
        Ok(PartyPage {
            next: next.and_then(|()| rows.last().map(|row| row.id.clone())),
            rows: rows.iter().map(view).collect::<Result<_, _>>()?,
        })
    }

    /// Writes a customer or a site anew. `matches` says whether the caller has seen the row of this tag. A site
    /// stays with its customer.
    ///
    /// # Errors
    /// There is none of this key, or it is another by now.
    pub fn change_party(
        &self,
        kind: PartyKind,
        act: &Act,
        id: &str,
        body: &Value,
        matches: impl Fn(&str) -> bool,
    ) -> Result<Told, DeskFault> {
        let before = self.party_row(kind, id)?;
        if !matches(&tag(&before)) {
            return Err(DeskFault::Stale { tag: tag(&before) });
        }
        let named = body.get("customer").and_then(Value::as_str);
        if kind == PartyKind::Site && customer_of(&before).as_deref() != named {
            return Err(DeskFault::Conflict("a site stays with its customer".to_owned()));
        }
        self.write_party(kind, act, rewritten(before, body))
    }

    /// Puts a customer or a site away, or takes it out again.
    ///
    /// # Errors
    /// There is none of this key, or it was changed at the same moment.
    pub fn archive_party(
        &self,
        kind: PartyKind,
        act: &Act,
        id: &str,
        archived: bool,
    ) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || {
            let before = self.party_row(kind, id)?;
            let row = PartyRow { archived, ..before };
            self.write_party(kind, act, row)?.text()
        })
    }

    fn write_party(&self, kind: PartyKind, act: &Act, before: PartyRow) -> Result<Told, DeskFault> {
        let id = before.id.clone();
        self.write_row(
            kind,
            act,
            before,
            |row| told(kind, row),
            || told(kind, &self.party_row(kind, &id)?),
        )
    }

    /// Writes a row that was read as `before`. `told` tells it, `now` what stands there when another was quicker.
    pub(super) fn write_row(
        &self,
        kind: PartyKind,
        act: &Act,
        before: PartyRow,
        told: impl Fn(&PartyRow) -> Result<Told, DeskFault>,
        now: impl Fn() -> Result<Told, DeskFault>,
    ) -> Result<Told, DeskFault> {
        let row = PartyRow {
            version: before.version.saturating_add(1),
            changed_at: moment(Utc::now()),
            changed_by: act.person.clone(),
            ..before
        };
        let answer = told(&row)?.text()?;
        match self.store.change_party(act.key.as_ref(), kind, &row, &answer) {
            Ok(answer) => Told::of(&answer),
            Err(StoreFault::Changed) => Err(DeskFault::Stale {
                tag: now()?.tag.unwrap_or_default(),
            }),
            Err(other) => Err(other.into()),
        }
    }
}
