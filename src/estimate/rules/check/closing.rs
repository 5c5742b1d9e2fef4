//! What is told with the lines: checks, exclusions, completeness, unknown answers, examples.

use std::sync::Arc;

use super::super::formula::Flaw;
use super::super::program::{
    AllowanceRule, CheckRule, CompletenessRule, ExclusionRule, MessagePart, NeededRule,
};
use super::super::rulebook::{Check, Completeness, Exclusion, Input, Rulebook, Text, Unknown};
use super::super::span::Span;
use super::compiler::{At, Compiler};
use crate::job::Treat;
use crate::quantity::nearest;
use crate::quantity::unit::Unit;

impl Compiler<'_, '_> {
    pub(super) fn checks(&mut self, checks: &[Check]) -> Vec<CheckRule> {
        self.unique("check", "code", checks.iter().map(|check| &check.code));
        let mut made = Vec::new();
        for check in checks {
            let part = format!("check {}", check.code.as_str());
            let when = self.flag(At::new(&part, "when"), &check.when);
            let message = self.message(At::new(&part, "message"), &check.message);
            let source = check.source.as_ref().map(Text::shared);
            made.extend(when.zip(message).map(|(when, message)| CheckRule {
                code: check.code.shared(),
                level: check.level,
                when,
                message,
                source,
            }));
        }
        made
    }

    /// Words and, in braces, formulas whose values stand between them.
    fn message(&mut self, at: At<'_>, message: &Text) -> Option<Vec<MessagePart>> {
        let mut parts = Vec::new();
        let mut fine = true;
        let mut from = 0;
        while let Some(rest) = message.get(from..).filter(|rest| !rest.is_empty()) {
            let Some(open) = rest.find('{') else {
                parts.push(MessagePart::Words(rest.into()));
                break;
            };
            parts.extend(
                rest.get(..open)
                    .filter(|words| !words.is_empty())
                    .map(|words| MessagePart::Words(words.into())),
            );
            let start = from + open + 1;
            let Some(length) = rest
                .get(open..)
                .and_then(|inner| inner.find('}'))
                .map(|close| close - 1)
            else {
                let flaw = Flaw::new(Span::new(start - 1, start), "syntax", "this brace is not closed");
                self.error(at, message.flaw(flaw.expected("}"), self.findings.file()));
                return None;
            };
            let inner = Span::new(start, start + length);
            let formula = Text::new(inner.of(message), message.place(inner, self.findings.file()));
            match self.any(at, &formula) {
                Some(formula) => parts.push(MessagePart::Value(formula)),
                None => fine = false,
            }
            from = start + length + 1;
        }
        fine.then_some(parts)
    }

    pub(super) fn exclusions(&mut self, exclusions: &[Exclusion]) -> Vec<ExclusionRule> {
        self.unique(
            "exclusion",
            "code",
            exclusions.iter().map(|exclusion| &exclusion.code),
        );
        let mut made = Vec::new();
        for exclusion in exclusions {
            let part = format!("exclusion {}", exclusion.code.as_str());
            let when = self.maybe_condition(At::new(&part, "when"), exclusion.when.as_ref());
            let (code, text) = (exclusion.code.shared(), exclusion.text.shared());
            made.extend(when.map(|when| ExclusionRule { code, text, when }));
        }
        made
    }

    pub(super) fn completeness(&mut self, rulebook: &Rulebook) -> Vec<CompletenessRule> {
        let subjects = &rulebook.completeness;
        self.unique(
            "completeness",
            "code",
            subjects.iter().map(|subject| &subject.code),
        );
        let mut made = Vec::new();
        for subject in subjects {
            let part = format!("completeness {}", subject.code.as_str());
            let when = self.maybe_condition(At::new(&part, "when"), subject.when.as_ref());
            let (assemblies, items, answers) = self.covers(At::new(&part, "covered_by"), subject, rulebook);
            made.extend(when.map(|when| CompletenessRule {
                code: subject.code.shared(),
                title: subject.title.shared(),
                wording: subject.wording.as_ref().map(Text::shared),
                when,
                assemblies,
                items,
                answers,
            }));
        }
        made
    }

