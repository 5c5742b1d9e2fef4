//! What the audit says was written and is not there at all any more.

use std::collections::BTreeSet;

use diesel::prelude::*;

use super::connection::Conn;
use super::schema::{audit_entries, customers, quotes, sites, surveys};
use super::written::{Rows, differences};
use super::{Store, StoreFault};

/// Things that are held against the audit at once.
const AT_ONCE: i64 = 500;

/// The kinds of things that are never deleted, each found by its key.
const KINDS: [&str; 4] = ["customers", "sites", "surveys", "quotes"];

/// The keys of things of a kind that the audit has entries of, behind the key `after`, in their order.
fn in_audit(conn: &mut Conn, kind: &str, after: &str) -> Result<Vec<String>, StoreFault> {
    let before = format!("{kind}/");
    // The character behind the slash ends what begins with it.
    let end = format!("{kind}0");
    let found: Vec<String> = audit_entries::table
        .filter(audit_entries::subject.gt(format!("{before}{after}")))
        .filter(audit_entries::subject.lt(end))
        .select(audit_entries::subject)
        .distinct()
        .order(audit_entries::subject)
        .limit(AT_ONCE)
        .load(conn)?;
    let key = |subject: String| subject.strip_prefix(&before).map(str::to_owned);
    Ok(found.into_iter().filter_map(key).collect())
}

/// Which of these things are there.
fn there(conn: &mut Conn, kind: &str, keys: &[String]) -> Result<BTreeSet<String>, StoreFault> {
    macro_rules! of {
        ($table:ident) => {
            $table::table
                .filter($table::id.eq_any(keys))
                .select($table::id)
                .load::<String>(conn)?
        };
    }
    let found = match kind {
        "customers" => of!(customers),
        "sites" => of!(sites),
        "surveys" => of!(surveys),
        _ => of!(quotes),
    };
    Ok(found.into_iter().collect())
}

impl Store {
    /// Every row of a customer, a site, a survey or a quote that the audit says was written and that went with the
    /// whole thing.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn missing_things(&self) -> Result<Vec<String>, StoreFault> {
        self.in_each(&KINDS, |conn, kind, keys| {
            let there = there(conn, kind, keys)?;
            let mut faults = Vec::new();
            for key in keys.iter().filter(|key| !there.contains(*key)) {
                let subject = format!("{kind}/{key}");
                let missing = differences(conn, &subject, Rows::default())?;
                faults.extend(missing.into_iter().map(|fault| format!("{subject}: {fault}")));
            }
            Ok(faults)
        })
    }

    /// What is found in the things of these kinds that the audit has entries of, page by page, each in a reading of its own.
    pub(super) fn in_each(
        &self,
        kinds: &[&str],
        look: impl Fn(&mut Conn, &str, &[String]) -> Result<Vec<String>, StoreFault>,
    ) -> Result<Vec<String>, StoreFault> {
        let mut found = Vec::new();
        for kind in kinds {
            let mut after = String::new();
            loop {
                let page = self.read(|conn| {
                    let keys = in_audit(conn, kind, &after)?;
                    found.extend(look(conn, kind, &keys)?);
                    Ok(keys)
                })?;
                match page.into_iter().next_back() {
                    Some(last) => after = last,
                    None => break,
                }
            }
        }
        Ok(found)
    }
}
