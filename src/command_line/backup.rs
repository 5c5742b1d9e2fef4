//! A company put into one file, and taken out of it.

use std::path::Path;

use estimate::quantity::counted;
use tallyrule::config::DataArgs;
use tallyrule::store::Location;
use tallyrule::store::archive::{self, ArchiveFault, Manifest};

use super::{Told, data};

fn contents(manifest: &Manifest) -> String {
    let rows = usize::try_from(manifest.rows()).unwrap_or(usize::MAX);
    format!(
        "{} of {}, as of {}, schema step {}",
        counted(rows, "row"),
        counted(manifest.tables.len(), "table"),
        manifest.written_at,
        manifest.steps.last().map_or("none", String::as_str)
    )
}

fn of_fault(location: &Location, fault: ArchiveFault) -> Told {
    match fault {
        ArchiveFault::Store(fault) => data::of_place(location, &fault),
        other => other.into(),
    }
}

/// Writes everything into a new file.
pub fn back_up(file: &Path, data: &DataArgs) -> Result<String, Told> {
    let location = data.location()?;
    let manifest = archive::back_up(&location, file).map_err(|fault| of_fault(&location, fault))?;
    Ok(format!(
        "wrote {location} into {}: {}\n",
        file.display(),
        contents(&manifest)
    ))
}

/// Puts such a file into an empty place.
pub fn restore(file: &Path, data: &DataArgs) -> Result<String, Told> {
    let location = data.location()?;
    let manifest = archive::restore(&location, file).map_err(|fault| of_fault(&location, fault))?;
    Ok(format!(
        "put {} into {location}: {}; `tallyrule verify` computes it again\n",
        file.display(),
        contents(&manifest)
    ))
}
