//! How the lines that the policy makes came about: basis, percentage, amount.

use rust_decimal::Decimal;

use super::checked::{CheckedPolicy, fraction};
use super::policy::Freight;
use super::result::{Line, Priced};
use super::tax::{ByCategory, share};
use crate::bill::{LineKey, PolicyLine, group};
use crate::catalogue::item::ItemGroup;
use crate::quantity::Money;
use crate::quantity::unit::Unit;
use crate::rules::span::Span;
use crate::rules::trace::{FormulaTrace, Place, Shown, Step, What};

/// A percentage of a basis, in words: the formula and the name of the basis in it.
struct Percentage {
    formula: &'static str,
    basis: &'static str,
}

const FREIGHT: Percentage = Percentage {
    formula: "cost of goods * percent / 100",
    basis: "cost of goods",
};
const FREIGHT_FIXED: &str = "the fixed amount of the policy";
const CONSUMABLES: Percentage = Percentage {
    formula: "cost of material other than equipment * percent / 100",
    basis: "cost of material other than equipment",
};
const USE_TAX: Percentage = Percentage {
    formula: "cost of goods and consumables of the category * percent / 100",
    basis: "cost of goods and consumables of the category",
};

/// Puts to the lines of freight, consumables and use tax what they are a percentage of, the percentage and
/// what that comes to, as the policy computes it: a cost that a person gave in its place stands beside it in
/// the line.
pub fn explain_policy<'a>(priced: &mut Priced<'a>, policy: &'a CheckedPolicy) {
    for place in 0..priced.lines.len() {
        let Some(LineKey::Policy(which)) = priced.lines.get(place).map(|line| line.bill.key) else {
            continue;
        };
        let formulas = match which {
            PolicyLine::Freight => freight(&priced.lines, policy),
            PolicyLine::Consumables => {
                let of = Place::Policy {
                    line: "consumables",
                    category: None,
                };
                let material = goods(&priced.lines, policy, |group| group == ItemGroup::Material);
                let percent = policy.policy().consumables_percent;
                material.and_then(|material| CONSUMABLES.of(of, material, percent, policy))
            }
            .into_iter()
            .collect(),
            PolicyLine::UseTax => use_tax(&priced.lines, policy),
        };
        if let Some(line) = priced.lines.get_mut(place) {
            line.bill.explanation = Some(formulas);
        }
    }
}

fn freight<'a>(lines: &[Line<'a>], policy: &'a CheckedPolicy) -> Vec<FormulaTrace<'a>> {
    let place = Place::Policy {
        line: "freight",
        category: None,
    };
    match &policy.policy().freight {
        Freight::Fixed { amount } => vec![FormulaTrace {
            place,
            formula: FREIGHT_FIXED,
            steps: Vec::new(),
            result: Shown::Number(*amount, Unit::MONEY),
        }],
        Freight::Percent { percent } => goods(lines, policy, |_| true)
            .and_then(|goods| FREIGHT.of(place, goods, *percent, policy))
            .into_iter()
            .collect(),
    }
}

fn use_tax<'a>(lines: &[Line<'a>], policy: &'a CheckedPolicy) -> Vec<FormulaTrace<'a>> {
    let mut bases = ByCategory::new(policy);
    let consumables = LineKey::Policy(PolicyLine::Consumables);
    for line in lines {
        if group(&line.bill).is_some() || line.bill.key == consumables {
            // What does not fit was refused when the line was priced.
            let Some(Ok(())) = bases.add(line.bill.tax_category, line.cost) else {
                return Vec::new();
            };
        }
    }
    let of = |code| Place::Policy {
        line: "use tax",
        category: Some(code),
    };
    bases
        .sums()
        .filter_map(|(category, base)| USE_TAX.of(of(&category.code), base, category.percent, policy))
        .collect()
}

fn goods(lines: &[Line<'_>], policy: &CheckedPolicy, of: impl Fn(ItemGroup) -> bool) -> Option<Money> {
    let lines = lines.iter().filter(|line| group(&line.bill).is_some_and(&of));
    Money::sum(policy.currency(), lines.map(|line| line.cost)).ok()
}

impl Percentage {
    fn of<'a>(
        &self,
        place: Place<'a>,
        basis: Money,
        percent: Decimal,
        policy: &CheckedPolicy,
    ) -> Option<FormulaTrace<'a>> {
        let amount = share(basis, fraction(percent), policy.policy().rounding).ok()?;
        let step = |text: &'static str, value| {
            let start = self.formula.find(text)?;
            let span = Span {
                start,
                end: start.checked_add(text.len())?,
            };
            let what = What::Result;
            Some(Step {
                text,
                span,
                what,
                value,
            })
        };
        Some(FormulaTrace {
            place,
            formula: self.formula,
            steps: vec![
                step(self.basis, Shown::Number(basis.decimal(), Unit::MONEY))?,
                step("percent", Shown::Number(percent, Unit::ONE))?,
            ],
            result: Shown::Number(amount.decimal(), Unit::MONEY),
        })
    }
}
