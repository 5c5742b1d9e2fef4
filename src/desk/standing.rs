//! How it stands with the database, for whoever watches over the service.

use super::{Desk, DeskFault};
use crate::store::Connections;

/// How it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// Connections to the database.
    pub connections: Connections,
    /// Writes to the data file that wait or are in their turn.
    pub writers: usize,
    /// Quotes that are not put away, by their state.
    pub quotes: Vec<(String, i64)>,
}

impl Desk {
    /// How it stands now.
    ///
    /// # Errors
    /// The database.
    pub fn standing(&self) -> Result<Standing, DeskFault> {
        Ok(Standing {
            connections: self.store.connections(),
            writers: self.store.writers(),
            quotes: self.store.quotes_by_state()?,
        })
    }
}
