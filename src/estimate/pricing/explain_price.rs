//! How cost became price: of the job as a whole, and of each line.

use super::checked::CheckedPolicy;
use super::policy::Profit;
use super::result::{Line, Priced, Totals};
use super::workings::of;
use crate::bill::line::{Figure, LineKind};
use crate::quantity::Money;
use crate::quantity::rounding::share_out;
use crate::quantity::unit::Unit;
use crate::rules::trace::{FormulaTrace, Place};

const PRICE: Place<'static> = Place::Amount { figure: "price" };

/// The price that full cost asks for: what the lines are sold for, without the markup on subcontracts and what a person
/// fixed.
fn asked(totals: &Totals<'_>) -> Option<Money> {
    let computed = totals.price.minus(totals.price_changes).ok()?;
    computed.minus(totals.subcontract_markup).ok()
}

/// From direct cost to the price that full cost asks for.
pub(super) fn of_the_job<'a>(totals: &Totals<'_>, policy: &CheckedPolicy) -> Vec<FormulaTrace<'a>> {
    let Some(asked) = asked(totals) else {
        return Vec::new();
    };
    let total = |figure| Place::Total { figure };
    let terms = policy.policy();
    let reserve = terms.warranty_reserve_percent;
    let price = match &terms.profit {
        Profit::Margin { percent } => of("full cost / (1 - margin / 100 - warranty reserve / 100), rounded")
            .money("full cost", totals.full_cost)
            .with("margin", *percent, Unit::ONE),
        Profit::Markup { percent } => {
            of("full cost * (1 + markup / 100) / (1 - warranty reserve / 100), rounded")
                .money("full cost", totals.full_cost)
                .with("markup", *percent, Unit::ONE)
        }
    };
    vec![
        of("direct cost * percent / 100, rounded")
            .money("direct cost", totals.cost)
            .with("percent", terms.contingency_percent, Unit::ONE)
            .give(total("contingency"), totals.contingency.decimal()),
        of("(direct cost + contingency) * percent / 100, rounded")
            .money("direct cost", totals.cost)
            .money("contingency", totals.contingency)
            .with("percent", terms.overhead_percent, Unit::ONE)
            .give(total("overhead"), totals.overhead.decimal()),
        of("direct cost + contingency + overhead")
            .money("direct cost", totals.cost)
            .money("contingency", totals.contingency)
            .money("overhead", totals.overhead)
            .give(total("full cost"), totals.full_cost.decimal()),
        price
            .with("warranty reserve", reserve, Unit::ONE)
            .give(total("price by full cost"), asked.decimal()),
    ]
}

/// The prices of the lines as full cost asks for them.
pub(super) struct Prices {
    asked: Option<Money>,
    cost: Money,
    shares: Vec<Money>,
}

impl Prices {
    pub(super) fn of(priced: &Priced<'_>) -> Self {
        let asked = asked(&priced.totals);
        let shares = asked.and_then(|asked| share_out(asked, Money::minors(&priced.lines.costs)).ok());
        Self {
            asked,
            cost: priced.totals.cost,
            shares: shares.unwrap_or_default(),
        }
    }

    /// The formulas that lead from the cost of the line at `place` to its price.
    pub(super) fn formulas<'a>(&self, place: usize, line: &Line<'_, 'a>) -> Vec<FormulaTrace<'a>> {
        let (Some(asked), Some(share)) = (self.asked, self.shares.get(place)) else {
            return Vec::new();
        };
        let mut prices = line.bill.replaced.iter().filter(|figure| figure.field == "price");
        let by_hand = prices.next();
        let computed = match by_hand.map(|figure| figure.computed) {
            Some(Figure::Amount(computed)) => computed,
            _ => line.price,
        };
        let markup = computed
            .minus(*share)
            .ok()
            .filter(|_| line.bill.kind == LineKind::Subcontract)
            .filter(|markup| !markup.is_zero());
        // Each step is the price until the next one makes another of it.
        let named = |last: bool, figure| if last { PRICE } else { Place::Amount { figure } };
        let shared =
            of("price by full cost * cost of the line / direct cost, shared out by largest remainder")
                .money("price by full cost", asked)
                .money("cost of the line", line.cost)
                .money("direct cost", self.cost);
        let last = markup.is_none() && by_hand.is_none();
        let mut formulas = vec![shared.give(named(last, "share of the price"), share.decimal())];
        if let Some(markup) = markup {
            let marked_up = of("share of the price + share of the markup on subcontracts")
                .money("share of the price", *share)
                .money("share of the markup on subcontracts", markup);
            let last = by_hand.is_none();
            formulas.push(marked_up.give(named(last, "price with markup"), computed.decimal()));
        }
        if by_hand.is_some() {
            let fixed = of("the price that was put in by hand");
            formulas.push(fixed.give(PRICE, line.price.decimal()));
        }
        formulas
    }
}
