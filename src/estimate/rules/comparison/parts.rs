//! The parts of a rulebook, each with its name and its fields.

use serde::Serialize;
use serde_json::{Map, Value};

use super::super::rulebook::{Assembly, Rulebook, Table};
use super::PartSort;

/// A part: its sort and name say which it is, its fields what it says.
pub(super) struct Part<'r> {
    pub(super) sort: PartSort,
    pub(super) name: &'r str,
    /// Which of the parts of this sort and name, where a draft has several.
    pub(super) time: usize,
    /// All but the rows of a table and the lines of an assembly.
    pub(super) fields: Map<String, Value>,
    pub(super) table: Option<&'r Table>,
    pub(super) assembly: Option<&'r Assembly>,
}

impl<'r> Part<'r> {
    fn new(sort: PartSort, name: &'r str, part: &impl Serialize) -> Self {
        Self {
            sort,
            name,
            time: 0,
            fields: members(part),
            table: None,
            assembly: None,
        }
    }

    pub(super) fn is_same_part(&self, other: &Part<'_>) -> bool {
        self.sort == other.sort && self.name == other.name && self.time == other.time
    }

    /// The whole part, rows and lines included.
    pub(super) fn whole(&self) -> Value {
        match (self.table, self.assembly) {
            (Some(table), _) => Value::Object(members(table)),
            (_, Some(assembly)) => Value::Object(members(assembly)),
            _ => Value::Object(self.fields.clone()),
        }
    }
}

/// The fields of a part as JSON. Every part is an object of texts, lists and flags, which always has JSON.
pub(super) fn members(part: &impl Serialize) -> Map<String, Value> {
    match serde_json::to_value(part) {
        Ok(Value::Object(members)) => members,
        _ => Map::new(),
    }
}

/// Every part, in the order of the file.
pub(super) fn parts(rulebook: &Rulebook) -> Vec<Part<'_>> {
    let mut parts = vec![head(rulebook)];
    macro_rules! each {
        ($list:ident, $name:ident, $sort:ident) => {
            for part in &rulebook.$list {
                parts.push(Part::new(PartSort::$sort, &part.$name, part));
            }
        };
    }
    each!(inputs, name, Input);
    for table in &rulebook.tables {
        let mut part = Part::new(PartSort::Table, &table.name, table);
        part.fields.shift_remove("rows");
        part.table = Some(table);
        parts.push(part);
    }
    each!(derived, name, Derived);
    each!(factors, name, Factor);
    for assembly in &rulebook.assemblies {
        let mut part = Part::new(PartSort::Assembly, &assembly.code, assembly);
        part.fields.shift_remove("line");
        part.assembly = Some(assembly);
        parts.push(part);
    }
    each!(checks, code, Check);
    each!(unknowns, answer, Unknown);
    each!(completeness, code, Completeness);
    each!(exclusions, code, Exclusion);
    each!(examples, title, Example);
    number(&mut parts);
    parts
}

fn head(rulebook: &Rulebook) -> Part<'_> {
    #[derive(Serialize)]
    struct Head<'r> {
        id: &'r str,
        title: &'r str,
        adopted_codes: Vec<&'r str>,
        #[serde(skip_serializing_if = "Vec::is_empty")]
        shared_items: Vec<&'r str>,
        #[serde(skip_serializing_if = "Option::is_none")]
        max_factor: Option<&'r str>,
    }
    let head = Head {
        id: &rulebook.id,
        title: &rulebook.title,
        adopted_codes: rulebook.adopted_codes.iter().map(|code| &**code).collect(),
        shared_items: rulebook.shared_items.iter().map(|code| &**code).collect(),
        max_factor: rulebook.max_factor.as_deref(),
    };
    Part::new(PartSort::Head, "rulebook", &head)
}

/// A name should be there once; a draft may have it twice before its check.
fn number(parts: &mut [Part<'_>]) {
    let mut times = std::collections::HashMap::new();
    for part in parts {
        let time = times.entry((part.sort, part.name)).or_insert(0_usize);
        part.time = *time;
        *time += 1;
    }
}
