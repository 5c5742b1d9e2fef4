//! Conditions that hold on every job or on none, though they seem to ask something.
//!
//! `mounting = flush and mounting = exposed` never holds, and neither does a ceiling height above what the form
//! lets through. What a condition asks is followed through derived values and tables, and, of a line, joined
//! with what its assembly asks.

use super::super::decide::{Case, Decider};
use super::super::finding::Findings;
use super::super::formula::Flaw;
use super::super::program::{Flag, FlagOp, Formula, Part, Program};
use super::super::rulebook::{Rulebook, Text};
use super::behind::facts_behind;

/// In which cases an assembly goes in, and each of its lines.
pub(super) struct AssemblyCases {
    pub(super) assembly: Vec<Case>,
    pub(super) lines: Vec<Vec<Case>>,
}

/// One for each assembly.
pub(super) type LineCases = Vec<AssemblyCases>;

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
        self.needed(rulebook);
        lines
    }

    /// Answers that no job or every job needs.
    fn needed(&mut self, rulebook: &Rulebook) {
        let program = self.program;
        let unknowns = rulebook.unknowns.iter().zip(&program.unknowns);
        let unknowns = unknowns.map(|(one, rule)| ("unknown answer", &one.answer, &one.when, rule));
        let inputs = rulebook.inputs.iter().zip(&program.inputs);
        let inputs = inputs.map(|(one, rule)| ("input", &one.name, &one.when, rule));
        for (sort, name, text, rule) in unknowns.chain(inputs) {
            if let (Some(text), Some(rule)) = (text, &rule.when) {
                let of = Whose {
                    name: format!("{sort} {}", name.as_str()),
                    never: "the answer is never needed",
                    always: "the answer is needed on every job",
                };
                self.condition(&of, text, rule, anything());
            }
        }
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
                    name: format!("{name}, line {}", rule.head.number),
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
            all.push(AssemblyCases {
                assembly: cases,
                lines,
            });
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

    /// Adds what the facts that the condition comes from can be.
    fn possible(&self, flaw: Flaw, tree: &Flag) -> Flaw {
        match facts_behind(self.program, Part::Flag(tree)) {
            Some(told) => flaw.expected(told),
            None => flaw,
        }
    }
}

fn anything() -> Vec<Case> {
    vec![Case::default()]
}
