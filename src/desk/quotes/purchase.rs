//! What revisions need, as one list: of one revision by the catalogue that it was made from, of several by that of today.

use chrono::NaiveDate;
use estimate::catalogue::prices::PriceBook;
use estimate::handoff::purchase_list::{PurchaseList, Source, purchase_list};
use estimate::handoff::words::Language;
use estimate::quote::revision::Sources;
use serde_json::Value;

use super::At;
use super::change::{row, state};
use super::work::accepted_at;
use crate::desk::{Desk, DeskFault, STANDARD_STYLE, StyleChoice};

/// What one revision needs.
struct Needs {
    name: String,
    estimate: Value,
    sources: Sources,
    /// The day of issue; of a draft that of its prices.
    day: NaiveDate,
    language: Language,
}

impl Needs {
    fn source(&self) -> Source<'_> {
        Source {
            name: &self.name,
            estimate: &self.estimate,
        }
    }
}

impl Desk {
    /// What the revisions at `all` need, and the language of its papers. Of one revision part numbers are those of the
    /// catalogue that it was made from; of several the catalogue is that of today, and packs are chosen over all of them at
    /// the prices of today.
    ///
    /// # Errors
    /// There is no such revision, or it has no price.
    pub fn purchase_list(&self, all: &[At]) -> Result<(PurchaseList, Language), DeskFault> {
        let needs = all.iter().map(|at| self.needs(at));
        let needs = needs.collect::<Result<Vec<_>, _>>()?;
        if let [one] = needs.as_slice() {
            return Ok((self.bought_for_one(one)?, one.language));
        }
        let office = self.office()?;
        let day = office.today();
        let sources: Vec<Source<'_>> = needs.iter().map(Needs::source).collect();
        let list = purchase_list(&sources, &office.catalogue, &office.prices_on(day), day)?;
        Ok((list, self.house_style(STANDARD_STYLE, None)?.style.language))
    }

    fn bought_for_one(&self, one: &Needs) -> Result<PurchaseList, DeskFault> {
        let office = self.office()?;
        let (digest, priced_on) = (one.sources.catalogue, one.sources.priced_on);
        let list = if office.catalogue_digest()? == digest {
            let prices = office.prices_on(priced_on);
            purchase_list(&[one.source()], &office.catalogue, &prices, one.day)
        } else {
            let catalogue = self.past_catalogue(digest)?;
            let prices = PriceBook::on(priced_on, &catalogue);
            purchase_list(&[one.source()], &catalogue, &prices, one.day)
        };
        Ok(list?)
    }

    /// Of an accepted revision, what was accepted needs.
    fn needs(&self, at: &At) -> Result<Needs, DeskFault> {
        let stored = self.stored(&at.quote)?;
        let row = row(&stored, at)?;
        let name = super::view::name(&stored, row);
        if state(row)?.may_be_edited() {
            let figures = self.figures(&stored, at)?;
            return Ok(Needs {
                name,
                estimate: figures.estimated.into_tree(),
                day: figures.sources.priced_on,
                sources: figures.sources,
                language: self.house_style(STANDARD_STYLE, None)?.style.language,
            });
        }
        let (revision, ..) = self.document(at)?;
        let accepted = accepted_at(&stored, at)?.map(|record| record.estimate);
        let style = self.style_at_issue(&StyleChoice::default(), revision.issued_at)?;
        Ok(Needs {
            name,
            estimate: accepted.unwrap_or(revision.estimate),
            day: revision.validity.time_zone.day(revision.issued_at),
            sources: revision.made_from,
            language: style.language,
        })
    }
}
