//! What estimates of quotes are made from: named by digest, kept as snapshots, and made into an office again.

use std::sync::{Arc, PoisonError};

use chrono::NaiveDate;
use estimate::catalogue::{Catalogue, Company, Equipment, Item, LabourClass};
use estimate::pricing::policy::Policy;
use estimate::quantity::Currency;
use estimate::quote::canonical::{Digest, Frozen};
use estimate::quote::estimated::Estimated;
use estimate::quote::revision::{Sources, VersionDigest};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::work::unreadable;
use crate::desk::read_request::Basis;
use crate::desk::{Desk, DeskFault, Office, now};
use crate::store::{OfficeData, RulebookShelf, SnapshotRow, StoreFault, StoredPolicy, StoredRulebook};

/// Offices of former days that are kept ready.
const PAST_KEPT: usize = 8;
/// Version of this program, as records name it.
pub(super) const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// An office of former days and what it was made from.
pub struct PastOffice {
    catalogue: Digest,
    rulebook: VersionDigest,
    policy: VersionDigest,
    office: Arc<Office>,
}

#[derive(Serialize)]
struct CatalogueSnapshot<'a> {
    currency: Currency,
    items: &'a [Item],
    labour: &'a [LabourClass],
    equipment: &'a [Equipment],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StoredCatalogue {
    currency: Currency,
    items: Vec<Item>,
    labour: Vec<LabourClass>,
    equipment: Vec<Equipment>,
}

fn defect(fault: impl std::fmt::Display) -> DeskFault {
    DeskFault::Defect(fault.to_string())
}

fn snapshot(kind: &str, digest: Digest, content: &str) -> SnapshotRow {
    SnapshotRow {
        digest: digest.to_string(),
        kind: kind.to_owned(),
        content: content.to_owned(),
        created_at: now(),
    }
}

fn text(frozen: &Frozen) -> Result<&str, DeskFault> {
    std::str::from_utf8(frozen.bytes()).map_err(defect)
}

impl Office {
    /// The catalogue as quotes keep it.
    fn frozen_catalogue(&self) -> Result<&Frozen, DeskFault> {
        if let Some(frozen) = self.frozen_catalogue.get() {
            return Ok(frozen);
        }
        let catalogue: &Catalogue = &self.catalogue;
        let frozen = Frozen::of(&CatalogueSnapshot {
            currency: self.company.currency,
            items: catalogue.items(),
            labour: catalogue.labour(),
            equipment: catalogue.equipment(),
        })
        .map_err(defect)?;
        Ok(self.frozen_catalogue.get_or_init(|| frozen))
    }

    /// The digest under which quotes keep the catalogue of now.
    pub(super) fn catalogue_digest(&self) -> Result<Digest, DeskFault> {
        Ok(self.frozen_catalogue()?.digest())
    }

    /// What an estimate of `request` would be made from by what the office knows now, and the snapshots of it: on the day
    /// that the request names, or else on `day`.
    pub(super) fn sources(
        &self,
        request: &Value,
        day: NaiveDate,
    ) -> Result<(Sources, Vec<SnapshotRow>), DeskFault> {
        let named = |name: &str| request.get(name).and_then(Value::as_str);
        let rulebook = &self.named(request)?.stored;
        let named_day = named("priced_on").and_then(|day| day.parse().ok());
        let day = named_day.unwrap_or(day);
        let policy = self
            .policy_on(named("policy"), day)
            .map_err(|fault| fault.at("/policy"))?;
        let frozen = Frozen::of(policy.policy.policy()).map_err(defect)?;
        let catalogue = self.frozen_catalogue()?;
        let rules = Digest::of(rulebook.text.as_bytes());
        let sources = Sources {
            program: PROGRAM.to_owned(),
            rulebook: VersionDigest {
                id: rulebook.head.id.clone(),
                version: rulebook.head.version,
                digest: rules,
            },
            policy: VersionDigest {
                id: policy.policy.policy().id.clone(),
                version: policy.version,
                digest: frozen.digest(),
            },
            catalogue: catalogue.digest(),
            priced_on: day,
        };
        let snapshots = vec![
            snapshot("catalogue", catalogue.digest(), text(catalogue)?),
            snapshot("policy", frozen.digest(), text(&frozen)?),
            snapshot("rulebook", rules, &rulebook.text),
        ];
        Ok((sources, snapshots))
    }

    /// Estimates a request with the prices of `day`.
    pub(super) fn price_on(&self, request: &Value, day: NaiveDate) -> Result<Estimated, DeskFault> {
        priced(&self.basis_on(request, day)?, request)
    }

    /// The same of a request on which an offer was issued: what the program has learned since to refuse is not held
    /// against it.
    pub(super) fn price_issued(&self, request: &Value, day: NaiveDate) -> Result<Estimated, DeskFault> {
        let mut basis = self.basis_on(request, day)?;
        basis.settled = true;
        priced(&basis, request)
    }
}

