//! A quote is made: its number, its first draft, and what that is estimated from.

use std::num::NonZeroU32;

use chrono::{DateTime, Datelike, Utc};
use estimate::quote::revision::Sources;
use serde_json::{Value, json};
use uuid::Uuid;

use super::change::{searched, summed_up, title};
use super::draft::text;
use super::view::tree;
use super::{Act, Told};
use crate::desk::act::anew;
use crate::desk::parties::customer_of;
use crate::desk::surveys::site_of;
use crate::desk::{Desk, DeskFault, moment};
use crate::store::{PartyKind, PartyRow, QuoteRow, RevisionRow, SnapshotRow, StoreFault, StoredQuote, Write};

/// A quote that is to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct NewQuote {
    /// The caller's own key for it.
    pub id: Option<String>,
    /// Whom it is for.
    pub customer: String,
    /// Where the work is done.
    pub site: String,
    /// The survey that it comes from.
    pub survey: Option<String>,
    /// The content of the first draft.
    pub draft: Value,
}

/// The first revision of an offer or a change order, or a further one.
pub(super) fn new_row(
    quote: &str,
    (change_order, revision): (i32, i32),
    draft: String,
    sources: &Sources,
    (person, now): (&str, DateTime<Utc>),
) -> Result<RevisionRow, DeskFault> {
    Ok(RevisionRow {
        quote_id: quote.to_owned(),
        change_order,
        revision,
        state: "draft".to_owned(),
        ends_at: None,
        version: 1,
        draft,
        sources: tree(sources)?.to_string(),
        authors: json!([person]).to_string(),
        created_at: moment(now),
        created_by: person.to_owned(),
        changed_at: moment(now),
        changed_by: person.to_owned(),
    })
}

pub(super) fn snapshots(rows: Vec<SnapshotRow>) -> impl Iterator<Item = Write> {
    rows.into_iter().map(Write::Snapshot)
}

impl Desk {
    /// Makes a quote with its first draft. It gets its number in the same transaction.
    ///
    /// # Errors
    /// Every fault of the draft, a customer or site that is not there, or a key that is taken.
    pub fn create_quote(&self, act: &Act, new: &NewQuote) -> Result<Told, DeskFault> {
        self.once(act.key.as_ref(), || anew(|| self.make_quote(act, new)))
    }

    fn make_quote(&self, act: &Act, new: &NewQuote) -> Result<String, DeskFault> {
        let office = self.office()?;
        let now = Utc::now();
        let (customer, site) = self.parties_of(new)?;
        let draft = office
            .read_draft(&new.draft)
            .map_err(|fault| fault.within("/draft"))?;
        let sources = office.sources(&draft.request, office.today());
        let (sources, kept) = sources.map_err(|fault| fault.within("/draft/request"))?;
        let id = new.id.clone().unwrap_or_else(|| Uuid::now_v7().to_string());
        let day = office.zone()?.day(now);
        let title = title(&draft);
        let row = new_row(&id, (0, 1), text(draft.frozen())?, &sources, (&act.person, now))?;
        let make = |counter: i32| {
            let bad = |message: String| StoreFault::Corrupt {
                table: "quote_counters",
                key: day.year().to_string(),
                message,
            };
            let number = u32::try_from(counter).ok().and_then(NonZeroU32::new);
            let year = u16::try_from(day.year()).ok();
            let (Some(count), Some(year)) = (number, year) else {
                return Err(bad(format!("the counter {counter}")));
            };
            let number = office
                .numbers
                .number(year, count)
                .map_err(|fault| bad(fault.to_string()))?;
            let quote = QuoteRow {
                search: searched(&number.to_string(), &title, [&customer, &site]),
                id: id.clone(),
                number: number.to_string(),
                year: i32::from(year),
                counter,
                customer_id: customer.id.clone(),
                site_id: site.id.clone(),
                title: title.clone(),
                state: "draft".to_owned(),
                ends_at: None,
                archived: false,
                version: 1,
                created_on: day.to_string(),
                created_at: moment(now),
                created_by: act.person.clone(),
                survey_id: new.survey.clone(),
            };
            let mut rows: Vec<Write> = snapshots(kept.clone()).collect();
            rows.push(Write::Revision(row.clone()));
            let stored = summed_up(StoredQuote::bare(quote), &rows);
            let told = self.quote_told(&stored, now).and_then(|told| told.text());
            let answer = told.map_err(|fault| bad(fault.to_string()))?;
            Ok((stored.quote, rows, answer))
        };
        let made = self
            .store
            .create_quote(act.key.as_ref(), day.year(), &office.company.quote_numbers, make);
        made.map_err(|fault| match fault {
            StoreFault::Exists => DeskFault::Exists {
                what: "quote",
                name: id.clone(),
            },
            other => other.into(),
        })
    }

    /// Customer and site of a quote: in use, and the one of the other; and its survey is in use and of that site, or of none
    /// yet. Every fault is told.
    fn parties_of(&self, new: &NewQuote) -> Result<(PartyRow, PartyRow), DeskFault> {
        let customer = self.named_party(PartyKind::Customer, &new.customer, "/customer")?;
        let site = self.named_party(PartyKind::Site, &new.site, "/site")?;
        let survey = match &new.survey {
            Some(id) => Some(self.named_party(PartyKind::Survey, id, "/survey")?),
            None => None,
        };
        let mut faults = Vec::new();
        let named = [("/customer", "customer", &customer), ("/site", "site", &site)];
        let survey = survey.as_ref().map(|survey| ("/survey", "survey", survey));
        for (pointer, what, row) in named.into_iter().chain(survey) {
            if row.archived {
                faults.push((
                    pointer.to_owned(),
                    format!("the {what} {} is put away: take it out again first", row.id),
                ));
            }
        }
        if customer_of(&site).as_deref() != Some(&customer.id) {
            faults.push((
                "/site".to_owned(),
                format!("the site {} is not one of the customer {}", site.id, customer.id),
            ));
        }
        let surveyed = survey.and_then(|(_, _, survey)| Some((&survey.id, site_of(survey)?)));
        if let Some((survey, surveyed)) = surveyed.filter(|(_, surveyed)| *surveyed != site.id) {
            faults.push((
                "/survey".to_owned(),
                format!(
                    "the survey {survey} is of the site {surveyed}, not of {}",
                    site.id
                ),
            ));
        }
        if faults.is_empty() {
            return Ok((customer, site));
        }
        Err(DeskFault::Members(faults))
    }

    fn named_party(&self, kind: PartyKind, id: &str, pointer: &'static str) -> Result<PartyRow, DeskFault> {
        self.party_row(kind, id).map_err(|fault| fault.at(pointer))
    }
}
