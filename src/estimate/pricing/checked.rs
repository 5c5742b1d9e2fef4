//! A policy that can be priced by: its percentages are possible, its schedule is whole.

use std::collections::HashSet;

use rust_decimal::Decimal;
use thiserror::Error;

use super::policy::{Freight, Policy, Profit};
use crate::quantity::Currency;
use crate::quantity::decimal::{RATE_SCALE, plain};

/// Something in a policy that cannot stand.
#[derive(Debug, Clone, PartialEq, Eq, Error, serde::Serialize)]
#[error("{pointer} {message}")]
pub struct PolicyFault {
    /// JSON Pointer into the policy.
    pub pointer: String,
    /// What is wrong, in plain words.
    pub message: String,
}

/// A policy that was checked, for one currency, its percentages as fractions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CheckedPolicy {
    policy: Policy,
    currency: Currency,
    tax_categories: Vec<String>,
    cost_codes: Vec<String>,
    /// Full cost is multiplied by this and divided by `divisor` to give the price.
    pub(super) multiplier: Decimal,
    pub(super) divisor: Decimal,
    pub(super) contingency: Decimal,
    pub(super) overhead: Decimal,
    pub(super) consumables: Decimal,
    pub(super) reserve: Decimal,
    pub(super) subcontract_markup: Decimal,
}

/// The codes of UNCL 5305 that EN 16931 lets a line carry, and whether a rate above zero goes with it.
/// Source: EN 16931 code list BR-CL-17 and rules BR-S-05, BR-Z-05, BR-E-05, BR-O-05.
const UNCL5305: &[(&str, bool)] = &[("S", true), ("Z", false), ("E", false), ("O", false)];

/// Most days after the acceptance on which an instalment falls due.
pub const MOST_DUE_DAYS: u32 = 3_650;

impl CheckedPolicy {
    /// Checks `policy` for amounts in `currency`.
    ///
    /// # Errors
    /// Every fault at once.
    pub fn new(policy: Policy, currency: Currency) -> Result<Self, Vec<PolicyFault>> {
        let mut faults = Faults::default();
        faults.percentages(&policy);
        faults.taxes(&policy);
        faults.money(&policy, currency);
        faults.schedule(&policy);
        if policy.hours.step <= Decimal::ZERO {
            faults.add("/hours/step", "must be more than zero");
        }
        let reserve = fraction(policy.warranty_reserve_percent);
        let (multiplier, divisor) = match policy.profit {
            Profit::Markup { percent } => (Decimal::ONE + fraction(percent), Decimal::ONE - reserve),
            Profit::Margin { percent } => (Decimal::ONE, Decimal::ONE - fraction(percent) - reserve),
        };
        if divisor <= Decimal::ZERO {
            faults.add(
                "/profit/percent",
                "with the warranty reserve leaves nothing of the price for the cost",
            );
        }
        if !faults.found.is_empty() {
            return Err(faults.found);
        }
        let categories = policy.tax.categories.iter();
        Ok(Self {
            currency,
            tax_categories: categories.map(|category| category.code.clone()).collect(),
            cost_codes: [
                &policy.lines.freight,
                &policy.lines.consumables,
                &policy.lines.use_tax,
            ]
            .map(|codes| codes.cost_code.clone())
            .to_vec(),
            multiplier,
            divisor,
            contingency: fraction(policy.contingency_percent),
            overhead: fraction(policy.overhead_percent),
            consumables: fraction(policy.consumables_percent),
            reserve,
            subcontract_markup: fraction(policy.subcontract_markup_percent),
            policy,
        })
    }

    /// The policy as the office wrote it.
    pub fn policy(&self) -> &Policy {
        &self.policy
    }

    /// Codes of its tax categories, in its order.
    pub fn tax_categories(&self) -> &[String] {
        &self.tax_categories
    }

    /// Cost codes of the lines that it makes.
    pub fn cost_codes(&self) -> &[String] {
        &self.cost_codes
    }

    /// The currency of its amounts.
    pub fn currency(&self) -> Currency {
        self.currency
    }
}

/// A percentage as a fraction: exact. A percentage that does not fit is out of its bounds and a fault.
pub(super) fn fraction(percent: Decimal) -> Decimal {
    percent.checked_mul(Decimal::new(1, 2)).unwrap_or(Decimal::ZERO)
}

#[derive(Default)]
struct Faults {
    found: Vec<PolicyFault>,
}

impl Faults {
    fn add(&mut self, pointer: &str, message: impl Into<String>) {
        self.found.push(PolicyFault {
            pointer: pointer.to_owned(),
            message: message.into(),
        });
    }

