//! Every formula of a rulebook with its place and the jobs that it is computed on.

use super::super::decide::{Case, Decider};
use super::super::program::{
    ChargeCostRule, CheckRule, Formula, ItemNeed, ItemRule, LineRuleKind, MessagePart, Note, Part, Program,
    Typed,
};
use super::super::rulebook::{Charge, ChargeCost, ItemSource, Line, LineKind, Rulebook, Text};
use super::conditions::LineCases;

/// A formula as the office wrote it, and its tree.
pub(super) struct Written<'a> {
    pub(super) part: &'a str,
    pub(super) field: &'static str,
    pub(super) text: &'a Text,
    pub(super) notes: &'a [Note],
    pub(super) tree: Part<'a>,
    /// The jobs on which it is computed.
    pub(super) cases: &'a [Case],
}

/// Calls `visit` for every formula.
pub(super) fn each(
    rulebook: &Rulebook,
    program: &Program,
    decider: &Decider<'_>,
    lines: &LineCases,
    visit: &mut dyn FnMut(Written<'_>),
) {
    let anything = [Case::default()];
    macro_rules! tell {
        ($part:expr, $field:literal, $text:expr, $formula:expr, $sort:ident) => {
            visit(written(
                $part,
                $field,
                $text,
                $formula,
                Part::$sort(&$formula.tree),
                &anything,
            ))
        };
    }
    derived(rulebook, program, &anything, visit);
    for (factor, rule) in rulebook.factors.iter().zip(&program.factors) {
        let part = format!("labour factor {}", factor.name.as_str());
        tell!(&part, "when", &factor.when, &rule.when, Flag);
        let cases = decider.where_holds(&rule.when.tree, anything.to_vec());
        visit(written(
            &part,
            "add",
            &factor.add,
            &rule.add,
            Part::Number(&rule.add.tree),
            &cases,
        ));
    }
    for (check, rule) in rulebook.checks.iter().zip(&program.checks) {
        let part = format!("check {}", check.code.as_str());
        tell!(&part, "when", &check.when, &rule.when, Flag);
        let cases = decider.where_holds(&rule.when.tree, anything.to_vec());
        message(&part, rule, &cases, visit);
    }
    for (one, rule) in rulebook.exclusions.iter().zip(&program.exclusions) {
        if let (Some(text), Some(when)) = (&one.when, &rule.when) {
            tell!(
                &format!("exclusion {}", one.code.as_str()),
                "when",
                text,
                when,
                Flag
            );
        }
    }
    for (one, rule) in rulebook.completeness.iter().zip(&program.completeness) {
        if let (Some(text), Some(when)) = (&one.when, &rule.when) {
            tell!(
                &format!("completeness {}", one.code.as_str()),
                "when",
                text,
                when,
                Flag
            );
        }
    }
    unknowns(rulebook, program, decider, visit);
    for (input, rule) in rulebook.inputs.iter().zip(&program.inputs) {
        if let (Some(text), Some(when)) = (&input.when, &rule.when) {
            tell!(
                &format!("input {}", input.name.as_str()),
                "when",
                text,
                when,
                Flag
            );
        }
    }
    let assemblies = rulebook.assemblies.iter().zip(&program.assemblies).zip(lines);
    for ((assembly, rule), cases) in assemblies {
        let part = format!("assembly {}", assembly.code.as_str());
        if let (Some(text), Some(when)) = (&assembly.when, &rule.when) {
            tell!(&part, "when", text, when, Flag);
        }
        let inside = &cases.assembly;
        for ((line, rule), cases) in assembly.lines.iter().zip(&rule.lines).zip(&cases.lines) {
            let part = format!("{part}, line {}", rule.head.number);
            if let (Some(text), Some(when)) = (&line.when, &rule.when) {
                visit(written(&part, "when", text, when, Part::Flag(&when.tree), inside));
            }
            self::line(&part, line, &rule.kind, cases, visit);
        }
    }
}

/// When each unknown answer is needed, and what is set aside for it there.
fn unknowns(
    rulebook: &Rulebook,
    program: &Program,
    decider: &Decider<'_>,
    visit: &mut dyn FnMut(Written<'_>),
) {
    let anything = [Case::default()];
    let mut allowances = program.allowances.iter();
    for (unknown, needed) in rulebook.unknowns.iter().zip(&program.unknowns) {
        let part = format!("unknown answer {}", unknown.answer.as_str());
        let mut cases = anything.to_vec();
        if let (Some(text), Some(when)) = (&unknown.when, &needed.when) {
            let tree = Part::Flag(&when.tree);
            visit(written(&part, "when", text, when, tree, &anything));
            cases = decider.where_holds(&when.tree, cases);
        }
        let money = unknown.allowance.as_ref();
        if let Some((money, rule)) = money.and_then(|money| Some((money, allowances.next()?))) {
            let tree = Part::Number(&rule.amount.tree);
            visit(written(
                &part,
                "amount",
                &money.amount,
                &rule.amount,
                tree,
                &cases,
            ));
        }
    }
}

/// The values in the message of a check.
fn message(part: &str, rule: &CheckRule, cases: &[Case], visit: &mut dyn FnMut(Written<'_>)) {
    for value in &rule.message {
        if let MessagePart::Value(formula) = value {
            let tree = match &formula.tree {
                Typed::Number(number, _) => Part::Number(number),
                Typed::Flag(flag) => Part::Flag(flag),
                Typed::Choice(choice, _) => Part::Choice(choice),
            };
            visit(written(part, "message", &formula.text, formula, tree, cases));
        }
    }
}

fn written<'a, T>(
    part: &'a str,
    field: &'static str,
    text: &'a Text,
    formula: &'a Formula<T>,
    tree: Part<'a>,
    cases: &'a [Case],
) -> Written<'a> {
    Written {
        part,
        field,
        text,
        notes: &formula.notes,
        tree,
        cases,
    }
}

/// Derived values are computed when something needs them, so on any job.
fn derived(rulebook: &Rulebook, program: &Program, anything: &[Case], visit: &mut dyn FnMut(Written<'_>)) {
    let values = &program.derived;
    let numbers = values.numbers.iter().map(|value| {
        let formula = &value.formula;
        (&value.name, &formula.notes, Part::Number(&formula.tree))
    });
    let flags = values.flags.iter().map(|value| {
        let formula = &value.formula;
        (&value.name, &formula.notes, Part::Flag(&formula.tree))
    });
    let choices = values.choices.iter().map(|value| {
        let formula = &value.formula;
        (&value.name, &formula.notes, Part::Choice(&formula.tree))
    });
    let texts: std::collections::HashMap<&str, &Text> = rulebook
        .derived
        .iter()
        .map(|value| (value.name.as_str(), &value.formula))
        .collect();
    for (name, notes, tree) in numbers.chain(flags).chain(choices) {
        if let Some(text) = texts.get(&**name) {
            visit(Written {
                part: &format!("derived value {name}"),
                field: "formula",
                text,
                notes,
                tree,
                cases: anything,
            });
        }
    }
}

fn line(part: &str, line: &Line, rule: &LineRuleKind, cases: &[Case], visit: &mut dyn FnMut(Written<'_>)) {
    macro_rules! tell {
        ($field:literal, $text:expr, $formula:expr, $sort:ident) => {
            visit(written(
                part,
                $field,
                $text,
                $formula,
                Part::$sort(&$formula.tree),
                cases,
            ))
        };
    }
    let mut need = |source: &ItemSource, quantity: &Text, need: &ItemNeed| {
        if let (ItemSource::Formula(text), ItemRule::Found { formula, .. }) = (source, &need.item) {
            tell!("item_from", text, formula, Choice);
        }
        tell!("quantity", quantity, &need.quantity, Number);
    };
    match (&line.kind, rule) {
        (
            LineKind::Material {
                item,
                quantity,
                waste,
                ..
            },
            LineRuleKind::Material {
                need: rule,
                waste: waste_rule,
                ..
            },
        ) => {
            need(item, quantity, rule);
            if let (Some(text), Some(formula)) = (waste, waste_rule) {
                tell!("waste", text, formula, Number);
            }
        }
        (
            LineKind::Labour { hours, crew, .. },
            LineRuleKind::Labour {
                hours: hours_rule,
                crew: crew_rule,
                ..
            },
        ) => {
            tell!("hours", hours, hours_rule, Number);
            if let (Some(text), Some(formula)) = (crew, crew_rule) {
                tell!("crew", text, formula, Number);
            }
        }
        (LineKind::Subcontract { charge, .. } | LineKind::Fee { charge }, LineRuleKind::Charge(rule)) => {
            let Charge { cost, .. } = charge;
            match (cost, &rule.cost) {
                (ChargeCost::Money { amount }, ChargeCostRule::Money(formula)) => {
                    tell!("amount", amount, formula, Number);
                }
                (ChargeCost::Item { item, quantity }, ChargeCostRule::Item(rule)) => {
                    need(item, quantity, rule)
                }
                _ => {}
            }
        }
        _ => {}
    }
}
