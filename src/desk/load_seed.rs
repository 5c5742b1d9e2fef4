//! Seed data goes into an empty database: all of it, or nothing.

use chrono::NaiveDate;
use estimate::catalogue::CatalogueFault;
use estimate::catalogue::prices::beyond;
use estimate::handoff::ledger::LedgerSettings;

use super::house_styles::first_style;
use super::shelf::Texts;
use super::{Desk, DeskFault, Office, SeedFolder, now};
use crate::store::{
    Loaded, OfficeData, Own, RulebookShelf, SettingsRow, StoreFault, StoredPolicy, StoredRulebook,
};

impl Desk {
    /// Checks the whole of `seed` as one and puts it into the database in one transaction.
    ///
    /// # Errors
    /// Every fault of the data, or [`DeskFault::NotEmpty`] when the database holds other data.
    pub fn load_seed(&self, seed: SeedFolder) -> Result<Loaded, DeskFault> {
        let digest = seed.digest.clone();
        let now = now();
        let style = seed.house_style.clone().map(|style| first_style(style, &now));
        let ledger = seed
            .ledger
            .as_ref()
            .map(|settings| first_settings(settings, &now));
        let ledger = ledger.transpose()?;
        let (data, rules) = rows(seed, &now);
        checked(data.clone(), rules.clone())?;
        let own = Own {
            house_style: style.as_ref(),
            ledger: ledger.as_ref(),
        };
        self.store
            .load(&data, &[rules], own, &digest)
            .map_err(|fault| match fault {
                StoreFault::Exists => DeskFault::NotEmpty,
                other => DeskFault::Store(other),
            })
    }
}

impl Office {
    /// The office of a folder of seed data, without a database.
    ///
    /// # Errors
    /// Every fault of the data.
    pub fn of_seed(seed: SeedFolder) -> Result<Self, DeskFault> {
        let (data, rules) = rows(seed, &now());
        checked(data, rules)
    }

    /// The same without its rulebook: what a rulebook is checked against.
    ///
    /// # Errors
    /// Every fault of the other data.
    pub fn of_seed_without_rules(seed: SeedFolder) -> Result<Self, DeskFault> {
        let (data, _) = rows(seed, &now());
        in_bounds(&data)?;
        let data = OfficeData {
            rulebooks: RulebookShelf::default(),
            ..data
        };
        Self::new(0, data, Texts::Held(Vec::new()))
    }
}

/// Who entered what came with the seed data.
const SEED: &str = "seed data";

fn first_settings(settings: &LedgerSettings, now: &str) -> Result<SettingsRow, DeskFault> {
    Ok(SettingsRow {
        version: 1,
        body: serde_json::to_string(settings).map_err(|fault| DeskFault::Defect(fault.to_string()))?,
        created_at: now.to_owned(),
        created_by: SEED.to_owned(),
    })
}

fn rows(seed: SeedFolder, now: &str) -> (OfficeData, StoredRulebook) {
    let rules = StoredRulebook::new(&seed.company.rulebook, 1, &seed.rulebook, now);
    let data = OfficeData {
        rulebooks: RulebookShelf::single(&rules.head, SEED),
        company: seed.company,
        items: seed.items,
        labour: seed.labour,
        equipment: seed.equipment,
        policies: seed
            .policies
            .into_iter()
            .map(|policy| StoredPolicy {
                version: 1,
                valid_from: NaiveDate::from_ymd_opt(1, 1, 1).unwrap_or_default(),
                created_at: now.to_owned(),
                policy,
            })
            .collect(),
    };
    (data, rules)
}

/// Prices are held against the most that one may be, as those that are entered later.
fn in_bounds(data: &OfficeData) -> Result<(), DeskFault> {
    let packs = data
        .items
        .iter()
        .flat_map(|item| item.packs.iter().map(move |pack| (item, pack)));
    let prices = packs.flat_map(|(item, pack)| pack.prices.iter().map(move |price| (item, price)));
    let beyond = prices.filter_map(|(item, price)| {
        Some(CatalogueFault {
            place: format!("item {}", item.code),
            message: format!("price {}", beyond(price.amount, data.company.currency)?),
        })
    });
    let faults: Vec<CatalogueFault> = beyond.collect();
    if faults.is_empty() {
        return Ok(());
    }
    Err(DeskFault::Catalogue(faults))
}

/// The office that the rows make, once all of it holds together.
fn checked(data: OfficeData, rules: StoredRulebook) -> Result<Office, DeskFault> {
    in_bounds(&data)?;
    let office = Office::new(0, data, Texts::Held(vec![rules]))?;
    office.policy(None)?;
    let wanted = &office.company.rulebook;
    match office.rulebook(None)?.workbook.version().id {
        named if named == wanted => Ok(office),
        named => Err(DeskFault::OtherName {
            wanted: wanted.clone(),
            named: named.to_owned(),
        }),
    }
}
