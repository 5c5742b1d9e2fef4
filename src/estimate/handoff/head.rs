//! The head of a paper: who offers, to whom, what and when.

use serde::Serialize;

use super::offer::{Offer, Party};
use super::survey::Survey;

/// The head of a paper.
#[derive(Debug, Serialize)]
pub(super) struct Head {
    company: String,
    company_address: Vec<String>,
    company_reach: Vec<String>,
    licences: Vec<String>,
    logo_alt: Option<String>,
    /// Number of the quote and its revision, or that it is no offer.
    name: String,
    date: String,
    valid_until: Option<String>,
    customer: Addressee,
    site: Addressee,
    job: String,
    currency: String,
    draft: bool,
    change_order: bool,
}

#[derive(Debug, Serialize)]
struct Addressee {
    name: String,
    lines: Vec<String>,
}

impl Addressee {
    fn of(party: &Party, reach: bool) -> Self {
        let contact = party
            .contact
            .iter()
            .chain(party.telephone.iter().filter(|_| reach));
        Self {
            name: party.name.clone(),
            lines: party.address.iter().chain(contact).cloned().collect(),
        }
    }
}

impl Head {
    /// The head of a paper of `offer`.
    pub(super) fn of(offer: &Offer, survey: &Survey) -> Self {
        let words = offer.words();
        let company = &offer.company;
        Self {
            company: company.name.clone(),
            company_address: company.address.clone(),
            company_reach: vec![company.telephone.clone(), company.mail.clone()],
            licences: company.licences.clone(),
            logo_alt: offer.style.logo.as_ref().map(|logo| logo.alt.clone()),
            name: offer.name.clone().unwrap_or_else(|| words.draft.to_owned()),
            date: offer.reader().date(offer.date),
            valid_until: offer.valid_until.map(|day| offer.reader().date(day)),
            customer: Addressee::of(&offer.customer, true),
            site: Addressee::of(&offer.site, false),
            job: survey.title.clone(),
            currency: offer.estimated.figures().currency.code().to_owned(),
            draft: offer.name.is_none(),
            change_order: offer.change.is_some(),
        }
    }
}
