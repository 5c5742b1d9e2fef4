//! What was written by whom: an entry in the transaction of every write, each covering the digest of the one before.

use chrono::{SecondsFormat, Utc};
use diesel::prelude::*;
use estimate::quote::canonical::Digest;
use serde::Serialize;
use serde_json::{Value, json};

use super::connection::Conn;
use super::schema::{audit_entries, audit_head};
use super::written::Rows;
use super::{Store, StoreFault};

/// Things whose entries have said what they wrote ever since any entry did.
const SAY_WHAT_THEY_WROTE: [&str; 6] = [
    "customers",
    "sites",
    "surveys",
    "quotes",
    "receipts",
    "refused-receipts",
];

/// What stands before the first entry.
const NOTHING_BEFORE: &str = "0000000000000000000000000000000000000000000000000000000000000000";

/// Who writes, and by which request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hand {
    /// The person, or the program itself.
    pub person: String,
    /// In which role.
    pub role: String,
    /// The access key that let the person in.
    pub key: Option<String>,
    /// What is done.
    pub operation: String,
    /// The request's id.
    pub request: Option<String>,
}

impl Hand {
    /// The program itself, on the command line or by the clock.
    pub fn program(operation: &str) -> Self {
        Self {
            person: "tallyrule".to_owned(),
            role: "program".to_owned(),
            key: None,
            operation: operation.to_owned(),
            request: None,
        }
    }
}

/// What a write changed: the thing, and digests of what is stored of it before and after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Change {
    subject: String,
    before: Option<String>,
    after: Option<String>,
    written: Option<String>,
}

impl Change {
    /// A change of the thing `key` among the things of `kind`.
    pub(super) fn of(kind: &str, key: impl std::fmt::Display) -> Self {
        Self {
            subject: format!("{kind}/{key}"),
            before: None,
            after: None,
            written: None,
        }
    }

    /// With what was stored before.
    pub(super) fn before(mut self, stored: &impl Serialize) -> Result<Self, StoreFault> {
        self.before = Some(self.digest(stored)?);
        Ok(self)
    }

    /// With what is stored from now on.
    pub(super) fn after(mut self, stored: &impl Serialize) -> Result<Self, StoreFault> {
        self.after = Some(self.digest(stored)?);
        Ok(self)
    }

    /// With the rows that were there before.
    pub(super) fn instead_of(mut self, rows: &Rows) -> Result<Self, StoreFault> {
        self.before = Some(Digest::of(rows.text()?.as_bytes()).to_string());
        Ok(self)
    }

    /// With the rows that are written: what is stored can be held against them later.
    pub(super) fn wrote(mut self, rows: &Rows) -> Result<Self, StoreFault> {
        let text = rows.text()?;
        self.after = Some(Digest::of(text.as_bytes()).to_string());
        self.written = Some(text);
        Ok(self)
    }

    /// With the digest that the thing itself is stored with.
    pub(super) fn after_digest(mut self, digest: &str) -> Self {
        self.after = Some(digest.to_owned());
        self
    }

    /// The same of what was stored before.
    pub(super) fn before_digest(mut self, digest: Option<String>) -> Self {
        self.before = digest;
        self
    }

    fn digest(&self, stored: &impl Serialize) -> Result<String, StoreFault> {
        let bytes = serde_json::to_vec(stored)
            .map_err(|fault| StoreFault::corrupt("audit_entries", &self.subject, fault))?;
        Ok(Digest::of(&bytes).to_string())
    }

    /// The end of a write: what it answers, and what it changed.
    pub(super) fn with<T>(self, value: T) -> Written<T> {
        Written {
            value,
            change: Some(self),
        }
    }
}

/// What a write comes to. One that changed nothing leaves no entry.
pub(super) struct Written<T> {
    pub(super) value: T,
    pub(super) change: Option<Change>,
}

impl<T> Written<T> {
    /// Nothing was changed, or only what nobody asks after, such as answers that are kept for a while.
    pub(super) fn nothing(value: T) -> Self {
        Self { value, change: None }
    }
}

