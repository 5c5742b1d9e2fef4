//! Seed data goes into an empty database: all of it, or nothing.

use estimate::catalogue::Catalogue;

use super::{Desk, DeskFault, SeedFolder, now};
use crate::store::{Loaded, OfficeData, StoreFault, StoredRulebook};

impl Desk {
    /// Checks the whole of `seed` as one and puts it into the database in one transaction.
    ///
    /// # Errors
    /// Every fault of the data, or [`DeskFault::NotEmpty`] when the database holds other data.
    pub fn load_seed(&self, seed: SeedFolder) -> Result<Loaded, DeskFault> {
        let digest = seed.digest.clone();
        let now = now();
        let data = office_data(seed, &now)?;
        self.store
            .load(&data, &digest, &now)
            .map_err(|fault| match fault {
                StoreFault::Exists => DeskFault::NotEmpty,
                other => DeskFault::Store(other),
            })
    }
}

/// The rows of `seed`, once all of it has been checked.
pub(super) fn office_data(seed: SeedFolder, now: &str) -> Result<OfficeData, DeskFault> {
    Catalogue::new(seed.items.clone(), seed.labour.clone(), seed.equipment.clone())
        .map_err(DeskFault::Catalogue)?;
    let rulebook = StoredRulebook::new(&seed.company.rulebook, 1, &seed.rulebook, now);
    Ok(OfficeData {
        company: seed.company,
        items: seed.items,
        labour: seed.labour,
        equipment: seed.equipment,
        policies: seed.policies.into_iter().map(|policy| (1, policy)).collect(),
        rulebooks: vec![rulebook],
    })
}
