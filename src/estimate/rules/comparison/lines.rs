//! Lines of an assembly that both rulebooks have. A line has no name of its own: lines that say the same belong
//! together, then those that buy the same or are the same task, then those that differ in one field only.

use serde_json::{Map, Value};

use super::super::rulebook::{Assembly, ItemSource, Line, LineKind};
use super::meaning::{changed_fields, of_formula};
use super::parts::members;
use super::{Fate, FieldChange, PartChange, PartSort};

struct Told<'r> {
    line: &'r Line,
    fields: Map<String, Value>,
}

impl<'r> Told<'r> {
    fn all(assembly: &'r Assembly) -> Vec<Option<Self>> {
        let told = |line| {
            Some(Self {
                line,
                fields: members(line),
            })
        };
        assembly.lines.iter().map(told).collect()
    }

    fn differs_from(&self, before: &Self) -> Vec<FieldChange> {
        changed_fields(&before.fields, &self.fields)
    }
}

/// What a line is called: `material:CT-EXT`, `labour:hang`, `fee:Permit`.
fn name(line: &Line) -> String {
    match &line.kind {
        LineKind::Material { item, .. } => match item {
            ItemSource::Code(code) => format!("material:{}", code.as_str()),
            ItemSource::Formula(formula) => format!("material:{}", formula.as_str()),
        },
        LineKind::Labour { task, .. } => format!("labour:{}", task.as_str()),
        LineKind::Subcontract { charge, .. } => format!("subcontract:{}", charge.title.as_str()),
        LineKind::Fee { charge } => format!("fee:{}", charge.title.as_str()),
    }
}

/// The name, the same for every spelling of a formula in it.
fn same_thing(line: &Line) -> String {
    match &line.kind {
        LineKind::Material {
            item: ItemSource::Formula(formula),
            ..
        } => format!("material:{}", of_formula(formula)),
        _ => name(line),
    }
}

/// What differs between the lines of two states of an assembly.
pub(super) fn changes(before: &Assembly, after: &Assembly) -> Vec<PartChange> {
    let (mut old, new) = (Told::all(before), Told::all(after));
    let mut new: Vec<Told<'_>> = new.into_iter().flatten().collect();
    // Lines that say the same are no change; each takes its fellow out.
    new.retain(|line| take(&mut old, |other| line.differs_from(other).is_empty()).is_none());
    let mut fellows: Vec<Option<Told<'_>>> = new
        .iter()
        .map(|line| take(&mut old, |other| same_thing(other.line) == same_thing(line.line)))
        .collect();
    for (line, fellow) in new.iter().zip(&mut fellows) {
        if fellow.is_none() {
            *fellow = take(&mut old, |other| line.differs_from(other).len() == 1);
        }
    }
    let of = |line: &Told<'_>, fate| PartChange {
        assembly: Some(after.code.to_string()),
        ..PartChange::new(PartSort::Line, &name(line.line), fate)
    };
    let mut changes = Vec::new();
    for (line, fellow) in new.iter().zip(&fellows) {
        changes.push(match fellow {
            Some(fellow) => PartChange {
                fields: line.differs_from(fellow),
                ..of(line, Fate::Changed)
            },
            None => PartChange {
                after: Some(Value::Object(line.fields.clone())),
                ..of(line, Fate::Added)
            },
        });
    }
    changes.extend(old.iter().flatten().map(|line| PartChange {
        before: Some(Value::Object(line.fields.clone())),
        ..of(line, Fate::Removed)
    }));
    changes
}

/// Takes out the first line of which `fits` holds.
fn take<'r>(lines: &mut [Option<Told<'r>>], fits: impl Fn(&Told<'r>) -> bool) -> Option<Told<'r>> {
    lines
        .iter_mut()
        .find(|line| line.as_ref().is_some_and(&fits))?
        .take()
}