/// An entry of the audit.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = audit_entries)]
pub struct AuditEntry {
    /// 1 for the first.
    pub sequence: i64,
    /// When, RFC 3339 in UTC.
    pub written_at: String,
    /// Who.
    pub person: String,
    /// In which role.
    pub role: String,
    /// By which access key.
    pub key_id: Option<String>,
    /// What was done.
    pub operation: String,
    /// To what.
    pub subject: String,
    /// SHA-256 of what was stored of it before; none where there was nothing.
    pub before: Option<String>,
    /// SHA-256 of what is stored of it after.
    pub after: Option<String>,
    /// By which request.
    pub request_id: Option<String>,
    /// Digest of the entry before this one.
    pub previous: String,
    /// Digest of this entry.
    pub digest: String,
    /// The rows that it wrote, each with its digest; `after` is the digest of this text.
    pub written: Option<String>,
}

impl AuditEntry {
    /// The digest that its members come to.
    fn computed(&self) -> Result<String, StoreFault> {
        let mut members = self.members_of_every_format();
        members.push(json!(self.written));
        self.digest_of(&members)
    }

    /// The same as earlier programs computed it: what was written stood in it by `after` alone, where it stood at all.
    fn computed_earlier(&self) -> Result<String, StoreFault> {
        self.digest_of(&self.members_of_every_format())
    }

    fn members_of_every_format(&self) -> Vec<Value> {
        vec![
            json!(self.sequence),
            json!(self.written_at),
            json!(self.person),
            json!(self.role),
            json!(self.key_id),
            json!(self.operation),
            json!(self.subject),
            json!(self.before),
            json!(self.after),
            json!(self.request_id),
            json!(self.previous),
        ]
    }

    fn digest_of(&self, members: &[Value]) -> Result<String, StoreFault> {
        let bytes = serde_json::to_vec(members)
            .map_err(|fault| StoreFault::corrupt("audit_entries", &self.sequence.to_string(), fault))?;
        Ok(Digest::of(&bytes).to_string())
    }

    /// Whether it is of a thing whose entries have said what they wrote ever since any did.
    fn says_what_it_wrote(&self) -> bool {
        let kind = self.subject.split('/').next().unwrap_or_default();
        SAY_WHAT_THEY_WROTE.contains(&kind)
    }
}

/// The newest entry's number and digest; on PostgreSQL its row stays locked to the end of the transaction.
fn head(conn: &mut Conn) -> Result<(i64, String), StoreFault> {
    let select = audit_head::table.select((audit_head::sequence, audit_head::digest));
    Ok(match conn {
        Conn::Sqlite(conn) => select.first(conn)?,
        Conn::Pg(conn) => select.for_update().first(conn)?,
    })
}

/// Waits until no other write is about to end. For the few that must look before they write.
pub(super) fn take_turn(conn: &mut Conn) -> Result<(), StoreFault> {
    head(conn).map(|_| ())
}

/// Writes the entry of a change. It is the last thing in a transaction, so that the order of the entries is that of the
/// commits, and whoever waits for the order holds it for one short step. The moment is taken here for the same reason.
pub(super) fn append(conn: &mut Conn, hand: &Hand, change: &Change) -> Result<(), StoreFault> {
    let (newest, previous) = head(conn)?;
    let mut entry = AuditEntry {
        sequence: newest.saturating_add(1),
        written_at: Utc::now().to_rfc3339_opts(SecondsFormat::Micros, true),
        person: hand.person.clone(),
        role: hand.role.clone(),
        key_id: hand.key.clone(),
        operation: hand.operation.clone(),
        subject: change.subject.clone(),
        before: change.before.clone(),
        after: change.after.clone(),
        request_id: hand.request.clone(),
        previous,
        digest: String::new(),
        written: change.written.clone(),
    };
    entry.digest = entry.computed()?;
    diesel::insert_into(audit_entries::table)
        .values(&entry)
        .execute(conn)?;
    diesel::update(audit_head::table)
        .set((
            audit_head::sequence.eq(entry.sequence),
            audit_head::digest.eq(&entry.digest),
        ))
        .execute(conn)?;
    Ok(())
}

