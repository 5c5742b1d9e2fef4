//! Papers of a revision: of an issued one from its record, of a draft as it stands, marked as a draft.

use super::At;
use super::change::{row, state};
use super::life::party;
use super::work::{Priced, acceptance, accepted_at, refused, sources};
use crate::desk::{Desk, DeskFault, STANDARD_STYLE, StyleChoice};
use crate::store::{PartyKind, StoredQuote};
use estimate::handoff::drawing::Drawing;
use estimate::handoff::house_style::HouseStyle;
use estimate::handoff::measures::Measures;
use estimate::handoff::offer::{Alternative, Changed, Offer, Party};
use estimate::handoff::paper::{Kind, Paper, Printed};
use estimate::handoff::paper_fault::PaperFault;
use estimate::handoff::rule_sentences::RuleSentences;
use estimate::handoff::unprintable::{self, Letters, Unprintable};
use estimate::handoff::{charts, job_sheet, proof, proposal};
use estimate::quote::change_order::FrozenChange;
use estimate::quote::estimated::Estimated;
use estimate::quote::party::{Customer, Site};
use estimate::quote::revision::{Revision, VersionDigest};
use estimate::rules::parse_toml;

impl From<PaperFault> for DeskFault {
    fn from(fault: PaperFault) -> Self {
        Self::Paper(fault.to_string())
    }
}

/// How papers are printed. Whoever starts this program gives one, where it was built with documents.
#[derive(Debug, Clone, Copy)]
pub struct Press {
    /// Prints a paper as PDF.
    pub print: fn(&Paper) -> Result<Printed, String>,
    /// The texts of a paper with letters that no font has, found without printing it.
    pub unprintable: fn(&Paper) -> Vec<Unprintable>,
}

/// A chart of an estimate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chart {
    /// What the price is made of: for the office alone.
    CostBreakdown,
    /// What loads the cellar.
    CellarLoad,
}

impl Desk {
    /// A paper of a revision, as PDF. What of it could not be printed is told with it.
    ///
    /// # Errors
    /// There is no such revision, it has no price, no font has all its `letters`, or this program prints nothing.
    pub fn paper(
        &self,
        at: &At,
        kind: Kind,
        style: &StyleChoice,
        letters: Letters,
    ) -> Result<Printed, DeskFault> {
        let press = self.press.ok_or(DeskFault::NoDocuments)?;
        let paper = match kind {
            Kind::Proposal => proposal::proposal(&self.offer(at, style)?)?,
            Kind::JobSheet => job_sheet::job_sheet(&self.work(at, style)?)?,
            Kind::Proof => {
                let offer = self.offer(at, style)?;
                proof::proof(&offer.style, &offer.company, offer.date)?
            }
        };
        let printed = (press.print)(&paper).map_err(DeskFault::Paper)?;
        if letters == Letters::All && !printed.unprintable.is_empty() {
            return Err(DeskFault::Paper(unprintable::told(&printed.unprintable)));
        }
        Ok(printed)
    }

    /// The elevation of a revision's job, of an accepted one as it was accepted.
    ///
    /// # Errors
    /// There is no such revision, or it cannot be drawn.
    pub fn drawing(&self, at: &At, style: &StyleChoice) -> Result<Drawing, DeskFault> {
        Ok(self.work(at, style)?.drawing()?)
    }

    /// A chart of a revision's estimate, SVG.
    ///
    /// # Errors
    /// There is no such revision, or it has no price.
    pub fn chart(&self, at: &At, chart: Chart, style: &StyleChoice) -> Result<String, DeskFault> {
        let offer = self.offer(at, style)?;
        Ok(match chart {
            Chart::CostBreakdown => charts::cost_breakdown(&offer.estimated, offer.language())?,
            Chart::CellarLoad => charts::cellar_load(offer.estimated.tree(), offer.reader())?,
        })
    }

    /// What the papers of a revision are made from that its customer reads.
    fn offer(&self, at: &At, style: &StyleChoice) -> Result<Offer, DeskFault> {
        self.stored_offer(&self.stored(&at.quote)?, at, style)
    }

    /// What the papers of the crew are made from: once the revision was accepted, the job with the alternates that were
    /// chosen. What the customer signed stays as it was.
    fn work(&self, at: &At, style: &StyleChoice) -> Result<Offer, DeskFault> {
        let stored = self.stored(&at.quote)?;
        let offer = self.stored_offer(&stored, at, style)?;
        Ok(match accepted_at(&stored, at)? {
            None => offer,
            Some(record) => Offer {
                estimated: record.estimated().map_err(|fault| refused(fault.into()))?,
                alternates: Vec::new(),
                ..offer
            },
        })
    }

    fn stored_offer(&self, stored: &StoredQuote, at: &At, style: &StyleChoice) -> Result<Offer, DeskFault> {
        if state(row(stored, at)?)?.may_be_edited() {
            return self.draft_offer(stored, at, style);
        }
        let (revision, ..) = self.document(at)?;
        let style = self.style_at_issue(style, revision.issued_at)?;
        self.issued_offer(stored, &revision, style)
    }

