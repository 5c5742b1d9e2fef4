//! The demonstration office as the tests of quotes use it: it prices requests as they are written.

use std::fs;
use std::path::Path;

use chrono::{DateTime, NaiveDate, Utc};
use estimate::catalogue::prices::PriceBook;
use estimate::catalogue::{Catalogue, Company, Equipment, Item, LabourClass};
use estimate::estimate::{Inputs, estimate};
use estimate::pricing::CheckedPolicy;
use estimate::pricing::policy::Policy;
use estimate::quote::canonical::{Digest, Frozen};
use estimate::quote::estimated::Estimated;
use estimate::quote::number::{NumberPattern, RevisionName};
use estimate::quote::party::{Address, Customer, Site};
use estimate::quote::revision::{Issue, Sources, VersionDigest};
use estimate::quote::validity::{Validity, Zone};
use estimate::workbook::Workbook;
use serde::Deserialize;
use serde_json::Value;

/// Everything that an estimate of the demonstration company is made from.
pub struct Office {
    pub company: Company,
    pub catalogue: Catalogue,
    pub rulebook: String,
    pub workbook: Workbook,
    pub policy: CheckedPolicy,
}

#[derive(Deserialize)]
struct Files {
    #[serde(default)]
    item: Vec<Item>,
    #[serde(default)]
    labour_class: Vec<LabourClass>,
    #[serde(default)]
    equipment: Vec<Equipment>,
    #[serde(default)]
    policy: Vec<Policy>,
}

pub fn seed(file: &str) -> String {
    fs::read_to_string(
        Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../../seed-data")
            .join(file),
    )
    .unwrap()
}

fn files(file: &str) -> Files {
    toml::from_str(&seed(file)).unwrap()
}

/// The request of one of the demonstration's jobs.
pub fn job(name: &str) -> Value {
    serde_json::from_str(&seed(&format!("jobs/{name}.json"))).unwrap()
}

/// 4 March 2031, 15:00 in the company's zone.
pub fn moment() -> DateTime<Utc> {
    "2031-03-04T20:00:00Z".parse().unwrap()
}

impl Office {
    pub fn new() -> Self {
        Self::with(|rulebook| rulebook, |_| (), |_| ())
    }

    /// The office with another rulebook, other items or another policy.
    pub fn with(
        rulebook: impl Fn(String) -> String,
        items: impl Fn(&mut Vec<Item>),
        policy: impl Fn(&mut Policy),
    ) -> Self {
        let company: Company = toml::from_str(&seed("company.toml")).unwrap();
        let mut bought = files("items.toml").item;
        items(&mut bought);
        let catalogue = Catalogue::new(
            bought,
            files("labour.toml").labour_class,
            files("equipment.toml").equipment,
        )
        .unwrap_or_else(|faults| panic!("{faults:#?}"));
        let text = rulebook(seed("rulebook.toml"));
        let workbook =
            Workbook::compile(&text, 1, &catalogue, &[]).unwrap_or_else(|faults| panic!("{faults:#?}"));
        let mut own = files("policy.toml").policy;
        let mut own = own.swap_remove(own.iter().position(|policy| policy.id == company.policy).unwrap());
        policy(&mut own);
        let policy = CheckedPolicy::new(own, company.currency).unwrap_or_else(|faults| panic!("{faults:#?}"));
        Self {
            company,
            catalogue,
            rulebook: text,
            workbook,
            policy,
        }
    }

    pub fn estimate(&self, request: &Value) -> Result<Estimated, String> {
        self.estimate_on(request, NaiveDate::from_ymd_opt(2025, 4, 14).unwrap())
    }

    pub fn estimate_on(&self, request: &Value, day: NaiveDate) -> Result<Estimated, String> {
        let request = self.workbook.read(request).map_err(|fault| fault.to_string())?;
        let day = request.priced_on.unwrap_or(day);
        let prices = PriceBook::on(day, &self.catalogue);
        let inputs = Inputs {
            request: &request,
            workbook: &self.workbook,
            catalogue: &self.catalogue,
            prices: &prices,
            policy: &self.policy,
            policy_version: 1,
            explain: false,
        };
        let made = estimate(inputs).map_err(|fault| format!("{fault:?}"))?;
        Estimated::of(&made).map_err(|fault| fault.to_string())
    }

    pub fn sources(&self) -> Sources {
        let policy = self.policy.policy();
        Sources {
            program: "test".to_owned(),
            rulebook: VersionDigest {
                id: self.workbook.version().id.to_owned(),
                version: 1,
                digest: Digest::of(self.rulebook.as_bytes()),
            },
            policy: VersionDigest {
                id: policy.id.clone(),
                version: 1,
                digest: Frozen::of(policy).unwrap().digest(),
            },
            catalogue: Frozen::of(self.catalogue.items()).unwrap().digest(),
            priced_on: NaiveDate::from_ymd_opt(2025, 4, 14).unwrap(),
        }
    }

    pub fn issue(&self, name: &str) -> Issue {
        let zone = Zone::parse(&self.company.time_zone).unwrap();
        let address = || Address {
            lines: vec!["14 Alderwick Lane".to_owned(), "Fallowmere".to_owned()],
            country: None,
        };
        NumberPattern::parse(&self.company.quote_numbers).unwrap();
        Issue {
            name: RevisionName::parse(name).unwrap(),
            previous: None,
            at: moment(),
            by: "Ines Calloway".to_owned(),
            validity: Validity::of_days(moment(), 30, zone).unwrap(),
            customer: Customer {
                id: "c-1".to_owned(),
                name: "Odalie Brackwater".to_owned(),
                contact: None,
                address: address(),
                mail: None,
                telephone: None,
            },
            site: Site {
                id: "s-1".to_owned(),
                name: "Closet cellar".to_owned(),
                address: address(),
            },
            made_from: self.sources(),
            approval: None,
        }
    }
}
