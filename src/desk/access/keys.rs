//! Access keys: made, listed, rotated, revoked. A secret is told once, when it is made.

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::json;

use super::{Role, key};
use crate::desk::{Desk, DeskFault, moment};
use crate::store::{AccessKeyRow, Did, RequestKey, StoreFault};

/// Whom the very first key is for.
const FIRST_PERSON: &str = "Owner";
/// Days for which the very first key holds.
const FIRST_DAYS: u32 = 365;
/// Secrets that have their grace at one time, at most.
const MOST_IN_GRACE: usize = 8;

/// A key that is to be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewAccessKey {
    /// Whose it is: a person, or an application for many.
    pub person: String,
    /// What it lets do.
    pub role: Role,
    /// Whether it is an application's, which names the person who acts.
    pub shared: bool,
    /// Days for which it holds.
    pub valid_days: u32,
}

/// The text of a key, which is told once.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    /// The text.
    pub fn text(&self) -> &str {
        &self.0
    }
}

/// A key as it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeyState {
    /// It lets in.
    Active,
    /// Its time is over.
    Expired,
    /// It was taken back.
    Revoked,
}

/// What is known of a key, without its secret.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AccessKey {
    /// What is stored of it.
    row: AccessKeyRow,
    /// As it stands.
    pub state: KeyState,
}

impl AccessKey {
    fn new(row: AccessKeyRow, now: DateTime<Utc>) -> Self {
        let state = if row.revoked_at.is_some() {
            KeyState::Revoked
        } else if row.expires_at <= moment(now) {
            KeyState::Expired
        } else {
            KeyState::Active
        };
        Self { row, state }
    }

    /// What is stored of it.
    pub fn row(&self) -> &AccessKeyRow {
        &self.row
    }
}

fn after(now: DateTime<Utc>, time: TimeDelta) -> Result<String, DeskFault> {
    let end = now.checked_add_signed(time);
    end.map(moment)
        .ok_or_else(|| DeskFault::Defect("a moment out of reach".to_owned()))
}

/// A new row and its text.
fn made(new: &NewAccessKey, by: &str, now: DateTime<Utc>) -> Result<(AccessKeyRow, Secret), DeskFault> {
    let (id, secret) = (key::new_id()?, key::new_secret()?);
    let text = Secret(key::text(&id, &secret));
    let row = AccessKeyRow {
        id,
        person: new.person.clone(),
        role: new.role.word().to_owned(),
        shared: new.shared,
        digest: key::digest(&secret),
        expires_at: after(now, TimeDelta::days(new.valid_days.into()))?,
        previous_digest: None,
        previous_until: None,
        created_at: moment(now),
        created_by: by.to_owned(),
        revoked_at: None,
        revoked_by: None,
        earlier: None,
    };
    Ok((row, text))
}

/// The digests of secrets that have a grace, or had one, each with its end; the newest first.
pub(super) fn in_grace(row: &AccessKeyRow) -> Result<Vec<(String, String)>, StoreFault> {
    let previous = row.previous_digest.clone().zip(row.previous_until.clone());
    let mut all: Vec<(String, String)> = previous.into_iter().collect();
    if let Some(earlier) = &row.earlier {
        let earlier: Result<Vec<(String, String)>, _> = serde_json::from_str(earlier);
        all.extend(earlier.map_err(|fault| StoreFault::Corrupt {
            table: "access_keys",
            key: row.id.clone(),
            message: fault.to_string(),
        })?);
    }
    Ok(all)
}

impl Desk {
    /// Makes a key.
    ///
    /// # Errors
    /// The database.
    pub fn create_access_key(&self, new: &NewAccessKey) -> Result<(AccessKey, Secret), DeskFault> {
        let now = Utc::now();
        let (row, text) = made(new, &self.store.hand().person, now)?;
        self.store.add_access_key(None, &row)?;
        Ok((AccessKey::new(row, now), text))
    }

    /// Makes a key once for a request's name. Its secret is told by the first answer alone: it is kept nowhere.
    ///
    /// # Errors
    /// The name was another request's, or the database.
    pub fn create_access_key_once(
        &self,
        key: Option<&RequestKey>,
        new: &NewAccessKey,
    ) -> Result<(AccessKey, Option<Secret>), DeskFault> {
        let now = Utc::now();
        let (row, text) = made(new, &self.store.hand().person, now)?;
        match self.store.add_access_key(key, &row)? {
            Did::Now => Ok((AccessKey::new(row, now), Some(text))),
            Did::Before(id) => Ok((self.access_key(&id)?, None)),
        }
    }

    /// Makes an owner's key where there is no key at all, so that somebody can let the others in.
    ///
    /// # Errors
    /// The database.
    pub fn first_access_key(&self) -> Result<Option<Secret>, DeskFault> {
        if !self.store.access_keys("", 1)?.is_empty() {
            return Ok(None);
        }
        let new = NewAccessKey {
            person: FIRST_PERSON.to_owned(),
            role: Role::Owner,
            shared: false,
            valid_days: FIRST_DAYS,
        };
        let (row, text) = made(&new, &self.store.hand().person, Utc::now())?;
        Ok(self.store.add_first_access_key(&row)?.then_some(text))
    }

