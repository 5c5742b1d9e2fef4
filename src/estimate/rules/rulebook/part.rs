//! The parts of a rulebook: how each sort is called, where it stands in the tree and in the text.

use serde::Serialize;
use serde_json::{Map, Value};

use super::Rulebook;

/// A sort of part that is edited on its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PartKind {
    /// A question added to the job spec.
    Input,
    /// A table.
    Table,
    /// A value computed once.
    Derived,
    /// A labour factor.
    Factor,
    /// A group of lines.
    Assembly,
    /// A line of an assembly; its name is the assembly's code, a slash, and its place from 1.
    Line,
    /// A caution or stop.
    Check,
    /// What becomes of an unknown answer.
    Unknown,
    /// Something usual.
    Completeness,
    /// What an offer does not contain.
    Exclusion,
    /// A worked example.
    Example,
}

/// A part by its sort and name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PartName {
    /// Which sort.
    pub kind: PartKind,
    /// Its name.
    pub name: String,
}

impl PartKind {
    /// Every sort, in the order of the canonical text.
    pub const ALL: &[Self] = &[
        Self::Input,
        Self::Table,
        Self::Derived,
        Self::Factor,
        Self::Assembly,
        Self::Line,
        Self::Check,
        Self::Unknown,
        Self::Completeness,
        Self::Exclusion,
        Self::Example,
    ];

    /// The word for it: also the header in the text, but for a line, whose header is in its assembly's.
    pub fn word(self) -> &'static str {
        match self {
            Self::Input => "input",
            Self::Table => "table",
            Self::Derived => "derived",
            Self::Factor => "factor",
            Self::Assembly => "assembly",
            Self::Line => "line",
            Self::Check => "check",
            Self::Unknown => "unknown",
            Self::Completeness => "completeness",
            Self::Exclusion => "exclusion",
            Self::Example => "example",
        }
    }

    /// The sort of this word.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|kind| kind.word() == word)
    }

    /// The list of the tree that such parts stand in; none for a line, which stands in its assembly.
    pub(super) fn list(self) -> Option<&'static str> {
        Some(match self {
            Self::Input => "inputs",
            Self::Table => "tables",
            Self::Derived => "derived",
            Self::Factor => "factors",
            Self::Assembly => "assemblies",
            Self::Line => return None,
            Self::Check => "checks",
            Self::Unknown => "unknowns",
            Self::Completeness => "completeness",
            Self::Exclusion => "exclusions",
            Self::Example => "examples",
        })
    }

    /// The sorts that stand in lists of the tree, each with its list, in the order of the canonical text.
    pub(super) fn lists() -> impl Iterator<Item = (Self, &'static str)> {
        Self::ALL
            .iter()
            .filter_map(|kind| kind.list().map(|list| (*kind, list)))
    }

    /// The member that names a part of this sort.
    fn name_member(self) -> &'static str {
        match self {
            Self::Input | Self::Table | Self::Derived | Self::Factor => "name",
            Self::Unknown => "answer",
            Self::Example => "title",
            _ => "code",
        }
    }

    /// The name in the tree of a part.
    pub(super) fn name_in(self, part: &Value) -> Option<&str> {
        part.get(self.name_member())?.as_str()
    }
}

/// Where a part stands: in which list, or in which assembly's lines, and its place from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    /// Place in the list of its sort; of a line, its assembly's.
    pub(super) part: usize,
    /// Place of a line in its assembly.
    pub(super) line: Option<usize>,
}

/// The parts of one sort in a rulebook's tree.
fn list(tree: &Map<String, Value>, kind: PartKind) -> &[Value] {
    let found = kind.list().and_then(|list| tree.get(list));
    found.and_then(Value::as_array).map_or(&[], Vec::as_slice)
}

fn lines(assembly: &Value) -> &[Value] {
    assembly
        .get("line")
        .and_then(Value::as_array)
        .map_or(&[], Vec::as_slice)
}

/// A rulebook as a tree of JSON, with its parts by name.
#[derive(Debug, Clone)]
pub(super) struct Tree(pub(super) Map<String, Value>);

impl Tree {
    /// Nothing in a rulebook keeps it from being a tree; an empty one stands for what cannot be.
    pub(super) fn of(rulebook: &Rulebook) -> Self {
        match serde_json::to_value(rulebook) {
            Ok(Value::Object(members)) => Self(members),
            _ => Self(Map::new()),
        }
    }

    /// Where the part of this name stands. The place after the last line of an assembly is where a new line goes.
    pub(super) fn place(&self, kind: PartKind, name: &str) -> Option<Place> {
        let at = |kind: PartKind, name: &str| {
            let mut parts = list(&self.0, kind).iter();
            parts.position(|part| kind.name_in(part) == Some(name))
        };
        if kind != PartKind::Line {
            return at(kind, name).map(|part| Place { part, line: None });
        }
        let (assembly, number) = name.rsplit_once('/')?;
        let part = at(PartKind::Assembly, assembly)?;
        let line = number.parse::<usize>().ok()?.checked_sub(1)?;
        Some(Place {
            part,
            line: Some(line),
        })
    }

    /// The part at a place.
    pub(super) fn part(&self, kind: PartKind, place: Place) -> Option<&Value> {
        match place.line {
            None => list(&self.0, kind).get(place.part),
            Some(line) => self.lines(place.part).get(line),
        }
    }

    /// The lines of the assembly at this place.
    pub(super) fn lines(&self, assembly: usize) -> &[Value] {
        list(&self.0, PartKind::Assembly).get(assembly).map_or(&[], lines)
    }

    /// How many parts of this sort there are.
    pub(super) fn count(&self, kind: PartKind) -> usize {
        list(&self.0, kind).len()
    }
}

impl Rulebook {
    /// The part of this name, with the members of the text.
    pub fn part(&self, kind: PartKind, name: &str) -> Option<Value> {
        let tree = Tree::of(self);
        let place = tree.place(kind, name)?;
        tree.part(kind, place).cloned()
    }

    /// The name of every part, in the order of the canonical text; lines behind their assemblies.
    pub fn parts(&self) -> Vec<PartName> {
        let tree = Tree::of(self);
        let mut names = Vec::new();
        for (kind, _) in PartKind::lists() {
            for part in list(&tree.0, kind) {
                let Some(name) = kind.name_in(part) else { continue };
                names.push(PartName {
                    kind,
                    name: name.to_owned(),
                });
                let lines = if kind == PartKind::Assembly {
                    lines(part)
                } else {
                    &[]
                };
                names.extend((1..=lines.len()).map(|number| PartName {
                    kind: PartKind::Line,
                    name: format!("{name}/{number}"),
                }));
            }
        }
        names
    }
}
