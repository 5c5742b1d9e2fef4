//! A rulebook made ready to work with: its program, the form of the job spec with the rulebook's extra
//! inputs in it, and its rules for unknown answers.
//!
//! In: the rulebook's text and the catalogue that it refers to. Out: what reads requests and runs on them,
//! compiled once and shared. Deliberately absent: prices, which change without the rules.

use std::collections::BTreeSet;
use std::sync::Arc;

use serde_json::Value;

use crate::bill::possible_keys;
use crate::catalogue::prices::PriceBook;
use crate::catalogue::{Catalogue, facts as equipment_facts};
use crate::estimate::Version;
use crate::job::{
    ExtraInput, Form, JobFault, Names as Known, Request, RequestReader, Spec, Understood, UnknownRule,
    facts as job_facts,
};
use crate::pricing::CheckedPolicy;
use crate::quantity::fact::FactDef;
use crate::quantity::unit::Unit;
use crate::rules::rulebook::LineKind;
use crate::rules::{
    Checked, Finding, Names, Program, Rulebook, compile, doubtful_cost_codes, parse_toml, reopen,
    unknown_cost_codes, unpriced, untested,
};
use crate::sizing;

/// A rulebook, checked and compiled against one catalogue.
#[derive(Debug)]
pub struct Workbook {
    rulebook: Rulebook,
    version: u32,
    program: Program,
    form: Form,
    unknown: Vec<UnknownRule>,
    warnings: Vec<Finding>,
    labour_classes: Vec<String>,
    cost_codes: Vec<String>,
    items: Vec<(String, Unit)>,
    lines: Vec<String>,
}

impl Workbook {
    /// Reads, checks and compiles a rulebook.
    ///
    /// `tax_categories` are those that the company's policies know; none means that any is taken.
    ///
    /// # Errors
    /// Every finding, each with its place in `text`, when one of them is an error.
    pub fn compile(
        text: &str,
        version: u32,
        catalogue: &Catalogue,
        tax_categories: &[&str],
    ) -> Result<Self, Vec<Finding>> {
        let mut made = Self::made(text, version, catalogue, tax_categories, compile)?;
        made.warnings.extend(untested(&made.rulebook, &made.lines));
        made.warnings.sort_by_key(|finding| finding.span.start);
        Ok(made)
    }

    /// The same for a rulebook that was published: it has passed its check then, and is not refused for what the check
    /// has learnt since.
    ///
    /// # Errors
    /// Every finding, where its names or types do not fit the catalogue any more.
    pub fn reopen(
        text: &str,
        version: u32,
        catalogue: &Catalogue,
        tax_categories: &[&str],
    ) -> Result<Self, Vec<Finding>> {
        let reopened = |rulebook: &Rulebook, names: &Names| {
            let program = reopen(rulebook, names)?;
            Ok(Checked {
                program,
                warnings: Vec::new(),
            })
        };
        Self::made(text, version, catalogue, tax_categories, reopened)
    }

    fn made(
        text: &str,
        version: u32,
        catalogue: &Catalogue,
        tax_categories: &[&str],
        compile: impl FnOnce(&Rulebook, &Names) -> Result<Checked, Vec<Finding>>,
    ) -> Result<Self, Vec<Finding>> {
        let rulebook = parse_toml(text)?;
        let extra = rulebook.extra_inputs();
        let form = Form::new(&classes(catalogue), &extra);
        let names = names(&form, &extra, catalogue, tax_categories);
        let checked = compile(&rulebook, &names)?;
        let unknown = rulebook.unknown_rules();
        let unfit = rulebook.unfit_answers(|rule| match &rule.value {
            Some(value) => form.check_answer(&rule.answer, value).err(),
            None => None,
        });
        if !unfit.is_empty() {
            return Err(unfit);
        }
        let labour = catalogue.labour().iter();
        let mut items: Vec<(String, Unit)> = catalogue
            .items()
            .iter()
            .map(|item| (item.code.clone(), item.unit))
            .collect();
        items.sort_by(|one, other| one.0.cmp(&other.0));
        Ok(Self {
            cost_codes: cost_codes(&rulebook, catalogue),
            items,
            labour_classes: labour.map(|class| class.code.clone()).collect(),
            lines: possible_keys(&rulebook, catalogue),
            rulebook,
            version,
            program: checked.program,
            form,
            unknown,
            warnings: checked.warnings,
        })
    }

    /// What can be told of the text of a rulebook where the catalogue that it refers to is not there: its syntax and
    /// shape, names, types and units. What names something of a catalogue is not judged.
    pub fn findings_without_catalogue(text: &str) -> Vec<Finding> {
        let rulebook = match parse_toml(text) {
            Ok(rulebook) => rulebook,
            Err(findings) => return findings,
        };
        let Ok(catalogue) = Catalogue::new(Vec::new(), Vec::new(), Vec::new()) else {
            return Vec::new();
        };
        let extra = rulebook.extra_inputs();
        let form = Form::new(&[], &extra);
        let names = names(&form, &extra, &catalogue, &[]);
        let mut findings = match compile(&rulebook, &names) {
            Ok(checked) => checked.warnings,
            Err(findings) => findings,
        };
        findings.retain(|finding| {
            let of_class = finding.code == "unknown_word" && finding.expected.as_deref() == Some("");
            !of_class && !["unknown_item", "unknown_class"].contains(&finding.code)
        });
        findings
    }

