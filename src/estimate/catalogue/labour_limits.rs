//! Figures of a new labour rate that nobody pays: a slip of the decimal point, a percentage for an amount. Rates that
//! are there already are not held against them.
//!
//! The limits are common practice, no source: far beyond what is paid, and near enough to tell a slip.

use rust_decimal::Decimal;

use super::labour::{Burden, LabourRate};
use super::price_list::SUSPICIOUS_FACTOR;
use crate::quantity::Currency;
use crate::quantity::decimal::plain;

/// The hours of a leap year.
const HOURS_A_YEAR: Decimal = Decimal::from_parts(8_784, 0, 0, false, 0);
/// The most that one burden adds, in percent of the wage it is counted on.
const PERCENT_MOST: Decimal = Decimal::ONE_HUNDRED;
/// A yearly amount is at most this many times the wage of the year.
const YEARLY_MOST: Decimal = Decimal::TWO;
/// An hour worked costs at most this many times the wage.
const LOADED_MOST: Decimal = Decimal::from_parts(5, 0, 0, false, 0);

/// The most that is paid an hour: 1,000 where the currency has cents, 100,000 where it has none.
fn wage_most(currency: Currency) -> Decimal {
    let digits = 5_u32.saturating_sub(currency.minor_digits());
    Decimal::from(10_u64.saturating_pow(digits))
}

/// What in a sound rate is beyond reason: JSON Pointer and words.
pub fn beyond_reason(rate: &LabourRate, currency: Currency) -> Vec<(String, String)> {
    let mut faults = Vec::new();
    let mut add = |pointer: String, message: String| faults.push((pointer, message));
    let most = wage_most(currency);
    if rate.wage > most {
        let message = format!("is {} an hour; at most {most} is taken", plain(rate.wage));
        add("/wage".to_owned(), message);
    }
    if rate.paid_hours > HOURS_A_YEAR {
        let message = format!(
            "is {}; a year has at most {HOURS_A_YEAR} hours",
            plain(rate.paid_hours)
        );
        add("/paid_hours".to_owned(), message);
    }
    if rate.source.trim().is_empty() {
        add(
            "/source".to_owned(),
            "is needed: where the figures come from".to_owned(),
        );
    }
    let wage_a_year = rate.wage.checked_mul(rate.paid_hours).unwrap_or_default();
    let yearly_most = wage_a_year.checked_mul(YEARLY_MOST).unwrap_or(wage_a_year);
    for (place, part) in rate.burden.iter().enumerate() {
        let at = |member: &str| format!("/burden/{place}/{member}");
        let name = match part {
            Burden::Percent { name, percent, .. } => {
                if *percent > PERCENT_MOST {
                    let message = format!("is {} percent; at most {PERCENT_MOST} is taken", plain(*percent));
                    add(at("percent"), message);
                }
                name
            }
            Burden::Yearly { name, amount, .. } => {
                if *amount > yearly_most {
                    let message = format!(
                        "is {} a year; at most {YEARLY_MOST} times the wage of the year is taken, which is {}",
                        plain(*amount),
                        plain(yearly_most)
                    );
                    add(at("amount"), message);
                }
                name
            }
        };
        if name.trim().is_empty() {
            add(at("name"), "is needed: what it is for".to_owned());
        }
    }
    for (place, idle) in rate.non_productive.iter().enumerate() {
        if idle.name.trim().is_empty() {
            let message = "is needed: what the hours are for".to_owned();
            add(format!("/non_productive/{place}/name"), message);
        }
    }
    if faults.is_empty()
        && let Some(loaded) = rate.loaded()
        && rate
            .wage
            .checked_mul(LOADED_MOST)
            .is_some_and(|most| loaded.cost_an_hour > most)
    {
        let message = format!(
            "brings an hour worked to {}, more than {LOADED_MOST} times the wage: look at the burden and at the hours \
             that nobody works",
            plain(loaded.cost_an_hour)
        );
        faults.push(("/burden".to_owned(), message));
    }
    faults
}

/// Why the rate is suspicious beside the one that holds before it: an hour that costs five times as much or more, or a
/// fifth or less.
pub fn suspicious_beside(rate: &LabourRate, before: &LabourRate) -> Option<String> {
    let factor = Decimal::from(SUSPICIOUS_FACTOR);
    let (now, then) = (rate.loaded()?.cost_an_hour, before.loaded()?.cost_an_hour);
    let reaches = |more: Decimal, less: Decimal| less.checked_mul(factor).is_some_and(|limit| more >= limit);
    (reaches(now, then) || reaches(then, now)).then(|| {
        format!(
            "brings an hour to {} after {} since {}: a factor of {SUSPICIOUS_FACTOR} or more; say accept=factor in the \
             address where that is right",
            plain(now),
            plain(then),
            before.valid_from
        )
    })
}
