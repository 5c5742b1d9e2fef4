//! Customers, their sites, and surveys, as documents that move by versions.

use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{Bool, Text};

use super::audit::Change;
use super::connection::Conn;
use super::once::RequestKey;
use super::schema::{customers, sites, surveys};
use super::text::{few_have, pattern, trigrams};
use super::written::{Rows, differences};
use super::{Store, StoreFault};

/// Which list a row stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartyKind {
    /// Whom offers are for.
    Customer,
    /// Where work is done.
    Site,
    /// What was found there, as far as it goes.
    Survey,
}

impl PartyKind {
    /// The word under which the audit names such a thing.
    fn plural(self) -> &'static str {
        match self {
            Self::Customer => "customers",
            Self::Site => "sites",
            Self::Survey => "surveys",
        }
    }

    /// The index of its texts, on SQLite, where there is one.
    fn texts(self) -> Option<&'static str> {
        match self {
            Self::Customer => Some("customer_texts"),
            Self::Site => Some("site_texts"),
            Self::Survey => None,
        }
    }

    /// A row as the audit puts it down.
    fn rows(self, row: &PartyRow) -> Result<Rows, StoreFault> {
        Rows::one(self.plural(), &row.id, row)
    }
}

/// A customer, a site or a survey.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, serde::Serialize)]
pub struct PartyRow {
    /// Its key.
    pub id: String,
    /// The document.
    pub body: String,
    /// What a list is searched in, in lower case.
    pub search: String,
    /// Moves with every write; 1 for the first.
    pub version: i64,
    /// Whether it is put away.
    pub archived: bool,
    /// When it was made.
    pub created_at: String,
    /// By whom.
    pub created_by: String,
    /// When it was last written.
    pub changed_at: String,
    /// By whom.
    pub changed_by: String,
}

/// Which rows of a list are wanted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PartyFilter {
    /// The key after which the page begins.
    pub after: Option<String>,
    /// At most so many.
    pub limit: i64,
    /// A text that occurs in it.
    pub text: Option<String>,
    /// Sites of one customer.
    pub customer: Option<String>,
    /// Those that are put away instead of the others.
    pub archived: bool,
}

/// Compiles a query for the table of a kind.
macro_rules! in_table {
    ($kind:expr, $table:ident => $body:expr) => {
        match $kind {
            PartyKind::Customer => {
                use customers as $table;
                $body
            }
            PartyKind::Site => {
                use sites as $table;
                $body
            }
            PartyKind::Survey => {
                use surveys as $table;
                $body
            }
        }
    };
}

/// The columns of a row, in its order.
macro_rules! columns {
    ($table:ident) => {
        (
            $table::id,
            $table::body,
            $table::search,
            $table::version,
            $table::archived,
            $table::created_at,
            $table::created_by,
            $table::changed_at,
            $table::changed_by,
        )
    };
}

impl Store {
    /// The row of this key.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn party(&self, kind: PartyKind, id: &str) -> Result<Option<PartyRow>, StoreFault> {
        self.read(|conn| {
            Ok(
                in_table!(kind, t => t::table.filter(t::id.eq(id)).select(columns!(t)).first(conn))
                    .optional()?,
            )
        })
    }

    /// The rows of a list, in the order of their keys.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn parties(&self, kind: PartyKind, filter: &PartyFilter) -> Result<Vec<PartyRow>, StoreFault> {
        let text = filter.text.as_deref().map(pattern);
        let after = filter.after.as_deref().unwrap_or_default();
        self.read(|conn| match (kind, &filter.customer) {
            (PartyKind::Site, Some(customer)) => {
                let mut query = sites::table
                    .select(columns!(sites))
                    .filter(sites::customer_id.eq(customer))
                    .filter(sites::id.gt(after))
                    .filter(sites::archived.eq(filter.archived))
                    .order(sites::id)
                    .limit(filter.limit)
                    .into_boxed();
                if let Some(text) = &text {
                    query = query.filter(sites::search.like(text).escape('\\'));
                }
                Ok(query.load(conn)?)
            }
            _ => in_table!(kind, t => {
                let mut query = t::table
                    .select(columns!(t))
                    .filter(t::id.gt(after))
                    .filter(t::archived.eq(filter.archived))
                    .order(t::id)
                    .limit(filter.limit)
                    .into_boxed();
                if let Some(text) = &text {
                    query = query.filter(t::search.like(text).escape('\\'));
                }
                if let (Conn::Sqlite(conn), Some(trigrams), Some(index)) =
                    (&mut *conn, filter.text.as_deref().and_then(trigrams), kind.texts())
                    && few_have(conn, index, &trigrams)?
                {
                    let found = format!("id IN (SELECT id FROM {index} WHERE {index} MATCH ");
                    query = query.filter(sql::<Bool>(&found).bind::<Text, _>(trigrams).sql(")"));
                }
                Ok(query.load(conn)?)
            }),
        })
    }

    /// Puts a new row in; a site names its customer.
    ///
    /// # Errors
    /// [`StoreFault::Exists`] when the key is taken, [`StoreFault::Missing`] when there is no such customer.
    pub fn add_party(
        &self,
        key: Option<&RequestKey>,
        kind: PartyKind,
        row: &PartyRow,
        customer: Option<&str>,
        answer: &str,
    ) -> Result<String, StoreFault> {
        self.write_once(key, |conn| {
            match kind {
                PartyKind::Customer => insert_customer(conn, row)?,
                PartyKind::Site => insert_site(conn, row, customer.unwrap_or_default())?,
                PartyKind::Survey => insert_survey(conn, row)?,
            };
            let change = Change::of(kind.plural(), &row.id);
            Ok(change.wrote(&kind.rows(row)?)?.with(answer.to_owned()))
        })
    }

    /// Writes a row whose version was `row.version - 1`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when it is another by now.
    pub fn change_party(
        &self,
        key: Option<&RequestKey>,
        kind: PartyKind,
        row: &PartyRow,
        answer: &str,
    ) -> Result<String, StoreFault> {
        self.write_once(key, |conn| {
            let find = |conn: &mut Conn| {
                in_table!(kind, t => t::table.filter(t::id.eq(&row.id)).select(columns!(t)).first(conn))
            };
            let before: PartyRow = find(conn)?;
            let changed = in_table!(kind, t => {
                let old = t::id.eq(&row.id).and(t::version.eq(row.version - 1));
                diesel::update(t::table.filter(old))
                    .set((
                        t::body.eq(&row.body),
                        t::search.eq(&row.search),
                        t::version.eq(row.version),
                        t::archived.eq(row.archived),
                        t::changed_at.eq(&row.changed_at),
                        t::changed_by.eq(&row.changed_by),
                    ))
                    .execute(conn)?
            });
            match changed {
                1 => {
                    let change = Change::of(kind.plural(), &row.id);
                    let change = change.instead_of(&kind.rows(&before)?)?;
                    Ok(change.wrote(&kind.rows(row)?)?.with(answer.to_owned()))
                }
                _ => Err(StoreFault::Changed),
            }
        })
    }
}

