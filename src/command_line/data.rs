//! Opening the database, and loading seed data.

use std::path::Path;

use estimate::estimate::Reason;
use estimate::job::Fault;
use estimate::quantity::counted;
use tallyrule::config::DataArgs;
use tallyrule::desk::{Desk, DeskFault, SeedFolder};
use tallyrule::store::{Hand, Loaded, Location, Store};

use super::Told;

/// The folder of the demonstration, where this program is started in the project.
pub const DEMONSTRATION: &str = "seed-data";

/// Opens the database; a data file is made where `make` says so. A fault names it.
pub fn open(location: &Location, connections: u32, make: bool) -> Result<Store, Told> {
    Store::open(location.clone(), connections, make).map_err(|fault| of_place(location, &fault))
}

/// A fault with the place of the data in it.
pub fn of_place(location: &Location, fault: &dyn std::error::Error) -> Told {
    let (place, fault) = (location.to_string(), fault.to_string());
    let named = fault.contains(&place);
    Told(if named { fault } else { format!("{place}: {fault}") })
}

/// Loads `dir` into the database, which is made when it is a data file that does not exist.
pub fn seed(dir: &Path, data: &DataArgs) -> Result<String, Told> {
    let location = data.location()?;
    let desk = Desk::new(open(&location, 1, true)?.by(Hand::program("seed")));
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
    let mut text = match fault {
        DeskFault::Estimate(fault) => format!(
            "{} why the job cannot be priced:\n",
            counted(fault.reasons().len(), "reason")
        ),
        other => format!("{other}\n"),
    };
    let mut line = |one: &dyn std::fmt::Display| text.push_str(&format!("  {one}\n"));
    match fault {
        DeskFault::Seed(faults) => faults.iter().for_each(|one| line(one)),
        DeskFault::Catalogue(faults) => faults.iter().for_each(|one| line(one)),
        DeskFault::Policy { faults, .. } => faults.iter().for_each(|one| line(one)),
        DeskFault::Input(faults) => faults.list.iter().for_each(|one| line(&of_input(one))),
        DeskFault::Estimate(fault) => fault.reasons().iter().for_each(|reason| match reason {
            Reason::Request(one) => line(&of_input(one)),
            Reason::Job(message) => line(message),
        }),
        DeskFault::Rulebook(findings) => findings.iter().for_each(|one| {
            line(&format!(
                "line {}, column {}, {}: {}",
                one.line, one.column, one.part, one.message
            ));
        }),
        DeskFault::Examples(tried) => tried.iter().for_each(|one| {
            for difference in one.differences() {
                line(&format!("{}: {difference}", one.title));
            }
        }),
        _ => {}
    }
    Told(text)
}

/// A fault of what was sent, with its place.
fn of_input(fault: &Fault) -> String {
    let place = match fault.pointer.as_str() {
        "" => "the whole",
        pointer => pointer,
    };
    format!("{place}: {}", fault.message)
}
