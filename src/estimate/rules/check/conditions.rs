//! Conditions that hold on every job or on none, though they seem to ask something.
//!
//! `mounting = flush and mounting = exposed` never holds, and neither does a ceiling height above what the form
//! lets through. What a condition asks is followed through derived values and tables, and, of a line, joined
//! with what its assembly asks.

use super::super::decide::{Case, Decider};
use super::super::finding::Findings;
use super::super::formula::Flaw;
use super::super::program::{ChoiceOp, Flag, FlagOp, Formula, NumberOp, Part, Program};
use super::super::rulebook::{Rulebook, Text};
use crate::quantity::fact::{FactDef, FactKind};
use crate::quantity::unit::Unit;

/// The most facts of which a finding says what they can be.
const FACTS_TOLD: usize = 4;
/// The most words of a choice that a finding names.
const WORDS_TOLD: usize = 8;

/// In which cases each line of each assembly goes in.
pub(super) type LineCases = Vec<Vec<Vec<Case>>>;

/// What a finding says of the part that the condition belongs to.
struct Whose<'a> {
    name: String,
    /// What never happens.
    never: &'a str,
    /// What always happens.
    always: &'a str,
}

pub(super) struct Conditions<'a, 'f> {
    pub(super) findings: &'a mut Findings<'f>,
    pub(super) program: &'a Program,
    pub(super) decider: &'a Decider<'a>,
}

impl Conditions<'_, '_> {
    /// Tells of every such condition, and in which cases lines go in.
    pub(super) fn tell(&mut self, rulebook: &Rulebook) -> LineCases {
        let program = self.program;
        for (factor, rule) in rulebook.factors.iter().zip(&program.factors) {
            let of = Whose {
                name: format!("labour factor {}", factor.name.as_str()),
                never: "the factor never applies",
                always: "the factor always applies",
            };
            self.condition(&of, &factor.when, &rule.when, anything());
        }
        let lines = self.assemblies(rulebook);
        for (check, rule) in rulebook.checks.iter().zip(&program.checks) {
            let of = Whose {
                name: format!("check {}", check.code.as_str()),
                never: "it is never told",
                always: "it is told of every job",
            };
            self.condition(&of, &check.when, &rule.when, anything());
        }
        let completeness = rulebook.completeness.iter().zip(&program.completeness);
        let completeness = completeness.map(|(one, rule)| ("completeness", &one.code, &one.when, &rule.when));
        let exclusions = rulebook.exclusions.iter().zip(&program.exclusions);
        let exclusions = exclusions.map(|(one, rule)| ("exclusion", &one.code, &one.when, &rule.when));
        for (sort, code, text, rule) in completeness.chain(exclusions) {
            if let (Some(text), Some(rule)) = (text, rule) {
                let of = Whose {
                    name: format!("{sort} {}", code.as_str()),
                    never: "it is never looked at",
                    always: "it is looked at on every job",
                };
                self.condition(&of, text, rule, anything());
            }
        }
        lines
    }

    fn assemblies(&mut self, rulebook: &Rulebook) -> LineCases {
        let program = self.program;
        let mut all = Vec::with_capacity(program.assemblies.len());
        for (assembly, rule) in rulebook.assemblies.iter().zip(&program.assemblies) {
            let name = format!("assembly {}", assembly.code.as_str());
            let mut cases = anything();
            if let (Some(text), Some(when)) = (&assembly.when, &rule.when) {
                let of = Whose {
                    name: name.clone(),
                    never: "the assembly never goes in",
                    always: "the assembly always goes in",
                };
                cases = self.condition(&of, text, when, cases);
            }
            let mut lines = Vec::with_capacity(rule.lines.len());
            for (line, rule) in assembly.lines.iter().zip(&rule.lines) {
                let of = Whose {
                    name: format!("{name}, line {}", rule.number),
                    never: "beside the assembly's own condition, the line never goes in",
                    always: "the line goes in whenever its assembly does",
                };
                lines.push(match (&line.when, &rule.when) {
                    // Of an assembly that never goes in, its lines are not told as well.
                    (Some(text), Some(when)) if !cases.is_empty() => {
                        self.condition(&of, text, when, cases.clone())
                    }
                    _ => cases.clone(),
                });
            }
            all.push(lines);
        }
        all
    }

    /// Tells when a condition holds in none or in all of these cases; what is left of them where it does.
    fn condition(
        &mut self,
        of: &Whose<'_>,
        text: &Text,
        when: &Formula<Flag>,
        cases: Vec<Case>,
    ) -> Vec<Case> {
        if matches!(when.tree.op, FlagOp::Given(true)) {
            return cases;
        }
        let left = self.decider.where_holds(&when.tree, cases.clone());
        if left.is_empty() {
            let message = format!("no job fits this condition: {}", of.never);
            let flaw = text.whole("never_holds", message);
            self.warn(of, self.possible(flaw, &when.tree));
        } else if self.decider.always_holds(&when.tree, cases) {
            let message = format!("every job fits this condition: {}", of.always);
            let flaw = text.whole("always_holds", message);
            self.warn(of, self.possible(flaw, &when.tree));
        }
        left
    }

    fn warn(&mut self, of: &Whose<'_>, flaw: Flaw) {
        self.findings.warning(&of.name, "when", flaw);
    }

    /// Adds what the condition asks, and what the facts that it comes from can be.
    fn possible(&self, flaw: Flaw, tree: &Flag) -> Flaw {
        let mut facts = Vec::new();
        self.facts(Part::Flag(tree), &mut facts);
        let told: Vec<String> = facts
            .iter()
            .filter_map(|fact| self.program.facts.get(*fact))
            .filter_map(can_be)
            .take(FACTS_TOLD)
            .collect();
        if told.is_empty() {
            return flaw;
        }
        flaw.expected(told.join("; "))
    }

    /// The facts that a part comes from, through derived values.
    fn facts(&self, part: Part<'_>, found: &mut Vec<usize>) {
        let derived = &self.program.derived;
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
                self.facts(part, found);
            }
        }
    }
}

fn anything() -> Vec<Case> {
    vec![Case::default()]
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
