//! The company's pricing policy: how cost becomes price, what is taxed, when it is paid.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

pub use crate::job::choices::TaxTreatment;
use crate::quantity::rounding::Mode;

/// How cost becomes price. All percentages are plain numbers: `12` is 12 %.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Policy {
    /// The policy's own name, unique.
    pub id: String,
    /// What it is for.
    pub title: String,
    /// What happens to a tie when an amount is rounded.
    #[serde(default)]
    pub rounding: Mode,
    /// How the hours of a labour class are rounded.
    pub hours: HoursRounding,
    /// Freight on goods.
    pub freight: Freight,
    /// Consumables, percent of the cost of material other than equipment.
    #[serde(with = "rust_decimal::serde::str")]
    pub consumables_percent: Decimal,
    /// Where the lines that the policy itself makes belong.
    pub lines: PolicyLines,
    /// Added to the cost of subcontracted work, percent; part of the price, not of the cost.
    #[serde(with = "rust_decimal::serde::str")]
    pub subcontract_markup_percent: Decimal,
    /// Contingency, percent of direct cost.
    #[serde(with = "rust_decimal::serde::str")]
    pub contingency_percent: Decimal,
    /// Overhead, percent of direct cost and contingency.
    #[serde(with = "rust_decimal::serde::str")]
    pub overhead_percent: Decimal,
    /// Profit, as markup or as margin: said which.
    pub profit: Profit,
    /// Set aside for work under warranty, percent of the price before subcontract markup and discount.
    #[serde(with = "rust_decimal::serde::str")]
    pub warranty_reserve_percent: Decimal,
    /// What is taxed, and who pays.
    pub tax: TaxPolicy,
    /// Instalments; their shares add up to 100 percent and the last takes the remainder.
    pub schedule: Vec<Instalment>,
    /// The most that may be asked as a deposit, where the law has a limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deposit_limit: Option<DepositLimit>,
    /// What the customer keeps back until the work has proved itself; nothing where it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retainage: Option<Retainage>,
    /// Days that an offer holds.
    pub validity_days: u32,
    /// Days after which the age of a price is a caution.
    pub price_age_days: u32,
    /// Gross margin (percent of net that is left after direct cost) under which the result carries a caution.
    #[serde(with = "rust_decimal::serde::str")]
    pub least_margin_percent: Decimal,
    /// When a draft needs the approval of another person; never where it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub approval: Option<ApprovalLimits>,
}

/// When a draft needs the approval of another person before it goes out. A limit left out is none.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ApprovalLimits {
    /// Price before tax, in the company's currency, over which it does.
    #[serde(
        default,
        skip_serializing_if = "Option::is_none",
        with = "rust_decimal::serde::str_option"
    )]
    pub price_over: Option<Decimal>,
    /// Gross margin, in percent of net, under which it does.
    #[serde(
        default,
        skip_serializing_if = "Option::is_none",
        with = "rust_decimal::serde::str_option"
    )]
    pub margin_under_percent: Option<Decimal>,
    /// Discount, in percent of price, over which it does.
    #[serde(
        default,
        skip_serializing_if = "Option::is_none",
        with = "rust_decimal::serde::str_option"
    )]
    pub discount_over_percent: Option<Decimal>,
}

/// Where the lines that the policy itself makes belong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PolicyLines {
    /// Freight on goods.
    pub freight: LineCodes,
    /// Consumables.
    pub consumables: LineCodes,
    /// Tax that the contractor owes on what it buys.
    pub use_tax: LineCodes,
}

/// Where the cost of a line belongs and how its price is taxed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineCodes {
    /// The cost code of job costing.
    pub cost_code: String,
    /// The tax category.
    pub tax_category: String,
}

/// How the hours of one labour class are rounded on a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HoursRounding {
    /// The step, in hours; more than zero.
    #[serde(with = "rust_decimal::serde::str")]
    pub step: Decimal,
    /// Which way.
    pub towards: HoursTowards,
}

/// Which way hours are rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HoursTowards {
    /// To the next step upward.
    Up,
    /// To the nearest step.
    Nearest,
}

/// Freight on goods.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind", deny_unknown_fields)]
pub enum Freight {
    /// A fixed amount a job that buys goods.
    Fixed {
        /// The amount, in the company's currency.
        #[serde(with = "rust_decimal::serde::str")]
        amount: Decimal,
    },
    /// A percentage of the cost of goods.
    Percent {
        /// Percent of the cost of material and equipment.
        #[serde(with = "rust_decimal::serde::str")]
        percent: Decimal,
    },
}

/// Profit on full cost. The two are never the same figure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "kind", deny_unknown_fields)]
pub enum Profit {
    /// Percent of cost: price = cost × (1 + markup) ÷ (1 − warranty reserve).
    Markup {
        /// Percent of full cost.
        #[serde(with = "rust_decimal::serde::str")]
        percent: Decimal,
    },
    /// Percent of price: price = cost ÷ (1 − margin − warranty reserve).
    Margin {
        /// Percent of the price; under 100.
        #[serde(with = "rust_decimal::serde::str")]
        percent: Decimal,
    },
}

/// What is taxed, and who pays.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TaxPolicy {
    /// What holds for a job that says nothing.
    pub treatment: TaxTreatment,
    /// Every tax category that items, labour classes and lines may name.
    pub categories: Vec<TaxCategory>,
}

/// A tax category and its rate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TaxCategory {
    /// The name that lines use.
    pub code: String,
    /// What it is called.
    pub title: String,
    /// Its letter in UNCL 5305: `S` standard, `Z` zero, `E` exempt, `O` outside the scope.
    pub uncl5305: String,
    /// The rate, in percent.
    #[serde(with = "rust_decimal::serde::str")]
    pub percent: Decimal,
}

/// One instalment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Instalment {
    /// When it falls due, in words.
    pub label: String,
    /// Its share of the total, in percent.
    #[serde(with = "rust_decimal::serde::str")]
    pub share: Decimal,
    /// Days after the acceptance on which it falls due; left out where only the label says when.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due_after_days: Option<u32>,
}

/// A share of every instalment but the deposit, kept back and paid last (common practice, no source).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Retainage {
    /// When it is paid, in words.
    pub label: String,
    /// Percent of each instalment behind the deposit; of the only one, where there is one.
    #[serde(with = "rust_decimal::serde::str")]
    pub percent: Decimal,
    /// Days after the acceptance on which it falls due; left out where only the label says when.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due_after_days: Option<u32>,
}

/// The most that may be asked as a deposit: the lesser of the two. What is over goes to the next instalment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DepositLimit {
    /// Percent of the total.
    #[serde(with = "rust_decimal::serde::str")]
    pub percent: Decimal,
    /// An amount in the company's currency.
    #[serde(with = "rust_decimal::serde::str")]
    pub amount: Decimal,
}
