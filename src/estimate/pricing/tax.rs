//! Tax: by category on the sum of its lines, rounded once.
//!
//! As EN 16931 BR-CO-17 has it: rate on the taxable amount of the category, half away from zero. A policy
//! may round half to even.

use rust_decimal::Decimal;

use super::checked::{CheckedPolicy, fraction};
use super::fault::PricingFault;
use super::policy::{TaxCategory, TaxTreatment};
use super::result::{Lines, TaxLine};
use crate::quantity::money::MoneyFault;
use crate::quantity::rounding::{Mode, to_minor};
use crate::quantity::{Currency, Money};

/// Tax at `percent` on `base`.
///
/// # Errors
/// The tax does not fit.
pub fn on_base(base: Money, percent: Decimal, mode: Mode) -> Result<Money, MoneyFault> {
    share(base, fraction(percent), mode)
}

/// A fraction of an amount, rounded once.
pub(super) fn share(base: Money, fraction: Decimal, mode: Mode) -> Result<Money, MoneyFault> {
    if fraction.is_zero() {
        return Ok(base.currency().minor(0));
    }
    let exact = base.decimal().checked_mul(fraction).ok_or(MoneyFault::Overflow)?;
    to_minor(exact, base.currency(), mode)
}

/// Sums by category of the policy, in its order.
pub(super) struct ByCategory<'a> {
    categories: &'a [TaxCategory],
    sums: Vec<Option<Money>>,
    currency: Currency,
}

impl<'a> ByCategory<'a> {
    pub(super) fn new(policy: &'a CheckedPolicy) -> Self {
        let categories = &policy.policy().tax.categories;
        Self {
            categories,
            sums: vec![None; categories.len()],
            currency: policy.currency(),
        }
    }

    /// Adds to the sum of a category. `None` where the policy has no such category.
    pub(super) fn add(&mut self, category: &str, amount: Money) -> Option<Result<(), MoneyFault>> {
        let place = self.categories.iter().position(|known| known.code == category)?;
        let sum = self.sums.get_mut(place)?;
        let before = sum.unwrap_or(self.currency.minor(0));
        Some(before.plus(amount).map(|after| *sum = Some(after)))
    }

    /// The categories that have a sum.
    pub(super) fn sums(&self) -> impl Iterator<Item = (&'a TaxCategory, Money)> {
        self.categories
            .iter()
            .zip(&self.sums)
            .filter_map(|(category, sum)| Some((category, (*sum)?)))
    }
}

/// The tax that the customer pays: by the policy's rates on a taxable sale, otherwise none, and then every
/// category is outside the scope (`O`, the contractor is the consumer) or exempt (`E`).
pub(super) fn taxes<'a>(
    lines: &Lines<'_>,
    policy: &'a CheckedPolicy,
    treatment: TaxTreatment,
) -> Result<Vec<TaxLine<'a>>, PricingFault> {
    let mut bases = ByCategory::new(policy);
    for line in lines.iter() {
        let net = line
            .price
            .minus(line.discount)
            .map_err(PricingFault::too_large(line.bill.key))?;
        let added = bases.add(line.bill.tax_category, net);
        added
            .transpose()
            .map_err(PricingFault::too_large(line.bill.tax_category))?;
    }
    let charged = |(category, base): (&'a TaxCategory, Money)| {
        let (rate, uncl5305) = match treatment {
            TaxTreatment::TaxOnSale => (category.percent, category.uncl5305.as_str()),
            TaxTreatment::ContractorPays => (Decimal::ZERO, "O"),
            TaxTreatment::Exempt => (Decimal::ZERO, "E"),
        };
        let amount = on_base(base, rate, policy.policy().rounding);
        Ok(TaxLine {
            category: &category.code,
            title: &category.title,
            uncl5305,
            rate,
            base,
            amount: amount.map_err(PricingFault::too_large(&category.code))?,
        })
    };
    bases.sums().map(charged).collect()
}
