//! The demonstration office as the tests of quotes use it: it prices requests as they are written.

use std::sync::LazyLock;

use chrono::{DateTime, NaiveDate, Utc};
use estimate::catalogue::prices::PriceBook;
use estimate::estimate::{Inputs, estimate};
use estimate::pricing::CheckedPolicy;
use estimate::pricing::policy::Policy;
use estimate::quote::canonical::{Digest, Frozen};
use estimate::quote::draft::Draft;
use estimate::quote::estimated::Estimated;
use estimate::quote::number::{NumberPattern, RevisionName};
use estimate::quote::party::{Address, Customer, Site};
use estimate::quote::revision::{Issue, Sources, VersionDigest};
use estimate::quote::validity::{Validity, Zone};
use estimate::workbook::Workbook;
use serde_json::Value;

use crate::demo::{Demo, text};

static DEMO: LazyLock<Demo> = LazyLock::new(Demo::load);
static OFFICE: LazyLock<Office> = LazyLock::new(|| Office::of(text("rulebook.toml"), 1, day(), 1, |_| ()));

/// An office that prices with one rulebook, one policy and the prices of one day.
pub struct Office {
    demo: &'static Demo,
    rulebook: String,
    workbook: Workbook,
    policy: CheckedPolicy,
    day: NaiveDate,
    versions: (u32, u32),
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

    /// An office with other rules, prices of another day, or another policy.
    pub fn of(
        rulebook: String,
        rules_version: u32,
        day: NaiveDate,
        policy_version: u32,
        change: impl Fn(&mut Policy),
    ) -> Self {
        let demo = &*DEMO;
        let workbook = Workbook::compile(&rulebook, rules_version, &demo.catalogue, &[])
            .unwrap_or_else(|faults| panic!("{faults:#?}"));
        let own = demo
            .policies
            .iter()
            .find(|policy| policy.policy().id == demo.company.policy);
        let mut policy = own.unwrap().policy().clone();
        change(&mut policy);
        let policy = CheckedPolicy::new(policy, demo.company.currency).unwrap();
        Self {
            demo,
            rulebook,
            workbook,
            policy,
            day,
            versions: (rules_version, policy_version),
        }
    }

    pub fn policy(&self) -> &Policy {
        self.policy.policy()
    }

    pub fn workbook(&self) -> &Workbook {
        &self.workbook
    }

    pub fn draft(&self, tree: &Value) -> Draft {
        Draft::read(tree, self.workbook.form(), self.workbook.unknown_rules())
            .unwrap_or_else(|fault| panic!("{fault}"))
    }

    pub fn estimate(&self, request: &Value) -> Result<Estimated, String> {
        self.with(request, &self.workbook, &self.policy, self.versions.1, self.day)
    }

    /// An estimate from the rules, the prices and the policy of whichever offices.
    pub fn mixed(
        rules: &Office,
        prices: &Office,
        policy: &Office,
        request: &Value,
    ) -> Result<Estimated, String> {
        rules.with(
            request,
            &rules.workbook,
            &policy.policy,
            policy.versions.1,
            prices.day,
        )
    }

    fn with(
        &self,
        request: &Value,
        workbook: &Workbook,
        policy: &CheckedPolicy,
        policy_version: u32,
        day: NaiveDate,
    ) -> Result<Estimated, String> {
        let request = workbook.read(request).map_err(|fault| fault.to_string())?;
        let prices = PriceBook::on(day, &self.demo.catalogue);
        let made = estimate(Inputs {
            request: &request,
            workbook,
            catalogue: &self.demo.catalogue,
            prices: &prices,
            policy,
            policy_version,
            explain: false,
        })
        .map_err(|fault| format!("{fault:?}"))?;
        Estimated::of(&made).map_err(|fault| fault.to_string())
    }

    pub fn sources(&self) -> Sources {
        Sources {
            program: "test".to_owned(),
            rulebook: VersionDigest {
                id: self.workbook.version().id.to_owned(),
                version: self.versions.0,
                digest: Digest::of(self.rulebook.as_bytes()),
            },
            policy: VersionDigest {
                id: self.policy().id.clone(),
                version: self.versions.1,
                digest: Frozen::of(self.policy()).unwrap().digest(),
            },
            catalogue: Frozen::of(self.demo.catalogue.items()).unwrap().digest(),
            priced_on: self.day,
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
