//! What the office knows at one moment, checked and compiled, and shared by every request until it changes.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use chrono::{NaiveDate, Utc};
use chrono_tz::Tz;
use estimate::catalogue::prices::PriceBook;
use estimate::catalogue::{Catalogue, Company};
use estimate::pricing::CheckedPolicy;
use estimate::quote::canonical::Frozen;
use estimate::quote::number::NumberPattern;
use estimate::workbook::Workbook;

use super::DeskFault;
use super::shelf::{RulebookVersion, Shelf, Texts};
use crate::store::{OfficeData, StoredRulebook};

/// Days whose prices are kept ready.
const DAYS_KEPT: usize = 16;

/// A policy that can be priced by, and its version.
#[derive(Debug)]
pub struct PolicyVersion {
    /// 1 for the first.
    pub version: u32,
    /// The first day on which it holds, until a later version does.
    pub valid_from: NaiveDate,
    /// When it was saved, RFC 3339 in UTC.
    pub created_at: String,
    /// The policy.
    pub policy: CheckedPolicy,
}

impl PolicyVersion {
    /// A tag of the policy whose newest version is `newest`, and of this version of it.
    pub fn tag(&self, newest: u32) -> String {
        format!("\"{newest}.{}\"", self.version)
    }

    fn key(&self) -> (&str, u32) {
        (&self.policy.policy().id, self.version)
    }
}

/// What the office knows at one moment.
#[derive(Debug)]
pub struct Office {
    /// The number of this state of the database.
    pub revision: i64,
    /// The company.
    pub company: Company,
    /// Items, labour classes and equipment.
    pub catalogue: Catalogue,
    /// Policies, every version, by name and version.
    pub policies: Vec<PolicyVersion>,
    /// Published rulebooks: every version, and which is current when.
    pub shelf: Shelf,
    /// Whether rules are held against the tax categories of the policies.
    knows_taxes: bool,
    time_zone: Tz,
    /// What numbers of quotes look like.
    pub(super) numbers: NumberPattern,
    prices: Mutex<BTreeMap<NaiveDate, Arc<PriceBook>>>,
    /// The catalogue as quotes keep it, made when the first one asks.
    pub(super) frozen_catalogue: OnceLock<Frozen>,
}

impl Office {
    /// Puts together what was read, and checks all of it.
    ///
    /// # Errors
    /// What does not hold together, everything of one kind at once.
    pub fn new(revision: i64, data: OfficeData, texts: Texts) -> Result<Self, DeskFault> {
        let catalogue =
            Catalogue::new(data.items, data.labour, data.equipment).map_err(DeskFault::Catalogue)?;
        let company = data.company;
        let time_zone = company.time_zone.parse::<Tz>();
        let time_zone = time_zone.map_err(|_| DeskFault::Company {
            field: "time_zone",
            message: format!("{} is no time zone of the IANA database", company.time_zone),
        })?;
        let numbers = NumberPattern::parse(&company.quote_numbers);
        let numbers = numbers.map_err(|fault| DeskFault::Company {
            field: "quote_numbers",
            message: fault.to_string(),
        })?;
        let mut policies = Vec::with_capacity(data.policies.len());
        for stored in data.policies {
            let id = stored.policy.id.clone();
            let policy = CheckedPolicy::new(stored.policy, company.currency);
            policies.push(PolicyVersion {
                version: stored.version,
                valid_from: stored.valid_from,
                created_at: stored.created_at,
                policy: policy.map_err(|faults| DeskFault::Policy { id, faults })?,
            });
        }
        policies.sort_by(|one: &PolicyVersion, other| one.key().cmp(&other.key()));
        Ok(Self {
            revision,
            company,
            catalogue,
            policies,
            shelf: Shelf::new(data.rulebooks, texts, time_zone),
            knows_taxes: true,
            time_zone,
            numbers,
            prices: Mutex::new(BTreeMap::new()),
            frozen_catalogue: OnceLock::new(),
        })
    }

    /// An office of former days: one rulebook and one policy, which a quote was made from. The rulebook was checked
    /// when it was published, beside policies that are not here.
    ///
    /// # Errors
    /// As [`Office::new`].
    pub(super) fn past(data: OfficeData, rules: StoredRulebook) -> Result<Self, DeskFault> {
        let office = Self::new(0, data, Texts::Held(vec![rules]))?;
        Ok(Self {
            knows_taxes: false,
            ..office
        })
    }

