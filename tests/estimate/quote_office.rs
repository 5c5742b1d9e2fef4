//! The demonstration office as the tests of quotes use it: it prices requests as they are written.

use std::sync::LazyLock;

use chrono::{DateTime, NaiveDate, Utc};
use estimate::catalogue::prices::PriceBook;
use estimate::catalogue::{Catalogue, Equipment, Item, LabourClass};
use estimate::estimate::{Inputs, estimate};
use estimate::pricing::CheckedPolicy;
use estimate::pricing::policy::Policy;
use estimate::quantity::Decimal;
use estimate::quote::canonical::{Digest, Frozen};
use estimate::quote::draft::Draft;
use estimate::quote::estimated::Estimated;
use estimate::quote::number::{NumberPattern, RevisionName};
use estimate::quote::party::{Address, Customer, Site};
use estimate::quote::revision::{Issue, Sources, VersionDigest};
use estimate::quote::validity::{Validity, Zone};
use estimate::workbook::Workbook;
use serde_json::Value;

use crate::demo::{Demo, list, text};

static DEMO: LazyLock<Demo> = LazyLock::new(Demo::load);
static OFFICE: LazyLock<Office> = LazyLock::new(|| Office::of(Versions::default()));

/// An office that prices with one rulebook, one policy and the prices of one day.
pub struct Office {
    demo: &'static Demo,
    catalogue: Catalogue,
    workbook: Workbook,
    policy: CheckedPolicy,
    versions: Versions,
}

/// Of what an office makes its estimates.
pub struct Versions {
    /// Version and text.
    pub rulebook: (u32, String),
    /// Version, and percent points of overhead more than the demonstration's.
    pub policy: (u32, Decimal),
    /// What every price of the demonstration is multiplied by.
    pub price_level: Decimal,
    /// The day.
    pub day: NaiveDate,
}

impl Default for Versions {
    fn default() -> Self {
        Self {
            rulebook: (1, text("rulebook.toml")),
            policy: (1, Decimal::ZERO),
            price_level: Decimal::ONE,
            day: day(),
        }
    }
}

/// The day of the demonstration's jobs.
pub fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2025, 4, 14).unwrap()
}

/// 4 March 2031, 15:00 in the company's zone.
pub fn moment() -> DateTime<Utc> {
    "2031-03-04T20:00:00Z".parse().unwrap()
}

/// A job of the demonstration, without the day in its request: an office has its own.
pub fn job(name: &str) -> Value {
    let mut request = Demo::job(&format!("{name}.json"));
    request.as_object_mut().unwrap().remove("priced_on");
    request
}

impl Office {
    /// The office as it is.
    pub fn usual() -> &'static Self {
        &OFFICE
    }

    /// An office with other rules, prices, or another policy.
    pub fn of(versions: Versions) -> Self {
        let demo = &*DEMO;
        let mut items = list::<Item>("items.toml", "item");
        let prices = items
            .iter_mut()
            .flat_map(|item| &mut item.packs)
            .flat_map(|pack| &mut pack.prices);
        prices.for_each(|price| price.amount *= versions.price_level);
        let labour = list::<LabourClass>("labour.toml", "labour_class");
        let equipment = list::<Equipment>("equipment.toml", "equipment");
        let catalogue =
            Catalogue::new(items, labour, equipment).unwrap_or_else(|faults| panic!("{faults:#?}"));
        let workbook = Workbook::compile(&versions.rulebook.1, versions.rulebook.0, &catalogue, &[])
            .unwrap_or_else(|faults| panic!("{faults:#?}"));
        let own = demo
            .policies
            .iter()
            .find(|policy| policy.policy().id == demo.company.policy);
        let mut policy = own.unwrap().policy().clone();
        policy.overhead_percent += versions.policy.1;
        let policy = CheckedPolicy::new(policy, demo.company.currency).unwrap();
        Self {
            demo,
            catalogue,
            workbook,
            policy,
            versions,
        }
    }

    pub fn policy(&self) -> &Policy {
        self.policy.policy()
    }

    pub fn workbook(&self) -> &Workbook {
        &self.workbook
    }

    pub fn draft(&self, tree: &Value) -> Draft {
        Draft::read(tree, self.workbook.reader(None)).unwrap_or_else(|fault| panic!("{fault}"))
    }

    pub fn estimate(&self, request: &Value) -> Result<Estimated, String> {
        Self::mixed(self, self, self, request)
    }

    /// An estimate from the rules, the prices and the policy of whichever offices.
    pub fn mixed(
        rules: &Office,
        prices: &Office,
        policy: &Office,
        request: &Value,
    ) -> Result<Estimated, String> {
        let request = rules.workbook.read(request).map_err(|fault| fault.to_string())?;
        estimate(Inputs {
            request: &request,
            workbook: &rules.workbook,
            catalogue: &prices.catalogue,
            prices: &PriceBook::on(prices.versions.day, &prices.catalogue),
            policy: &policy.policy,
            policy_version: policy.versions.policy.0,
            explain: None,
        })
        .map_err(|fault| format!("{fault:?}"))
        .and_then(|made| Estimated::of(&made).map_err(|fault| fault.to_string()))
    }

    pub fn sources(&self) -> Sources {
        Sources {
            program: "test".to_owned(),
            rulebook: VersionDigest {
                id: self.workbook.version().id.to_owned(),
                version: self.versions.rulebook.0,
                digest: Digest::of(self.versions.rulebook.1.as_bytes()),
            },
            policy: VersionDigest {
                id: self.policy().id.clone(),
                version: self.versions.policy.0,
                digest: Frozen::of(self.policy()).unwrap().digest(),
            },
            catalogue: Frozen::of(self.catalogue.items()).unwrap().digest(),
            priced_on: self.versions.day,
        }
    }

    /// What is said at the issue of the revision `name`.
    pub fn issue(&self, name: &str) -> Issue {
        let company = &self.demo.company;
        let address = || Address {
            lines: vec!["14 Alderwick Lane".to_owned(), "Fallowmere".to_owned()],
            country: None,
        };
        let name = RevisionName::parse(name).unwrap();
        let pattern = NumberPattern::parse(&company.quote_numbers).unwrap();
        pattern.read(name.number.as_str()).unwrap();
        Issue {
            name,
            previous: None,
            at: moment(),
            by: "Ines Calloway".to_owned(),
            validity: Validity::of_days(moment(), 30, Zone::parse(&company.time_zone).unwrap()).unwrap(),
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
