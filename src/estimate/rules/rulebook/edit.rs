//! One part of a rulebook's text replaced, added or taken out; the rest of the text stays byte for byte as it is.

use serde_json::Value;
use thiserror::Error;
use toml_edit::{ArrayOfTables, DocumentMut, Item, RawString, Table};

use super::super::finding::Finding;
use super::comments::Comments;
use super::format::{document, format_toml};
use super::part::{PartKind, Place, Tree};
use super::read_tree::{TreeFault, parse_part};
use super::{parse_toml, write};

/// Why a part cannot be edited.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EditFault {
    /// The text around it cannot be read.
    #[error("the text has {} findings", .0.len())]
    Text(Vec<Finding>),
    /// The part itself cannot be read.
    #[error("the part has {} faults", .0.len())]
    Part(Vec<TreeFault>),
    /// There is no such part; of a line: its assembly is not there, or it would not stand behind the last line.
    #[error("there is no {} {name}", kind.word())]
    NoSuch {
        /// Which sort.
        kind: PartKind,
        /// Its name.
        name: String,
    },
}

impl From<Vec<Finding>> for EditFault {
    fn from(findings: Vec<Finding>) -> Self {
        Self::Text(findings)
    }
}

/// The text, its rulebook's tree, and a document in which every sort of part that is there stands under headers.
fn open(text: &str) -> Result<(Tree, DocumentMut), EditFault> {
    let tree = Tree::of(&parse_toml(text)?);
    let opened = document(text)?;
    if under_headers(&opened) {
        return Ok((tree, opened));
    }
    // Parts written as a list in brackets: the canonical text has headers.
    Ok((tree, document(&format_toml(text)?)?))
}

/// Whether every part stands under a header of its own, and not in a list in brackets.
fn under_headers(document: &DocumentMut) -> bool {
    let mut parts = PartKind::lists().filter_map(|(kind, _)| document.get(kind.word()));
    let assemblies = document.get("assembly").and_then(Item::as_array_of_tables);
    let mut lines = assemblies
        .into_iter()
        .flatten()
        .filter_map(|table| table.get("line"));
    parts.all(Item::is_array_of_tables) && lines.all(Item::is_array_of_tables)
}

/// Puts `part` in the place of the part of this name, or behind the last one of its sort where there is none.
///
/// Comments inside the part stay with the fields that they belong to, as far as these are there still.
///
/// # Errors
/// See [`EditFault`].
pub fn put_part(text: &str, kind: PartKind, name: &str, part: &Value) -> Result<String, EditFault> {
    let part = parse_part(kind, part).map_err(EditFault::Part)?;
    let (tree, mut document) = open(text)?;
    let missing = || EditFault::NoSuch {
        kind,
        name: name.to_owned(),
    };
    let place = match tree.place(kind, name) {
        Some(place) => place,
        None if kind == PartKind::Line => return Err(missing()),
        None => Place {
            part: tree.count(kind),
            line: None,
        },
    };
    let behind = behind(&document, kind, place);
    let list = list_mut(&mut document, kind, place).ok_or_else(missing)?;
    let index = place.line.unwrap_or(place.part);
    if index > list.len() {
        return Err(missing());
    }
    let mut new = new_table(kind, &part, list.get(index))?;
    match list.get(index) {
        Some(old) => {
            let (above, position) = (old.decor().prefix().cloned(), old.position());
            stand_at(&mut new, position);
            set_above(&mut new, above.unwrap_or_default());
            list.replace(index, new);
        }
        None => {
            stand_at(&mut new, behind);
            set_above(&mut new, "\n".into());
            list.push(new);
        }
    }
    let text = document.to_string();
    parse_toml(&text)?;
    Ok(text)
}

/// Takes a part out, with the comment directly above it.
///
/// # Errors
/// See [`EditFault`].
pub fn remove_part(text: &str, kind: PartKind, name: &str) -> Result<String, EditFault> {
    let (tree, mut document) = open(text)?;
    let missing = || EditFault::NoSuch {
        kind,
        name: name.to_owned(),
    };
    let place = tree.place(kind, name).ok_or_else(missing)?;
    let index = place.line.unwrap_or(place.part);
    let list = list_mut(&mut document, kind, place).ok_or_else(missing)?;
    if index >= list.len() {
        return Err(missing());
    }
    let gone = list.remove(index);
    if list.is_empty() {
        drop_list(&mut document, kind, place);
    }
    let kept = apart(
        gone.decor()
            .prefix()
            .and_then(RawString::as_str)
            .unwrap_or_default(),
    );
    if kept.contains('#') {
        hand_on(&mut document, furthest(&gone), &kept);
    }
    let text = document.to_string();
    parse_toml(&text)?;
    Ok(text)
}

