//! Items that two assemblies buy on one job. Sometimes it is meant, as with screws and tape; often a line was
//! copied or moved and forgotten.

use super::super::decide::{Case, Decider};
use super::super::finding::Findings;
use super::super::program::{ItemRule, LineRuleKind, Program};
use super::super::rulebook::{ItemSource, LineKind, Rulebook, Text};
use super::conditions::LineCases;
use crate::quantity::fact::WordNumber;
use std::collections::BTreeMap;

/// The most pairs of lines that are looked at for one item.
const MOST_PAIRS: usize = 2_000;

/// A line that buys something.
struct Purchase<'a> {
    assembly: usize,
    line: usize,
    number: usize,
    text: &'a Text,
    field: &'static str,
    item: &'a ItemRule,
    cases: &'a [Case],
}

/// Tells of each line that buys what an earlier assembly buys on the same job, but for items that the rulebook
/// lets several assemblies buy.
pub(super) fn tell(
    findings: &mut Findings<'_>,
    rulebook: &Rulebook,
    program: &Program,
    decider: &Decider<'_>,
    cases: &LineCases,
) {
    let purchases = purchases(rulebook, program, cases);
    let mut buyers: BTreeMap<WordNumber, Vec<usize>> = BTreeMap::new();
    for (at, purchase) in purchases.iter().enumerate() {
        for item in items(purchase.item, decider) {
            buyers.entry(item).or_default().push(at);
        }
    }
    let mut told = vec![false; purchases.len()];
    let mut shared_by_two = Vec::new();
    for (item, buyers) in buyers {
        let code = program.item_code(item);
        let shared = rulebook.shared_items.iter().any(|shared| &**shared == code);
        let pairs = buyers.iter().enumerate().flat_map(|(count, later)| {
            let earlier = buyers.iter().take(count);
            earlier.map(move |earlier| (*earlier, *later))
        });
        for (earlier, later) in pairs.take(MOST_PAIRS) {
            let (Some(first), Some(second), Some(told)) =
                (purchases.get(earlier), purchases.get(later), told.get_mut(later))
            else {
                continue;
            };
            let open = first.assembly != second.assembly && (shared || !*told);
            if !open || !together(program, decider, item, first, second) {
                continue;
            }
            if shared {
                shared_by_two.push(code);
                break;
            }
            *told = true;
            tell_one(findings, rulebook, code, first, second);
        }
    }
    for code in &rulebook.shared_items {
        if !shared_by_two.contains(&code.as_str()) {
            let message = format!("no job has two assemblies that buy `{}`", code.as_str());
            findings.warning("rulebook", "shared_items", code.whole("unused", message));
        }
    }
}

fn purchases<'a>(rulebook: &'a Rulebook, program: &'a Program, cases: &'a LineCases) -> Vec<Purchase<'a>> {
    let mut purchases = Vec::new();
    let assemblies = rulebook.assemblies.iter().zip(&program.assemblies).zip(cases);
    for (assembly, ((written, rule), cases)) in assemblies.enumerate() {
        let lines = written.lines.iter().zip(&rule.lines).zip(&cases.lines);
        for (line, ((written, rule), cases)) in lines.enumerate() {
            let (LineKind::Material { item: source, .. }, LineRuleKind::Material { need, .. }) =
                (&written.kind, &rule.kind)
            else {
                continue;
            };
            let (field, text) = match source {
                ItemSource::Code(code) => ("item", code),
                ItemSource::Formula(formula) => ("item_from", formula),
            };
            purchases.push(Purchase {
                assembly,
                line,
                number: rule.head.number,
                text,
                field,
                item: &need.item,
                cases,
            });
        }
    }
    purchases
}

/// The places of the items that a line may buy.
fn items(item: &ItemRule, decider: &Decider<'_>) -> Vec<WordNumber> {
    match item {
        ItemRule::One { place, .. } => vec![*place],
        ItemRule::Found { formula, .. } => decider.possible_words(&formula.tree),
    }
}

/// Whether a job can have both lines and buy this item by both.
fn together(
    program: &Program,
    decider: &Decider<'_>,
    item: WordNumber,
    first: &Purchase<'_>,
    second: &Purchase<'_>,
) -> bool {
    let meet = |case: &&Case| first.cases.iter().any(|other| other.meets(case));
    let mut cases: Vec<Case> = second.cases.iter().filter(meet).cloned().collect();
    let Some(assembly) = program.assemblies.get(first.assembly) else {
        return false;
    };
    let line = assembly.lines.get(first.line).and_then(|line| line.when.as_ref());
    for when in assembly.when.iter().chain(line) {
        cases = decider.where_holds(&when.tree, cases);
    }
    for purchase in [first, second] {
        if let ItemRule::Found { formula, .. } = purchase.item {
            let chosen = cases.into_iter();
            cases = chosen
                .flat_map(|case| decider.where_chosen(&formula.tree, item, case))
                .collect();
        }
    }
    !cases.is_empty()
}

fn tell_one(
    findings: &mut Findings<'_>,
    rulebook: &Rulebook,
    code: &str,
    first: &Purchase<'_>,
    second: &Purchase<'_>,
) {
    let name = |purchase: &Purchase<'_>| {
        let assembly = rulebook.assemblies.get(purchase.assembly);
        let code = assembly.map_or("", |assembly| &assembly.code);
        format!("assembly {code}, line {}", purchase.number)
    };
    let message = format!(
        "`{code}` is bought here and by {}, and one job can have both",
        name(first)
    );
    let flaw = second.text.whole("bought_twice", message).expected(format!(
        "conditions that exclude each other, or \"{code}\" among `shared_items` of the rulebook where it is meant"
    ));
    findings.warning(&name(second), second.field, flaw);
}
