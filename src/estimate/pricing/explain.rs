//! How every line came from its cost to its price, and whose word its price is.

use chrono::NaiveDate;

use super::checked::CheckedPolicy;
use super::result::{Line, Priced};
use super::{explain_cost, explain_policy, explain_price};
use crate::bill::LineKey;
use crate::bill::line::{Content, Explanation};
use crate::catalogue::prices::PriceSource;
use crate::rules::trace::FormulaTrace;

/// A document of the office, its version, and since when it is the office's word.
#[derive(Debug, Clone, Copy)]
pub struct Document<'a> {
    /// Its name.
    pub id: &'a str,
    /// Its version.
    pub version: u32,
    /// The first day.
    pub since: NaiveDate,
}

/// Whose word the prices are that the catalogue does not have.
#[derive(Debug, Clone, Copy)]
pub struct Origins<'a> {
    /// The rulebook.
    pub rulebook: Document<'a>,
    /// The policy.
    pub policy: Document<'a>,
    /// The day of pricing.
    pub day: NaiveDate,
}

/// Puts to every line, behind the formulas of the rulebook, what pricing made of it; and to the whole how its price
/// came about.
pub fn explain<'a>(priced: &mut Priced<'a>, policy: &'a CheckedPolicy, origins: &Origins<'_>) {
    let made: Vec<Explanation<'a>> = {
        let prices = explain_price::Prices::of(priced);
        let explained = priced.lines.iter().enumerate().map(|(place, line)| {
            let mut formulas: Vec<FormulaTrace<'a>> = match line.bill.key {
                LineKey::Policy(which) => explain_policy::formulas(which, &priced.lines, policy),
                _ => Vec::new(),
            };
            formulas.extend(explain_cost::formulas(&line, &priced.labour));
            formulas.extend(prices.formulas(place, &line));
            Explanation {
                formulas,
                price_source: origins.of(&line),
            }
        });
        explained.collect()
    };
    for (line, made) in priced.lines.bill.iter_mut().zip(made) {
        let Explanation {
            formulas,
            price_source,
        } = made;
        let explanation = line.explanation.get_or_insert_with(|| {
            Box::new(Explanation {
                formulas: Vec::new(),
                price_source: None,
            })
        });
        explanation.formulas.extend(formulas);
        explanation.price_source = price_source;
    }
    priced.explanation = Some(explain_price::of_the_job(&priced.totals, policy));
}

impl Origins<'_> {
    /// Whose word the price of a line is; none where the catalogue says it.
    fn of(&self, line: &Line<'_, '_>) -> Option<PriceSource> {
        let bill = line.bill;
        let by_hand = |reason: &str| self.said(self.day, format!("by hand: {reason}"));
        let mut replaced = bill.replaced.iter();
        if let Some(given) = replaced.find(|figure| figure.field == "unit_cost") {
            return Some(by_hand(given.reason));
        }
        match &bill.content {
            Content::Goods(goods) if goods.source.is_some() => return None,
            Content::Work(work) if work.source.is_some() => return None,
            Content::Goods(_) => return Some(self.said(self.day, "nothing is bought".to_owned())),
            Content::Work(_) | Content::Sum(_) => {}
        }
        let (rulebook, policy) = (&self.rulebook, &self.policy);
        Some(match (bill.key, bill.from) {
            (LineKey::Policy(which), _) => {
                let part = which.word().replace('_', " ");
                self.said(policy.since, format!("policy {policy}, {part}"))
            }
            (LineKey::Allowance { answer }, _) => self.said(
                rulebook.since,
                format!("rulebook {rulebook}, allowance for an unknown {answer}"),
            ),
            (_, Some(from)) => self.said(
                rulebook.since,
                format!(
                    "rulebook {rulebook}, assembly {}, line {}",
                    from.assembly.code, from.number
                ),
            ),
            (_, None) => by_hand(bill.reason.unwrap_or_default()),
        })
    }

    /// A word that was given later than the day of pricing has no age on it.
    fn said(&self, since: NaiveDate, source: String) -> PriceSource {
        PriceSource {
            valid_from: since,
            age_days: (self.day - since).num_days().max(0),
            source,
        }
    }
}

impl std::fmt::Display for Document<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} version {}", self.id, self.version)
    }
}
