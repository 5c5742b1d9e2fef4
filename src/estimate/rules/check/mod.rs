//! The check: a rulebook and the names that it may use become a program, or every finding at once.

mod arithmetic;
mod assemblies;
mod behind;
mod closing;
mod compiler;
mod conditions;
mod cost_codes;
mod derived;
mod expression;
mod formulas;
mod inputs;
mod lookups;
mod names;
mod naming;
mod purchases;
mod results;
mod scope;
mod tables;
mod unpriced;
mod untested;

use super::decide::Decider;
use super::finding::{Finding, Findings};
use super::formula::{Flaw, tests};
use super::program::{Program, Tables};
use super::rulebook::{Rulebook, Text};
use crate::quantity::decimal::{self, RATE_SCALE};
use compiler::{At, Compiler};
use conditions::Conditions;
pub use cost_codes::{doubtful_cost_codes, unknown_cost_codes};
use inputs::extra;
pub use names::Names;
use rust_decimal::Decimal;
use scope::TableHead;
use std::collections::HashMap;
use std::sync::Arc;
use tables::Made;
pub use unpriced::unpriced;
pub use untested::untested;

/// A program and the warnings that came with it.
#[derive(Debug)]
pub struct Checked {
    /// Ready to run.
    pub program: Program,
    /// What is probably not meant.
    pub warnings: Vec<Finding>,
}

/// Checks a rulebook against the names that it may use.
///
/// # Errors
/// Every finding, warnings among them, in the order of the file, when at least one is an error. A
/// program that comes out has a result on every job within the bounds of its facts; only where a warning says that a
/// quantity may be negative, it may have none.
pub fn compile(rulebook: &Rulebook, names: &Names) -> Result<Checked, Vec<Finding>> {
    compile_as(rulebook, names, Standing::New)
}

/// Compiles a rulebook that has been published: what is decided over choices and bounds is not asked again, so that
/// rules of former days stay usable whatever the check has learnt since.
///
/// # Errors
/// As [`compile`], where names or types do not fit any more.
pub fn reopen(rulebook: &Rulebook, names: &Names) -> Result<Program, Vec<Finding>> {
    compile_as(rulebook, names, Standing::Published).map(|checked| checked.program)
}

/// Whether a rulebook has passed the check before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standing {
    New,
    Published,
}

fn compile_as(rulebook: &Rulebook, names: &Names, standing: Standing) -> Result<Checked, Vec<Finding>> {
    let mut compiler = Compiler::new(&rulebook.file, names);
    scope(&mut compiler, rulebook);
    compiler.codes(rulebook);
    for code in &rulebook.shared_items {
        compiler.item(At::new("rulebook", "shared_items"), code);
    }
    let table_names = rulebook.tables.iter().map(|table| table.name.shared()).collect();
    let tables = tables(&mut compiler, rulebook);
    let derived = derived::bodies(&mut compiler, rulebook);
    let factors = compiler.factors(&rulebook.factors);
    let assemblies = compiler.assemblies(&rulebook.assemblies, &rulebook.factors, &tables.choices);
    let checks = compiler.checks(&rulebook.checks);
    let exclusions = compiler.exclusions(&rulebook.exclusions);
    let completeness = compiler.completeness(rulebook);
    let allowances = compiler.unknowns(&rulebook.unknowns);
    let unknowns = compiler.needed_unknowns(&rulebook.unknowns);
    let inputs = compiler.needed_inputs(&rulebook.inputs);
    let max_factor = max_factor(&mut compiler, rulebook.max_factor.as_ref());
    if !compiler.findings.has_errors() {
        // A formula that could not be read would seem to use nothing.
        unused(&mut compiler, rulebook);
    }
    let Compiler {
        mut findings,
        scope,
        formula_count,
        ..
    } = compiler;
    if findings.has_errors() {
        return Err(findings.sorted());
    }
    let line_count = assemblies.iter().map(|assembly| assembly.lines.len()).sum();
    let program = Program {
        id: rulebook.id.shared(),
        title: rulebook.title.shared(),
        adopted_codes: rulebook.adopted_codes.iter().map(Text::shared).collect(),
        facts: scope.facts,
        domains: scope.domains,
        derived,
        tables,
        table_names,
        factors,
        max_factor,
        assemblies,
        checks,
        exclusions,
        completeness,
        allowances,
        unknowns,
        inputs,
        formula_count,
        line_count,
    };
    if standing == Standing::New {
        beyond_types(&mut findings, rulebook, &program, &scope.tables);
    }
    if findings.has_errors() {
        return Err(findings.sorted());
    }
    Ok(Checked {
        program,
        warnings: findings.sorted(),
    })
}

