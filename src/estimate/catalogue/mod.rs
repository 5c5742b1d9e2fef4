//! What the company buys, who works for it and which units it installs.
//!
//! In: the office's data, dated. Out: the same, looked up by code, and what holds on a given day.
//! Deliberately absent: which of it a job needs (that is `rules`) and money added up (`pricing`).

pub mod check;
pub mod company;
pub mod equipment;
pub mod facts;
pub mod item;
pub mod labour;
pub mod labour_hour;
pub mod labour_limits;
pub mod price_list;
pub mod prices;

use std::collections::HashMap;

pub use check::CatalogueFault;
pub use company::Company;
pub use equipment::Equipment;
pub use item::Item;
pub use labour::LabourClass;
pub use prices::PriceBook;

/// Items, labour classes and equipment that agree with one another, looked up by code.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Catalogue {
    items: Vec<Item>,
    labour: Vec<LabourClass>,
    equipment: Vec<Equipment>,
    item_places: HashMap<String, usize>,
    labour_places: HashMap<String, usize>,
}

impl Catalogue {
    /// Puts the parts together.
    ///
    /// # Errors
    /// Every fault that [`check`] finds: codes used twice, equipment that names no item, tables whose rows
    /// do not fit their heads.
    pub fn new(
        items: Vec<Item>,
        labour: Vec<LabourClass>,
        mut equipment: Vec<Equipment>,
    ) -> Result<Self, Vec<CatalogueFault>> {
        let faults = check::all(&items, &labour, &equipment);
        if !faults.is_empty() {
            return Err(faults);
        }
        equipment.sort_by_key(|e| (e.volume_limit, e.class.clone()));
        let places = |codes: Vec<&String>| codes.into_iter().cloned().zip(0..).collect();
        let item_places = places(items.iter().map(|i| &i.code).collect());
        let labour_places = places(labour.iter().map(|l| &l.code).collect());
        Ok(Self {
            items,
            labour,
            equipment,
            item_places,
            labour_places,
        })
    }

    /// Every item, in the office's order.
    pub fn items(&self) -> &[Item] {
        &self.items
    }

    /// Every labour class, in the office's order.
    pub fn labour(&self) -> &[LabourClass] {
        &self.labour
    }

    /// Every class of equipment, the smallest volume limit first.
    pub fn equipment(&self) -> &[Equipment] {
        &self.equipment
    }

    /// The place of an item in [`Self::items`].
    pub fn item_place(&self, code: &str) -> Option<usize> {
        self.item_places.get(code).copied()
    }

    /// The item with this code.
    pub fn item(&self, code: &str) -> Option<&Item> {
        self.items.get(self.item_place(code)?)
    }

    /// The place of a labour class in [`Self::labour`].
    pub fn labour_place(&self, code: &str) -> Option<usize> {
        self.labour_places.get(code).copied()
    }

    /// The equipment of this class.
    pub fn equipment_class(&self, class: &str) -> Option<&Equipment> {
        self.equipment.iter().find(|e| e.class == class)
    }
}