    fn percent(&mut self, pointer: &str, value: Decimal, most: i64) {
        if value < Decimal::ZERO || value > Decimal::from(most) || value.normalize().scale() > RATE_SCALE {
            let value = plain(value);
            self.add(
                pointer,
                format!(
                    "is {value}, and must be from 0 to {most} percent with at most {RATE_SCALE} decimals"
                ),
            );
        }
    }

    fn percentages(&mut self, policy: &Policy) {
        self.percent("/consumables_percent", policy.consumables_percent, 100);
        self.percent(
            "/subcontract_markup_percent",
            policy.subcontract_markup_percent,
            1_000,
        );
        self.percent("/contingency_percent", policy.contingency_percent, 100);
        self.percent("/overhead_percent", policy.overhead_percent, 1_000);
        self.percent("/warranty_reserve_percent", policy.warranty_reserve_percent, 99);
        self.percent("/least_margin_percent", policy.least_margin_percent, 100);
        match policy.profit {
            Profit::Markup { percent } => self.percent("/profit/percent", percent, 1_000),
            Profit::Margin { percent } => self.percent("/profit/percent", percent, 99),
        }
        if let Freight::Percent { percent } = policy.freight {
            self.percent("/freight/percent", percent, 100);
        }
    }

    fn taxes(&mut self, policy: &Policy) {
        let mut codes = HashSet::new();
        for (index, category) in policy.tax.categories.iter().enumerate() {
            let at = |field: &str| format!("/tax/categories/{index}/{field}");
            if !codes.insert(category.code.as_str()) {
                self.add(&at("code"), format!("{} is there twice", category.code));
            }
            self.percent(&at("percent"), category.percent, 100);
            let known = UNCL5305.iter().find(|(letter, _)| *letter == category.uncl5305);
            match known {
                None => self.add(&at("uncl5305"), "must be S, Z, E or O"),
                Some((letter, rated)) if *rated == category.percent.is_zero() => {
                    let which = if *rated {
                        "a rate above zero"
                    } else {
                        "a rate of zero"
                    };
                    self.add(&at("percent"), format!("must be {which} for {letter}"));
                }
                Some(_) => {}
            }
        }
        let lines = &policy.lines;
        for (name, codes_of) in [
            ("freight", &lines.freight),
            ("consumables", &lines.consumables),
            ("use_tax", &lines.use_tax),
        ] {
            if !codes.contains(codes_of.tax_category.as_str()) {
                let message = format!("{} is not a tax category of this policy", codes_of.tax_category);
                self.add(&format!("/lines/{name}/tax_category"), message);
            }
        }
    }

    fn money(&mut self, policy: &Policy, currency: Currency) {
        if let Freight::Fixed { amount } = policy.freight {
            self.amount("/freight/amount", amount, currency);
        }
        if let Some(limit) = &policy.deposit_limit {
            self.amount("/deposit_limit/amount", limit.amount, currency);
            self.percent("/deposit_limit/percent", limit.percent, 100);
        }
        if let Some(retainage) = &policy.retainage {
            self.percent("/retainage/percent", retainage.percent, 100);
            self.days("/retainage/due_after_days", retainage.due_after_days);
        }
        self.approval(policy, currency);
    }

    fn amount(&mut self, pointer: &str, value: Decimal, currency: Currency) {
        let digits = currency.minor_digits();
        if value < Decimal::ZERO || value.normalize().scale() > digits {
            let message = format!("must not be negative and may have at most {digits} decimals");
            self.add(pointer, message);
        }
    }

    fn approval(&mut self, policy: &Policy, currency: Currency) {
        let Some(limits) = &policy.approval else {
            return;
        };
        if let Some(price) = limits.price_over {
            self.amount("/approval/price_over", price, currency);
        }
        if let Some(margin) = limits.margin_under_percent {
            self.percent("/approval/margin_under_percent", margin, 100);
        }
        if let Some(discount) = limits.discount_over_percent {
            self.percent("/approval/discount_over_percent", discount, 100);
        }
    }

    fn days(&mut self, pointer: &str, days: Option<u32>) {
        if let Some(days) = days.filter(|days| *days > MOST_DUE_DAYS) {
            self.add(pointer, format!("is {days}, and must be at most {MOST_DUE_DAYS}"));
        }
    }

    fn schedule(&mut self, policy: &Policy) {
        for (index, part) in policy.schedule.iter().enumerate() {
            self.percent(&format!("/schedule/{index}/share"), part.share, 100);
            self.days(&format!("/schedule/{index}/due_after_days"), part.due_after_days);
        }
        let whole = policy
            .schedule
            .iter()
            .try_fold(Decimal::ZERO, |sum, part| sum.checked_add(part.share));
        if whole != Some(Decimal::ONE_HUNDRED) {
            let whole = whole.map_or_else(|| "far more".to_owned(), plain);
            self.add("/schedule", format!("adds up to {whole} and not to 100 percent"));
        }
    }
}
