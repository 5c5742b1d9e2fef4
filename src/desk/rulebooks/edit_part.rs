//! Parts of a draft: listed, read, put in, taken out.

use estimate::rules::parse_toml;
use estimate::rules::rulebook::{EditFault, PartKind, PartName, put_part, remove_part};
use serde_json::{Value, json};

use super::view::draft_tag;
use crate::desk::act::{Act, Told};
use crate::desk::{Desk, DeskFault};

impl From<EditFault> for DeskFault {
    fn from(fault: EditFault) -> Self {
        match fault {
            EditFault::Text(findings) => Self::Rulebook(findings),
            EditFault::Part(faults) => Self::Tree(faults),
            EditFault::NoSuch { kind, name } => Self::unknown(kind.word(), &name),
        }
    }
}

impl Desk {
    /// The name of every part of a draft.
    ///
    /// # Errors
    /// There is no such draft.
    pub fn rulebook_parts(&self, id: &str) -> Result<Told, DeskFault> {
        let stored = self.stored_draft(id)?;
        let rules = parse_toml(&stored.text).map_err(DeskFault::Rulebook)?;
        Ok(Told {
            tag: Some(draft_tag(&stored.head)),
            body: json!({"data": rules.parts()}),
        })
    }

    /// A part of a draft.
    ///
    /// # Errors
    /// There is no such draft or part.
    pub fn rulebook_part(&self, id: &str, part: &PartName) -> Result<Told, DeskFault> {
        let stored = self.stored_draft(id)?;
        let rules = parse_toml(&stored.text).map_err(DeskFault::Rulebook)?;
        let found = rules.part(part.kind, &part.name);
        Ok(Told {
            tag: Some(draft_tag(&stored.head)),
            body: found.ok_or_else(|| unknown(part.kind, &part.name))?,
        })
    }

    /// Puts a part into a draft: in the place of the one of this name, or as a new one.
    ///
    /// # Errors
    /// Every fault of its shape; there is no such draft, or another one stands than was seen.
    pub fn put_rulebook_part(
        &self,
        act: &Act,
        id: &str,
        part: &PartName,
        content: &Value,
        matches: impl Fn(&str) -> bool,
    ) -> Result<Told, DeskFault> {
        self.write_rulebook_draft(act, id, matches, |text| {
            Ok(put_part(text, part.kind, &part.name, content)?)
        })
    }

    /// Takes a part out of a draft.
    ///
    /// # Errors
    /// There is no such draft or part, or another draft stands than was seen.
    pub fn remove_rulebook_part(
        &self,
        act: &Act,
        id: &str,
        part: &PartName,
        matches: impl Fn(&str) -> bool,
    ) -> Result<Told, DeskFault> {
        self.write_rulebook_draft(act, id, matches, |text| {
            Ok(remove_part(text, part.kind, &part.name)?)
        })
    }
}

fn unknown(kind: PartKind, name: &str) -> DeskFault {
    DeskFault::unknown(kind.word(), name)
}
