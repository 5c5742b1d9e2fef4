//! Opening the database, and loading seed data.

use std::path::Path;

use estimate::estimate::EstimateFault;
use tallyrule::config::DataArgs;
use tallyrule::desk::{Desk, DeskFault, SeedFolder};
use tallyrule::store::{Loaded, Store, Hand};

use super::Told;

/// The folder of the demonstration, where this program is started in the project.
pub const DEMONSTRATION: &str = "seed-data";

/// Loads `dir` into the database, which is made when it is a data file that does not exist.
pub fn seed(dir: &Path, data: &DataArgs) -> Result<String, Told> {
    let location = data.location()?;
    let store = Store::open(location.clone(), 1, true)?;
    let desk = Desk::new(store.by(Hand::program("seed")));
    let loaded = seed_folder(dir).and_then(|seed| desk.load_seed(seed));
    Ok(match loaded.map_err(|fault| told(&fault))? {
        Loaded::Now => format!("loaded {} into {location}\n", dir.display()),
        Loaded::Before => format!(
            "{location} holds {} already; nothing was changed\n",
            dir.display()
        ),
    })
}

/// Reads a folder of seed data.
pub fn seed_folder(dir: &Path) -> Result<SeedFolder, DeskFault> {
    SeedFolder::read(dir).map_err(DeskFault::Seed)
}

/// A fault with everything that belongs to it, a line each.
pub fn told(fault: &DeskFault) -> Told {
    let mut text = format!("{fault}\n");
    let mut line = |one: &dyn std::fmt::Display| text.push_str(&format!("  {one}\n"));
    match fault {
        DeskFault::Seed(faults) => faults.iter().for_each(|one| line(one)),
        DeskFault::Catalogue(faults) => faults.iter().for_each(|one| line(one)),
        DeskFault::Policy { faults, .. } => faults.iter().for_each(|one| line(one)),
        DeskFault::Input(faults) => faults.list.iter().for_each(|one| {
            let pointer = if one.pointer.is_empty() {
                "the whole"
            } else {
                &one.pointer
            };
            line(&format!("{pointer}: {}", one.message));
        }),
        DeskFault::Rulebook(findings) => findings.iter().for_each(|one| {
            line(&format!(
                "line {}, column {}, {}: {}",
                one.line, one.column, one.part, one.message
            ));
        }),
        DeskFault::Estimate(EstimateFault::Bill(faults)) => faults.iter().for_each(|one| line(one)),
        DeskFault::Estimate(EstimateFault::Pricing(faults)) => faults.iter().for_each(|one| line(one)),
        _ => {}
    }
    Told(text)
}
