//! What is told with the lines: checks, exclusions, completeness, allowances.

use std::sync::Arc;

use super::super::outcome::{Allowance, Exclusion, Missing, Raised};
use super::super::program::{CompletenessRule, MessagePart};
use super::super::trace::{Place, Shown};
use super::{Job, Run, record};
use crate::job::is_rule_for;
use crate::quantity::rounding::{Mode, to_scale};
use crate::quantity::unit::Unit;

/// Decimals of a number in a message.
const MESSAGE_SCALE: u32 = 2;

impl<'p, const EXPLAIN: bool> Job<'p, '_, EXPLAIN> {
    /// Everything that is told once the lines are known.
    pub(super) fn close(&mut self, unknown: &[&str]) -> Run<()> {
        let program = self.program;
        for check in &program.checks {
            if self.holds(Some(&check.when), || Place::Condition {
                of: "check",
                code: &check.code,
            })? {
                let message = self.message(&check.message, &check.code)?;
                let source = check.source.as_deref();
                self.out.raised.push(Raised {
                    code: &check.code,
                    level: check.level,
                    message,
                    source,
                });
            }
        }
        for exclusion in &program.exclusions {
            let place = || Place::Condition {
                of: "exclusion",
                code: &exclusion.code,
            };
            if self.holds(exclusion.when.as_ref(), place)? {
                self.out.exclusions.push(Exclusion {
                    code: &exclusion.code,
                    text: &exclusion.text,
                });
            }
        }
        for rule in &program.completeness {
            self.completeness(rule, unknown)?;
        }
        for rule in &program.allowances {
            if unknown.iter().any(|pointer| is_rule_for(&rule.answer, pointer)) {
                let place = || Place::Allowance { answer: &rule.answer };
                let amount = self.not_negative(&rule.amount, place)?;
                self.out.allowances.push(Allowance {
                    answer: &rule.answer,
                    wording: &rule.wording,
                    amount,
                    cost_code: &rule.cost_code,
                    tax_category: &rule.tax_category,
                });
            }
        }
        Ok(())
    }

    fn completeness(&mut self, rule: &'p CompletenessRule, unknown: &[&str]) -> Run<()> {
        let made = |list: &[bool], places: &[usize]| places.iter().any(|at| list.get(*at) == Some(&true));
        let set_aside = |answer: &Arc<str>| unknown.iter().any(|pointer| is_rule_for(answer, pointer));
        let covered = made(&self.made_assemblies, &rule.assemblies)
            || made(&self.made_items, &rule.items)
            || rule.answers.iter().any(set_aside);
        let place = || Place::Condition {
            of: "completeness",
            code: &rule.code,
        };
        if !covered && self.holds(rule.when.as_ref(), place)? {
            let wording = rule.wording.as_deref();
            self.out.missing.push(Missing {
                code: &rule.code,
                title: &rule.title,
                wording,
            });
        }
        Ok(())
    }

    /// A message with the values of this job in it.
    fn message(&mut self, parts: &'p [MessagePart], code: &'p str) -> Run<String> {
        let mut message = String::new();
        for part in parts {
            match part {
                MessagePart::Words(words) => message.push_str(words),
                MessagePart::Value(formula) => {
                    let raw = self.machine.raw_of(formula, || Place::Message { code })?;
                    message.push_str(&worded(record::shown(self.program, formula.result, raw)));
                }
            }
        }
        Ok(message)
    }
}

/// A value in a sentence: rounded for reading, words without their underscores.
fn worded(value: Shown<'_>) -> String {
    match value {
        Shown::Number(number, unit) => {
            let number = to_scale(number, MESSAGE_SCALE, Mode::HalfUp);
            match unit {
                Unit::EACH => Shown::Number(number, Unit::ONE).to_string(),
                unit => Shown::Number(number, unit).to_string(),
            }
        }
        Shown::Word(word) => word.replace('_', " "),
        flag @ Shown::Flag(_) => flag.to_string(),
    }
}