/// Parties that are held against the audit at once.
const AT_ONCE: i64 = 500;

impl Store {
    /// Everything in which customers and sites are not what the audit says was written last.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn parties_unlike_written(&self) -> Result<Vec<String>, StoreFault> {
        let mut faults = Vec::new();
        for kind in [PartyKind::Customer, PartyKind::Site, PartyKind::Survey] {
            let mut after = String::new();
            loop {
                let page = self.read(|conn| page_unlike_written(conn, kind, &after, &mut faults))?;
                match page {
                    Some(last) => after = last,
                    None => break,
                }
            }
        }
        Ok(faults)
    }
}

/// Puts what is wrong with a page of parties into `faults`, and gives the key of its last.
fn page_unlike_written(
    conn: &mut Conn,
    kind: PartyKind,
    after: &str,
    faults: &mut Vec<String>,
) -> Result<Option<String>, StoreFault> {
    let page: Vec<PartyRow> = in_table!(kind, t => t::table
        .filter(t::id.gt(after))
        .order(t::id)
        .limit(AT_ONCE)
        .select(columns!(t))
        .load(conn))?;
    for row in &page {
        let subject = format!("{}/{}", kind.plural(), row.id);
        faults.extend(differences(conn, &subject, kind.rows(row)?)?);
    }
    if kind == PartyKind::Site {
        // The column is not of the row that is put down; the document says the same.
        let ids: Vec<&str> = page.iter().map(|row| row.id.as_str()).collect();
        let stored: Vec<(String, String, String)> = sites::table
            .filter(sites::id.eq_any(ids))
            .select((sites::id, sites::customer_id, sites::body))
            .load(conn)?;
        for (id, customer, body) in stored {
            let body: Option<serde_json::Value> = serde_json::from_str(&body).ok();
            let named = body.as_ref().and_then(|body| body.get("customer")?.as_str());
            if named != Some(&customer) {
                faults.push(format!(
                    "the row {id} of sites is of another customer than its document says"
                ));
            }
        }
    }
    Ok(page.into_iter().next_back().map(|row| row.id))
}

/// The values of a row.
macro_rules! values {
    ($table:ident, $row:ident) => {
        (
            $table::id.eq(&$row.id),
            $table::body.eq(&$row.body),
            $table::search.eq(&$row.search),
            $table::version.eq($row.version),
            $table::archived.eq($row.archived),
            $table::created_at.eq(&$row.created_at),
            $table::created_by.eq(&$row.created_by),
            $table::changed_at.eq(&$row.changed_at),
            $table::changed_by.eq(&$row.changed_by),
        )
    };
}

fn insert_customer(conn: &mut Conn, row: &PartyRow) -> Result<usize, StoreFault> {
    Ok(diesel::insert_into(customers::table)
        .values(values!(customers, row))
        .execute(conn)?)
}

fn insert_survey(conn: &mut Conn, row: &PartyRow) -> Result<usize, StoreFault> {
    Ok(diesel::insert_into(surveys::table)
        .values(values!(surveys, row))
        .execute(conn)?)
}

fn insert_site(conn: &mut Conn, row: &PartyRow, customer: &str) -> Result<usize, StoreFault> {
    Ok(diesel::insert_into(sites::table)
        .values((sites::customer_id.eq(customer), values!(sites, row)))
        .execute(conn)?)
}
