//! What a revision comes to: a draft estimated from its sources, an issued one as its document says.

use estimate::pricing::policy::Policy;
use estimate::quote::acceptance::Acceptance;
use estimate::quote::alternates::{AlternateFault, PricedAlternate, price_alternates, thinnest};
use estimate::quote::approval::{self, ApprovalReason};
use estimate::quote::canonical::Digest;
use estimate::quote::change_order::{Contract, ContractFault, PricedChange};
use estimate::quote::draft::{ChangeOrder, Draft};
use estimate::quote::estimated::Estimated;
use estimate::quote::revision::{Revision, RevisionFault, Sources};
use serde::de::DeserializeOwned;

use super::change::{row, state};
use super::{At, whole};
use crate::desk::{Desk, DeskFault, Office};
use crate::store::{AcceptanceRow, RevisionRow, StoreFault, StoredQuote};

/// A draft with its price.
pub(super) enum Priced {
    /// An offer.
    Offer {
        draft: Draft,
        base: Estimated,
        alternates: Vec<PricedAlternate>,
        /// What thins the margin or raises the discount, taken together.
        thinnest: Option<Box<Estimated>>,
    },
    /// A change order.
    Change {
        order: ChangeOrder,
        contract: Box<Contract>,
        priced: Box<PricedChange>,
    },
}

impl Priced {
    /// The estimate of the base job, of a change order that of the changed job.
    pub(super) fn estimated(&self) -> &Estimated {
        match self {
            Self::Offer { base, .. } => base,
            Self::Change { priced, .. } => &priced.estimated,
        }
    }

    /// Why it needs the approval of another person under `policy`; nothing where it needs none.
    pub(super) fn approval_reasons(&self, policy: &Policy) -> Vec<ApprovalReason> {
        let Some(limits) = &policy.approval else {
            return Vec::new();
        };
        match self {
            Self::Offer {
                base,
                alternates,
                thinnest,
                ..
            } => approval::reasons_of_offer(limits, base, alternates, thinnest.as_deref()),
            Self::Change { contract, priced, .. } => {
                approval::reasons_of_change(limits, contract.estimated(), &priced.estimated)
            }
        }
    }

    /// The content as an approval is for it.
    pub(super) fn content(&self) -> Draft {
        match self {
            Self::Offer { draft, .. } => draft.clone(),
            Self::Change { order, priced, .. } => Draft {
                request: priced.request.clone(),
                alternates: Vec::new(),
                exclusions: order.exclusions.clone(),
                wording: order.wording.clone(),
                validity_days: order.validity_days,
            },
        }
    }
}

pub(super) fn unreadable(table: &'static str, key: &str, fault: impl std::fmt::Display) -> DeskFault {
    DeskFault::Store(StoreFault::Corrupt {
        table,
        key: key.to_owned(),
        message: fault.to_string(),
    })
}

fn kept<T: DeserializeOwned>(row: &RevisionRow, text: &str) -> Result<T, DeskFault> {
    serde_json::from_str(text).map_err(|fault| unreadable("revisions", &row.quote_id, fault))
}

/// What a revision is estimated from.
pub(super) fn sources(row: &RevisionRow) -> Result<Sources, DeskFault> {
    kept(row, &row.sources)
}

pub(super) fn authors(row: &RevisionRow) -> Result<Vec<String>, DeskFault> {
    kept(row, &row.authors)
}

pub(super) fn offer_draft(row: &RevisionRow) -> Result<Draft, DeskFault> {
    kept(row, &row.draft)
}

pub(super) fn change_draft(row: &RevisionRow) -> Result<ChangeOrder, DeskFault> {
    kept(row, &row.draft)
}

/// A fault of the record is one of ours; a stop is the caller's to clear.
pub(super) fn refused(fault: RevisionFault) -> DeskFault {
    match fault {
        RevisionFault::Stops(stops) => DeskFault::Stops(stops),
        other => DeskFault::Defect(other.to_string()),
    }
}

pub(super) fn no_choice(fault: AlternateFault<DeskFault>) -> DeskFault {
    match fault {
        AlternateFault::Estimate { name, fault } => {
            DeskFault::Alternate(format!("alternate {name}: {fault}"))
        }
        AlternateFault::Combined(fault) => {
            DeskFault::Alternate(format!("the chosen alternates together: {fault}"))
        }
        AlternateFault::Unknown(name) => DeskFault::Named {
            pointer: "/alternates",
            what: "alternate",
            name,
        },
        twice @ AlternateFault::Twice(_) => DeskFault::Alternate(twice.to_string()),
        AlternateFault::Moved(fault) => fault.into(),
    }
}

pub(super) fn no_contract(fault: ContractFault) -> DeskFault {
    match fault {
        overtaken @ ContractFault::Overtaken(_) => DeskFault::Conflict(overtaken.to_string()),
        other => DeskFault::Defect(other.to_string()),
    }
}

