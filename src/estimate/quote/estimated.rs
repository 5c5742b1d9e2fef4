//! An estimate as a document, and the figures in it that a quote compares and adds up.
//!
//! A quote outlives the program that made it: estimates are read here from their JSON, by the names that the
//! design fixes, and members that are not known are left alone.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use thiserror::Error;

use crate::quantity::money::MoneyFault;
use crate::quantity::{Currency, Money, Quantity};

/// Why a document is not an estimate that a quote can hold.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EstimateShape {
    /// A member is missing or of another kind.
    #[error("the estimate does not read: {0}")]
    Unreadable(String),
    /// Amounts of different currencies.
    #[error("the estimate has amounts in {0} and in {1}")]
    Currencies(String, String),
    /// The sums do not come out.
    #[error("the {what} of the estimate is {stands}, and comes out as {comes}")]
    Sum {
        /// Which total.
        what: &'static str,
        /// What stands there.
        stands: Money,
        /// What its parts add up to.
        comes: Money,
    },
    /// A sum does not fit.
    #[error(transparent)]
    Money(#[from] MoneyFault),
}

/// An estimate whose figures were read and add up.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimated {
    tree: Value,
    figures: Figures,
}

/// The figures of an estimate.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Figures {
    /// The currency of every amount.
    pub currency: Currency,
    /// The lines, in order.
    pub lines: Vec<LineFigures>,
    /// The totals.
    pub totals: TotalFigures,
    /// Whether no stop stands.
    pub may_be_issued: bool,
}

/// The figures of a line.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct LineFigures {
    /// Its stable name.
    pub key: String,
    /// Material, labour, subcontract or fee.
    pub kind: String,
    /// What it is, in words.
    pub description: String,
    /// Needed quantity, where it is counted.
    #[serde(default)]
    pub quantity: Option<Quantity>,
    /// Labour hours, where it is work.
    #[serde(default)]
    pub hours: Option<Quantity>,
    /// Cost of one unit; up to six decimals.
    #[serde(default)]
    pub unit_cost: Option<UnitCost>,
    /// What it costs the company.
    pub cost: Money,
    /// What it is sold for, before discount and tax.
    pub price: Money,
}

/// A cost of one unit: more decimals than an amount may have.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct UnitCost {
    /// Canonical decimal text.
    pub amount: String,
    /// The currency.
    pub currency: Currency,
}

/// The totals of an estimate.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct TotalFigures {
    /// Direct cost.
    pub cost: Money,
    /// Sum of the lines' prices.
    pub price: Money,
    /// Discount of the document.
    pub discount: Money,
    /// Price less discount, before tax.
    pub net: Money,
    /// Tax.
    pub tax: Money,
    /// Net and tax.
    pub total: Money,
    /// Labour hours.
    pub hours: Quantity,
    /// What direct cost leaves of net, as a fraction of net; none where net is nothing.
    #[serde(default, with = "rust_decimal::serde::str_option")]
    pub margin: Option<Decimal>,
}

impl Estimated {
    /// Takes what pricing made.
    ///
    /// # Errors
    /// As [`Estimated::read`].
    pub fn of(estimate: &impl Serialize) -> Result<Self, EstimateShape> {
        let tree =
            serde_json::to_value(estimate).map_err(|fault| EstimateShape::Unreadable(fault.to_string()))?;
        Self::read(tree)
    }

    /// Reads the figures of an estimate and adds them up.
    ///
    /// # Errors
    /// A figure is missing, or the sums do not come out: prices of the lines to `price`, less discount to
    /// `net`, with tax to `total`, costs of the lines to `cost`.
    pub fn read(tree: Value) -> Result<Self, EstimateShape> {
        let figures =
            Figures::deserialize(&tree).map_err(|fault| EstimateShape::Unreadable(fault.to_string()))?;
        figures.one_currency()?;
        figures.add_up()?;
        Ok(Self { tree, figures })
    }

    /// The document.
    pub fn tree(&self) -> &Value {
        &self.tree
    }

    /// The document, to keep.
    pub fn into_tree(self) -> Value {
        self.tree
    }

    /// The figures.
    pub fn figures(&self) -> &Figures {
        &self.figures
    }

    /// The totals.
    pub fn totals(&self) -> &TotalFigures {
        &self.figures.totals
    }

    /// The member `name` of the document; null where there is none.
    pub fn part(&self, name: &str) -> &Value {
        self.tree.get(name).unwrap_or(&Value::Null)
    }
}

impl Figures {
    fn one_currency(&self) -> Result<(), EstimateShape> {
        let totals = &self.totals;
        let of_totals = [
            totals.cost,
            totals.price,
            totals.discount,
            totals.net,
            totals.tax,
            totals.total,
        ];
        let of_lines = self.lines.iter().flat_map(|line| [line.cost, line.price]);
        let other = of_totals
            .into_iter()
            .chain(of_lines)
            .find(|amount| amount.currency() != self.currency);
        match other {
            None => Ok(()),
            Some(amount) => {
                let codes = [self.currency, amount.currency()].map(|currency| currency.code().to_owned());
                let [one, other] = codes;
                Err(EstimateShape::Currencies(one, other))
            }
        }
    }

    fn add_up(&self) -> Result<(), EstimateShape> {
        let sum = |of: fn(&LineFigures) -> Money| Money::sum(self.currency, self.lines.iter().map(of));
        let totals = &self.totals;
        let sums = [
            ("cost", totals.cost, sum(|line| line.cost)?),
            ("price", totals.price, sum(|line| line.price)?),
            ("net", totals.net, totals.price.minus(totals.discount)?),
            ("total", totals.total, totals.net.plus(totals.tax)?),
        ];
        match sums.into_iter().find(|(_, stands, comes)| stands != comes) {
            None => Ok(()),
            Some((what, stands, comes)) => Err(EstimateShape::Sum { what, stands, comes }),
        }
    }
}