/// Which entries are wanted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct AuditFilter {
    /// The number after which the page begins.
    pub after: i64,
    /// At most so many.
    pub limit: i64,
    /// Of this thing.
    pub subject: Option<String>,
    /// By this person.
    pub person: Option<String>,
}

/// What is wrong with the chain of entries.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct AuditChecked {
    /// Entries that were read.
    pub entries: usize,
    /// Everything that is not as it was written.
    pub faults: Vec<String>,
}

/// Entries that are read at once.
const AT_ONCE: i64 = 1_000;

impl Store {
    /// The entries that are wanted, by number.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn audit_entries(&self, filter: &AuditFilter) -> Result<Vec<AuditEntry>, StoreFault> {
        self.read(|conn| page(conn, filter))
    }

    /// Computes the chain of entries again, to the head, against one state of the database.
    ///
    /// # Errors
    /// The database does not answer. What is wrong with the entries is in the answer.
    pub fn check_audit(&self) -> Result<AuditChecked, StoreFault> {
        self.read(|conn| {
            let mut checked = AuditChecked::default();
            let mut chain = Chain {
                last: (0, NOTHING_BEFORE.to_owned()),
                says: false,
            };
            loop {
                let filter = AuditFilter {
                    after: chain.last.0,
                    limit: AT_ONCE,
                    ..AuditFilter::default()
                };
                let entries = page(conn, &filter)?;
                if entries.is_empty() {
                    break;
                }
                for entry in entries {
                    checked.entries = checked.entries.saturating_add(1);
                    checked.faults.extend(chain.faults(&entry)?);
                    chain.last = (entry.sequence, entry.digest);
                }
            }
            let select = audit_head::table.select((audit_head::sequence, audit_head::digest));
            let head: (i64, String) = select.first(conn)?;
            if head != chain.last {
                let (kept, found) = (head.0, chain.last.0);
                let fault = format!("audit: the head is entry {kept}, the newest entry found is {found}");
                checked.faults.push(fault);
            }
            Ok(checked)
        })
    }
}

fn page(conn: &mut Conn, filter: &AuditFilter) -> Result<Vec<AuditEntry>, StoreFault> {
    let mut query = audit_entries::table
        .filter(audit_entries::sequence.gt(filter.after))
        .select(AuditEntry::as_select())
        .order(audit_entries::sequence)
        .limit(filter.limit)
        .into_boxed();
    if let Some(subject) = &filter.subject {
        query = query.filter(audit_entries::subject.eq(subject));
    }
    if let Some(person) = &filter.person {
        query = query.filter(audit_entries::person.eq(person));
    }
    Ok(query.load(conn)?)
}

/// The chain up to an entry.
struct Chain {
    /// The number and the digest of the last entry that was read.
    last: (i64, String),
    /// Whether one of them says what it wrote, or is of a program whose entries do.
    says: bool,
}

impl Chain {
    /// What is wrong with the entry behind it.
    fn faults(&mut self, entry: &AuditEntry) -> Result<Vec<String>, StoreFault> {
        let (own, (number, digest)) = (entry.sequence, &self.last);
        let mut faults = Vec::new();
        if own != number.saturating_add(1) {
            faults.push(format!(
                "audit: between entries {number} and {own} one is missing"
            ));
        } else if entry.previous != *digest {
            faults.push(format!(
                "audit entry {own}: the chain of digests is broken before it"
            ));
        }
        // Only entries of earlier programs can lose what they wrote unnoticed, and of those only the first, from before
        // any said it, never had it.
        let is_earlier = entry.digest == entry.computed_earlier()?;
        if !is_earlier && entry.digest != entry.computed()? {
            faults.push(format!("audit entry {own}: it is not what was written"));
        }
        let is_silent = entry.written.is_none();
        if is_earlier && is_silent && self.says && entry.after.is_some() && entry.says_what_it_wrote() {
            faults.push(format!("audit entry {own} does not say what it wrote"));
        }
        self.says |= !is_earlier || !is_silent;
        Ok(faults)
    }
}
