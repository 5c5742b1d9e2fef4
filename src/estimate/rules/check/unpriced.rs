//! Lines that cannot be priced on a day: items without a price, labour classes without a rate.

use super::super::decide::Decider;
use super::super::finding::{Finding, Findings};
use super::super::program::{ChargeCostRule, ItemNeed, ItemRule, LineRuleKind, Program};
use super::super::rulebook::{Charge, ChargeCost, ItemSource, Line, LineKind, Rulebook, Text};
use crate::catalogue::prices::PriceBook;

/// The most items that a finding names.
const ITEMS_TOLD: usize = 5;

/// Tells of a rulebook that prices nothing at all, and of every line that buys an item without a price on the day of the price book, or is done by a labour class
/// without a rate. The price book is of the catalogue that the program was compiled against.
pub fn unpriced(rulebook: &Rulebook, program: &Program, prices: &PriceBook) -> Vec<Finding> {
    let mut told = Unpriced {
        findings: Findings::new(&rulebook.file),
        program,
        decider: Decider::new(program),
        prices,
    };
    if program.line_count() == 0 {
        let flaw = rulebook
            .id
            .whole("empty", "the rulebook has no line: every job would cost nothing");
        let flaw = flaw.expected("an assembly with a line");
        told.findings.error("rulebook", "assembly", flaw);
    }
    for (assembly, rule) in rulebook.assemblies.iter().zip(&program.assemblies) {
        for (line, rule) in assembly.lines.iter().zip(&rule.lines) {
            let part = format!("assembly {}, line {}", assembly.code.as_str(), rule.head.number);
            told.line(&part, line, &rule.kind);
        }
    }
    told.findings.sorted()
}

struct Unpriced<'a> {
    findings: Findings<'a>,
    program: &'a Program,
    decider: Decider<'a>,
    prices: &'a PriceBook,
}

impl Unpriced<'_> {
    fn line(&mut self, part: &str, line: &Line, rule: &LineRuleKind) {
        match (&line.kind, rule) {
            (LineKind::Material { item, .. }, LineRuleKind::Material { need, .. }) => {
                self.item(part, item, need);
            }
            (LineKind::Subcontract { charge, .. } | LineKind::Fee { charge }, LineRuleKind::Charge(rule)) => {
                let Charge { cost, .. } = charge;
                if let (ChargeCost::Item { item, .. }, ChargeCostRule::Item(need)) = (cost, &rule.cost) {
                    self.item(part, item, need);
                }
            }
            (LineKind::Labour { class, .. }, LineRuleKind::Labour { class_place, .. })
                if self.prices.hour(*class_place).is_none() =>
            {
                let what = format!("the labour class `{}` has no rate", class.as_str());
                self.tell(part, ("class", class), "no_rate", what, "a rate");
            }
            _ => {}
        }
    }

    fn item(&mut self, part: &str, source: &ItemSource, need: &ItemNeed) {
        let places = match &need.item {
            ItemRule::One { place, .. } => vec![*place],
            ItemRule::Found { formula, .. } => self.decider.possible_words(&formula.tree),
        };
        let without = places
            .into_iter()
            .filter(|place| self.prices.packs(place.place()).is_empty());
        let codes: Vec<String> = without
            .map(|place| format!("`{}`", self.program.item_code(place)))
            .collect();
        let what = match codes.len() {
            0 => return,
            1 => format!("the item {} has no price", codes.concat()),
            2..=ITEMS_TOLD => format!("the items {} have no price", codes.join(", ")),
            many => {
                let named = codes.get(..ITEMS_TOLD).unwrap_or_default().join(", ");
                format!("the items {named} and {} more have no price", many - ITEMS_TOLD)
            }
        };
        let of = match source {
            ItemSource::Code(code) => ("item", code),
            ItemSource::Formula(formula) => ("item_from", formula),
        };
        self.tell(part, of, "no_price", what, "a price");
    }

    fn tell(
        &mut self,
        part: &str,
        (field, text): (&str, &Text),
        code: &'static str,
        what: String,
        lacks: &str,
    ) {
        let day = self.prices.day();
        let flaw = text
            .whole(code, format!("{what} on {day}"))
            .expected(format!("{lacks} that holds from {day} or an earlier day on"));
        self.findings.error(part, field, flaw);
    }
}
