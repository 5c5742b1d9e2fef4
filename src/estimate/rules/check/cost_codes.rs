//! Cost codes that nobody knows: those of charges and allowances, which the rulebook itself writes down.

use std::collections::BTreeSet;

use super::super::finding::{Finding, Findings};
use super::super::rulebook::{LineKind, Rulebook, Text};
use crate::quantity::nearest;

/// An error for every cost code of a rulebook that is not among the `known` ones.
pub fn unknown_cost_codes(rulebook: &Rulebook, known: &BTreeSet<&str>) -> Vec<Finding> {
    let mut findings = Findings::new(&rulebook.file);
    let mut hold = |part: String, code: &Text| {
        if known.contains(code.as_str()) {
            return;
        }
        let message = format!(
            "`{}` is no cost code of an item, a labour class, a policy or the rules that count, and the ledger has no \
             account for it",
            code.as_str()
        );
        let near = nearest::name(code, known.iter().copied());
        let flaw = code.whole("unknown_cost_code", message).suggest(near);
        findings.error(&part, "cost_code", flaw);
    };
    for assembly in &rulebook.assemblies {
        for (line, number) in assembly.lines.iter().zip(1..) {
            if let LineKind::Subcontract { charge, .. } | LineKind::Fee { charge } = &line.kind {
                let part = format!("assembly {}, line {number}", assembly.code.as_str());
                hold(part, &charge.cost_code);
            }
        }
    }
    for unknown in &rulebook.unknowns {
        if let Some(allowance) = &unknown.allowance {
            hold(
                format!("unknown answer {}", unknown.answer.as_str()),
                &allowance.cost_code,
            );
        }
    }
    findings.sorted()
}
