//! Facts of the job: what formulas may read of it.
//!
//! One table gives each fact's name, kind, meaning and value, so that definitions and values cannot
//! come apart. Names follow the job spec's own: `/site/occupied` is `site.occupied`; the probe, the
//! painting and the penetrations go by short names, and sums over routes stand beside them.

use super::choices::{Choice, Direction, Known, PenetrationConstruction, Space};
use super::extra::ExtraInput;
use super::spec::{RouteSums, Spec};
use crate::quantity::Decimal;
use crate::quantity::fact::{Domain, FactDef, FactKind, FactSource, FactValue, WordNumber};
use crate::quantity::unit::Unit;

mod bounds;
mod cellar;
mod finishes;
mod routes;
mod site;
mod unit;

/// A spec and its sums, worked out once.
struct View<'a> {
    spec: &'a Spec,
    line_set: RouteSums,
    drain: RouteSums,
}

/// What kind of value a row of the table has.
enum Kind {
    Number(Unit),
    Flag,
    Choice(&'static str, &'static [(&'static str, &'static str)]),
    /// A choice that may be absent, told by a word of its own.
    ChoiceOr(
        &'static str,
        &'static [(&'static str, &'static str)],
        &'static str,
    ),
}

/// One fact.
struct Row {
    name: &'static str,
    kind: Kind,
    meaning: &'static str,
    value: fn(&View<'_>) -> FactValue,
}

const TABLE: &[&[Row]] = &[cellar::ROWS, unit::ROWS, routes::ROWS, site::ROWS, finishes::ROWS];

/// Definitions of the facts of a job, those of the rulebook's extra inputs (`input.<name>`) last.
pub fn definitions(extra: &[ExtraInput]) -> Vec<FactDef> {
    let bounds = bounds::FormBounds::default();
    let rows = TABLE.iter().copied().flatten().map(|row| FactDef {
        name: row.name.into(),
        kind: match &row.kind {
            Kind::Number(unit) => FactKind::Number(*unit),
            Kind::Flag => FactKind::Flag,
            Kind::Choice(name, words) => {
                FactKind::Choice(Domain::new(name, words.iter().map(|(word, _)| *word)))
            }
            Kind::ChoiceOr(name, words, absent) => FactKind::Choice(Domain::new(
                name,
                words.iter().map(|(word, _)| *word).chain([*absent]),
            )),
        },
        meaning: row.meaning.into(),
        source: FactSource::Job,
        bounds: bounds.of(row.name),
    });
    rows.chain(extra.iter().map(ExtraInput::fact)).collect()
}

/// The answer that a fact of the job is, as its JSON Pointer in the job spec; none of one that is worked out.
pub(super) fn answer_of(fact: &str) -> Option<String> {
    if let Some(input) = fact.strip_prefix("input.") {
        return Some(format!("/extra/{input}"));
    }
    let row = TABLE.iter().copied().flatten().find(|row| row.name == fact)?;
    match row.kind {
        Kind::Number(_) => bounds::answer_of(fact).map(str::to_owned),
        Kind::Flag | Kind::Choice(..) => Some(format!("/{}", fact.replace('.', "/"))),
        Kind::ChoiceOr(..) => None,
    }
}

/// Values of the facts of one job, in the order of [`definitions`] for the same extra inputs.
pub fn values(spec: &Spec) -> Vec<FactValue> {
    let view = View {
        spec,
        line_set: spec.line_set.sums(),
        drain: spec.drain.sums(),
    };
    let count = TABLE.iter().map(|rows| rows.len()).sum::<usize>() + spec.extra.len();
    let mut values = Vec::with_capacity(count);
    values.extend(TABLE.iter().copied().flatten().map(|row| (row.value)(&view)));
    values.extend_from_slice(&spec.extra);
    values
}

fn number(value: Decimal) -> FactValue {
    FactValue::Number(value)
}

fn count(value: u32) -> FactValue {
    FactValue::Number(value.into())
}

fn choice<C: Choice>(value: C) -> FactValue {
    FactValue::Choice(WordNumber::at(value.index()))
}

/// The word of an absent choice comes after the others.
fn choice_or_absent<C: Choice>(value: Option<C>) -> FactValue {
    FactValue::Choice(WordNumber::at(value.map_or(C::WORDS.len(), C::index)))
}

fn known(view: &View<'_>, how: Known) -> FactValue {
    FactValue::Number(view.spec.known(how).into())
}

/// Rows of numbers, flags and choices, written as a table.
macro_rules! rows {
    ($($name:literal $kind:expr, $meaning:literal, |$view:ident| $value:expr;)*) => {
        &[$(super::Row {
            name: $name,
            kind: $kind,
            meaning: $meaning,
            value: |$view: &super::View<'_>| $value,
        },)*]
    };
}
use rows;

/// Words of questions that are asked once a leg or a penetration, and so are no facts; tables may be keyed
/// by them.
pub fn word_lists() -> Vec<Domain> {
    fn words<C: Choice>() -> Domain {
        Domain::new(C::DOMAIN, C::WORDS.iter().map(|(word, _)| *word))
    }
    vec![
        words::<Space>(),
        words::<Direction>(),
        words::<PenetrationConstruction>(),
    ]
}
