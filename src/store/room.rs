//! Whether the disk of a data file has room for a write.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use parking_lot::Mutex;

use super::{StoreFault, Trouble};

/// As much as a write usually comes to at most.
const BYTES: usize = 65_536;
/// How long room that was found is taken to be there.
const LOOK_AGAIN: Duration = Duration::from_secs(2);

/// The room that was found last. The database cannot be asked: what it would write may fit into pages that it has.
#[derive(Default)]
pub(super) struct Room {
    found: Mutex<Option<Instant>>,
}

impl Room {
    /// Finds room beside the data file, by a file of its own that goes at once.
    pub(super) fn demand(&self, data: &Path) -> Result<(), StoreFault> {
        let mut found = self.found.lock();
        if found.is_some_and(|at| at.elapsed() < LOOK_AGAIN) {
            return Ok(());
        }
        *found = None;
        let mut name = data.as_os_str().to_owned();
        name.push("-room");
        let place = PathBuf::from(name);
        let taken = take(&place);
        let freed = fs::remove_file(&place);
        taken.and(freed).map_err(|fault| trouble(&fault))?;
        *found = Some(Instant::now());
        Ok(())
    }
}

fn take(place: &Path) -> io::Result<()> {
    let mut file = File::create(place)?;
    file.write_all(&[0; BYTES])?;
    file.sync_all()
}

fn trouble(fault: &io::Error) -> StoreFault {
    StoreFault::Storage(match fault.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => Trouble::Full,
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem | ErrorKind::NotFound => {
            Trouble::ReadOnly
        }
        _ => Trouble::Disk,
    })
}