fn priced(basis: &Basis<'_>, request: &Value) -> Result<Estimated, DeskFault> {
    basis
        .estimate(&basis.read(request)?, false, |made| Estimated::of(made))?
        .map_err(defect)
}

impl Desk {
    /// The office that `sources` names, made of its snapshots or of what the office knows now.
    ///
    /// # Errors
    /// A snapshot is missing, or is not what it was.
    pub(super) fn past(&self, sources: &Sources) -> Result<Arc<Office>, DeskFault> {
        let is_meant = |past: &PastOffice| {
            past.catalogue == sources.catalogue
                && past.rulebook == sources.rulebook
                && past.policy == sources.policy
        };
        let found = {
            let kept = self.shared.past.lock().unwrap_or_else(PoisonError::into_inner);
            kept.iter()
                .find(|past| is_meant(past))
                .map(|past| Arc::clone(&past.office))
        };
        if let Some(office) = found {
            return Ok(office);
        }
        let office = Arc::new(self.make_past(sources)?);
        let mut kept = self.shared.past.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() >= PAST_KEPT {
            kept.remove(0);
        }
        kept.push(PastOffice {
            catalogue: sources.catalogue,
            rulebook: sources.rulebook.clone(),
            policy: sources.policy.clone(),
            office: Arc::clone(&office),
        });
        Ok(office)
    }

    fn make_past(&self, sources: &Sources) -> Result<Office, DeskFault> {
        let now = self.office()?;
        let stored: StoredCatalogue = match now.frozen_catalogue()? {
            frozen if frozen.digest() == sources.catalogue => parsed(text(frozen)?, sources.catalogue)?,
            _ => parsed(&self.content(sources.catalogue)?, sources.catalogue)?,
        };
        let (rulebook, policy) = (&sources.rulebook, &sources.policy);
        let rules = self.rules(&now, rulebook)?;
        let rules = StoredRulebook::new(&rulebook.id, rulebook.version, &rules, "");
        let held = now.policies.iter().map(|version| version.policy.policy());
        let mut held = held.filter(|held| held.id == policy.id);
        let held = held.find(|held| Frozen::of(*held).is_ok_and(|frozen| frozen.digest() == policy.digest));
        let prices: Policy = match held {
            Some(held) => held.clone(),
            None => parsed(&self.content(policy.digest)?, policy.digest)?,
        };
        let data = OfficeData {
            company: Company {
                currency: stored.currency,
                rulebook: rulebook.id.clone(),
                policy: policy.id.clone(),
                ..now.company.clone()
            },
            items: stored.items,
            labour: stored.labour,
            equipment: stored.equipment,
            // The one policy of the past holds on whatever day was priced.
            policies: vec![StoredPolicy {
                version: policy.version,
                // The quote says that it holds; since when is of no account.
                valid_from: NaiveDate::MIN,
                created_at: String::new(),
                policy: prices,
            }],
            rulebooks: RulebookShelf::single(&rules.head, ""),
        };
        Office::past(data, rules)
    }

    /// The catalogue of this digest, as it was when something was made from it.
    pub(super) fn past_catalogue(&self, digest: Digest) -> Result<Catalogue, DeskFault> {
        let stored: StoredCatalogue = parsed(&self.content(digest)?, digest)?;
        let made = Catalogue::new(stored.items, stored.labour, stored.equipment);
        made.map_err(|faults| {
            let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
            unreadable("snapshots", &digest.to_string(), told.join("; "))
        })
    }

    /// The text of the rules that a revision was made from.
    pub(super) fn rules(&self, now: &Office, rulebook: &VersionDigest) -> Result<String, DeskFault> {
        match now.shelf.opened(&rulebook.id, rulebook.version) {
            Some(text) if Digest::of(text.as_bytes()) == rulebook.digest => Ok(text.to_owned()),
            _ => self.content(rulebook.digest),
        }
    }

    /// The content of a snapshot, once its digest is right.
    pub(super) fn content(&self, digest: Digest) -> Result<String, DeskFault> {
        let corrupt = |message: &str| StoreFault::Corrupt {
            table: "snapshots",
            key: digest.to_string(),
            message: message.to_owned(),
        };
        let found = self.store.snapshot(&digest.to_string())?;
        let found = found.ok_or_else(|| corrupt("nothing: it is not there"))?;
        if Digest::of(found.content.as_bytes()) != digest {
            return Err(corrupt("a text that is not the one that was kept").into());
        }
        Ok(found.content)
    }
}

fn parsed<T: DeserializeOwned>(content: &str, digest: Digest) -> Result<T, DeskFault> {
    serde_json::from_str(content).map_err(|fault| {
        DeskFault::Store(StoreFault::Corrupt {
            table: "snapshots",
            key: digest.to_string(),
            message: fault.to_string(),
        })
    })
}
