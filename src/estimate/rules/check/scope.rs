//! Every name that a formula may use, and what it stands for.

use super::super::formula::Flaw;
use super::super::program::{DomainId, ITEMS, Kind};
use super::super::span::Span;
use crate::quantity::fact::{Domain, FactDef, FactKind, WordNumber};
use crate::quantity::nearest;
use crate::quantity::unit::{Unit, UnitFault};
use std::cell::{Cell, RefCell};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// Where the value of a name comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    /// A place in the list of facts.
    Fact(usize),
    /// A place among the derived values of its type, and among those of the rulebook.
    Derived { slot: usize, place: usize },
}

/// What a name stands for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Value {
    pub(super) kind: Kind,
    pub(super) source: Source,
}

/// The head of a table.
#[derive(Debug, Clone)]
pub(super) struct TableHead {
    /// Its place in the rulebook.
    pub(super) place: usize,
    /// Its place among the tables of its type.
    pub(super) slot: usize,
    pub(super) value: Kind,
    /// What each key is called and what sort of value it takes.
    pub(super) keys: Vec<(Arc<str>, Kind)>,
    /// The key over which it is interpolated.
    pub(super) curve: Option<usize>,
}

/// The names of one rulebook.
#[derive(Debug, Default)]
pub(super) struct Scope {
    pub(super) domains: Vec<Domain>,
    items: HashMap<Arc<str>, WordNumber>,
    pub(super) facts: Vec<FactDef>,
    pub(super) values: HashMap<Arc<str>, Value>,
    pub(super) tables: HashMap<Arc<str>, TableHead>,
    /// Names of tables and values whose heads were told wrong: what uses them is not told again.
    pub(super) broken: HashSet<String>,
    /// Names of inputs, tables, factors and derived values that something uses which is no derived value.
    used: RefCell<HashSet<String>>,
    /// The derived value whose formula is being checked, by its place.
    pub(super) reader: Cell<Option<usize>>,
    /// What the formula of each derived value uses.
    used_by: RefCell<HashMap<usize, HashSet<String>>>,
}

impl Scope {
    /// The number of a word. Items are found by an index: a catalogue may have a great many.
    pub(super) fn number(&self, domain: DomainId, word: &str) -> Option<WordNumber> {
        if domain == ITEMS {
            return self.items.get(word).copied();
        }
        self.domains.get(domain.0)?.number(word)
    }

    /// Whether the word is one of some domain.
    pub(super) fn is_word(&self, word: &str) -> bool {
        self.items.contains_key(word)
            || self
                .domains
                .iter()
                .skip(ITEMS.0 + 1)
                .any(|domain| domain.number(word).is_some())
    }

    /// Adds the domain of items, before any other.
    pub(super) fn items(&mut self, codes: Vec<Arc<str>>) {
        self.items = codes
            .iter()
            .enumerate()
            .rev()
            .map(|(place, code)| (Arc::clone(code), WordNumber::at(place)))
            .collect();
        self.domains.insert(
            ITEMS.0,
            Domain {
                name: "item".into(),
                words: codes.into(),
            },
        );
    }

    /// The place of a domain, which is added when no other has its name and words.
    pub(super) fn domain(&mut self, domain: &Domain) -> DomainId {
        match self.domains.iter().position(|known| known == domain) {
            Some(at) => DomainId(at),
            None => {
                self.domains.push(domain.clone());
                DomainId(self.domains.len() - 1)
            }
        }
    }

    /// Adds a fact; the first of a name counts.
    pub(super) fn fact(&mut self, def: FactDef) {
        let kind = match &def.kind {
            FactKind::Number(unit) => Kind::Number(*unit),
            FactKind::Flag => Kind::Flag,
            FactKind::Choice(domain) => Kind::Choice(self.domain(domain)),
        };
        let source = Source::Fact(self.facts.len());
        self.values
            .entry(Arc::clone(&def.name))
            .or_insert(Value { kind, source });
        self.facts.push(def);
    }

    /// The input of this name, which a formula calls by `input.` and its name.
    pub(super) fn input_called(&self, name: &str) -> Option<&str> {
        let known = self.values.get_key_value(format!("input.{name}").as_str());
        known.map(|(name, _)| &**name)
    }

