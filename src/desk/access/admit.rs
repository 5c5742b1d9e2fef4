//! Somebody presents what lets them in.

use chrono::Utc;

use super::key::Presented;
use super::{Caller, Denied, Role, demo};
use crate::desk::{Desk, DeskFault, moment};
use crate::store::{AccessKeyRow, StoreFault};

impl Desk {
    /// Who comes in by `bearer`: an access key as it stands now, or a token.
    ///
    /// # Errors
    /// [`Denied`], or the database.
    pub fn admit(&self, bearer: &str) -> Result<Caller, DeskFault> {
        if self.shared.entrances.demo_keys
            && let Some(caller) = demo::caller(bearer)
        {
            return Ok(caller);
        }
        let Some(presented) = Presented::read(bearer) else {
            let issuer = self.shared.entrances.tokens.as_ref();
            return Ok(issuer.ok_or(Denied::NoKey)?.admit(bearer)?);
        };
        let row = self.store.access_key(presented.id)?.ok_or(Denied::UnknownKey)?;
        holds(&row, presented, &moment(Utc::now()))?;
        let role = Role::of_word(&row.role).ok_or_else(|| StoreFault::Corrupt {
            table: "access_keys",
            key: row.id.clone(),
            message: "a role that is none".to_owned(),
        })?;
        Ok(Caller {
            person: row.person,
            role,
            key: row.id,
            shared: row.shared,
        })
    }
}

/// Whether a key lets in at a moment. Only who has its secret is told why it does not.
fn holds(row: &AccessKeyRow, presented: Presented<'_>, now: &str) -> Result<(), Denied> {
    let previous = row.previous_digest.as_deref().zip(row.previous_until.as_deref());
    let by_previous = previous.filter(|(digest, _)| presented.opens(digest));
    if !presented.opens(&row.digest) && by_previous.is_none() {
        return Err(Denied::UnknownKey);
    }
    if row.revoked_at.is_some() {
        return Err(Denied::Revoked);
    }
    let ends = by_previous.map_or(row.expires_at.as_str(), |(_, until)| until);
    if ends <= now {
        return Err(Denied::Expired(ends.to_owned()));
    }
    Ok(())
}
