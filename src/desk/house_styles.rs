//! House styles: how papers look, saved in versions.

use chrono::{DateTime, Utc};
use estimate::handoff::house_style::HouseStyle;

use super::{Desk, DeskFault, moment, now};
use crate::store::{StoreFault, StoredStyle};

/// The style that papers have where none is named. It is there before anybody saved it, as version 0.
const STANDARD_STYLE: &str = "standard";

/// Which style a paper is to have.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct StyleChoice {
    /// Its name; the standard one where none is said.
    pub id: Option<String>,
    /// Its version; the one that held when the paper's revision was issued where none is said.
    pub version: Option<u32>,
}

impl Desk {
    /// Every version of every style, by name and version. The standard style begins with version 0.
    ///
    /// # Errors
    /// The database.
    pub fn house_styles(&self) -> Result<Vec<StoredStyle>, DeskFault> {
        let mut styles = self.store.house_styles()?;
        styles.push(StoredStyle {
            id: STANDARD_STYLE.to_owned(),
            version: 0,
            created_at: moment(DateTime::UNIX_EPOCH),
            style: HouseStyle::default(),
        });
        styles.sort_by(|one, other| (&one.id, one.version).cmp(&(&other.id, other.version)));
        Ok(styles)
    }

    /// A version of the style `id`, or its newest.
    ///
    /// # Errors
    /// There is none such, or the database.
    pub fn house_style(&self, id: &str, version: Option<u32>) -> Result<StoredStyle, DeskFault> {
        let mut styles = self.house_styles()?.into_iter().filter(|stored| stored.id == id);
        let found = styles.rfind(|stored| version.is_none_or(|version| stored.version == version));
        found.ok_or_else(|| DeskFault::unknown("house style", id))
    }

    /// Saves `style` as the version after `base`; 0 for the first.
    ///
    /// # Errors
    /// [`DeskFault::Changed`] when the newest version is another by now.
    pub fn save_house_style(&self, id: &str, style: HouseStyle, base: u32) -> Result<StoredStyle, DeskFault> {
        let stored = StoredStyle {
            id: id.to_owned(),
            version: base.saturating_add(1),
            created_at: now(),
            style,
        };
        match self.store.save_house_style(&stored) {
            Ok(()) => Ok(stored),
            Err(StoreFault::Changed | StoreFault::Exists) => Err(DeskFault::Changed),
            Err(other) => Err(other.into()),
        }
    }

    /// The style that is chosen: of a revision, the version that held when it was issued, so that its papers stay as
    /// they are; the first where there was none yet.
    pub(super) fn chosen_style(
        &self,
        choice: &StyleChoice,
        issued: Option<DateTime<Utc>>,
    ) -> Result<HouseStyle, DeskFault> {
        let id = choice.id.as_deref().unwrap_or(STANDARD_STYLE);
        if choice.version.is_some() || issued.is_none() {
            return Ok(self.house_style(id, choice.version)?.style);
        }
        let until = issued.map(moment).unwrap_or_default();
        let mut found = None;
        for stored in self.house_styles()?.into_iter().filter(|stored| stored.id == id) {
            if found.is_none() || stored.created_at <= until {
                found = Some(stored.style);
            }
        }
        found.ok_or_else(|| DeskFault::unknown("house style", id))
    }
}
