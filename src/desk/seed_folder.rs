//! A folder of seed data: what an office knows, as TOML files that a person edits.

mod entry;

use std::cell::RefCell;
use std::fs;
use std::path::{Path, PathBuf};

use estimate::catalogue::{Company, Equipment, Item, LabourClass};
use estimate::handoff::house_style::HouseStyle;
use estimate::handoff::ledger::LedgerSettings;
use estimate::job::Fault;
use estimate::pricing::policy::Policy;
use estimate::rules::span::line_and_column;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

use super::{shape_words, strict_json, with_jobs};

/// The files of a folder of seed data, as they were read.
#[derive(Debug, Clone)]
pub struct SeedFolder {
    /// The company.
    pub company: Company,
    /// What it buys.
    pub items: Vec<Item>,
    /// Who works for it.
    pub labour: Vec<LabourClass>,
    /// The units that it installs.
    pub equipment: Vec<Equipment>,
    /// Its policies.
    pub policies: Vec<Policy>,
    /// How its papers look, where a file says so.
    pub house_style: Option<HouseStyle>,
    /// What its ledger calls things, where a file says so.
    pub ledger: Option<LedgerSettings>,
    /// The text of its rulebook, with the jobs of its worked examples in it.
    pub rulebook: String,
    /// Where the rulebook was read from.
    pub rulebook_file: PathBuf,
    /// SHA-256 over the names and bytes of the files.
    pub digest: String,
}

/// What is wrong with one file of seed data.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}{}: {message}", file.display(), told(*place))]
pub struct SeedFault {
    /// The file.
    pub file: PathBuf,
    /// Line and column, from 1, where it has a place in the file.
    pub place: Option<(usize, usize)>,
    /// What is wrong.
    pub message: String,
}

fn told(place: Option<(usize, usize)>) -> String {
    place.map_or_else(String::new, |(line, column)| format!(":{line}:{column}"))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ItemsFile {
    item: Vec<Item>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LabourFile {
    labour_class: Vec<LabourClass>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct EquipmentFile {
    equipment: Vec<Equipment>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PolicyFile {
    policy: Vec<Policy>,
}

/// Why a file cannot be read, in words for a person.
pub fn unreadable(fault: &std::io::Error) -> String {
    match fault.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
        std::io::ErrorKind::IsADirectory => "this is a folder, and a file is wanted".to_owned(),
        std::io::ErrorKind::PermissionDenied => "it may not be read by this user".to_owned(),
        std::io::ErrorKind::InvalidData => "it is not text in UTF-8".to_owned(),
        _ => format!("cannot be read: {fault}"),
    }
}

/// Reads files one after the other and keeps every fault.
struct Reader<'a> {
    folder: &'a Path,
    digest: Sha256,
    faults: Vec<SeedFault>,
}

impl Reader<'_> {
    fn text(&mut self, name: &str) -> Option<String> {
        let file = self.folder.join(name);
        match fs::read_to_string(&file) {
            Ok(text) => {
                let head = format!("{name} {}\n", text.len());
                self.digest.update(head.as_bytes());
                self.digest.update(text.as_bytes());
                Some(text)
            }
            Err(fault) => {
                let message = unreadable(&fault);
                let place = None;
                self.faults.push(SeedFault { file, place, message });
                None
            }
        }
    }

    /// The text of a rulebook with the jobs of its worked examples. What else is wrong with it the check tells.
    fn with_jobs(&mut self, text: String) -> String {
        let reader = RefCell::new(&mut *self);
        let read = |_: &str, name: &str| {
            let text = reader.borrow_mut().text(name);
            let text = text.ok_or_else(|| "cannot be read".to_owned())?;
            strict_json::read(text.as_bytes())
                .map(Some)
                .map_err(|fault| fault.to_string())
        };
        match with_jobs(&text, read) {
            Ok(Ok(whole)) => whole,
            Ok(Err(message)) => {
                let file = self.folder.join("rulebook.toml");
                let place = None;
                self.faults.push(SeedFault { file, place, message });
                text
            }
            Err(_) => text,
        }
    }

    fn parsed<T: DeserializeOwned>(&mut self, name: &str) -> Option<T> {
        let text = self.text(name)?;
        toml::from_str(&text)
            .map_err(|fault| self.fault(name, &text, &fault))
            .ok()
    }

    /// A file that is a list of tables of one name; what is wrong with one of them does not hide the others'.
    fn list<T: DeserializeOwned>(&mut self, name: &str, table: &str) -> Option<T> {
        let text = self.text(name)?;
        let whole = match toml::from_str(&text) {
            Ok(read) => return Some(read),
            Err(fault) => fault,
        };
        let before = self.faults.len();
        let header = format!("[[{table}]]");
        let starts = text.match_indices(&header).map(|(at, _)| at);
        let mut starts: Vec<usize> = starts
            .filter(|at| text.get(..*at).is_none_or(|t| t.is_empty() || t.ends_with('\n')))
            .collect();
        starts.push(text.len());
        for part in starts.windows(2) {
            let [start, end] = part else { continue };
            // Each entry alone, at the line on which it stands.
            let lines = text.get(..*start).unwrap_or_default().matches('\n').count();
            let alone = "\n".repeat(lines) + text.get(*start..*end).unwrap_or_default();
            let file = self.folder.join(name);
            let found = entry::faults::<T>(alone).into_iter();
            self.faults.extend(found.map(|(place, message)| SeedFault {
                file: file.clone(),
                place,
                message,
            }));
        }
        if self.faults.len() == before {
            self.fault(name, &text, &whole);
        }
        None
    }

    fn fault(&mut self, name: &str, text: &str, fault: &toml::de::Error) {
        self.faults.push(SeedFault {
            file: self.folder.join(name),
            place: fault.span().map(|span| line_and_column(text, span.start)),
            message: shape_words::plain(fault.message()),
        });
    }
}

impl Reader<'_> {
    /// How papers look, from a file that need not be there.
    fn house_style(&mut self) -> Option<HouseStyle> {
        let file = self.folder.join(HOUSE_STYLE);
        if !file.exists() {
            return None;
        }
        let tree: serde_json::Value = self.parsed(HOUSE_STYLE)?;
        let told = |fault: &Fault| SeedFault {
            file: file.clone(),
            place: None,
            message: format!("{}: {}", fault.pointer, fault.message),
        };
        match HouseStyle::read(&tree) {
            Ok(style) => Some(style),
            Err(faults) => {
                self.faults.extend(faults.list.iter().map(told));
                None
            }
        }
    }

    /// What the ledger calls things, from a file that need not be there.
    fn ledger(&mut self) -> Option<LedgerSettings> {
        let file = self.folder.join(LEDGER);
        if !file.exists() {
            return None;
        }
        let settings: LedgerSettings = self.parsed(LEDGER)?;
        let told = |(pointer, message)| SeedFault {
            file: file.clone(),
            place: None,
            message: format!("{pointer}: {message}"),
        };
        self.faults.extend(settings.faults().into_iter().map(told));
        Some(settings)
    }
}