/// What is probably not meant, or could fail on some job, though every formula is of its type: decided over the
/// choices and bounds of the form.
fn beyond_types(
    findings: &mut Findings<'_>,
    rulebook: &Rulebook,
    program: &Program,
    heads: &HashMap<Arc<str>, TableHead>,
) {
    let decider = Decider::new(program);
    let lines = Conditions {
        findings,
        program,
        decider: &decider,
    }
    .tell(rulebook);
    purchases::tell(findings, rulebook, program, &decider, &lines);
    lookups::tell(findings, rulebook, program, &decider, &lines, heads);
    results::tell(findings, rulebook, program, &decider, &lines);
}

/// Reads and checks a rulebook in one go.
///
/// # Errors
/// As [`super::rulebook::parse_toml`] and [`compile`].
pub fn check_toml(text: &str, names: &Names) -> Result<(Rulebook, Checked), Vec<Finding>> {
    let rulebook = super::rulebook::parse_toml(text)?;
    let checked = compile(&rulebook, names)?;
    Ok((rulebook, checked))
}

/// Every name that a formula may use: facts, inputs, derived values, tables.
fn scope(compiler: &mut Compiler<'_, '_>, rulebook: &Rulebook) {
    let codes = compiler.names.items.iter().map(|(code, _)| Arc::clone(code));
    compiler.scope.items(codes.collect());
    for def in &compiler.names.facts {
        compiler.scope.fact(def.clone());
    }
    for domain in &compiler.names.domains {
        compiler.scope.domain(domain);
    }
    for input in &rulebook.inputs {
        let part = format!("input {}", input.name.as_str());
        compiler.own_name(&part, &input.name);
        match extra(input) {
            Ok(extra) => {
                let fact = inputs::fact(&extra);
                if !compiler.scope.values.contains_key(&fact.name) {
                    compiler.scope.fact(fact);
                }
            }
            Err(flaws) => {
                compiler
                    .scope
                    .broken
                    .insert(format!("input.{}", input.name.as_str()));
                for (field, flaw) in flaws {
                    compiler.error(At::new(&part, field), flaw);
                }
            }
        }
    }
    compiler.unique("input", "name", rulebook.inputs.iter().map(|input| &input.name));
    for derived in &rulebook.derived {
        let part = format!("derived value {}", derived.name.as_str());
        compiler.own_name(&part, &derived.name);
        if compiler.scope.values.contains_key(&*derived.name) {
            let message = format!("`{}` is already the name of a fact", derived.name.as_str());
            compiler.error(At::new(&part, "name"), derived.name.whole("duplicate", message));
        }
    }
    compiler.unique(
        "derived value",
        "name",
        rulebook.derived.iter().map(|derived| &derived.name),
    );
    derived::heads(compiler, &rulebook.derived);
}

fn tables(compiler: &mut Compiler<'_, '_>, rulebook: &Rulebook) -> Tables {
    compiler.unique("table", "name", rulebook.tables.iter().map(|table| &table.name));
    let mut made = Tables::default();
    for (place, table) in rulebook.tables.iter().enumerate() {
        let part = format!("table {}", table.name.as_str());
        compiler.own_name(&part, &table.name);
        let head = tables::head(&compiler.scope, table, place);
        let body = head.map(|head| (tables::body(&compiler.scope, table, &head), head));
        let (body, mut head) = match body {
            Ok(both) => both,
            Err(flaws) => {
                compiler.scope.broken.insert(table.name.to_string());
                for (field, flaw) in flaws {
                    compiler.error(At::new(&part, field), flaw);
                }
                continue;
            }
        };
        // A table whose rows are wrong is still known by its head: formulas that use it are checked.
        let body = body.map(|(made, overlaps)| {
            for flaw in overlaps {
                compiler.findings.warning(&part, "rows", flaw);
            }
            made
        });
        head.slot = match body {
            Ok(Made::Numbers(table)) => push(&mut made.numbers, table),
            Ok(Made::Flags(table)) => push(&mut made.flags, table),
            Ok(Made::Choices(table)) => push(&mut made.choices, table),
            Ok(Made::Curve(curve)) => push(&mut made.curves, curve),
            Err(flaws) => {
                for (field, flaw) in flaws {
                    compiler.error(At::new(&part, field), flaw);
                }
                usize::MAX
            }
        };
        compiler.scope.tables.entry(table.name.shared()).or_insert(head);
    }
    made
}

