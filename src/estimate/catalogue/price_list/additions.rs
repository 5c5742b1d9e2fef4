//! What applying a list adds to the catalogue.

use std::collections::HashMap;

use super::mapping::{Mapping, NewItems};
use super::outcome::{Comparison, Entry, EntryKind, NewItem};
use super::undo::AppliedRow;
use crate::catalogue::Catalogue;
use crate::catalogue::item::{Item, Pack};

/// Everything that applying a list writes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Additions {
    /// New items, with their packs and without prices, in the order of the list.
    pub items: Vec<Item>,
    /// Items that get a pack, with all their packs and without prices.
    pub packed_anew: Vec<Item>,
    /// The dated prices, in the order of the list.
    pub prices: Vec<AppliedRow>,
}

/// What applying `comparison` adds to `catalogue`, the one that it was made with.
pub fn additions(comparison: &Comparison, mapping: &Mapping, catalogue: &Catalogue) -> Additions {
    let mut added = Additions::default();
    let mut new_places: HashMap<&str, usize> = HashMap::new();
    let mut anew_places: HashMap<&str, usize> = HashMap::new();
    for entry in comparison.entries.iter().filter(|entry| entry.kind.is_written()) {
        match (&entry.kind, &mapping.new_items) {
            (EntryKind::NewItem(new), Some(head)) => {
                let place = *new_places.entry(&entry.code).or_insert_with(|| {
                    added.items.push(item(entry, new, head, &mapping.supplier));
                    added.items.len() - 1
                });
                add_pack(added.items.get_mut(place), entry, &new.pack_name);
            }
            (EntryKind::NewPack { name }, _) => {
                let Some(known) = catalogue.item(&entry.code) else {
                    continue;
                };
                let place = *anew_places.entry(&entry.code).or_insert_with(|| {
                    added.packed_anew.push(without_prices(known));
                    added.packed_anew.len() - 1
                });
                add_pack(added.packed_anew.get_mut(place), entry, name);
            }
            _ => {}
        }
        added.prices.push(AppliedRow {
            row: entry.row,
            code: entry.code.clone(),
            pack: entry.pack,
            valid_from: entry.valid_from,
            amount: entry.amount,
            replaced: match entry.kind {
                EntryKind::Unchanged { .. } => Some(entry.amount),
                _ => entry.kind.before(),
            },
        });
    }
    added
}

/// Adds the pack of `entry`, once: it may be in the list for several days.
fn add_pack(item: Option<&mut Item>, entry: &Entry, name: &str) {
    let Some(item) = item else { return };
    if !item.packs.iter().any(|pack| pack.size == entry.pack) {
        item.packs.push(Pack {
            size: entry.pack,
            name: name.to_owned(),
            prices: Vec::new(),
        });
    }
}

fn item(entry: &Entry, new: &NewItem, head: &NewItems, supplier: &str) -> Item {
    Item {
        code: entry.code.clone(),
        description: new.description.clone(),
        unit: new.unit,
        group: head.group,
        cost_code: head.cost_code.clone(),
        tax_category: head.tax_category.clone(),
        supplier: supplier.to_owned(),
        part_number: None,
        lead_days: head.lead_days,
        one_piece: false,
        packs: Vec::new(),
    }
}

fn without_prices(item: &Item) -> Item {
    let mut bare = item.clone();
    for pack in &mut bare.packs {
        pack.prices.clear();
    }
    bare
}
