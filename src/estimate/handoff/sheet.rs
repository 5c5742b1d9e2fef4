//! The figures of an estimate as accounting reads them, checked to add up in every direction.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::fault::HandoffFault;
use crate::quantity::money::MoneyFault;
use crate::quantity::{Currency, Money, Quantity};

/// The figures of an estimate. Read from its document by the names that do not change; what is not known there is
/// left alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    /// The currency of every amount.
    pub currency: Currency,
    /// The lines in order.
    pub lines: Vec<SheetLine>,
    /// The totals.
    pub totals: SheetTotals,
    /// The instalments.
    pub payment_schedule: Vec<SheetPayment>,
}

/// A line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetLine {
    /// Its place, from 1.
    pub position: u32,
    /// Its stable name.
    pub key: String,
    /// Material, labour, subcontract or fee.
    pub kind: String,
    /// Code of the item, where it is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub code: Option<String>,
    /// What it is, in words.
    pub description: String,
    /// Needed quantity, where it is counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quantity: Option<Quantity>,
    /// Labour class, where it is work.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub labour_class: Option<String>,
    /// Labour hours, where it is work.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<Quantity>,
    /// The cost code of job costing.
    pub cost_code: String,
    /// The tax category of the policy.
    pub tax_category: String,
    /// What it costs the company.
    pub cost: Money,
    /// What it is sold for, before discount and tax.
    pub price: Money,
    /// Its share of the document's discount.
    pub discount: Money,
}

/// The totals.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SheetTotals {
    /// Direct cost.
    pub cost: Money,
    /// For what is known to be unknown.
    pub contingency: Money,
    /// The office's own cost.
    pub overhead: Money,
    /// Direct cost, contingency and overhead.
    pub full_cost: Money,
    /// Sum of the lines' prices.
    pub price: Money,
    /// The document's discount.
    pub discount: Money,
    /// Price less discount.
    pub net: Money,
    /// Tax by category of the policy.
    pub taxes: Vec<SheetTax>,
    /// The sum of the taxes.
    pub tax: Money,
    /// Net and tax.
    pub total: Money,
    /// Hours of all classes, rounded by class.
    pub hours: Quantity,
}

/// Tax of one category of the policy.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SheetTax {
    /// The category's code in the policy.
    pub category: String,
    /// What it is called.
    pub title: String,
    /// Its letter in UNCL 5305.
    pub uncl5305: String,
    /// The rate that is charged, in percent.
    #[serde(with = "rust_decimal::serde::str")]
    pub rate: Decimal,
    /// Price less discount of its lines.
    pub base: Money,
    /// The tax.
    pub amount: Money,
}

/// An instalment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SheetPayment {
    /// When it falls due, in words.
    pub label: String,
    /// Its share, in percent.
    #[serde(with = "rust_decimal::serde::str")]
    pub share: Decimal,
    /// What is to be paid.
    pub amount: Money,
    /// Days after the acceptance on which it falls due, where the policy says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due_after_days: Option<u32>,
}

impl SheetLine {
    /// Price less discount.
    ///
    /// # Errors
    /// It does not fit.
    pub fn net(&self) -> Result<Money, MoneyFault> {
        self.price.minus(self.discount)
    }
}

impl Sheet {
    /// Reads the figures of an estimate's document.
    ///
    /// # Errors
    /// A figure is missing, or parts do not add up to their whole.
    pub fn read(estimate: &Value) -> Result<Self, HandoffFault> {
        let sheet =
            Self::deserialize(estimate).map_err(|fault| HandoffFault::Unreadable(fault.to_string()))?;
        sheet.adds_up()?;
        Ok(sheet)
    }

    fn sum<'a>(&self, amounts: impl Iterator<Item = &'a Money>) -> Result<Money, MoneyFault> {
        Money::sum(self.currency, amounts.copied())
    }

    fn adds_up(&self) -> Result<(), HandoffFault> {
        let totals = &self.totals;
        let wholes = [
            (
                "cost",
                totals.cost,
                self.sum(self.lines.iter().map(|line| &line.cost))?,
            ),
            (
                "price",
                totals.price,
                self.sum(self.lines.iter().map(|line| &line.price))?,
            ),
            (
                "discount",
                totals.discount,
                self.sum(self.lines.iter().map(|line| &line.discount))?,
            ),
            ("net", totals.net, totals.price.minus(totals.discount)?),
            (
                "tax",
                totals.tax,
                self.sum(totals.taxes.iter().map(|tax| &tax.amount))?,
            ),
            ("total", totals.total, totals.net.plus(totals.tax)?),
            (
                "payment schedule",
                totals.total,
                self.sum(self.payment_schedule.iter().map(|payment| &payment.amount))?,
            ),
        ];
        for (what, stands, comes) in wholes {
            HandoffFault::unless_equal(what, stands, comes)?;
        }
        for line in &self.lines {
            if !totals.taxes.iter().any(|tax| tax.category == line.tax_category) {
                let word = format!(
                    "{} is of the tax category {}, which has no sum",
                    line.key, line.tax_category
                );
                return Err(HandoffFault::Unreadable(word));
            }
        }
        for tax in &totals.taxes {
            let mut base = self.currency.minor(0);
            for line in self.lines.iter().filter(|line| line.tax_category == tax.category) {
                base = base.plus(line.net()?)?;
            }
            HandoffFault::unless_equal("base of a tax", tax.base, base)?;
        }
        Ok(())
    }
}
