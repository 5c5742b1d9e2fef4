//! What every part of the check shares: the findings so far, and formulas of each type.

use super::super::finding::Findings;
use super::super::formula::{Expr, Flaw, parse};
use super::super::program::{Choice, DomainId, Flag, Formula, Kind, Number, Typed};
use super::super::rulebook::Text;
use super::expression::Checker;
use super::names::Names;
use super::scope::Scope;
use crate::quantity::nearest;
use crate::quantity::unit::Unit;
use std::collections::HashMap;
use std::sync::Arc;

/// Where a formula stands: the part of the rulebook and its field.
#[derive(Debug, Clone, Copy)]
pub(super) struct At<'a> {
    pub(super) part: &'a str,
    pub(super) field: &'a str,
}

impl<'a> At<'a> {
    pub(super) fn new(part: &'a str, field: &'a str) -> Self {
        Self { part, field }
    }

    /// Another field of the same part.
    pub(super) fn field(self, field: &'a str) -> Self {
        Self { field, ..self }
    }
}

pub(super) struct Compiler<'f, 'n> {
    pub(super) findings: Findings<'f>,
    pub(super) scope: Scope,
    pub(super) names: &'n Names,
    pub(super) formula_count: usize,
    /// Places of derived values that the last formula read.
    pub(super) reads: Vec<usize>,
    places: Places<'n>,
}

/// Where codes of the catalogue stand in the lists of names.
struct Places<'n> {
    items: HashMap<&'n str, usize>,
    labour_classes: HashMap<&'n str, usize>,
}

impl<'f, 'n> Compiler<'f, 'n> {
    pub(super) fn new(file: &'f str, names: &'n Names) -> Self {
        let places = Places {
            items: names
                .items
                .iter()
                .enumerate()
                .map(|(at, (code, _))| (&**code, at))
                .collect(),
            labour_classes: names
                .labour_classes
                .iter()
                .enumerate()
                .map(|(at, code)| (&**code, at))
                .collect(),
        };
        Self {
            findings: Findings::new(file),
            scope: Scope::default(),
            names,
            formula_count: 0,
            reads: Vec::new(),
            places,
        }
    }

    pub(super) fn error(&mut self, at: At<'_>, flaw: Flaw) {
        self.findings.error(at.part, at.field, flaw);
    }