/// The tables of one sort, made where there are none yet.
fn list_mut(document: &mut DocumentMut, kind: PartKind, place: Place) -> Option<&mut ArrayOfTables> {
    let none = || Item::ArrayOfTables(ArrayOfTables::new());
    let table = document.as_table_mut();
    if kind != PartKind::Line {
        return table
            .entry(kind.word())
            .or_insert_with(none)
            .as_array_of_tables_mut();
    }
    let assemblies = table.get_mut("assembly")?.as_array_of_tables_mut()?;
    let assembly = assemblies.get_mut(place.part)?;
    assembly
        .entry("line")
        .or_insert_with(none)
        .as_array_of_tables_mut()
}

/// The position at which a new part of a sort stands: behind the last one, or at the end.
fn behind(document: &DocumentMut, kind: PartKind, place: Place) -> Option<isize> {
    let sort = if kind == PartKind::Line {
        PartKind::Assembly
    } else {
        kind
    };
    let list = document.get(sort.word()).and_then(Item::as_array_of_tables);
    let last = match kind {
        PartKind::Line => list.and_then(|list| list.get(place.part)).map(furthest),
        _ => list.and_then(|list| list.iter().map(furthest).max()),
    };
    let end = || furthest(document.as_table()).map(|last| last.saturating_add(1));
    last.flatten().or_else(end)
}

fn drop_list(document: &mut DocumentMut, kind: PartKind, place: Place) {
    if kind != PartKind::Line {
        document.as_table_mut().remove(kind.word());
        return;
    }
    let assemblies = document
        .get_mut("assembly")
        .and_then(Item::as_array_of_tables_mut);
    if let Some(assembly) = assemblies.and_then(|list| list.get_mut(place.part)) {
        assembly.remove("line");
    }
}

/// The canonical table of a part, with the comments inside the one that it takes the place of.
fn new_table(kind: PartKind, part: &Value, old: Option<&Table>) -> Result<Table, EditFault> {
    let of = "/part";
    let mut written = write::part(kind, part, of);
    if let Some(old) = old {
        Comments::inside(old, of).put(&mut written.lines);
    }
    // The comment above the header is the document's own.
    let text = write::compose(&written.lines, &[]).text;
    let first = |table: &Table, name: &str| {
        let list = table.get(name).and_then(Item::as_array_of_tables);
        list.and_then(|list| list.get(0)).cloned()
    };
    let found = match kind {
        PartKind::Line => {
            let snippet = document(&format!("[[assembly]]\n{text}"))?;
            first(&snippet, "assembly").and_then(|assembly| first(&assembly, "line"))
        }
        other => first(&*document(&text)?, other.word()),
    };
    found.ok_or_else(|| EditFault::NoSuch {
        kind,
        name: String::new(),
    })
}

/// Every table under `table` that has a header of its own, itself included.
fn each_table(table: &mut Table, act: &mut impl FnMut(&mut Table)) {
    act(table);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(below) => each_table(below, act),
            Item::ArrayOfTables(list) => list.iter_mut().for_each(|below| each_table(below, act)),
            Item::None | Item::Value(_) => {}
        }
    }
}

/// Headers are written in the order of their positions, and those of one position in the order of the tree.
fn stand_at(table: &mut Table, position: Option<isize>) {
    each_table(table, &mut |one| one.set_position(position));
}

fn set_above(table: &mut Table, above: RawString) {
    table.decor_mut().set_prefix(above);
}

/// The furthest position in the document of a table and those under it.
fn furthest(table: &Table) -> Option<isize> {
    let mut found = table.position();
    for (_, item) in table.iter() {
        let below = match item {
            Item::Table(below) => furthest(below),
            Item::ArrayOfTables(list) => list.iter().map(furthest).max().flatten(),
            Item::None | Item::Value(_) => None,
        };
        found = found.max(below);
    }
    found
}

/// What stands above a header apart from it: up to the last empty line.
fn apart(above: &str) -> String {
    let lines: Vec<&str> = above.split_inclusive('\n').collect();
    let last_empty = lines.iter().rposition(|line| line.trim().is_empty());
    last_empty
        .and_then(|at| lines.get(..=at))
        .unwrap_or_default()
        .concat()
}

/// Gives comments that stood apart above a part that is gone to the header that follows now, or to the end.
fn hand_on(document: &mut DocumentMut, gone: Option<isize>, comments: &str) {
    let mut next: Option<isize> = None;
    each_table(document.as_table_mut(), &mut |table| {
        let here = table.position().filter(|here| Some(*here) > gone);
        next = match (next, here) {
            (Some(next), Some(here)) => Some(next.min(here)),
            (next, here) => next.or(here),
        };
    });
    let mut put = false;
    each_table(document.as_table_mut(), &mut |table| {
        if !put && next.is_some() && table.position() == next {
            put = true;
            let own = table.decor().prefix().and_then(RawString::as_str).unwrap_or("\n");
            let above = format!("{comments}{}", own.trim_start_matches('\n'));
            set_above(table, above.into());
        }
    });
    if !put {
        let own = document.trailing().as_str().unwrap_or_default().to_owned();
        document.set_trailing(format!("{}\n{own}", comments.trim_end_matches('\n')));
    }
}
