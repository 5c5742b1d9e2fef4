//! Requests that may come again: who sends them, under which name, and that they have one effect and one answer.

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::{Desk, DeskFault, moment};
use crate::store::{RequestKey, StoreFault};

/// Hours for which an answer is kept for a caller who asks again.
const KEPT_HOURS: i64 = 48;
/// Times that a decision is made anew, when others write at the same thing.
const ATTEMPTS: u32 = 20;

/// The moment before which kept answers are forgotten.
pub fn age_of_answers(now: DateTime<Utc>) -> DateTime<Utc> {
    now - TimeDelta::hours(KEPT_HOURS)
}

/// A request by the caller's name for it, `id`, and the digest of all that it says.
pub fn request_key(id: String, request: String) -> RequestKey {
    let now = Utc::now();
    RequestKey {
        id,
        request,
        now: moment(now),
        oldest: moment(age_of_answers(now)),
    }
}

/// Who acts, and under which name the request may come again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Act {
    /// Who.
    pub person: String,
    /// The request's name.
    pub key: Option<RequestKey>,
}

/// What is told to the caller, and kept in case the same request comes again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Told {
    /// The strong tag of what is told.
    pub tag: Option<String>,
    /// The body.
    pub body: Value,
}

impl Told {
    pub(super) fn text(&self) -> Result<String, DeskFault> {
        serde_json::to_string(self).map_err(|fault| DeskFault::Defect(fault.to_string()))
    }

    pub(super) fn of(text: &str) -> Result<Self, DeskFault> {
        serde_json::from_str(text).map_err(|fault| DeskFault::Defect(fault.to_string()))
    }
}

impl Desk {
    /// Does `work` at most once for the request's key: the answer is the one that was kept, or the new one. `work` hands
    /// the key to the store, which keeps the answer in the transaction of the effect.
    pub(super) fn once(
        &self,
        key: Option<&RequestKey>,
        work: impl FnOnce() -> Result<String, DeskFault>,
    ) -> Result<Told, DeskFault> {
        let kept = || key.map_or(Ok(None), |key| self.store.kept_answer(key));
        if let Some(answer) = kept()? {
            return Told::of(&answer);
        }
        match work() {
            Ok(answer) => Told::of(&answer),
            // The same request may have been done by another in the meantime, and stand in the way now.
            Err(fault) => match kept() {
                Ok(Some(answer)) => Told::of(&answer),
                _ => Err(fault),
            },
        }
    }
}

/// Does `work` anew when what it was decided on is another by the time it is written.
pub(super) fn anew<T>(mut work: impl FnMut() -> Result<T, DeskFault>) -> Result<T, DeskFault> {
    let mut attempt = 0;
    loop {
        match work() {
            Err(DeskFault::Store(StoreFault::Changed)) if attempt < ATTEMPTS => attempt += 1,
            answer => return answer,
        }
    }
}
