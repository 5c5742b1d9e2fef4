//! Somebody presents what lets them in.

use chrono::Utc;

use super::key::Presented;
use super::keys::in_grace;
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
fn holds(row: &AccessKeyRow, presented: Presented<'_>, now: &str) -> Result<(), DeskFault> {
    let mut secrets = vec![(row.digest.clone(), row.expires_at.clone())];
    secrets.extend(in_grace(row)?);
    let opened = secrets.into_iter().find(|(digest, _)| presented.opens(digest));
    let (_, ends) = opened.ok_or(Denied::UnknownKey)?;
    if row.revoked_at.is_some() {
        return Err(Denied::Revoked.into());
    }
    if ends.as_str() <= now {
        return Err(Denied::Expired(ends).into());
    }
    Ok(())
}
