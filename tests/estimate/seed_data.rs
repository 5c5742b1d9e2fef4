//! The demonstration company's data: they load without a fault and are as large as promised.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use estimate::catalogue::{Catalogue, Company, Equipment, Item, LabourClass};
use estimate::pricing::policy::Policy;
use rust_decimal::Decimal;
use serde::Deserialize;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../seed-data")
}

pub fn text(file: &str) -> String {
    fs::read_to_string(folder().join(file)).unwrap()
}

fn read<T: for<'de> Deserialize<'de>>(file: &str) -> T {
    toml::from_str(&text(file)).unwrap_or_else(|fault| panic!("{file}: {fault}"))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Items {
    item: Vec<Item>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LabourClasses {
    labour_class: Vec<LabourClass>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct EquipmentClasses {
    equipment: Vec<Equipment>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Policies {
    policy: Vec<Policy>,
}

pub fn catalogue() -> Catalogue {
    Catalogue::new(
        read::<Items>("items.toml").item,
        read::<LabourClasses>("labour.toml").labour_class,
        read::<EquipmentClasses>("equipment.toml").equipment,
    )
    .unwrap_or_else(|faults| panic!("{faults:#?}"))
}

/// The day on which the example jobs are priced.
fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2025, 4, 14).unwrap()
}

#[test]
fn every_pack_has_a_price_on_the_day_of_the_examples() {
    let catalogue = catalogue();
    assert!(catalogue.items().len() >= 110);
    for item in catalogue.items() {
        for pack in &item.packs {
            let price = pack.price_on(day());
            assert!(
                price.is_some(),
                "{} pack of {} has no price",
                item.code,
                pack.size
            );
        }
    }
}

#[test]
fn tax_categories_and_the_named_policy_exist() {
    let company: Company = read("company.toml");
    let policies = read::<Policies>("policy.toml").policy;
    assert!(policies.iter().any(|p| p.id == company.policy));
    let catalogue = catalogue();
    for policy in &policies {
        let known = |code: &str| policy.tax.categories.iter().any(|c| c.code == code);
        for item in catalogue.items() {
            assert!(known(&item.tax_category), "{}: {}", item.code, item.tax_category);
        }
        for class in catalogue.labour() {
            assert!(
                known(&class.tax_category),
                "{}: {}",
                class.code,
                class.tax_category
            );
        }
        let shares: Decimal = policy.schedule.iter().map(|i| i.share).sum();
        assert_eq!(shares, Decimal::ONE_HUNDRED, "{}", policy.id);
    }
}

/// The worked loaded rates: wage 34.00 and 21.00, 2,080 hours paid and 1,736 productive. Payroll tax of
/// 7.65 % is statute (26 U.S.C. 3111); the other figures are the example's own. By hand: 92,809.88 / 1,736
/// = 53.46 and 60,591.72 / 1,736 = 34.90.
#[test]
fn the_worked_loaded_rates_come_out_to_the_cent() {
    let catalogue = catalogue();
    for (code, a_year, an_hour) in [
        ("lead_mechanic", "92809.88", "53.46"),
        ("apprentice", "60591.72", "34.90"),
    ] {
        let place = catalogue.labour_place(code).unwrap();
        let class = &catalogue.labour()[place];
        let loaded = class.rate_on(day()).unwrap().loaded().unwrap();
        assert_eq!(loaded.productive_hours, Decimal::from(1736), "{code}");
        assert_eq!(loaded.cost_a_year.to_string(), a_year, "{code}");
        assert_eq!(loaded.cost_an_hour.to_string(), an_hour, "{code}");
    }
}
