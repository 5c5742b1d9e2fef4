//! Versions of policies and dated rates of labour classes: a change is a new row.

use chrono::NaiveDate;
use diesel::prelude::*;
use estimate::catalogue::LabourClass;
use estimate::catalogue::labour::LabourRate;
use estimate::pricing::policy::Policy;

use super::audit::Change;
use super::bulk::{NewLabourClass, body, parse};
use super::catalogue::{self, RateRow};
use super::catalogue_written::{self as written, one};
use super::connection::Conn;
use super::once::RequestKey;
use super::schema::policies::dsl;
use super::schema::{labour_classes, labour_rates};
use super::written::Rows;
use super::{Store, StoreFault};

/// A version of a policy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredPolicy {
    /// 1 for the first.
    pub version: u32,
    /// The first day on which it holds, until a later version does.
    pub valid_from: NaiveDate,
    /// When it was saved, RFC 3339 in UTC.
    pub created_at: String,
    /// The policy.
    pub policy: Policy,
}

/// Every version of every policy, by name and version.
pub(super) fn read(conn: &mut Conn) -> Result<Vec<StoredPolicy>, StoreFault> {
    let columns = (dsl::id, dsl::version, dsl::valid_from, dsl::created_at, dsl::body);
    let rows: Vec<(String, i32, NaiveDate, String, String)> = dsl::policies
        .select(columns)
        .order((dsl::id, dsl::version))
        .load(conn)?;
    let stored = |(id, version, valid_from, created_at, text): (String, i32, NaiveDate, String, String)| {
        let version = u32::try_from(version).map_err(|fault| StoreFault::corrupt("policies", &id, fault))?;
        Ok(StoredPolicy {
            version,
            valid_from,
            created_at,
            policy: parse("policies", &id, &text)?,
        })
    };
    rows.into_iter().map(stored).collect()
}

/// A version as it is stored.
#[derive(Debug, Clone, Queryable, Selectable, Insertable, serde::Serialize)]
#[diesel(table_name = super::schema::policies)]
pub(super) struct PolicyRow {
    pub(super) id: String,
    pub(super) version: i32,
    body: String,
    created_at: String,
    valid_from: NaiveDate,
}

/// Puts a version in, and gives its row.
pub(super) fn insert(conn: &mut Conn, stored: &StoredPolicy) -> Result<PolicyRow, StoreFault> {
    let policy = &stored.policy;
    let row = PolicyRow {
        id: policy.id.clone(),
        version: i32::try_from(stored.version)
            .map_err(|fault| StoreFault::corrupt("policies", &policy.id, fault))?,
        body: body("policies", &policy.id, policy)?,
        created_at: stored.created_at.clone(),
        valid_from: stored.valid_from,
    };
    diesel::insert_into(dsl::policies).values(&row).execute(conn)?;
    Ok(row)
}

/// The row of a version.
fn version(conn: &mut Conn, id: &str, version: i32) -> Result<PolicyRow, StoreFault> {
    let key = dsl::id.eq(id).and(dsl::version.eq(version));
    let found = dsl::policies.filter(key).select(PolicyRow::as_select());
    Ok(found.first(conn)?)
}

impl Store {
    /// Saves `stored` as the version after `stored.version - 1`; gives the answer that is kept for `key`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when the newest version is another one by now.
    pub fn save_policy(
        &self,
        key: Option<&RequestKey>,
        stored: &StoredPolicy,
        answer: &str,
    ) -> Result<String, StoreFault> {
        self.write_once(key, |conn| {
            catalogue::move_revision(conn)?;
            let newest: Option<i32> = dsl::policies
                .filter(dsl::id.eq(&stored.policy.id))
                .select(diesel::dsl::max(dsl::version))
                .first(conn)?;
            if i64::from(newest.unwrap_or(0)) + 1 != i64::from(stored.version) {
                return Err(StoreFault::Changed);
            }
            let row = insert(conn, stored)?;
            let change = Change::of("policies", &row.id);
            let change = match newest {
                Some(newest) => {
                    let before = version(conn, &row.id, newest)?;
                    change.instead_of(&one(written::policy, &before)?)?
                }
                None => change,
            };
            Ok(change
                .wrote(&one(written::policy, &row)?)?
                .with(answer.to_owned()))
        })
    }

    /// Adds a dated rate to the labour class `code`, which has `known` rates; gives the answer that is kept for `key`.
    ///
    /// # Errors
    /// [`StoreFault::Changed`] when it has more by now, [`StoreFault::Missing`] when there is no such class.
    pub fn add_labour_rate(
        &self,
        key: Option<&RequestKey>,
        code: &str,
        rate: &LabourRate,
        known: usize,
        answer: &str,
    ) -> Result<String, StoreFault> {
        let text = body("labour_rates", code, rate)?;
        self.write_once(key, |conn| {
            catalogue::move_revision(conn)?;
            let there: i64 = labour_rates::table
                .filter(labour_rates::labour_class.eq(code))
                .count()
                .get_result(conn)?;
            if usize::try_from(there).ok() != Some(known) {
                return Err(StoreFault::Changed);
            }
            let row = RateRow {
                labour_class: code.to_owned(),
                valid_from: rate.valid_from,
                body: text.clone(),
            };
            diesel::insert_into(labour_rates::table)
                .values(&row)
                .execute(conn)?;
            Ok(Change::of("labour-classes", code)
                .wrote(&one(written::rate, &row)?)?
                .with(answer.to_owned()))
        })
    }

    /// Adds a labour class with its rates, behind the others; gives the answer that is kept for `key`.
    ///
    /// # Errors
    /// [`StoreFault::Exists`] when there is one with this code.
    pub fn add_labour_class(
        &self,
        key: Option<&RequestKey>,
        class: &LabourClass,
        answer: &str,
    ) -> Result<String, StoreFault> {
        let code = &class.code;
        let bare = LabourClass {
            rates: Vec::new(),
            ..class.clone()
        };
        let head = body("labour_classes", code, &bare)?;
        self.write_once(key, |conn| {
            catalogue::move_revision(conn)?;
            let last: Option<i32> = labour_classes::table
                .select(diesel::dsl::max(labour_classes::position))
                .first(conn)?;
            let position = last.unwrap_or(-1).saturating_add(1);
            let row = NewLabourClass {
                code,
                position,
                body: head.clone(),
            };
            diesel::insert_into(labour_classes::table)
                .values(&row)
                .execute(conn)?;
            let mut rates = Rows::default();
            for rate in &class.rates {
                let row = RateRow {
                    labour_class: code.clone(),
                    valid_from: rate.valid_from,
                    body: body("labour_rates", code, rate)?,
                };
                diesel::insert_into(labour_rates::table)
                    .values(&row)
                    .execute(conn)?;
                written::rate(&mut rates, &row)?;
            }
            Ok(Change::of("labour-classes", code)
                .wrote(&rates)?
                .with(answer.to_owned()))
        })
    }
}
