//! Seed data goes into an empty database: all of it, or nothing.

use chrono::NaiveDate;

use super::{Desk, DeskFault, Office, SeedFolder, now};
use crate::store::{Loaded, OfficeData, StoreFault, StoredPolicy, StoredRulebook};

impl Desk {
    /// Checks the whole of `seed` as one and puts it into the database in one transaction.
    ///
    /// # Errors
    /// Every fault of the data, or [`DeskFault::NotEmpty`] when the database holds other data.
    pub fn load_seed(&self, seed: SeedFolder) -> Result<Loaded, DeskFault> {
        let digest = seed.digest.clone();
        let now = now();
        let data = rows(seed, &now);
        checked(data.clone())?;
        self.store.load(&data, &digest).map_err(|fault| match fault {
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
        checked(rows(seed, &now()))
    }

    /// The same without its rulebook: what a rulebook is checked against.
    ///
    /// # Errors
    /// Every fault of the other data.
    pub fn of_seed_without_rules(seed: SeedFolder) -> Result<Self, DeskFault> {
        Self::new(
            0,
            OfficeData {
                rulebooks: Vec::new(),
                ..rows(seed, &now())
            },
        )
    }
}

fn rows(seed: SeedFolder, now: &str) -> OfficeData {
    OfficeData {
        rulebooks: vec![StoredRulebook::new(
            &seed.company.rulebook,
            1,
            &seed.rulebook,
            now,
        )],
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
    }
}

/// The office that the rows make, once all of it holds together.
fn checked(data: OfficeData) -> Result<Office, DeskFault> {
    let office = Office::new(0, data)?;
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