    /// The value whose name was probably meant; an input may have been meant without its `input.`.
    pub(super) fn nearest_value(&self, name: &str) -> Option<&str> {
        let names = || self.values.keys().map(AsRef::as_ref);
        let of_inputs = || {
            let inputs = names().filter_map(|known: &str| Some((known, known.strip_prefix("input.")?)));
            let near = nearest::name(name, inputs.clone().map(|(_, short)| short))?;
            inputs
                .clone()
                .find(|(_, short)| *short == near)
                .map(|(known, _)| known)
        };
        self.input_called(name)
            .or_else(|| nearest::name(name, names()))
            .or_else(of_inputs)
    }

    /// The sort of value that a word in a rulebook names: a unit, `flag`, or a list of words.
    pub(super) fn kind(&self, word: &str, span: Span) -> Result<Kind, Flaw> {
        if word == "flag" {
            return Ok(Kind::Flag);
        }
        if let Some(at) = self.domains.iter().position(|domain| &*domain.name == word) {
            return Ok(Kind::Choice(DomainId(at)));
        }
        Unit::parse(word).map(Kind::Number).map_err(|fault| {
            let nearest = nearest::name(word, self.kind_names());
            let message = match fault {
                UnitFault::Unknown { .. } | UnitFault::Malformed { .. } => {
                    format!("`{word}` is neither a unit nor a list of words")
                }
                other => other.to_string(),
            };
            Flaw::new(span, "unknown_unit", message)
                .expected(
                    "a unit such as ft or h/each, 1 for a plain number, flag, or the name of a list of words",
                )
                .suggest(nearest)
        })
    }

    /// Everything that may stand where a sort of value is named.
    fn kind_names(&self) -> Vec<&str> {
        let lists = self.domains.iter().map(|domain| &*domain.name);
        lists.chain(Unit::names().map(|name| -> &str { name })).collect()
    }

    /// Whether a name belongs to a table or value whose head was told wrong.
    pub(super) fn is_broken(&self, name: &str) -> bool {
        self.broken.contains(name)
    }

    pub(super) fn uses(&self, name: &str) {
        let (mut used, mut used_by) = (self.used.borrow_mut(), self.used_by.borrow_mut());
        let used = match self.reader.get() {
            Some(reader) => used_by.entry(reader).or_default(),
            None => &mut *used,
        };
        if !used.contains(name) {
            used.insert(name.to_owned());
        }
    }

    /// Everything that is used, also by way of derived values that are used themselves; `derived` gives their names
    /// by place.
    pub(super) fn all_used(&self, derived: &[&str]) -> HashSet<String> {
        let used_by = self.used_by.borrow();
        let mut used = self.used.borrow().clone();
        let mut open: Vec<String> = used.iter().cloned().collect();
        let places: HashMap<&str, usize> = derived.iter().enumerate().map(|(at, name)| (*name, at)).collect();
        while let Some(name) = open.pop() {
            let read = places.get(name.as_str()).and_then(|place| used_by.get(place));
            for name in read.into_iter().flatten() {
                if used.insert(name.clone()) {
                    open.push(name.clone());
                }
            }
        }
        used
    }

    pub(super) fn word_list(&self, domain: DomainId) -> String {
        const SHOWN: usize = 12;
        let Some(domain) = self.domains.get(domain.0) else {
            return String::new();
        };
        let mut list = domain
            .words
            .iter()
            .take(SHOWN)
            .map(AsRef::as_ref)
            .collect::<Vec<&str>>()
            .join(", ");
        if domain.words.len() > SHOWN {
            list.push_str(", …");
        }
        list
    }

    /// A sort of value in words, such as `length (ft)`.
    pub(super) fn describe(&self, kind: Kind) -> String {
        match kind {
            Kind::Number(unit) if unit == Unit::ONE => "a plain number".to_owned(),
            Kind::Number(unit) => format!("{} ({unit})", unit.dimension()),
            Kind::Flag => "yes or no".to_owned(),
            Kind::Choice(domain) => {
                format!(
                    "a word of {}",
                    self.domains.get(domain.0).map(|d| &*d.name).unwrap_or_default()
                )
            }
        }
    }
}
