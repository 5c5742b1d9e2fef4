//! What differs between two rulebooks by meaning: parts, their fields, lines and cells of tables.
//!
//! In: two rulebooks as they were read; neither need have passed its check. Out: the parts that are new, gone
//! or changed, each field with what it was and is. What says the same in another spelling is no difference:
//! spaces and brackets of formulas, `1.50` for `1.5`, the order of assemblies, lines and names in lists. The
//! order of a table's rows is one where it decides which row counts.

mod lines;
mod meaning;
mod parts;
mod tables;

use serde::Serialize;
use serde_json::{Map, Value};

use super::rulebook::Rulebook;
use meaning::changed_fields;
use parts::{Part, parts};

/// Everything in which two rulebooks differ; empty where they say the same.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
#[serde(transparent)]
pub struct RulebookComparison {
    /// The parts that differ, in the order of the later rulebook; then those that are gone.
    pub changes: Vec<PartChange>,
}

/// The sorts of parts of a rulebook.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PartSort {
    /// Name, title, codes, the limit of labour factors.
    Head,
    /// A question that the rulebook adds to the job spec.
    Input,
    /// A table.
    Table,
    /// A value that is computed once a job.
    Derived,
    /// A labour factor.
    Factor,
    /// An assembly, but for its lines.
    Assembly,
    /// A line of an assembly.
    Line,
    /// A caution or stop.
    Check,
    /// What becomes of an unknown answer.
    Unknown,
    /// Something that an offer usually contains.
    Completeness,
    /// Something that the offer does not contain.
    Exclusion,
    /// A worked example.
    Example,
}

/// What happened to a part, a row or a field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Fate {
    /// It is new.
    Added,
    /// It is gone.
    Removed,
    /// It says something else.
    Changed,
}

/// A part that is not as it was.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartChange {
    /// Which sort of part.
    pub part: PartSort,
    /// Its name or code; of a line, what it buys or which task it is.
    pub name: String,
    /// The assembly that a line belongs to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub assembly: Option<String>,
    /// What happened to it.
    pub fate: Fate,
    /// The whole part as it was, where it is gone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub before: Option<Value>,
    /// The whole part as it is, where it is new.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<Value>,
    /// The fields that say something else, where it changed.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fields: Vec<FieldChange>,
    /// The rows of a table that are new, gone or have another value.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub rows: Vec<RowChange>,
}

/// A field that says something else.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FieldChange {
    /// The field, as the rulebook names it.
    pub field: String,
    /// What it said; absent where it was not there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub before: Option<Value>,
    /// What it says; absent where it is not there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<Value>,
}

/// A row of a table that is not as it was.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RowChange {
    /// The cells by which it is found, by the names of the keys.
    pub keys: Map<String, Value>,
    /// What happened to it.
    pub fate: Fate,
    /// The value that it had.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub before: Option<String>,
    /// The value that it has.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

impl RulebookComparison {
    /// What differs from `before` to `after`.
    pub fn between(before: &Rulebook, after: &Rulebook) -> Self {
        let (old, new) = (parts(before), parts(after));
        let mut changes = Vec::new();
        for part in &new {
            let known = old.iter().find(|old| old.is_same_part(part));
            match known {
                None => changes.push(PartChange::added(part)),
                Some(known) => changes.extend(PartChange::changed(known, part)),
            }
        }
        let gone = old
            .iter()
            .filter(|old| !new.iter().any(|new| new.is_same_part(old)));
        changes.extend(gone.map(PartChange::removed));
        Self { changes }
    }

    /// Whether the two say the same.
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty()
    }
}

impl PartChange {
    fn new(part: PartSort, name: &str, fate: Fate) -> Self {
        Self {
            part,
            name: name.to_owned(),
            assembly: None,
            fate,
            before: None,
            after: None,
            fields: Vec::new(),
            rows: Vec::new(),
        }
    }

    fn added(part: &Part<'_>) -> Self {
        Self {
            after: Some(part.whole()),
            ..Self::new(part.sort, part.name, Fate::Added)
        }
    }

    fn removed(part: &Part<'_>) -> Self {
        Self {
            before: Some(part.whole()),
            ..Self::new(part.sort, part.name, Fate::Removed)
        }
    }

    /// What differs of a part that both have: of an assembly, a change for each of its lines as well.
    fn changed(before: &Part<'_>, after: &Part<'_>) -> Vec<Self> {
        let mut own = Self {
            fields: changed_fields(&before.fields, &after.fields),
            ..Self::new(after.sort, after.name, Fate::Changed)
        };
        let mut changes = Vec::new();
        if let (Some(before), Some(after)) = (before.table, after.table) {
            own.rows = tables::changed_rows(before, after);
            own.fields.extend(tables::changed_order(before, after));
        }
        if !own.fields.is_empty() || !own.rows.is_empty() {
            changes.push(own);
        }
        if let (Some(before), Some(after)) = (before.assembly, after.assembly) {
            changes.extend(lines::changes(before, after));
        }
        changes
    }
}
