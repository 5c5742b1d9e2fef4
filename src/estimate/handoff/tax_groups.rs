//! Tax as EN 16931 breaks it down: one group for each letter of UNCL 5305 and rate.
//!
//! The policy may have several categories of one letter and rate; they become one group here. A document in which
//! everything is outside the scope says so (`O`); where something else is on it too, what is outside the scope is
//! exempt (`E`), since `O` must stand alone (BR-O-11). The tax of a group is its rate on its base, rounded once, half
//! away from zero (BR-CO-17).

use rust_decimal::Decimal;

use super::codes::TaxCode;
use super::fault::HandoffFault;
use super::sheet::SheetTax;
use crate::pricing::tax;
use crate::quantity::rounding::Mode;
use crate::quantity::{Currency, Money};

/// One group of the breakdown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TaxGroup {
    /// Its category.
    pub code: TaxCode,
    /// The rate, in percent.
    pub rate: Decimal,
    /// What is taxed.
    pub base: Money,
    /// Codes of the policy's categories that are in it.
    pub categories: Vec<String>,
    /// What they are called.
    pub titles: Vec<String>,
}

impl TaxGroup {
    /// The tax on `base` in this group.
    ///
    /// # Errors
    /// It does not fit.
    pub fn tax_on(&self, base: Money) -> Result<Money, HandoffFault> {
        Ok(tax::on_base(base, self.rate, Mode::HalfUp)?)
    }

    /// Why no tax is charged, where a document has to say so (BR-E-10, BR-O-10). `certificate` is the number of the
    /// customer's exemption certificate.
    pub fn reason(&self, certificate: Option<&str>) -> Option<String> {
        let titles = self.titles.join(", ");
        match (self.code, certificate) {
            (TaxCode::Standard | TaxCode::Zero, _) => None,
            (TaxCode::Exempt, None) => Some(format!("No tax is charged on: {titles}")),
            (TaxCode::Exempt, Some(number)) => Some(format!(
                "Exemption certificate {number}; no tax is charged on: {titles}"
            )),
            (TaxCode::OutsideScope, _) => {
                Some(format!("Outside the scope of the tax on this sale: {titles}"))
            }
        }
    }
}

/// The groups of these taxes, in their order. Categories on which nothing stands are left out, unless nothing is left.
///
/// # Errors
/// A letter that is none, or a sum that does not fit.
pub fn groups(taxes: &[SheetTax], currency: Currency) -> Result<Vec<TaxGroup>, HandoffFault> {
    let mut counted: Vec<&SheetTax> = taxes.iter().filter(|tax| !tax.base.is_zero()).collect();
    if counted.is_empty() {
        counted = taxes.iter().collect();
    }
    let mut coded = Vec::with_capacity(counted.len());
    for tax in counted {
        let code = TaxCode::of_letter(&tax.uncl5305);
        let code =
            code.ok_or_else(|| HandoffFault::Unreadable(format!("a tax category {}", tax.uncl5305)))?;
        coded.push((code, tax));
    }
    let mixed = coded.iter().any(|(code, _)| *code != TaxCode::OutsideScope);
    let mut groups: Vec<TaxGroup> = Vec::new();
    for (code, tax) in coded {
        let code = match code {
            TaxCode::OutsideScope if mixed => TaxCode::Exempt,
            other => other,
        };
        let place = groups
            .iter()
            .position(|group| group.code == code && group.rate == tax.rate);
        let place = place.unwrap_or_else(|| {
            groups.push(TaxGroup {
                code,
                rate: tax.rate,
                base: currency.minor(0),
                categories: Vec::new(),
                titles: Vec::new(),
            });
            groups.len() - 1
        });
        if let Some(group) = groups.get_mut(place) {
            group.base = group.base.plus(tax.base)?;
            group.categories.push(tax.category.clone());
            group.titles.push(tax.title.clone());
        }
    }
    Ok(groups)
}

/// The place of the group that a tax of the policy is in.
pub(super) fn place_of(groups: &[TaxGroup], tax: &SheetTax) -> Option<usize> {
    groups
        .iter()
        .position(|group| group.rate == tax.rate && group.categories.contains(&tax.category))
}
