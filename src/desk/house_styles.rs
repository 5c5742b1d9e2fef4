//! House styles: how papers look, saved in versions.

use chrono::{DateTime, Utc};
use estimate::handoff::house_style::HouseStyle;
use estimate::handoff::proof;
use estimate::handoff::words::Language;

use super::{Desk, DeskFault, moment, now};
use crate::store::{StoreFault, StoredStyle};

/// The style that papers have where none is named. It is there before anybody saved it, as version 0.
pub const STANDARD_STYLE: &str = "standard";

/// The first version of the standard style that an office has of its own.
pub(super) fn first_style(style: HouseStyle, now: &str) -> StoredStyle {
    StoredStyle {
        id: STANDARD_STYLE.to_owned(),
        version: 1,
        created_at: now.to_owned(),
        style,
    }
}

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
        let styles: Vec<StoredStyle> = self.house_styles()?;
        let mut styles = styles.into_iter().filter(|stored| stored.id == id).peekable();
        let known = styles.peek().is_some();
        let found = styles.rfind(|stored| version.is_none_or(|version| stored.version == version));
        found.ok_or_else(|| match version.filter(|_| known) {
            Some(version) => DeskFault::unknown(
                "version of the house style",
                &format!("{id} with the number {version}"),
            ),
            None => DeskFault::unknown("house style", id),
        })
    }

    /// Prints a page in `style` and says what a person should know of it; nothing where this program prints nothing.
    ///
    /// # Errors
    /// [`DeskFault::Member`] where its logo cannot be printed.
    fn tried(&self, style: &HouseStyle) -> Result<Vec<String>, DeskFault> {
        let Some(press) = self.press else {
            return Ok(Vec::new());
        };
        let office = self.office()?;
        let paper = proof::proof(style, &office.company, office.today())?;
        let printed = (press.print)(&paper).map_err(DeskFault::Paper)?;
        match &printed.logo_left_out {
            None => Ok(printed.notes()),
            Some(why) => Err(DeskFault::Member {
                pointer: "/logo/data",
                message: format!("the logo cannot be printed: {why}"),
            }),
        }
    }

    /// Whether the program or a rulebook of today has each code of the cautions of `style`: the text of another would never
    /// be printed.
    fn know_cautions(&self, style: &HouseStyle) -> Result<(), DeskFault> {
        if style.cautions.is_empty() {
            return Ok(());
        }
        let office = self.office()?;
        let today = office.today();
        let mut unknown: Vec<(usize, &str)> = style
            .cautions
            .iter()
            .map(|own| own.code.as_str())
            .enumerate()
            .collect();
        unknown.retain(|(_, code)| !Language::is_of_the_program(code));
        for id in office.shelf.ids() {
            if office.shelf.current_on(id, today).is_some() {
                let current = office.rulebook_on(Some(id), None, today)?;
                let checks = &current.workbook.rulebook().checks;
                unknown.retain(|(_, code)| checks.iter().all(|check| check.code.as_str() != *code));
            }
        }
        if unknown.is_empty() {
            return Ok(());
        }
        let told = unknown.into_iter().map(|(at, code)| {
            let words = format!("no rulebook of today has a caution {code}: its text would never be printed");
            (format!("/cautions/{at}/code"), words)
        });
        Err(DeskFault::Members(told.collect()))
    }

    /// Saves `style` as the version after `base`; 0 for the first. With it comes what a person should know of it.
    ///
    /// # Errors
    /// [`DeskFault::Changed`] when the newest version is another by now; a page in it cannot be printed, or a caution in it
    /// is none of the program's or of a rulebook's.
    pub fn save_house_style(
        &self,
        id: &str,
        style: HouseStyle,
        base: u32,
    ) -> Result<(StoredStyle, Vec<String>), DeskFault> {
        self.know_cautions(&style)?;
        let notes = self.tried(&style)?;
        let stored = StoredStyle {
            id: id.to_owned(),
            version: base.saturating_add(1),
            created_at: now(),
            style,
        };
        match self.store.save_house_style(&stored) {
            Ok(()) => Ok((stored, notes)),
            Err(StoreFault::Changed | StoreFault::Exists) => Err(DeskFault::Changed),
            Err(other) => Err(other.into()),
        }
    }

    /// The version of a style that held when a revision was issued: its papers have no other, so that they stay the same
    /// bytes.
    ///
    /// # Errors
    /// The style is younger than the revision, or another version is asked for.
    pub(super) fn style_at_issue(
        &self,
        choice: &StyleChoice,
        issued: DateTime<Utc>,
    ) -> Result<HouseStyle, DeskFault> {
        let id = choice.id.as_deref().unwrap_or(STANDARD_STYLE);
        self.house_style(id, choice.version)?;
        let issued = moment(issued);
        let mut styles = self.house_styles()?.into_iter();
        let held = styles.rfind(|stored| stored.id == id && stored.created_at <= issued);
        match (held, choice.version) {
            (None, _) => Err(DeskFault::Conflict(format!(
                "the house style {id} was first saved after this revision was issued; its papers keep the style of that day"
            ))),
            (Some(held), Some(version)) if version != held.version => Err(DeskFault::Conflict(format!(
                "this revision was issued when version {} of the house style {id} held; its papers keep that one",
                held.version
            ))),
            (Some(held), _) => Ok(held.style),
        }
    }
}
