//! What somebody should know of a draft or an offer, and is no fault of it.

use chrono::NaiveDate;
use estimate::quantity::counted;
use estimate::quote::alternates::clashes;
use estimate::quote::draft::Draft;
use estimate::quote::revision::Sources;
use serde::Serialize;

use super::change::state;
use super::work::{offer_draft, sources};
use crate::desk::{Desk, DeskFault};
use crate::store::RevisionRow;

/// Something to know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(super) struct Notice {
    /// What kind; stable.
    code: &'static str,
    /// Where in the content.
    pointer: String,
    /// The same in words.
    message: String,
}

impl Desk {
    /// What is to be known of a revision of an offer: alternates that cannot be taken together, and, of a draft, a day
    /// that is fixed.
    pub(super) fn notices(&self, row: &RevisionRow) -> Result<Vec<Notice>, DeskFault> {
        if row.change_order != 0 {
            return Ok(Vec::new());
        }
        let draft = offer_draft(row)?;
        let mut notices = of_alternates(&draft);
        if state(row)?.may_be_edited() {
            let office = self.office()?;
            let (today, made_from) = (office.today(), sources(row)?);
            notices.extend(of_fixed_day(&draft, &made_from, today));
            if let Ok(policy) = office.policy(Some(&made_from.policy.id)) {
                let limit = policy.policy.policy().price_age_days;
                notices.extend(of_old_day(&made_from, today, limit));
            }
        }
        Ok(notices)
    }
}

fn of_alternates(draft: &Draft) -> Vec<Notice> {
    let clashes = clashes(&draft.alternates).into_iter();
    let notice = |clash: estimate::quote::alternates::Clash| {
        let place = draft.alternates.iter().position(|one| one.name == clash.then);
        Notice {
            code: "alternates_clash",
            pointer: format!("/alternates/{}/change", place.unwrap_or_default()),
            message: format!(
                "{} and {} cannot be taken together: both set {}, each to something else",
                clash.first,
                clash.then,
                clash.places.join(", ")
            ),
        }
    };
    clashes.map(notice).collect()
}

/// The day that a request fixes for its prices, where it is another than today.
pub(super) fn fixed_day(
    request: &serde_json::Value,
    made_from: &Sources,
    today: NaiveDate,
) -> Option<NaiveDate> {
    let day = made_from.priced_on;
    (request.get("priced_on").is_some() && day != today).then_some(day)
}

fn of_fixed_day(draft: &Draft, made_from: &Sources, today: NaiveDate) -> Option<Notice> {
    let day = fixed_day(&draft.request, made_from, today)?;
    let (code, message) = if day > today {
        (
            "day_to_come",
            format!("the draft is priced on {day}, which has not come: it can be issued from that day on"),
        )
    } else {
        (
            "day_fixed",
            format!(
                "the draft names {day} as the day of its prices, and keeps it when it is brought up to date; leave \
                 priced_on out to have it priced on the present day"
            ),
        )
    };
    Some(Notice {
        code,
        pointer: "/request/priced_on".to_owned(),
        message,
    })
}

/// Prices of a day that is past as long as the policy lets a price be old.
fn of_old_day(made_from: &Sources, today: NaiveDate, limit: u32) -> Option<Notice> {
    let days = today.signed_duration_since(made_from.priced_on).num_days();
    if days <= i64::from(limit) {
        return None;
    }
    let days = usize::try_from(days).unwrap_or(usize::MAX);
    Some(Notice {
        code: "price_age",
        pointer: "/request/priced_on".to_owned(),
        message: format!(
            "the draft is priced on {}, {} ago; the policy asks for prices of at most {}",
            made_from.priced_on,
            counted(days, "day"),
            counted(usize::try_from(limit).unwrap_or(usize::MAX), "day")
        ),
    })
}