    /// A formula of a type that `check` decides.
    fn formula<T>(
        &mut self,
        at: At<'_>,
        text: &Text,
        check: impl FnOnce(&mut Checker<'_>, &Expr) -> Option<(T, Kind)>,
    ) -> Option<Formula<T>> {
        self.formula_count += 1;
        self.reads.clear();
        let file = self.findings.file();
        let expr = match parse(text) {
            Ok(expr) => expr,
            Err(flaw) => {
                self.error(at, text.flaw(flaw, file));
                return None;
            }
        };
        let mut checker = Checker::new(&self.scope);
        let made = check(&mut checker, &expr);
        let Checker {
            notes, flaws, reads, ..
        } = checker;
        self.reads = reads;
        if flaws.is_empty() {
            return made.map(|(tree, result)| Formula {
                tree,
                text: text.clone(),
                notes,
                result,
            });
        }
        for flaw in flaws {
            self.error(at, text.flaw(flaw, file));
        }
        None
    }

    /// A formula for a number in this unit.
    pub(super) fn number(&mut self, at: At<'_>, text: &Text, unit: Unit) -> Option<Formula<Number>> {
        self.formula(at, text, |checker, expr| {
            Some((checker.number_in(expr, unit)?, Kind::Number(unit)))
        })
    }

    /// A condition.
    pub(super) fn flag(&mut self, at: At<'_>, text: &Text) -> Option<Formula<Flag>> {
        self.formula(at, text, |checker, expr| Some((checker.flag(expr)?, Kind::Flag)))
    }

    /// A condition that may be absent; the outer nothing is a flaw that has been told.
    pub(super) fn maybe_condition(
        &mut self,
        at: At<'_>,
        text: Option<&Text>,
    ) -> Option<Option<Formula<Flag>>> {
        match text {
            None => Some(None),
            Some(text) => self.flag(at, text).map(Some),
        }
    }

    /// A number that may be absent; the outer nothing is a flaw that has been told.
    pub(super) fn maybe_number(
        &mut self,
        at: At<'_>,
        text: Option<&Text>,
        unit: Unit,
    ) -> Option<Option<Formula<Number>>> {
        match text {
            None => Some(None),
            Some(text) => self.number(at, text, unit).map(Some),
        }
    }

    /// A formula for a word of this domain.
    pub(super) fn choice(&mut self, at: At<'_>, text: &Text, domain: DomainId) -> Option<Formula<Choice>> {
        self.formula(at, text, |checker, expr| {
            Some((checker.choice(expr, domain)?, Kind::Choice(domain)))
        })
    }

    /// A formula of any type.
    pub(super) fn any(&mut self, at: At<'_>, text: &Text) -> Option<Formula<Typed>> {
        self.formula(at, text, |checker, expr| {
            let typed = checker.infer(expr, None)?;
            let kind = Checker::kind_of(&typed);
            Some((typed, kind))
        })
    }

    /// The place of an item; an unknown code is told.
    pub(super) fn item(&mut self, at: At<'_>, code: &Text) -> Option<(usize, Unit)> {
        let place = self.places.items.get(&**code).copied();
        match place.and_then(|place| Some((place, self.names.items.get(place)?.1))) {
            Some(found) => Some(found),
            None => {
                let flaw = code
                    .whole(
                        "unknown_item",
                        format!("`{}` is no item of the catalogue", code.as_str()),
                    )
                    .suggest(nearest::name(
                        code,
                        self.names.items.iter().map(|(code, _)| &**code),
                    ));
                self.error(at, flaw);
                None
            }
        }
    }

    /// The place of a labour class; an unknown code is told.
    pub(super) fn labour_class(&mut self, at: At<'_>, code: &Text) -> Option<usize> {
        let place = self.places.labour_classes.get(&**code).copied();
        if place.is_none() {
            let known = &self.names.labour_classes;
            let flaw = listed(code, "unknown_class", "labour class of the catalogue", known);
            self.error(at, flaw);
        }
        place
    }

    pub(super) fn cost_code(&mut self, at: At<'_>, code: &Text) {
        let known = &self.names.cost_codes;
        if !known.is_empty() && !known.iter().any(|known| **known == **code) {
            let flaw = listed(code, "unknown_cost_code", "cost code", known);
            self.error(at, flaw);
        }
    }

    pub(super) fn tax_category(&mut self, at: At<'_>, code: &Text) {
        let known = &self.names.tax_categories;
        if !known.is_empty() && !known.iter().any(|known| **known == **code) {
            let flaw = listed(code, "unknown_tax_category", "tax category of the policy", known);
            self.error(at, flaw);
        }
    }

    /// Tells of texts that stand twice where each may stand once.
    pub(super) fn unique<'t>(&mut self, sort: &str, field: &str, texts: impl IntoIterator<Item = &'t Text>) {
        let mut seen: HashMap<&'t str, ()> = HashMap::new();
        for text in texts {
            if seen.insert(text, ()).is_some() {
                let flaw = text.whole(
                    "duplicate",
                    format!("another {sort} is called `{}` already", text.as_str()),
                );
                self.error(At::new(&format!("{sort} {}", text.as_str()), field), flaw);
            }
        }
    }
}

fn listed(code: &Text, kind: &'static str, what: &str, known: &[Arc<str>]) -> Flaw {
    let list: Vec<&str> = known.iter().map(AsRef::as_ref).collect();
    code.whole(kind, format!("`{}` is no {what}", code.as_str()))
        .expected(list.join(", "))
        .suggest(nearest::name(code, list.iter().copied()))
}
