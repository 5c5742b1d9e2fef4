//! Derived values: their heads first, so that each may read any other, then their formulas; then
//! whether they run in a circle or too deep.

use super::super::formula::parse;
use super::super::program::{DerivedValue, DerivedValues, ITEMS, Kind};
use super::super::rulebook::{Derived, Rulebook, Text};
use super::compiler::{At, Compiler};
use super::scope::{Source, Value};

/// The most levels of formulas, those of derived values that are read counted: so many fit the
/// stack of any thread several times over, also without optimisation.
const MAX_TOTAL_DEPTH: usize = 400;
/// What reading a derived value costs of these levels.
const READ_DEPTH: usize = 4;

/// Puts every derived value into the scope, by the sort of value that it says to have.
pub(super) fn heads(compiler: &mut Compiler<'_, '_>, derived: &[Derived]) {
    let (mut numbers, mut flags, mut choices) = (0, 0, 0);
    for (place, value) in derived.iter().enumerate() {
        let part = part(value);
        let kind = match compiler.scope.kind(&value.unit, value.unit.span()) {
            Ok(Kind::Choice(ITEMS)) => {
                compiler.scope.broken.insert(value.name.to_string());
                let flaw = value
                    .unit
                    .whole("unknown_unit", "a derived value cannot be an item");
                compiler.error(
                    At::new(&part, "unit"),
                    flaw.expected("a table whose value is item, used by item_from"),
                );
                continue;
            }
            Ok(kind) => kind,
            Err(flaw) => {
                compiler.scope.broken.insert(value.name.to_string());
                compiler.error(At::new(&part, "unit"), flaw);
                continue;
            }
        };
        let slot = match kind {
            Kind::Number(_) => &mut numbers,
            Kind::Flag => &mut flags,
            Kind::Choice(_) => &mut choices,
        };
        let source = Source::Derived { slot: *slot, place };
        *slot += 1;
        compiler
            .scope
            .values
            .entry(value.name.shared())
            .or_insert(Value { kind, source });
    }
}

fn part(value: &Derived) -> String {
    format!("derived value {}", value.name.as_str())
}

/// The formulas, in the order of their heads.
pub(super) fn bodies(compiler: &mut Compiler<'_, '_>, rulebook: &Rulebook) -> DerivedValues {
    let mut made = DerivedValues::default();
    let mut reads = Vec::new();
    for (place, value) in rulebook.derived.iter().enumerate() {
        compiler.scope.reader.set(Some(place));
        let part = part(value);
        let at = At::new(&part, "formula");
        let (name, title) = (value.name.shared(), value.title.as_ref().map(Text::shared));
        match compiler.scope.values.get(&*value.name).map(|value| value.kind) {
            Some(Kind::Number(unit)) => {
                let formula = compiler.number(at, &value.formula, unit);
                made.numbers
                    .extend(formula.map(|formula| DerivedValue { name, title, formula }));
            }
            Some(Kind::Flag) => {
                let formula = compiler.flag(at, &value.formula);
                made.flags
                    .extend(formula.map(|formula| DerivedValue { name, title, formula }));
            }
            Some(Kind::Choice(domain)) => {
                let formula = compiler.choice(at, &value.formula, domain);
                made.choices
                    .extend(formula.map(|formula| DerivedValue { name, title, formula }));
            }
            // What it says to be has been told wrong.
            None => {}
        }
        reads.push(std::mem::take(&mut compiler.reads));
    }
    compiler.scope.reader.set(None);
    if !circles(compiler, &rulebook.derived, &reads) {
        depths(compiler, &rulebook.derived, &reads);
    }
    made
}

/// Tells every circle once, its members in order. Whether there was one.
fn circles(compiler: &mut Compiler<'_, '_>, derived: &[Derived], reads: &[Vec<usize>]) -> bool {
    const NEW: u8 = 0;
    const OPEN: u8 = 1;
    const DONE: u8 = 2;
    let mut state = vec![NEW; derived.len()];
    let mut found = false;
    for start in 0..derived.len() {
        if state.get(start) != Some(&NEW) {
            continue;
        }
        // A path of values, each with how many of the values that it reads have been followed.
        let mut path: Vec<(usize, usize)> = vec![(start, 0)];
        while let Some((at, followed)) = path.last().copied() {
            if let Some(state) = state.get_mut(at) {
                *state = OPEN;
            }
            let next = reads.get(at).and_then(|reads| reads.get(followed)).copied();
            if let Some(last) = path.last_mut() {
                last.1 += 1;
            }
            match next.map(|next| (next, state.get(next).copied().unwrap_or(DONE))) {
                Some((next, NEW)) => path.push((next, 0)),
                Some((next, OPEN)) => {
                    found = true;
                    let from = path.iter().position(|(at, _)| *at == next).unwrap_or(0);
                    let names: Vec<usize> = path.iter().skip(from).map(|(at, _)| *at).chain([next]).collect();
                    tell_circle(compiler, derived, &names);
                }
                Some(_) => {}
                None => {
                    if let Some(state) = state.get_mut(at) {
                        *state = DONE;
                    }
                    path.pop();
                }
            }
        }
    }
    found
}

fn tell_circle(compiler: &mut Compiler<'_, '_>, derived: &[Derived], members: &[usize]) {
    let names: Vec<&str> = members
        .iter()
        .filter_map(|at| derived.get(*at))
        .map(|value| &*value.name)
        .collect();
    let Some(first) = members.first().and_then(|at| derived.get(*at)) else {
        return;
    };
    let message = match names.len() {
        0..=2 => format!("`{}` reads itself", first.name.as_str()),
        _ => format!("these read one another in a circle: {}", names.join(" -> ")),
    };
    let flaw = first.formula.whole("circle", message);
    compiler.error(At::new(&part(first), "formula"), flaw);
}

/// Tells of a value whose formula, with all that it reads, has too many levels.
fn depths(compiler: &mut Compiler<'_, '_>, derived: &[Derived], reads: &[Vec<usize>]) {
    let own: Vec<usize> = derived
        .iter()
        .map(|value| parse(&value.formula).map_or(0, |expr| expr.depth))
        .collect();
    let mut total = own.clone();
    // Totals grow until nothing changes: without circles, after as many rounds as the longest chain.
    let mut grows = true;
    while grows && !total.iter().any(|total| *total > MAX_TOTAL_DEPTH) {
        grows = false;
        for (at, own) in own.iter().enumerate() {
            let below = reads
                .get(at)
                .into_iter()
                .flatten()
                .filter_map(|read| total.get(*read))
                .max();
            let sum = own + below.map_or(0, |below| below + READ_DEPTH);
            if let Some(known) = total.get_mut(at).filter(|known| **known < sum) {
                *known = sum;
                grows = true;
            }
        }
    }
    if let Some((value, _)) = derived
        .iter()
        .zip(&total)
        .find(|(_, total)| **total > MAX_TOTAL_DEPTH)
    {
        let flaw = value.formula.whole(
            "too_large",
            "this value and those that it reads have too many levels",
        );
        compiler.error(
            At::new(&part(value), "formula"),
            flaw.expected(format!("at most {MAX_TOTAL_DEPTH}")),
        );
    }
}
