//! How the lines that the policy makes came about: basis, percentage, amount.

use rust_decimal::Decimal;

use super::checked::{CheckedPolicy, fraction};
use super::policy::Freight;
use super::result::Lines;
use super::tax::{ByCategory, share};
use super::workings::of;
use crate::bill::{LineKey, PolicyLine, group};
use crate::catalogue::item::ItemGroup;
use crate::quantity::Money;
use crate::quantity::unit::Unit;
use crate::rules::trace::{FormulaTrace, Place};

const FREIGHT: &str = "cost of goods * percent / 100, rounded";
const FREIGHT_FIXED: &str = "the fixed amount of the policy";
const CONSUMABLES: &str = "cost of material other than equipment * percent / 100, rounded";
const USE_TAX: &str = "cost of goods and consumables of the category * percent / 100, rounded";

/// What a line of the policy is a percentage of, the percentage and what that comes to, as the policy computes it: a
/// cost that a person gave in its place stands beside it in the line.
pub(super) fn formulas<'a>(
    which: PolicyLine,
    lines: &Lines<'a>,
    policy: &'a CheckedPolicy,
) -> Vec<FormulaTrace<'a>> {
    let place = |line| Place::Policy { line, category: None };
    match which {
        PolicyLine::Freight => freight(place("freight"), lines, policy).into_iter().collect(),
        PolicyLine::Consumables => {
            let material = goods(lines, policy, |group| group == ItemGroup::Material);
            let percent = policy.policy().consumables_percent;
            let percentage = Percentage(CONSUMABLES, "cost of material other than equipment");
            material
                .and_then(|material| percentage.of(place("consumables"), material, percent, policy))
                .into_iter()
                .collect()
        }
        PolicyLine::UseTax => use_tax(lines, policy),
    }
}

fn freight<'a>(place: Place<'a>, lines: &Lines<'a>, policy: &'a CheckedPolicy) -> Option<FormulaTrace<'a>> {
    match &policy.policy().freight {
        Freight::Fixed { amount } => Some(of(FREIGHT_FIXED).give(place, *amount)),
        Freight::Percent { percent } => {
            let goods = goods(lines, policy, |_| true)?;
            Percentage(FREIGHT, "cost of goods").of(place, goods, *percent, policy)
        }
    }
}

fn use_tax<'a>(lines: &Lines<'a>, policy: &'a CheckedPolicy) -> Vec<FormulaTrace<'a>> {
    let mut bases = ByCategory::new(policy);
    let consumables = LineKey::Policy(PolicyLine::Consumables);
    for (line, cost) in lines.costed() {
        if group(line).is_some() || line.key == consumables {
            // What does not fit was refused when the line was priced.
            let Some(Ok(())) = bases.add(line.tax_category, cost) else {
                return Vec::new();
            };
        }
    }
    let place = |code| Place::Policy {
        line: "use tax",
        category: Some(code),
    };
    let percentage = Percentage(USE_TAX, "cost of goods and consumables of the category");
    bases
        .sums()
        .filter_map(|(category, base)| percentage.of(place(&category.code), base, category.percent, policy))
        .collect()
}

fn goods(lines: &Lines<'_>, policy: &CheckedPolicy, of: impl Fn(ItemGroup) -> bool) -> Option<Money> {
    let lines = lines.costed().filter(|(line, _)| group(line).is_some_and(&of));
    Money::sum(policy.currency(), lines.map(|(_, cost)| cost)).ok()
}

/// A percentage of a basis, in words: the formula and the name of the basis in it.
struct Percentage(&'static str, &'static str);

impl Percentage {
    fn of<'a>(
        &self,
        place: Place<'a>,
        basis: Money,
        percent: Decimal,
        policy: &CheckedPolicy,
    ) -> Option<FormulaTrace<'a>> {
        let amount = share(basis, fraction(percent), policy.policy().rounding).ok()?;
        let workings = of(self.0)
            .money(self.1, basis)
            .with("percent", percent, Unit::ONE);
        Some(workings.give(place, amount.decimal()))
    }
}
