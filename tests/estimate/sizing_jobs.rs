//! Jobs to size: the demonstration company's, as they are or changed, and what the report says of them.

use std::collections::HashMap;
use std::sync::LazyLock;

use estimate::catalogue::{Catalogue, Equipment};
use estimate::job::Spec;
use estimate::quantity::fact::{FactDef, FactKind, FactValue};
use estimate::sizing::finding::Level;
use estimate::sizing::{SizingReport, facts, size};
use estimate::workbook::Workbook;
use rust_decimal::Decimal;
use serde_json::{Value, json};

use crate::demo::{catalogue, text};

pub const SEEDS: [&str; 9] = [
    "alderwick-closet",
    "marlcombe-unknowns",
    "osierby-long-riser",
    "pinfold-basement",
    "quarrow-metric",
    "saltgate-replacement",
    "thornfold-weak-pump",
    "wickerlamp-first-scheme",
    "wickerlamp-restaurant",
];

/// The demonstration company's catalogue and rulebook, read once.
pub struct Office {
    pub catalogue: Catalogue,
    pub workbook: Workbook,
}

pub static OFFICE: LazyLock<Office> = LazyLock::new(|| {
    let catalogue = catalogue();
    let workbook = Workbook::compile(&text("rulebook.toml"), 1, &catalogue, &[])
        .unwrap_or_else(|findings| panic!("{findings:#?}"));
    Office { catalogue, workbook }
});

/// An estimate request of the demonstration.
pub fn seed(name: &str) -> Value {
    serde_json::from_str(&text(&format!("jobs/{name}.json"))).unwrap()
}

/// A seed with some members of its job replaced, by JSON Pointer. A member set to null is taken out.
pub fn changed(name: &str, changes: &[(&str, Value)]) -> Value {
    let mut request = seed(name);
    for (pointer, value) in changes {
        let (parent, member) = pointer.rsplit_once('/').unwrap();
        let parent = request["job"]
            .pointer_mut(parent)
            .unwrap_or_else(|| panic!("no {parent}"));
        match parent {
            Value::Array(list) => list[member.parse::<usize>().unwrap()] = value.clone(),
            Value::Object(members) if value.is_null() => {
                members
                    .shift_remove(member)
                    .unwrap_or_else(|| panic!("no {pointer}"));
                // How an answer is known goes with it.
                if let Some(basis) = request["job"]["basis"].as_array_mut() {
                    basis.retain(|entry| entry["answer"] != *pointer);
                }
            }
            Value::Object(members) => {
                members.insert(member.to_owned(), value.clone());
            }
            other => panic!("{pointer} is in {other}"),
        }
    }
    request
}

pub fn spec(request: &Value) -> Spec {
    let read = OFFICE.workbook.read(request);
    read.unwrap_or_else(|fault| panic!("{fault}")).job.spec
}

pub fn ft(value: &str) -> Value {
    json!({"value": value, "unit": "ft"})
}

pub fn inches(value: &str) -> Value {
    json!({"value": value, "unit": "in"})
}

pub fn degrees(value: &str) -> Value {
    json!({"value": value, "unit": "degF"})
}

/// A report and its facts by name.
pub struct Sized {
    pub report: SizingReport,
    facts: HashMap<String, (FactDef, FactValue)>,
}

impl Sized {
    pub fn of(spec: &Spec, catalogue: &Catalogue) -> Self {
        let report = size(spec, catalogue).unwrap();
        let values = facts::values(&report);
        let named = |def: FactDef| def.name.to_string();
        let facts = facts::definitions(catalogue)
            .into_iter()
            .zip(values)
            .map(|(def, value)| (named(def.clone()), (def, value)))
            .collect();
        Self { report, facts }
    }

    pub fn number(&self, name: &str) -> Decimal {
        match self.facts.get(name) {
            Some((_, FactValue::Number(value))) => *value,
            other => panic!("{name} is {other:?}"),
        }
    }

    /// A number as it is printed.
    pub fn text(&self, name: &str) -> String {
        self.number(name).normalize().to_string()
    }

    pub fn flag(&self, name: &str) -> bool {
        match self.facts.get(name) {
            Some((_, FactValue::Flag(flag))) => *flag,
            other => panic!("{name} is {other:?}"),
        }
    }

    pub fn word(&self, name: &str) -> &str {
        match self.facts.get(name) {
            Some((def, FactValue::Choice(number))) => match &def.kind {
                FactKind::Choice(domain) => domain.word(*number).unwrap(),
                other => panic!("{name} is of {other:?}"),
            },
            other => panic!("{name} is {other:?}"),
        }
    }

    pub fn codes(&self, level: Level) -> Vec<&'static str> {
        let findings = self.report.findings.iter();
        findings.filter(|f| f.level == level).map(|f| f.code).collect()
    }

    pub fn stops(&self) -> Vec<&'static str> {
        self.codes(Level::Stop)
    }

    pub fn cautions(&self) -> Vec<&'static str> {
        self.codes(Level::Caution)
    }

    /// The sentence of a finding.
    pub fn says(&self, code: &str) -> &str {
        let finding = self.report.findings.iter().find(|finding| finding.code == code);
        &finding
            .unwrap_or_else(|| panic!("no {code} in {:#?}", self.report.findings))
            .message
    }
}

/// A changed seed, sized with the demonstration's catalogue.
pub fn sized(name: &str, changes: &[(&str, Value)]) -> Sized {
    Sized::of(&spec(&changed(name, changes)), &OFFICE.catalogue)
}

/// The demonstration's catalogue with changed equipment.
pub fn catalogue_with(change: impl Fn(&mut Equipment)) -> Catalogue {
    let mut equipment = OFFICE.catalogue.equipment().to_vec();
    equipment.iter_mut().for_each(change);
    let (items, labour) = (
        OFFICE.catalogue.items().to_vec(),
        OFFICE.catalogue.labour().to_vec(),
    );
    Catalogue::new(items, labour, equipment).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

/// A figure for comparison with a worked one.
pub fn float(value: Decimal) -> f64 {
    value.to_string().parse().unwrap()
}