    /// At most `limit` keys after the id `after`.
    ///
    /// # Errors
    /// The database.
    pub fn access_keys(&self, after: &str, limit: usize) -> Result<Vec<AccessKey>, DeskFault> {
        let now = Utc::now();
        let rows = self
            .store
            .access_keys(after, i64::try_from(limit).unwrap_or(i64::MAX))?;
        Ok(rows.into_iter().map(|row| AccessKey::new(row, now)).collect())
    }

    /// The key of this id.
    ///
    /// # Errors
    /// There is none, or the database.
    pub fn access_key(&self, id: &str) -> Result<AccessKey, DeskFault> {
        let row = self.store.access_key(id)?;
        let row = row.ok_or_else(|| DeskFault::unknown("access key", id))?;
        Ok(AccessKey::new(row, Utc::now()))
    }

    /// Gives a key a new secret, once for a request's name; the one before holds for so many more hours, and the key for so
    /// many more days, or until its end as it was where none are said. Secrets that have their grace keep it, unless there
    /// is none now: whoever rotates again may not know which of them is in use. The new secret is told by the first answer
    /// alone.
    ///
    /// # Errors
    /// There is no such key, it was revoked, it has expired and no days are said, too many of its secrets have their grace,
    /// or the database.
    pub fn rotate_access_key(
        &self,
        key: Option<&RequestKey>,
        id: &str,
        grace_hours: u32,
        valid_days: Option<u32>,
    ) -> Result<(AccessKey, Option<Secret>), DeskFault> {
        if let Some(key) = key
            && let Some(id) = self.store.access_key_of_request(key)?
        {
            return Ok((self.access_key(&id)?, None));
        }
        let before = self.live_access_key(id)?;
        let now = Utc::now();
        let expires_at = match valid_days {
            Some(days) => after(now, TimeDelta::days(days.into()))?,
            None if before.expires_at <= moment(now) => {
                let word = "the access key has expired: say in valid_days for how long it is to hold";
                return Err(DeskFault::Conflict(word.to_owned()));
            }
            None => before.expires_at.clone(),
        };
        let secret = key::new_secret()?;
        // The old secret never outlives the key that it was of.
        let until = after(now, TimeDelta::hours(grace_hours.into()))?.min(before.expires_at.clone());
        let mut earlier = in_grace(&before)?;
        earlier.retain(|(_, until)| grace_hours > 0 && *until > moment(now));
        if earlier.len() >= MOST_IN_GRACE {
            let word = format!(
                "{} secrets of the access key have their grace still: wait for the end of one, or rotate with grace_hours 0, \
                 which ends them all",
                earlier.len()
            );
            return Err(DeskFault::Conflict(word));
        }
        let row = AccessKeyRow {
            digest: key::digest(&secret),
            expires_at,
            previous_digest: Some(before.digest.clone()),
            previous_until: Some(until),
            earlier: (!earlier.is_empty()).then(|| json!(earlier).to_string()),
            ..before.clone()
        };
        match self.change_access_key(key, &before, &row)? {
            Did::Now => Ok((AccessKey::new(row, now), Some(Secret(key::text(id, &secret))))),
            Did::Before(id) => Ok((self.access_key(&id)?, None)),
        }
    }

    /// Takes a key back, at once and for ever. One that was revoked before stays as it was.
    ///
    /// # Errors
    /// There is no such key, or the database.
    pub fn revoke_access_key(&self, id: &str) -> Result<AccessKey, DeskFault> {
        let key = self.access_key(id)?;
        if key.state == KeyState::Revoked {
            return Ok(key);
        }
        let (before, now) = (key.row, Utc::now());
        let row = AccessKeyRow {
            revoked_at: Some(moment(now)),
            revoked_by: Some(self.store.hand().person.clone()),
            ..before.clone()
        };
        self.change_access_key(None, &before, &row)?;
        Ok(AccessKey::new(row, now))
    }

    fn live_access_key(&self, id: &str) -> Result<AccessKeyRow, DeskFault> {
        match self.access_key(id)? {
            AccessKey {
                state: KeyState::Revoked,
                ..
            } => Err(DeskFault::Conflict("the access key was revoked".to_owned())),
            key => Ok(key.row),
        }
    }

    fn change_access_key(
        &self,
        key: Option<&RequestKey>,
        before: &AccessKeyRow,
        row: &AccessKeyRow,
    ) -> Result<Did, DeskFault> {
        let changed = self.store.change_access_key(key, before, row);
        changed.map_err(|fault| match fault {
            StoreFault::Changed => {
                DeskFault::Conflict("the access key was changed at the same moment".to_owned())
            }
            other => other.into(),
        })
    }
}
