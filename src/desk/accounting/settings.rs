//! What the company's ledger calls things: read, and saved as a new version.

use estimate::handoff::ledger::LedgerSettings;
use serde::Serialize;

use crate::desk::{Desk, DeskFault, now};
use crate::store::{SettingsRow, StoreFault};

/// A version of the settings; version 0 is what holds before anything was said.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct SettingsVersion {
    /// 1 for the first that was saved.
    pub version: u32,
    /// When it was saved.
    pub saved_at: Option<String>,
    /// By whom.
    pub saved_by: Option<String>,
    /// The settings.
    #[serde(flatten)]
    pub settings: LedgerSettings,
}

fn read(row: SettingsRow) -> Result<SettingsVersion, DeskFault> {
    let bad = |message: String| {
        DeskFault::Store(StoreFault::Corrupt {
            table: "accounting_settings",
            key: row.version.to_string(),
            message,
        })
    };
    Ok(SettingsVersion {
        version: u32::try_from(row.version).map_err(|fault| bad(fault.to_string()))?,
        settings: serde_json::from_str(&row.body).map_err(|fault| bad(fault.to_string()))?,
        saved_at: Some(row.created_at),
        saved_by: Some(row.created_by),
    })
}

impl Desk {
    /// The settings that hold.
    ///
    /// # Errors
    /// The database.
    pub fn ledger(&self) -> Result<SettingsVersion, DeskFault> {
        let newest = self.store.accounting_settings(None)?;
        newest.map_or_else(|| Ok(SettingsVersion::default()), read)
    }

    /// A former version of the settings.
    ///
    /// # Errors
    /// There is none.
    pub fn ledger_version(&self, version: u32) -> Result<SettingsVersion, DeskFault> {
        let unknown = || DeskFault::unknown("version of the settings", &version.to_string());
        let number = i32::try_from(version).map_err(|_| unknown())?;
        let row = self.store.accounting_settings(Some(number))?;
        read(row.ok_or_else(unknown)?)
    }

    /// Saves settings as the version after `base`.
    ///
    /// # Errors
    /// Every fault of the settings, or [`DeskFault::Changed`] when another version is the newest by now.
    pub fn save_ledger(
        &self,
        person: &str,
        settings: LedgerSettings,
        base: u32,
    ) -> Result<SettingsVersion, DeskFault> {
        let mut faults = settings.faults();
        faults.extend(
            self.office()?
                .unknown_in_ledger(&settings, &self.ledger()?.settings),
        );
        if !faults.is_empty() {
            return Err(DeskFault::Members(faults));
        }
        let defect = |fault: &dyn std::fmt::Display| DeskFault::Defect(fault.to_string());
        let row = SettingsRow {
            version: i32::try_from(base.saturating_add(1)).map_err(|fault| defect(&fault))?,
            body: serde_json::to_string(&settings).map_err(|fault| defect(&fault))?,
            created_at: now(),
            created_by: person.to_owned(),
        };
        self.store
            .save_accounting_settings(&row)
            .map_err(|fault| match fault {
                StoreFault::Changed => DeskFault::Changed,
                other => other.into(),
            })?;
        read(row)
    }
}