fn push<T>(list: &mut Vec<T>, value: T) -> usize {
    list.push(value);
    list.len() - 1
}

fn max_factor(compiler: &mut Compiler<'_, '_>, text: Option<&Text>) -> Option<Decimal> {
    let text = text?;
    let at = At::new("labour", "max_factor");
    match decimal::parse(text, RATE_SCALE) {
        Ok(value) if value >= Decimal::ONE => Some(value),
        Ok(value) => {
            compiler.error(
                at,
                text.whole("bounds", format!("{value} would shorten every task"))
                    .expected("1 or more"),
            );
            None
        }
        Err(fault) => {
            compiler.error(at, text.whole("number", format!("`{}` {fault}", text.as_str())));
            None
        }
    }
}

/// Warns of what nothing uses.
fn unused(compiler: &mut Compiler<'_, '_>, rulebook: &Rulebook) {
    let derived: Vec<&str> = rulebook.derived.iter().map(|value| value.name.as_str()).collect();
    let all_used = compiler.scope.all_used(&derived);
    let mut warn = |sort: &str, name: &Text, used: &str| {
        if !all_used.contains(used) {
            let part = format!("{sort} {}", name.as_str());
            compiler.findings.warning(
                &part,
                "name",
                name.whole(
                    "unused",
                    format!("nothing that goes into a result uses this {sort}"),
                ),
            );
        }
    };
    for input in &rulebook.inputs {
        warn("input", &input.name, &format!("input.{}", input.name.as_str()));
    }
    for derived in &rulebook.derived {
        warn("derived value", &derived.name, &derived.name);
    }
    for table in &rulebook.tables {
        warn("table", &table.name, &table.name);
    }
    for factor in &rulebook.factors {
        warn(
            "labour factor",
            &factor.name,
            &format!("factor {}", factor.name.as_str()),
        );
    }
}

impl Rulebook {
    /// The extra inputs as the job spec's form takes them; those with faults, which [`compile`] tells,
    /// are left out.
    pub fn extra_inputs(&self) -> Vec<crate::job::ExtraInput> {
        let read = self.inputs.iter().filter_map(|input| {
            let when = input.when.as_ref().map(|when| self.matters(when));
            Some(crate::job::ExtraInput {
                when,
                ..extra(input).ok()?
            })
        });
        read.collect()
    }

    /// A condition as the form tells it; its derived values are said by what they are made of.
    fn matters(&self, when: &Text) -> crate::job::Matters {
        let formula = |name: &str| {
            let mut derived = self.derived.iter();
            let found = derived.find(|derived| derived.name.as_str() == name)?;
            Some(found.formula.as_str())
        };
        crate::job::Matters {
            formula: when.shared(),
            all: tests(when, formula),
        }
    }

    /// What becomes of unknown answers, as the job spec's form takes it.
    pub fn unknown_rules(&self) -> Vec<crate::job::UnknownRule> {
        self.unknowns
            .iter()
            .map(|unknown| crate::job::UnknownRule {
                answer: unknown.answer.to_string(),
                treat: unknown.treat,
                value: unknown.value.clone(),
                wording: unknown.wording.to_string(),
            })
            .collect()
    }

    /// Findings for rules whose value `fault` says cannot stand at its answer.
    pub fn unfit_answers(
        &self,
        fault: impl Fn(&crate::job::UnknownRule) -> Option<crate::job::Faults>,
    ) -> Vec<Finding> {
        let mut findings = Findings::new(&self.file);
        for (unknown, rule) in self.unknowns.iter().zip(self.unknown_rules()) {
            for fault in fault(&rule).map_or_else(Vec::new, |faults| faults.list) {
                let part = format!("unknown answer {}", rule.answer);
                let flaw = Flaw::new(unknown.value_at.0, "unfit_value", fault.message)
                    .found(fault.came)
                    .expected(fault.allowed);
                findings.error(&part, "value", flaw);
            }
        }
        findings.sorted()
    }
}
