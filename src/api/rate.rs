//! How many requests one caller may make: so many a minute, saved up to that many.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

use actix_web::http::header;

use super::problem::{Kind, Problem};

/// Callers that are remembered at once; the fullest are forgotten first, who lose nothing by it.
const CALLERS_MOST: usize = 10_000;

/// What one caller may still make.
#[derive(Debug, Clone, Copy)]
struct Allowance {
    /// In thousandths of a request.
    left: u64,
    at: Instant,
}

/// The allowances of this process. Several programs over one database each keep their own.
#[derive(Debug)]
pub struct Rate {
    a_minute: u64,
    callers: Mutex<HashMap<String, Allowance>>,
}

impl Rate {
    /// So many requests a minute; 0 for no limit.
    pub fn new(a_minute: u32) -> Self {
        Self {
            a_minute: a_minute.into(),
            callers: Mutex::default(),
        }
    }

    /// Takes one request from what `caller` may make.
    ///
    /// # Errors
    /// Nothing is left for now.
    pub fn take(&self, caller: &str) -> Result<(), Problem> {
        if self.a_minute == 0 {
            return Ok(());
        }
        let now = Instant::now();
        let full = self.a_minute.saturating_mul(1_000);
        // A minute has 60,000 ms, so that a millisecond brings a_minute / 60 thousandths of a request.
        let refilled = |allowance: &Allowance| {
            let milliseconds =
                u64::try_from(now.duration_since(allowance.at).as_millis()).unwrap_or(u64::MAX);
            let brought = milliseconds.saturating_mul(self.a_minute) / 60;
            allowance.left.saturating_add(brought).min(full)
        };
        let mut callers = self.callers.lock().unwrap_or_else(PoisonError::into_inner);
        if callers.len() >= CALLERS_MOST && !callers.contains_key(caller) {
            callers.retain(|_, allowance| refilled(allowance) < full);
        }
        let left = callers.get(caller).map_or(full, refilled);
        let Some(rest) = left.checked_sub(1_000) else {
            let missing = 1_000_u64.saturating_sub(left);
            let seconds = missing
                .saturating_mul(60)
                .div_ceil(self.a_minute.saturating_mul(1_000))
                .max(1);
            let detail = format!("{} requests a minute are answered; try again", self.a_minute);
            return Err(Problem::new(Kind::TooManyRequests, detail)
                .with_header(header::RETRY_AFTER, seconds.to_string()));
        };
        if callers.len() < CALLERS_MOST || callers.contains_key(caller) {
            callers.insert(caller.to_owned(), Allowance { left: rest, at: now });
        }
        Ok(())
    }
}
