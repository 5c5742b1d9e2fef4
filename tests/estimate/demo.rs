//! The demonstration company, loaded from `seed-data/` for tests that price whole jobs.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use estimate::catalogue::prices::PriceBook;
use estimate::catalogue::{Catalogue, Company, Equipment, Item, LabourClass};
use estimate::estimate::{Estimate, EstimateFault, Inputs, Since, estimate};
use estimate::job::Request;
use estimate::pricing::CheckedPolicy;
use estimate::pricing::policy::Policy;
use estimate::workbook::Workbook;
use serde::Deserialize;
use serde_json::Value;

pub struct Demo {
    pub company: Company,
    pub catalogue: Catalogue,
    pub policies: Vec<CheckedPolicy>,
    pub workbook: Workbook,
}

/// Since when rulebook and policy are the office's word.
pub const SINCE: Since = Since {
    rulebook: NaiveDate::from_ymd_opt(2025, 1, 2).unwrap(),
    policy: NaiveDate::from_ymd_opt(2025, 1, 3).unwrap(),
};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../seed-data")
}

pub fn text(file: &str) -> String {
    fs::read_to_string(folder().join(file)).unwrap()
}

pub fn list<T: for<'de> Deserialize<'de>>(file: &str, name: &str) -> Vec<T> {
    let mut table: toml::Table = text(file).parse().unwrap();
    let entries = table
        .remove(name)
        .unwrap_or_else(|| panic!("{file} has no {name}"));
    assert!(table.is_empty(), "{file} has more than {name}");
    entries
        .try_into()
        .unwrap_or_else(|fault| panic!("{file}: {fault}"))
}

pub fn catalogue() -> Catalogue {
    let items = list::<Item>("items.toml", "item");
    let labour = list::<LabourClass>("labour.toml", "labour_class");
    let equipment = list::<Equipment>("equipment.toml", "equipment");
    Catalogue::new(items, labour, equipment).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

/// Names of the job files, in order.
pub fn job_files() -> Vec<String> {
    let entries = fs::read_dir(folder().join("jobs")).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

impl Demo {
    pub fn load() -> Self {
        let company: Company = toml::from_str(&text("company.toml")).unwrap();
        let catalogue = catalogue();
        let policies = list::<Policy>("policy.toml", "policy");
        let categories: Vec<String> = policies
            .iter()
            .flat_map(|p| &p.tax.categories)
            .map(|c| c.code.clone())
            .collect();
        let categories: Vec<&str> = categories.iter().map(String::as_str).collect();
        let policies = policies
            .into_iter()
            .map(|policy| CheckedPolicy::new(policy, company.currency).unwrap())
            .collect();
        let rules = text("rulebook.toml");
        let workbook = Workbook::compile(&rules, 1, &catalogue, &categories).unwrap_or_else(|findings| {
            panic!("{}", estimate::rules::render(&findings, "rulebook.toml", &rules))
        });
        Self {
            company,
            catalogue,
            policies,
            workbook,
        }
    }

    pub fn job(file: &str) -> Value {
        serde_json::from_str(&text(&format!("jobs/{file}"))).unwrap()
    }

    pub fn read(&self, request: &Value) -> Request {
        self.workbook
            .read(request)
            .unwrap_or_else(|fault| panic!("{fault:#?}"))
    }

    pub fn policy(&self, request: &Request) -> &CheckedPolicy {
        let wanted = request.policy.as_ref().unwrap_or(&self.company.policy);
        self.policies
            .iter()
            .find(|policy| policy.policy().id == *wanted)
            .unwrap()
    }

    pub fn prices(&self, request: &Request) -> PriceBook {
        PriceBook::on(request.priced_on.unwrap_or(NaiveDate::MAX), &self.catalogue)
    }

    /// All that an estimate comes to, but for the words on its answers; none where it is refused.
    pub fn offered(&self, request: &Value) -> Option<Value> {
        let request = self.workbook.read(request).ok()?;
        let prices = self.prices(&request);
        let estimate = self.estimate(&request, &prices, false).ok()?;
        let mut offered = serde_json::to_value(&estimate).unwrap();
        for words in ["job", "assumptions", "not_measured", "usual_answers"] {
            offered.as_object_mut().unwrap().shift_remove(words);
        }
        Some(offered)
    }

    pub fn estimate<'a>(
        &'a self,
        request: &'a Request,
        prices: &'a PriceBook,
        explain: bool,
    ) -> Result<Estimate<'a>, EstimateFault> {
        let Self {
            workbook, catalogue, ..
        } = self;
        let policy = self.policy(request);
        estimate(Inputs {
            request,
            workbook,
            catalogue,
            prices,
            policy,
            policy_version: 1,
            explain: explain.then_some(SINCE),
        })
    }
}
