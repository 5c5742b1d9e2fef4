//! What pricing gives: lines with cost and price, hours by class, totals, taxes and the payment schedule.

use rust_decimal::Decimal;
use serde::Serialize;

use crate::bill::line::{BillLine, Content};
use crate::catalogue::prices::PriceSource;
use crate::quantity::Money;
use crate::rules::outcome::Level;
use crate::rules::trace::FormulaTrace;

/// A bill with prices on it. These hold exactly: the prices of the lines add up to `price`, `price` less
/// `discount` is `net`, the taxes add up to `tax`, `net` and `tax` are `total`, the instalments add up to
/// `total`, the costs of the lines add up to `cost`, the hours of the classes add up to `hours`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Priced<'a> {
    /// The lines in order; those of the policy last.
    pub lines: Lines<'a>,
    /// Hours and amounts by labour class and rate.
    pub labour: Vec<LabourTotal<'a>>,
    /// The totals.
    pub totals: Totals<'a>,
    /// The instalments.
    pub payment_schedule: Vec<Payment<'a>>,
    /// What pricing has to say: old prices, a thin margin, a deposit over its limit.
    #[serde(skip)]
    pub cautions: Vec<Caution>,
    /// How the price of the job came about, when that was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub explanation: Option<Vec<FormulaTrace<'a>>>,
}

/// The lines of a bill, and beside them their amounts.
#[derive(Debug, Clone, PartialEq)]
pub struct Lines<'a> {
    pub(super) bill: Vec<BillLine<'a>>,
    pub(super) costs: Vec<Money>,
    pub(super) prices: Vec<Money>,
    pub(super) discounts: Vec<Money>,
}

impl<'a> Lines<'a> {
    /// Lines that are not priced yet.
    pub(super) fn new(bill: Vec<BillLine<'a>>, costs: Vec<Money>, nothing: Money) -> Self {
        let amounts = vec![nothing; costs.len()];
        Self {
            bill,
            costs,
            prices: amounts.clone(),
            discounts: amounts,
        }
    }

    /// Adds a line that is not priced yet.
    pub(super) fn push(&mut self, line: BillLine<'a>, cost: Money) {
        let nothing = cost.currency().minor(0);
        self.bill.push(line);
        self.costs.push(cost);
        self.prices.push(nothing);
        self.discounts.push(nothing);
    }

    /// The lines in order.
    pub fn iter(&self) -> impl Iterator<Item = Line<'_, 'a>> {
        let amounts = self.costs.iter().zip(&self.prices).zip(&self.discounts);
        let lines = self.bill.iter().zip(amounts).enumerate();
        lines.map(|(place, (bill, ((cost, price), discount)))| Line {
            position: place + 1,
            bill,
            cost: *cost,
            price: *price,
            discount: *discount,
        })
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.bill.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.bill.is_empty()
    }

    /// The lines of the bill, each with its cost.
    pub(super) fn costed(&self) -> impl Iterator<Item = (&BillLine<'a>, Money)> {
        self.bill.iter().zip(self.costs.iter().copied())
    }
}

/// One line with its money.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line<'l, 'a> {
    /// Its place on the bill, from 1.
    pub position: usize,
    /// What it is.
    pub bill: &'l BillLine<'a>,
    /// What it costs the company.
    pub cost: Money,
    /// What it is sold for, before discount and tax.
    pub price: Money,
    /// Its share of the document's discount.
    pub discount: Money,
}

impl<'l> Line<'l, '_> {
    /// Cost of one unit of what is bought, of an hour, or of one of a quantity; up to six decimals. None for an
    /// amount as a whole and where nothing is bought.
    pub fn unit_cost(&self) -> Option<Decimal> {
        let cost = match &self.bill.content {
            Content::Goods(goods) => goods.unit_cost()?,
            Content::Work(work) => work.rate,
            Content::Sum(sum) => sum.quantity.map(|_| sum.unit_cost)?,
        };
        Some(super::cost::shown(cost))
    }

    /// Since when its price holds, and by whose word. Of a price that is not the catalogue's only an explained line
    /// says it.
    pub fn price_source(&self) -> Option<&'l PriceSource> {
        let listed = match &self.bill.content {
            Content::Goods(goods) => goods.source,
            Content::Work(work) => work.source,
            Content::Sum(_) => None,
        };
        listed.or_else(|| self.bill.explanation.as_ref()?.price_source.as_ref())
    }
}

/// The hours of one labour class at one rate.
#[derive(Debug, Clone, PartialEq)]
pub struct LabourTotal<'a> {
    /// The class.
    pub class: &'a str,
    /// Cost of an hour.
    pub rate: Decimal,
    /// Hours of the lines, as they are.
    pub line_hours: Decimal,
    /// Hours as the policy rounds them: these are costed.
    pub hours: Decimal,
    /// Rounded hours at the rate.
    pub cost: Money,
    /// What the lines are sold for.
    pub price: Money,
}

/// The totals of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Totals<'a> {
    /// Direct cost: all lines.
    pub cost: Money,
    /// For what is known to be unknown.
    pub contingency: Money,
    /// The office's own cost.
    pub overhead: Money,
    /// Direct cost, contingency and overhead.
    pub full_cost: Money,
    /// Set aside for work under warranty.
    pub warranty_reserve: Money,
    /// Added on subcontracted work.
    pub subcontract_markup: Money,
    /// What is left of net after full cost and warranty reserve: the discount is borne by it, the subcontract
    /// markup is in it.
    pub profit: Money,
    /// How much of the price comes from prices that a person fixed; part of `profit`.
    pub price_changes: Money,
    /// The sum of the lines' prices.
    pub price: Money,
    /// The document's discount.
    pub discount: Money,
    /// Price less discount.
    pub net: Money,
    /// Tax by category.
    pub taxes: Vec<TaxLine<'a>>,
    /// The sum of the taxes.
    pub tax: Money,
    /// Net and tax.
    pub total: Money,
    /// Hours of all classes, rounded by class.
    pub hours: Decimal,
    /// What direct cost leaves of net, as a fraction of net; none where net is nothing.
    pub margin: Option<Decimal>,
    /// `profit` as a fraction of net; none where net is nothing.
    pub profit_margin: Option<Decimal>,
}

/// Tax of one category.
#[derive(Debug, Clone, PartialEq)]
pub struct TaxLine<'a> {
    /// The category's code in the policy.
    pub category: &'a str,
    /// What it is called.
    pub title: &'a str,
    /// Its letter in UNCL 5305.
    pub uncl5305: &'a str,
    /// The rate that was charged, in percent.
    pub rate: Decimal,
    /// Price less discount of its lines.
    pub base: Money,
    /// Rate on base, rounded once.
    pub amount: Money,
}

/// One instalment.
#[derive(Debug, Clone, PartialEq)]
pub struct Payment<'a> {
    /// When it falls due, in words.
    pub label: &'a str,
    /// Its share by the policy, in percent.
    pub share: Decimal,
    /// What is to be paid.
    pub amount: Money,
    /// Days after the acceptance on which it falls due, where the policy says.
    pub due_after_days: Option<u32>,
}

/// Something that the office should see before it makes the offer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// Caution or stop.
    pub level: Level,
    /// Its stable code.
    pub code: &'static str,
    /// In plain words, with the figures.
    pub message: String,
    /// Where the limit comes from.
    pub source: &'static str,
}