    /// The rulebook as the office wrote it.
    pub fn rulebook(&self) -> &Rulebook {
        &self.rulebook
    }

    /// Its name and version.
    pub fn version(&self) -> Version<'_> {
        Version {
            id: self.program.id(),
            version: self.version,
        }
    }

    /// What runs on the facts of a job.
    pub fn program(&self) -> &Program {
        &self.program
    }

    /// The form of the job spec under this rulebook.
    pub fn form(&self) -> &Form {
        &self.form
    }

    /// The rules for unknown answers.
    pub fn unknown_rules(&self) -> &[UnknownRule] {
        &self.unknown
    }

    /// Every fact that formulas may read, in the order of the program.
    pub fn facts(&self) -> &[FactDef] {
        self.program.facts()
    }

    /// The cost codes that items, labour classes and lines of the rulebook carry, in order.
    pub fn cost_codes(&self) -> &[String] {
        &self.cost_codes
    }

    /// The spec of a job that was understood under this rulebook, as if those of its unknown answers that are `spared` had
    /// been left out; none where all of them are needed. An answer that no job can do without stays as it was assumed.
    pub(crate) fn without(&self, job: &Understood, spared: &[&str]) -> Option<Spec> {
        self.form.without(job, &self.unknown, spared)
    }

    /// What is probably not meant.
    pub fn warnings(&self) -> &[Finding] {
        &self.warnings
    }

    /// Errors for lines that cannot be priced on the day of `prices`, which are of the same catalogue: the rulebook
    /// itself is fine, but should not count while it buys what has no price.
    pub fn unpriced(&self, prices: &PriceBook) -> Vec<Finding> {
        unpriced(&self.rulebook, &self.program, prices)
    }

    /// Errors for cost codes of charges and allowances that are not among the `known` ones.
    pub fn unknown_cost_codes(&self, known: &BTreeSet<&str>) -> Vec<Finding> {
        unknown_cost_codes(&self.rulebook, known)
    }

    /// These rules as the first of an office, which knows no cost codes but the `known` ones yet: with a warning for each
    /// code that one line alone uses and that is nearly another.
    pub fn as_the_first(mut self, known: &BTreeSet<&str>) -> Self {
        self.warnings.extend(doubtful_cost_codes(&self.rulebook, known));
        self.warnings.sort_by_key(|finding| finding.span.start);
        self
    }

    /// What estimate requests under this rulebook are read by. Tax categories and the currency are those of the
    /// policy, and are not judged without one.
    pub fn reader<'a>(&'a self, policy: Option<&'a CheckedPolicy>) -> RequestReader<'a> {
        RequestReader {
            form: &self.form,
            rules: &self.unknown,
            names: Known {
                labour_classes: Some(&self.labour_classes),
                tax_categories: policy.map(CheckedPolicy::tax_categories),
                cost_codes: policy.map(|policy| [self.cost_codes.as_slice(), policy.cost_codes()]),
                items: Some(&self.items),
                lines: Some(&self.lines),
                currency: policy.map(CheckedPolicy::currency),
            },
            today: None,
            settled: false,
        }
    }

    /// Reads an estimate request under this rulebook, whatever the policy.
    ///
    /// # Errors
    /// Every fault at once, each with its JSON Pointer.
    pub fn read(&self, request: &Value) -> Result<Request, JobFault> {
        self.reader(None).read(request)
    }
}

/// The cost codes that items, labour classes and lines of the rulebook carry, each once, in order. They are declared
/// nowhere else.
fn cost_codes(rulebook: &Rulebook, catalogue: &Catalogue) -> Vec<String> {
    let items = catalogue.items().iter().map(|item| item.cost_code.as_str());
    let classes = catalogue.labour().iter().map(|class| class.cost_code.as_str());
    let lines = rulebook.assemblies.iter().flat_map(|assembly| &assembly.lines);
    let charges = lines.filter_map(|line| match &line.kind {
        LineKind::Subcontract { charge, .. } | LineKind::Fee { charge } => Some(charge.cost_code.as_str()),
        LineKind::Material { .. } | LineKind::Labour { .. } => None,
    });
    let allowances = rulebook
        .unknowns
        .iter()
        .filter_map(|rule| Some(rule.allowance.as_ref()?.cost_code.as_str()));
    let all = items.chain(classes).chain(charges).chain(allowances);
    let codes: BTreeSet<&str> = all.collect();
    codes.into_iter().map(str::to_owned).collect()
}

fn classes(catalogue: &Catalogue) -> Vec<Arc<str>> {
    let classes = catalogue.equipment().iter();
    classes.map(|equipment| equipment.class.as_str().into()).collect()
}

/// Everything that formulas and lines may name.
fn names(form: &Form, extra: &[ExtraInput], catalogue: &Catalogue, tax_categories: &[&str]) -> Names {
    let mut facts = job_facts::definitions(extra);
    facts.extend(sizing::facts::definitions(catalogue));
    facts.extend(equipment_facts::defs(catalogue));
    let mut names = Names::new(facts, catalogue);
    names.domains = job_facts::word_lists();
    names.tax_categories = tax_categories.iter().map(|code| (*code).into()).collect();
    let answers = form.answers();
    let optional = answers.iter().filter(|answer| form.may_be_left_out(answer));
    names.may_be_left_out = optional.map(|answer| answer.as_str().into()).collect();
    names.answers = answers.iter().map(|answer| answer.as_str().into()).collect();
    names
}