    /// Checks the text of a rulebook against this catalogue and compiles it.
    ///
    /// # Errors
    /// Every finding, when one of them is an error.
    pub fn compile(&self, text: &str, version: u32) -> Result<Workbook, DeskFault> {
        let made = Workbook::compile(text, version, &self.catalogue, &self.tax_categories());
        made.map_err(DeskFault::Rulebook)
    }

    /// Opens the text of a published version.
    fn reopen(&self, text: &str, version: u32) -> Result<Workbook, DeskFault> {
        let made = Workbook::reopen(text, version, &self.catalogue, &self.tax_categories());
        made.map_err(DeskFault::Rulebook)
    }

    /// The tax categories of all policies, where rules are held against them.
    fn tax_categories(&self) -> Vec<&str> {
        let policies = self.policies.iter().filter(|_| self.knows_taxes);
        let categories = policies.flat_map(|version| &version.policy.policy().tax.categories);
        let mut codes: Vec<&str> = categories.map(|category| category.code.as_str()).collect();
        codes.sort_unstable();
        codes.dedup();
        codes
    }

    /// The same for rules that are to count from `day` on: nothing that they buy may lack a price then.
    ///
    /// # Errors
    /// Every finding, when one of them is an error.
    pub fn compile_priced(&self, text: &str, version: u32, day: NaiveDate) -> Result<Workbook, DeskFault> {
        let workbook = self.compile(text, version)?;
        let mut findings = workbook.unpriced(&self.prices_on(day));
        if findings.is_empty() {
            return Ok(workbook);
        }
        findings.extend(workbook.warnings().iter().cloned());
        findings.sort_by_key(|finding| (finding.span.start, finding.severity));
        Err(DeskFault::Rulebook(findings))
    }

    /// The policy of this name that holds today, or the company's own when none is named.
    ///
    /// # Errors
    /// There is none of this name, or none that holds yet.
    pub fn policy(&self, id: Option<&str>) -> Result<&PolicyVersion, DeskFault> {
        self.policy_on(id, self.today())
    }

    /// The policy of this name that holds on `day`: the newest version whose first day is not later. The company's own
    /// when none is named.
    ///
    /// # Errors
    /// There is none of this name, or none that holds yet.
    pub fn policy_on(&self, id: Option<&str>, day: NaiveDate) -> Result<&PolicyVersion, DeskFault> {
        let id = id.unwrap_or(&self.company.policy);
        let holds = self
            .policy_versions(id)
            .filter(|version| version.valid_from <= day);
        holds.last().ok_or_else(|| DeskFault::unknown("policy", id))
    }

    /// Every version of the policy of this name, the first one first.
    pub fn policy_versions(&self, id: &str) -> impl Iterator<Item = &PolicyVersion> {
        self.policies
            .iter()
            .filter(move |version| version.policy.policy().id == id)
    }

    /// The version of a rulebook that is current today; the company's own rulebook when none is named.
    ///
    /// # Errors
    /// There is none of this name, or its rules do not fit the catalogue any more.
    pub fn rulebook(&self, id: Option<&str>) -> Result<&RulebookVersion, DeskFault> {
        self.rulebook_on(id, None, self.today())
    }

    /// The version of a rulebook that is named, or else the one that is current on `day`.
    ///
    /// # Errors
    /// There is no such rulebook or version, or its rules do not fit the catalogue any more.
    pub fn rulebook_on(
        &self,
        id: Option<&str>,
        version: Option<u32>,
        day: NaiveDate,
    ) -> Result<&RulebookVersion, DeskFault> {
        let id = id.unwrap_or(&self.company.rulebook);
        let version = match version {
            Some(version) => version,
            None => self
                .shelf
                .current_on(id, day)
                .ok_or_else(|| DeskFault::unknown("rulebook", id))?,
        };
        self.shelf.version(id, version, |text| self.reopen(text, version))
    }

    /// Today, where the company is.
    pub fn today(&self) -> NaiveDate {
        Utc::now().with_timezone(&self.time_zone).date_naive()
    }

    /// The prices of a day, read out of the catalogue once.
    pub fn prices_on(&self, day: NaiveDate) -> Arc<PriceBook> {
        let mut kept = self.prices.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(prices) = kept.get(&day) {
            return Arc::clone(prices);
        }
        if kept.len() >= DAYS_KEPT {
            kept.pop_first();
        }
        let prices = Arc::new(PriceBook::on(day, &self.catalogue));
        kept.insert(day, Arc::clone(&prices));
        prices
    }
}
