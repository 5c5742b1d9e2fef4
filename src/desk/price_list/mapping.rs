//! Column mappings, saved in versions.

use estimate::catalogue::price_list::{Mapping, MappingFault};

use crate::desk::{Desk, DeskFault, Office, Told, now};
use crate::store::{RequestKey, StoreFault, StoredMapping};

impl Desk {
    /// The newest version of every mapping, by name.
    ///
    /// # Errors
    /// The database.
    pub fn price_list_mappings(&self) -> Result<Vec<StoredMapping>, DeskFault> {
        Ok(self.store.price_list_mappings()?)
    }

    /// The newest version of the mapping `id`.
    ///
    /// # Errors
    /// There is none of this name, or the database.
    pub fn price_list_mapping(&self, id: &str) -> Result<StoredMapping, DeskFault> {
        let all = self.store.price_list_mappings()?;
        let found = all.into_iter().find(|stored| stored.mapping.id == id);
        found.ok_or_else(|| DeskFault::unknown("price list mapping", id))
    }

    /// Saves `mapping` as the version after `base`, 0 for a new one, once for `key`. `tell` makes the answer of it.
    ///
    /// # Errors
    /// Every fault of the mapping; [`DeskFault::Changed`], or [`DeskFault::Taken`] for a new one, when the newest version
    /// is another by now.
    pub fn save_price_list_mapping(
        &self,
        key: Option<&RequestKey>,
        mapping: &Mapping,
        base: u32,
        tell: impl Fn(&StoredMapping) -> Result<Told, DeskFault>,
    ) -> Result<Told, DeskFault> {
        self.once(key, || {
            let office = self.office()?;
            let mut faults = mapping.faults();
            faults.extend(office.mapping_faults(mapping));
            if let Some(new) = &mapping.new_items {
                let unknown = self.unknown_cost_code(&office, &new.cost_code)?;
                faults.extend(unknown.map(|message| MappingFault {
                    pointer: "/new_items/cost_code".to_owned(),
                    message,
                }));
            }
            if !faults.is_empty() {
                return Err(DeskFault::Mapping(faults));
            }
            let stored = StoredMapping {
                version: base.saturating_add(1),
                created_at: now(),
                mapping: mapping.clone(),
            };
            let answer = tell(&stored)?.text()?;
            let saved = self.store.save_price_list_mapping(key, &stored, &answer);
            saved.map_err(|fault| match fault {
                StoreFault::Changed | StoreFault::Exists if base == 0 => {
                    DeskFault::taken("mapping", &mapping.id)
                }
                StoreFault::Changed | StoreFault::Exists => DeskFault::Changed,
                other => DeskFault::Store(other),
            })
        })
    }
}

impl Office {
    /// What in a mapping does not fit this office.
    pub(super) fn mapping_faults(&self, mapping: &Mapping) -> Option<MappingFault> {
        let category = &mapping.new_items.as_ref()?.tax_category;
        let without = self.policies.iter().find(|version| {
            let categories = &version.policy.policy().tax.categories;
            !categories.iter().any(|known| known.code == *category)
        })?;
        Some(MappingFault {
            pointer: "/new_items/tax_category".to_owned(),
            message: format!(
                "{category} is not a tax category of the policy {}",
                without.policy.policy().id
            ),
        })
    }
}
