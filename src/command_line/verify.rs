//! Everything that was ever issued, held against what is stored.

use estimate::quantity::counted;
use tallyrule::config::DataArgs;
use tallyrule::desk::Desk;

use super::{Told, data};

/// Verifies the whole database. A fault of the data is a fault of the command.
pub fn verify(args: &DataArgs) -> Result<String, Told> {
    let location = args.location()?;
    let desk = Desk::new(data::open(&location, 1, false)?);
    let found = desk.verify().map_err(|fault| data::told(&fault))?;
    let what = format!(
        "{location}: {}, {}, {} and {} computed again",
        counted(found.quotes, "quote"),
        counted(found.revisions, "issued revision"),
        counted(found.acceptances, "acceptance"),
        counted(found.audit_entries, "audit entry")
    );
    if found.faults.is_empty() {
        return Ok(format!("{what}; every byte is as it was\n"));
    }
    let faults: String = found.faults.iter().map(|fault| format!("  {fault}\n")).collect();
    let count = counted(found.faults.len(), "fault");
    Err(Told(format!("{what}; {count}\n{faults}")))
}