/// The file of how papers look.
const HOUSE_STYLE: &str = "house-style.toml";
/// The file of what the ledger calls things.
const LEDGER: &str = "ledger.toml";

impl SeedFolder {
    /// Reads `company.toml`, `items.toml`, `labour.toml`, `equipment.toml`, `policy.toml` and `rulebook.toml`, and
    /// `house-style.toml` and `ledger.toml` where they are there.
    ///
    /// # Errors
    /// Every file that cannot be read or does not have the shape of its kind.
    pub fn read(folder: &Path) -> Result<Self, Vec<SeedFault>> {
        let mut reader = Reader {
            folder,
            digest: Sha256::new(),
            faults: Vec::new(),
        };
        let company = reader.parsed::<Company>("company.toml");
        let items = reader.list::<ItemsFile>("items.toml", "item");
        let labour = reader.list::<LabourFile>("labour.toml", "labour_class");
        let equipment = reader.list::<EquipmentFile>("equipment.toml", "equipment");
        let policies = reader.list::<PolicyFile>("policy.toml", "policy");
        let house_style = reader.house_style();
        let ledger = reader.ledger();
        let rulebook = reader.text("rulebook.toml").map(|text| reader.with_jobs(text));
        let (Some(company), Some(items), Some(labour), Some(equipment), Some(policies), Some(rulebook)) =
            (company, items, labour, equipment, policies, rulebook)
        else {
            return Err(reader.faults);
        };
        if !reader.faults.is_empty() {
            return Err(reader.faults);
        }
        let digest = reader
            .digest
            .finalize()
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect();
        Ok(Self {
            company,
            items: items.item,
            labour: labour.labour_class,
            equipment: equipment.equipment,
            policies: policies.policy,
            house_style,
            ledger,
            rulebook,
            rulebook_file: folder.join("rulebook.toml"),
            digest,
        })
    }
}