    /// What the papers of an issued revision are made from.
    fn issued_offer(
        &self,
        stored: &StoredQuote,
        revision: &Revision,
        style: HouseStyle,
    ) -> Result<Offer, DeskFault> {
        let before = revision.change.as_ref();
        let before = before
            .map(|change| self.changed_contract(stored, change))
            .transpose()?;
        let company = self.office()?.company.clone();
        let offer = Offer::of_revision(revision, before, company, style)?;
        Ok(Offer {
            rules: self.rule_sentences(offer.measures, &revision.made_from.rulebook)?,
            ..offer
        })
    }

    /// The sentences of the rules that a revision was made from, where its papers have other measures than those.
    fn rule_sentences(
        &self,
        measures: Measures,
        rulebook: &VersionDigest,
    ) -> Result<RuleSentences, DeskFault> {
        if measures == Measures::Customary {
            return Ok(RuleSentences::default());
        }
        let text = self.rules(&*self.office()?, rulebook)?;
        // Rules that were published long ago may not read any more: their sentences are told as they were kept.
        Ok(parse_toml(&text).map_or_else(|_| RuleSentences::default(), |rules| RuleSentences::of(&rules)))
    }

    /// What is to be known of the papers of a revision that goes out; nothing where this program prints none.
    ///
    /// # Errors
    /// The house style or the rules cannot be read.
    pub(super) fn paper_notes(
        &self,
        stored: &StoredQuote,
        revision: &Revision,
    ) -> Result<Vec<String>, DeskFault> {
        let Some(press) = self.press else {
            return Ok(Vec::new());
        };
        let style = self.house_style(STANDARD_STYLE, None)?.style;
        match self.issued_offer(stored, revision, style) {
            Ok(offer) => Ok(told_of_letters(&offer, press.unprintable)),
            Err(DeskFault::Paper(why)) => Ok(vec![why]),
            Err(other) => Err(other),
        }
    }

    /// The contract that an issued change order changes.
    fn changed_contract(&self, stored: &StoredQuote, change: &FrozenChange) -> Result<Estimated, DeskFault> {
        for kept in &stored.acceptances {
            let (record, digest) = acceptance(kept)?;
            if digest == change.contract {
                return record.estimated().map_err(|fault| refused(fault.into()));
            }
        }
        Err(DeskFault::Defect(
            "the contract of a change order is not there".to_owned(),
        ))
    }

    fn draft_offer(&self, stored: &StoredQuote, at: &At, style: &StyleChoice) -> Result<Offer, DeskFault> {
        let row = row(stored, at)?;
        let company = self.office()?.company.clone();
        let id = style.id.as_deref().unwrap_or(STANDARD_STYLE);
        let style = self.house_style(id, style.version)?.style;
        let sources = sources(row)?;
        let priced = self.priced(stored, row, &*self.past(&sources)?, &sources)?;
        let content = priced.content();
        let (estimated, alternates, change) = match priced {
            Priced::Offer { base, alternates, .. } => (base, alternates, None),
            Priced::Change {
                order,
                contract,
                priced,
            } => {
                let change = Changed {
                    title: order.title,
                    before: contract.estimated().clone(),
                };
                (priced.estimated, Vec::new(), Some(change))
            }
        };
        let alternates = alternates.into_iter().map(|priced| Alternative {
            title: priced.alternate.title,
            note: priced.alternate.note,
            estimated: priced.estimated,
        });
        let customer = self.party_row(PartyKind::Customer, &stored.quote.customer_id)?;
        let site = self.party_row(PartyKind::Site, &stored.quote.site_id)?;
        let measures = Measures::of(&content.request);
        Ok(Offer {
            rules: self.rule_sentences(measures, &sources.rulebook)?,
            customer: Party::customer(&party::<Customer>(&customer)?),
            site: Party::site(&party::<Site>(&site)?),
            wording: content.wording,
            exclusions: content.exclusions,
            alternates: alternates.collect(),
            change,
            ..Offer::of_estimate(estimated, company, style, measures)?
        })
    }
}

/// Papers with letters that no font has. An offer that went out can be mended in another revision only, so whoever issues it
/// hears of them before anybody prints.
fn told_of_letters(offer: &Offer, letters_missing: fn(&Paper) -> Vec<Unprintable>) -> Vec<String> {
    let mut told: Vec<(String, Vec<&str>)> = Vec::new();
    for (name, paper) in [
        ("the proposal", proposal::proposal(offer)),
        ("the job sheet", job_sheet::job_sheet(offer)),
    ] {
        let why = match paper.map(|paper| letters_missing(&paper)) {
            Err(fault) => fault.to_string(),
            Ok(missing) if missing.is_empty() => continue,
            Ok(missing) => format!(
                "{}; with unprintable=replace a box is printed for each, and without it nothing",
                unprintable::told(&missing)
            ),
        };
        match told.iter_mut().find(|(known, _)| *known == why) {
            Some((_, names)) => names.push(name),
            None => told.push((why, vec![name])),
        }
    }
    let note = |(why, names): (String, Vec<&str>)| format!("{}: {why}", names.join(" and "));
    told.into_iter().map(note).collect()
}
