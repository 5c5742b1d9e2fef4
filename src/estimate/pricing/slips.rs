//! Figures of a policy that can be priced by and are surely slips.
//!
//! Only what is written anew is held against these: versions that count already stay readable.

use rust_decimal::Decimal;

use super::checked::PolicyFault;
use super::policy::{Policy, Profit};
use crate::quantity::decimal::plain;

/// Most markup, percent (common practice, no source): four times the cost.
pub const MARKUP_MOST: u32 = 300;
/// Hours of a working day (common practice, no source): a step that does not divide it is a slip.
const DAY: Decimal = Decimal::from_parts(8, 0, 0, false, 0);
/// The least step of hours that anybody writes down.
const LEAST_STEP: Decimal = Decimal::from_parts(1, 0, 0, false, 2);

/// What in a policy is surely not meant, every slip at once.
pub fn slips(policy: &Policy) -> Vec<PolicyFault> {
    let mut found = Vec::new();
    let mut tell = |pointer: String, message: String| found.push(PolicyFault { pointer, message });
    let texts = [("/id", &policy.id), ("/title", &policy.title)].map(|(at, text)| (at.to_owned(), text));
    let labels = policy.schedule.iter().enumerate();
    let labels = labels.map(|(place, part)| (format!("/schedule/{place}/label"), &part.label));
    for (at, text) in texts.into_iter().chain(labels) {
        if text.trim().is_empty() {
            tell(at, "must not be empty".to_owned());
        }
    }
    for (at, percent) in [
        ("/contingency_percent", policy.contingency_percent),
        ("/overhead_percent", policy.overhead_percent),
    ] {
        if percent >= Decimal::ONE_HUNDRED {
            let percent = plain(percent);
            tell(
                at.to_owned(),
                format!("is {percent}, and must be less than 100 percent"),
            );
        }
    }
    let markup = match policy.profit {
        Profit::Markup { percent } => Some(("/profit/percent", percent)),
        Profit::Margin { .. } => None,
    };
    let subcontracted = ("/subcontract_markup_percent", policy.subcontract_markup_percent);
    for (at, percent) in markup.into_iter().chain([subcontracted]) {
        if percent > Decimal::from(MARKUP_MOST) {
            let percent = plain(percent);
            tell(
                at.to_owned(),
                format!("is {percent}, and must be at most {MARKUP_MOST} percent"),
            );
        }
    }
    let step = policy.hours.step;
    let divides = || DAY.checked_rem(step).is_some_and(|rest| rest.is_zero());
    if step > Decimal::ZERO && (step < LEAST_STEP || !divides()) {
        let (step, least) = (plain(step), plain(LEAST_STEP));
        tell(
            "/hours/step".to_owned(),
            format!(
                "is {step} h, and must be at least {least} h and divide a working day of 8 h, as 0.25 h does"
            ),
        );
    }
    found
}
