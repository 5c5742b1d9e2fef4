//! What the office sets of the company while it works: the pattern of quote numbers.

use std::num::NonZeroU32;

use chrono::{Datelike, Utc};
use estimate::quote::number::NumberPattern;
use serde::Serialize;

use super::{Desk, DeskFault};
use crate::store::StoreFault;

/// What numbers of quotes look like.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct QuoteNumbers {
    /// The pattern.
    pub pattern: String,
    /// The number that the next quote gets, if it is made today.
    pub next: String,
}

impl QuoteNumbers {
    /// The tag of the pattern.
    pub fn tag(&self) -> String {
        format!("\"{}\"", self.pattern)
    }
}

impl Desk {
    /// What numbers of quotes look like.
    ///
    /// # Errors
    /// The database.
    pub fn quote_numbers(&self) -> Result<QuoteNumbers, DeskFault> {
        let office = self.office()?;
        let year = office.zone()?.day(Utc::now()).year();
        let counter = self.store.quote_counter(year)?.saturating_add(1);
        let counter = u32::try_from(counter).ok().and_then(NonZeroU32::new);
        let counter = counter.ok_or_else(|| DeskFault::Defect(format!("the counter of {year}")))?;
        let next = office
            .numbers
            .number(u16::try_from(year).unwrap_or_default(), counter);
        Ok(QuoteNumbers {
            pattern: office.numbers.to_string(),
            next: next
                .map_err(|fault| DeskFault::Defect(fault.to_string()))?
                .to_string(),
        })
    }

    /// Gives the numbers of quotes another pattern. Counters go on as they were, and numbers that were given away stay.
    /// `matches` says whether the caller has seen the pattern of this tag.
    ///
    /// # Errors
    /// It is no pattern, a number that was given away would come again, or the pattern is another by now.
    pub fn set_quote_numbers(
        &self,
        pattern: &str,
        matches: impl Fn(&str) -> bool,
    ) -> Result<QuoteNumbers, DeskFault> {
        let member = |message: String| DeskFault::Member {
            pointer: "/pattern",
            message,
        };
        let new = NumberPattern::parse(pattern).map_err(|fault| member(fault.to_string()))?;
        let before = self.quote_numbers()?;
        let tag = before.tag();
        if !matches(&tag) {
            return Err(DeskFault::Stale { tag });
        }
        let place = |number: &str| {
            let (year, counter) = new.read(number).ok()?;
            Some((i32::from(year), i32::try_from(counter.get()).ok()?))
        };
        let changed = self.store.change_quote_numbers(&before.pattern, pattern, place);
        changed.map_err(|fault| match fault {
            StoreFault::Changed => DeskFault::Changed,
            StoreFault::NumberTaken(number) => member(format!(
                "{number} was given away already, and a quote to come would get it again"
            )),
            other => other.into(),
        })?;
        self.quote_numbers()
    }
}
