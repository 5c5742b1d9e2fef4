//! Everything that was ever issued, held against what is stored.

use tallyrule::config::DataArgs;
use tallyrule::desk::Desk;
use tallyrule::store::Store;

use super::{Told, data};

/// Verifies the whole database. A fault of the data is a fault of the command.
pub fn verify(args: &DataArgs) -> Result<String, Told> {
    let location = args.location()?;
    let desk = Desk::new(Store::open(location.clone(), 1, false)?);
    let found = desk.verify().map_err(|fault| data::told(&fault))?;
    let what = format!(
        "{location}: {} quotes, {} issued revisions, {} acceptances and {} audit entries computed again",
        found.quotes, found.revisions, found.acceptances, found.audit_entries
    );
    if found.faults.is_empty() {
        return Ok(format!("{what}; every byte is as it was\n"));
    }
    let faults: String = found.faults.iter().map(|fault| format!("  {fault}\n")).collect();
    Err(Told(format!("{what}; {} faults\n{faults}", found.faults.len())))
}
