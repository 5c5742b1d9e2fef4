//! Cost codes that nobody knows: those of charges and allowances, which the rulebook itself writes down.

use std::collections::BTreeSet;

use super::super::finding::{Finding, Findings};
use super::super::rulebook::{LineKind, Rulebook, Text};
use crate::quantity::nearest;

/// An error for every cost code of a rulebook that is not among the `known` ones.
pub fn unknown_cost_codes(rulebook: &Rulebook, known: &BTreeSet<&str>) -> Vec<Finding> {
    let mut findings = Findings::new(&rulebook.file);
    for (part, code) in written(rulebook) {
        if known.contains(code.as_str()) {
            continue;
        }
        let message = format!(
            "`{}` is no cost code of an item, a labour class, a policy or the rules that count, and the ledger has no \
             account for it",
            code.as_str()
        );
        let near = nearest::name(code, known.iter().copied());
        let flaw = code.whole("unknown_cost_code", message).suggest(near);
        findings.error(&part, "cost_code", flaw);
    }
    findings.sorted()
}

/// A warning for every cost code that a rulebook writes down once, that is not among the `known` ones, and that is nearly one
/// of them or of the rulebook's own.
pub fn doubtful_cost_codes(rulebook: &Rulebook, known: &BTreeSet<&str>) -> Vec<Finding> {
    let mut findings = Findings::new(&rulebook.file);
    let written = written(rulebook);
    for (part, code) in &written {
        let own = written.iter().map(|(_, other)| other.as_str());
        let uses = own.clone().filter(|other| *other == code.as_str()).count();
        if uses > 1 || known.contains(code.as_str()) {
            continue;
        }
        let others = own.filter(|other| *other != code.as_str());
        let near = nearest::name(code, known.iter().copied().chain(others));
        if near.is_some() {
            let message = format!(
                "`{}` is a cost code of this line alone, and nearly another",
                code.as_str()
            );
            findings.warning(
                part,
                "cost_code",
                code.whole("doubtful_cost_code", message).suggest(near),
            );
        }
    }
    findings.sorted()
}

/// The cost codes of charges and allowances, and where each stands.
fn written(rulebook: &Rulebook) -> Vec<(String, &Text)> {
    let mut written = Vec::new();
    for assembly in &rulebook.assemblies {
        for (line, number) in assembly.lines.iter().zip(1..) {
            if let LineKind::Subcontract { charge, .. } | LineKind::Fee { charge } = &line.kind {
                let part = format!("assembly {}, line {number}", assembly.code.as_str());
                written.push((part, &charge.cost_code));
            }
        }
    }
    let allowances = rulebook.unknowns.iter().filter_map(|unknown| {
        let part = format!("unknown answer {}", unknown.answer.as_str());
        Some((part, &unknown.allowance.as_ref()?.cost_code))
    });
    written.extend(allowances);
    written
}
