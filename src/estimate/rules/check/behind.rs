//! The facts that a formula comes from, and what they can be, in words.

use super::super::program::{ChoiceOp, FlagOp, NumberOp, Part, Program};
use crate::quantity::fact::{FactDef, FactKind};
use crate::quantity::unit::Unit;

/// The most facts of which a finding says what they can be.
const FACTS_TOLD: usize = 4;
/// The most words of a choice that a finding names.
const WORDS_TOLD: usize = 8;

/// What the facts behind a part can be, through derived values; nothing where that is not known of any.
pub(super) fn facts_behind(program: &Program, part: Part<'_>) -> Option<String> {
    let mut facts = Vec::new();
    collect(program, part, &mut facts);
    let told: Vec<String> = facts
        .iter()
        .filter_map(|fact| program.facts.get(*fact))
        .filter_map(can_be)
        .take(FACTS_TOLD)
        .collect();
    (!told.is_empty()).then(|| told.join("; "))
}

fn collect(program: &Program, part: Part<'_>, found: &mut Vec<usize>) {
    let derived = &program.derived;
    let mut below = Vec::new();
    part.walk(&mut |part| match part {
        Part::Number(number) => match number.op {
            NumberOp::Fact(fact) => add(found, fact),
            NumberOp::Derived(slot) => {
                let value = derived.numbers.get(slot);
                below.extend(value.map(|value| Part::Number(&value.formula.tree)));
            }
            _ => {}
        },
        Part::Flag(flag) => match flag.op {
            FlagOp::Fact(fact) => add(found, fact),
            FlagOp::Derived(slot) => {
                let value = derived.flags.get(slot);
                below.extend(value.map(|value| Part::Flag(&value.formula.tree)));
            }
            _ => {}
        },
        Part::Choice(choice) => match choice.op {
            ChoiceOp::Fact(fact) => add(found, fact),
            ChoiceOp::Derived(slot) => {
                let value = derived.choices.get(slot);
                below.extend(value.map(|value| Part::Choice(&value.formula.tree)));
            }
            _ => {}
        },
    });
    for part in below {
        if found.len() < FACTS_TOLD {
            collect(program, part, found);
        }
    }
}

fn add(found: &mut Vec<usize>, fact: usize) {
    if !found.contains(&fact) {
        found.push(fact);
    }
}

/// What a fact can be, in words, where that is known.
fn can_be(fact: &FactDef) -> Option<String> {
    let name = &fact.name;
    match &fact.kind {
        FactKind::Number(unit) => {
            let unit = match *unit {
                Unit::ONE => String::new(),
                unit => format!(" {unit}"),
            };
            match (fact.bounds.least, fact.bounds.greatest) {
                (Some(least), Some(greatest)) => Some(format!("{name} is {least} to {greatest}{unit}")),
                (Some(least), None) => Some(format!("{name} is {least}{unit} or more")),
                (None, Some(greatest)) => Some(format!("{name} is {greatest}{unit} or less")),
                (None, None) => None,
            }
        }
        FactKind::Flag => Some(format!("{name} is either true or false")),
        FactKind::Choice(domain) if domain.words.len() <= WORDS_TOLD => {
            let words: Vec<&str> = domain.words.iter().map(AsRef::as_ref).collect();
            Some(format!("{name} is one of {}", words.join(", ")))
        }
        FactKind::Choice(_) => Some(format!("{name} is one word at a time")),
    }
}
