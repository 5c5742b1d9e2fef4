//! What papers are made from: an issued revision with the company's letterhead and its house style, or an estimate
//! that was just made.

use chrono::NaiveDate;

use super::drawing::{Drawing, draw};
use super::figure::Reader;
use super::house_style::HouseStyle;
use super::measures::Measures;
use super::paper::{Kind, Paper, Picture};
use super::paper_fault::PaperFault;
use super::rule_sentences::RuleSentences;
use super::survey::Survey;
use super::words::{Language, Words};
use crate::catalogue::Company;
use crate::quote::draft::Wording;
use crate::quote::estimated::Estimated;
use crate::quote::party::{Address, Customer, Site};
use crate::quote::revision::Revision;

/// Everything that papers are made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// Who offers.
    pub company: Company,
    /// How papers look.
    pub style: HouseStyle,
    /// The measures in which the job was surveyed.
    pub measures: Measures,
    /// Name of the revision; none of an estimate that was never issued.
    pub name: Option<String>,
    /// The day of issue, or the day of the prices.
    pub date: NaiveDate,
    /// The last day on which it may be accepted.
    pub valid_until: Option<NaiveDate>,
    /// Whom it is for.
    pub customer: Party,
    /// Where the work is done.
    pub site: Party,
    /// Texts of the offer.
    pub wording: Wording,
    /// Exclusions put in by hand.
    pub exclusions: Vec<String>,
    /// Alternates on offer.
    pub alternates: Vec<Alternative>,
    /// What a change order changes.
    pub change: Option<Changed>,
    /// Sentences of the rules that the estimate was made by; none where the paper has the measures of the rules.
    pub rules: RuleSentences,
    /// The estimate.
    pub estimated: Estimated,
}

/// Customer or site as papers print them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Party {
    /// Name.
    pub name: String,
    /// Whom to ask for.
    pub contact: Option<String>,
    /// Telephone.
    pub telephone: Option<String>,
    /// The address, a line each.
    pub address: Vec<String>,
}

impl Party {
    /// A customer.
    pub fn customer(customer: &Customer) -> Self {
        Self {
            name: customer.name.clone(),
            contact: customer.contact.clone(),
            telephone: customer.telephone.clone(),
            address: address(&customer.address),
        }
    }

    /// A site.
    pub fn site(site: &Site) -> Self {
        Self {
            name: site.name.clone(),
            address: address(&site.address),
            ..Self::default()
        }
    }
}

/// An alternate with its own estimate.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative {
    /// What the customer reads.
    pub title: String,
    /// More about it.
    pub note: Option<String>,
    /// The whole job with that one change.
    pub estimated: Estimated,
}

/// What a change order changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Changed {
    /// What the customer reads.
    pub title: String,
    /// The contract before it.
    pub before: Estimated,
}

impl Offer {
    /// Of an issued revision; `before` is the contract that a change order changes.
    ///
    /// # Errors
    /// Its estimates do not hold together.
    pub fn of_revision(
        revision: &Revision,
        before: Option<Estimated>,
        company: Company,
        style: HouseStyle,
    ) -> Result<Self, PaperFault> {
        let read = |tree: &serde_json::Value| {
            Estimated::read(tree.clone()).map_err(|fault| PaperFault::unreadable("figures", fault))
        };
        let alternates = revision.alternates.iter().map(|offered| {
            Ok(Alternative {
                title: offered.alternate.title.clone(),
                note: offered.alternate.note.clone(),
                estimated: read(&offered.estimate)?,
            })
        });
        Ok(Self {
            company,
            style,
            measures: Measures::of(&revision.request),
            name: Some(revision.name.to_string()),
            date: revision.validity.time_zone.day(revision.issued_at),
            valid_until: Some(revision.validity.until),
            customer: Party::customer(&revision.customer),
            site: Party::site(&revision.site),
            wording: revision.wording.clone(),
            exclusions: revision.exclusions.clone(),
            alternates: alternates.collect::<Result<_, PaperFault>>()?,
            change: changed(revision, before)?,
            rules: RuleSentences::default(),
            estimated: read(&revision.estimate)?,
        })
    }

    /// Of an estimate that was never issued.
    ///
    /// # Errors
    /// Its job does not read.
    pub fn of_estimate(
        estimated: Estimated,
        company: Company,
        style: HouseStyle,
        measures: Measures,
    ) -> Result<Self, PaperFault> {
        let survey = Survey::read(estimated.tree())?;
        let named = |name: Option<String>| Party {
            name: name.unwrap_or_default(),
            ..Party::default()
        };
        let date = estimated.part("priced_on").as_str().unwrap_or_default();
        let date = date
            .parse()
            .map_err(|fault| PaperFault::unreadable("day of the prices", fault))?;
        Ok(Self {
            company,
            style,
            measures,
            name: None,
            date,
            valid_until: None,
            customer: named(survey.customer),
            site: named(survey.site_name),
            wording: Wording::default(),
            exclusions: Vec::new(),
            alternates: Vec::new(),
            change: None,
            rules: RuleSentences::default(),
            estimated,
        })
    }

    /// Language of the fixed words.
    pub fn language(&self) -> Language {
        self.style.language
    }

    /// For whom figures are written.
    pub fn reader(&self) -> Reader {
        Reader {
            language: self.language(),
            measures: self.measures,
        }
    }

    pub(super) fn words(&self) -> &'static Words {
        self.language().words()
    }

    /// The elevation.
    ///
    /// # Errors
    /// The job cannot be drawn.
    pub fn drawing(&self) -> Result<Drawing, PaperFault> {
        draw(self.estimated.tree(), self.reader())
    }

    /// The paper `kind` with `content` on it.
    pub(super) fn paper(
        &self,
        kind: Kind,
        title: &str,
        drawing: Drawing,
        content: &impl serde::Serialize,
    ) -> Result<Paper, PaperFault> {
        let content =
            serde_json::to_value(content).map_err(|fault| PaperFault::unreadable("content", fault))?;
        let of = self.name.as_deref().unwrap_or(&self.customer.name);
        Ok(Paper {
            kind,
            title: format!("{title} {of}").trim_end().to_owned(),
            language: self.language(),
            date: self.date,
            sheet: self.style.paper,
            accent: self.style.accent.as_str().to_owned(),
            logo: Picture::of(&self.style)?,
            drawing: drawing.svg,
            content,
        })
    }
}

fn changed(revision: &Revision, before: Option<Estimated>) -> Result<Option<Changed>, PaperFault> {
    match (&revision.change, before) {
        (None, _) => Ok(None),
        (Some(change), Some(before)) if before.totals().total == change.total_before => Ok(Some(Changed {
            title: change.title.clone(),
            before,
        })),
        (Some(_), _) => Err(PaperFault::unreadable(
            "contract",
            "it is not the one that was changed",
        )),
    }
}

fn address(address: &Address) -> Vec<String> {
    address.lines.iter().chain(&address.country).cloned().collect()
}