impl Desk {
    /// Prices a draft from `sources`, by `office`, which is made of them.
    pub(super) fn priced(
        &self,
        stored: &StoredQuote,
        row: &RevisionRow,
        office: &Office,
        sources: &Sources,
    ) -> Result<Priced, DeskFault> {
        let estimate = |request: &serde_json::Value| office.price_on(request, sources.priced_on);
        if row.change_order == 0 {
            let draft = offer_draft(row)?;
            let base = estimate(&draft.request)?;
            let alternates =
                price_alternates(&draft.request, &base, &draft.alternates, estimate).map_err(no_choice)?;
            let thinnest = thinnest(&draft.request, &base, &alternates, estimate).map(Box::new);
            return Ok(Priced::Offer {
                draft,
                base,
                alternates,
                thinnest,
            });
        }
        let order = change_draft(row)?;
        let contract = self.contract(stored)?;
        let contract = contract.ok_or_else(|| DeskFault::Conflict("there is no contract".to_owned()))?;
        let priced = contract.price(&order.change, estimate)?;
        Ok(Priced::Change {
            order,
            contract: Box::new(contract),
            priced: Box::new(priced),
        })
    }

    /// The document of an issued revision, once its digest is right.
    pub(super) fn document(&self, at: &At) -> Result<(Revision, Digest, String), DeskFault> {
        let found = self
            .store
            .issued_revision(&at.quote, whole(at.change_order)?, whole(at.revision)?)?;
        let found = found.ok_or_else(|| DeskFault::Conflict("the revision was never issued".to_owned()))?;
        let bad = |fault: &dyn std::fmt::Display| unreadable("issued_revisions", &at.quote, fault);
        let digest = Digest::parse(&found.digest).map_err(|fault| bad(&fault))?;
        let revision = Revision::read(found.document.as_bytes(), digest).map_err(|fault| bad(&fault))?;
        Ok((revision, digest, found.document))
    }

    /// What was accepted, as it stands now; none before anything was.
    pub(super) fn contract(&self, stored: &StoredQuote) -> Result<Option<Contract>, DeskFault> {
        let mut contract = None;
        for kept in &stored.acceptances {
            let (record, digest) = acceptance(kept)?;
            contract = Some(match contract {
                None => Contract::new(&record, digest).map_err(no_contract)?,
                Some(before) => {
                    let (revision, ..) = self.document(&at_of(stored, kept))?;
                    Contract::with(before, &revision, &record, digest).map_err(no_contract)?
                }
            });
        }
        Ok(contract)
    }

    /// The revision's estimate, what it is of and what it was made from.
    pub(super) fn figures(&self, stored: &StoredQuote, at: &At) -> Result<Figures, DeskFault> {
        let row = row(stored, at)?;
        if state(row)?.may_be_edited() {
            let sources = sources(row)?;
            let priced = self.priced(stored, row, &*self.past(&sources)?, &sources)?;
            return Ok(Figures::of(priced, sources));
        }
        let (revision, ..) = self.document(at)?;
        let estimated = revision.estimated().map_err(|fault| refused(fault.into()))?;
        Ok(Figures {
            request: revision.request,
            exclusions: revision.exclusions,
            sources: revision.made_from,
            estimated,
        })
    }
}

/// A revision's estimate, what it is of and what it was made from.
pub(super) struct Figures {
    pub(super) request: serde_json::Value,
    pub(super) exclusions: Vec<String>,
    pub(super) sources: Sources,
    pub(super) estimated: Estimated,
}

impl Figures {
    pub(super) fn of(priced: Priced, sources: Sources) -> Self {
        let content = priced.content();
        Self {
            request: content.request,
            exclusions: content.exclusions,
            sources,
            estimated: match priced {
                Priced::Offer { base, .. } => base,
                Priced::Change { priced, .. } => priced.estimated,
            },
        }
    }
}

/// The record of the acceptance of the revision at `at`; none where it was not accepted.
pub(super) fn accepted_at(stored: &StoredQuote, at: &At) -> Result<Option<Acceptance>, DeskFault> {
    let (order, revision) = (whole(at.change_order)?, whole(at.revision)?);
    let mut kept = stored.acceptances.iter();
    let kept = kept.find(|kept| kept.change_order == order && kept.revision == revision);
    Ok(kept.map(acceptance).transpose()?.map(|(record, _)| record))
}

pub(super) fn at_of(stored: &StoredQuote, kept: &AcceptanceRow) -> At {
    At {
        quote: stored.quote.id.clone(),
        change_order: u32::try_from(kept.change_order).unwrap_or_default(),
        revision: u32::try_from(kept.revision).unwrap_or_default(),
    }
}

/// The record of an acceptance, once its digest is right.
pub(super) fn acceptance(kept: &AcceptanceRow) -> Result<(Acceptance, Digest), DeskFault> {
    let bad = |fault: &dyn std::fmt::Display| unreadable("acceptances", &kept.quote_id, fault);
    let digest = Digest::parse(&kept.digest).map_err(|fault| bad(&fault))?;
    let record = Acceptance::read(kept.document.as_bytes(), digest).map_err(|fault| bad(&fault))?;
    Ok((record, digest))
}