    /// Places of the assemblies and of the items that cover a subject, and answers whose allowances do.
    fn covers(
        &mut self,
        at: At<'_>,
        subject: &Completeness,
        rulebook: &Rulebook,
    ) -> (Vec<usize>, Vec<usize>, Vec<Arc<str>>) {
        let (mut assemblies, mut items, mut answers) = (Vec::new(), Vec::new(), Vec::new());
        let allowances = rulebook
            .unknowns
            .iter()
            .filter(|unknown| unknown.allowance.is_some());
        let allowances: Vec<&Text> = allowances.map(|unknown| &unknown.answer).collect();
        for code in &subject.covered_by {
            if allowances.contains(&code) {
                answers.push(code.shared());
                continue;
            }
            let assembly = rulebook
                .assemblies
                .iter()
                .position(|assembly| assembly.code == *code);
            let item = self.names.items.iter().position(|(known, _)| **known == **code);
            if assembly.is_none() && item.is_none() {
                let known = rulebook.assemblies.iter().map(|assembly| &*assembly.code);
                let items = self.names.items.iter().map(|(code, _)| &**code);
                let allowances = allowances.iter().map(|answer| answer.as_str());
                let near = nearest::name(code, known.chain(items).chain(allowances));
                let message = format!(
                    "`{}` is neither an assembly nor an item, nor an answer with an allowance",
                    code.as_str()
                );
                self.error(at, code.whole("unknown_code", message).suggest(near));
            }
            assemblies.extend(assembly);
            items.extend(item);
        }
        (assemblies, items, answers)
    }

    /// On which jobs each unknown answer is needed.
    pub(super) fn needed_unknowns(&mut self, unknowns: &[Unknown]) -> Vec<NeededRule> {
        let made = unknowns.iter().map(|unknown| {
            let part = format!("unknown answer {}", unknown.answer.as_str());
            let when = self.maybe_condition(At::new(&part, "when"), unknown.when.as_ref())?;
            let answer = unknown.answer.shared();
            Some(NeededRule { answer, when })
        });
        made.flatten().collect()
    }

    /// On which jobs each extra input matters.
    pub(super) fn needed_inputs(&mut self, inputs: &[Input]) -> Vec<NeededRule> {
        let made = inputs.iter().map(|input| {
            let part = format!("input {}", input.name.as_str());
            let when = self.maybe_condition(At::new(&part, "when"), input.when.as_ref())?;
            let answer = format!("/extra/{}", input.name.as_str()).into();
            Some(NeededRule { answer, when })
        });
        made.flatten().collect()
    }

    pub(super) fn unknowns(&mut self, unknowns: &[Unknown]) -> Vec<AllowanceRule> {
        self.unique(
            "unknown answer",
            "answer",
            unknowns.iter().map(|unknown| &unknown.answer),
        );
        let mut made = Vec::new();
        for unknown in unknowns {
            let part = format!("unknown answer {}", unknown.answer.as_str());
            self.answer(At::new(&part, "answer"), &unknown.answer);
            let mut left_out = self.names.may_be_left_out.iter();
            let needed = !left_out.any(|answer| **answer == *unknown.answer.as_str());
            if unknown.value.is_none() && unknown.treat != Treat::Stop && needed {
                let message = "without a `value` in its place the job cannot be priced";
                let flaw = unknown.answer.whole("missing_field", message);
                self.error(At::new(&part, "value"), flaw);
            }
            let Some(rule) = &unknown.allowance else { continue };
            if unknown.treat != Treat::Allowance {
                let flaw = rule
                    .amount
                    .whole("unknown_field", "only an allowance has an amount");
                self.error(At::new(&part, "amount"), flaw.expected("treat = \"allowance\""));
            }
            self.cost_code(At::new(&part, "cost_code"), &rule.cost_code);
            self.tax_category(At::new(&part, "tax_category"), &rule.tax_category);
            let amount = self.number(At::new(&part, "amount"), &rule.amount, Unit::MONEY);
            made.extend(amount.map(|amount| AllowanceRule {
                answer: unknown.answer.shared(),
                wording: unknown.wording.shared(),
                amount,
                cost_code: rule.cost_code.shared(),
                tax_category: rule.tax_category.shared(),
            }));
        }
        made
    }

    fn answer(&mut self, at: At<'_>, answer: &Text) {
        let known = &self.names.answers;
        if !known.is_empty() && !known.iter().any(|known| **known == **answer) {
            let near = nearest::name(answer, known.iter().map(AsRef::as_ref));
            let message = format!("`{}` is no answer of a job spec", answer.as_str());
            let expected = "a JSON Pointer such as /electrical/panel_length; * for any place in a list";
            self.error(
                at,
                answer
                    .whole("unknown_answer", message)
                    .expected(expected)
                    .suggest(near),
            );
        }
    }
}
