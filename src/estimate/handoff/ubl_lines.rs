//! The lines of a Quotation: of an offer its bill; of a change order what it adds, takes away and alters.
//!
//! A line that a change order takes away has a quantity below nothing, since a price never is (BR-27). A line whose
//! quantity and price do not move the same way is told as a whole, once.

use rust_decimal::Decimal;

use super::accepted::{Accepted, ChangedContract};
use super::codes::{LUMP_SUM, unit_code};
use super::fault::HandoffFault;
use super::sheet::{Sheet, SheetLine, SheetTax};
use super::tax_groups::{groups, place_of};
use super::ubl::{Figures, Line};
use crate::quantity::{Money, Quantity};

/// A line beside the tax that its sheet has for it.
#[derive(Clone, Copy)]
struct Taxed<'a> {
    line: &'a SheetLine,
    tax: Option<&'a SheetTax>,
}

impl<'a> Taxed<'a> {
    fn all(sheet: &'a Sheet) -> impl Iterator<Item = Self> + Clone {
        sheet.lines.iter().map(|line| Self {
            line,
            tax: sheet
                .totals
                .taxes
                .iter()
                .find(|tax| tax.category == line.tax_category),
        })
    }

    fn is_taxed_by(self, tax: &SheetTax) -> bool {
        self.tax.is_some_and(|own| {
            (&own.category, own.rate, &own.uncl5305) == (&tax.category, tax.rate, &tax.uncl5305)
        })
    }

    /// Whether both are one line, taxed alike: a line that is taxed otherwise goes away and comes anew.
    fn is_same(self, other: Self) -> bool {
        self.line.key == other.line.key && other.tax.is_some_and(|tax| self.is_taxed_by(tax))
    }
}

/// What a document says of a line.
struct Told<'a> {
    of: Taxed<'a>,
    counted: (Decimal, &'static str),
    price: Money,
    discount: Money,
}

/// The figures of the Quotation of what was accepted: they come to its amounts.
pub(super) fn figures(accepted: &Accepted) -> Result<Figures<'_>, HandoffFault> {
    let told = match &accepted.change {
        None => Taxed::all(&accepted.sheet).map(whole).collect(),
        Some(change) => moves(&accepted.sheet, &change.sheet_before)?,
    };
    let nothing = accepted.currency().minor(0);
    let mut taxes = accepted.taxes()?;
    if told.is_empty() {
        taxes.truncate(1);
    } else {
        taxes.retain(|tax| !tax.base.is_zero() || told.iter().any(|told| told.of.is_taxed_by(tax)));
    }
    let groups = groups(&taxes, accepted.currency())?;
    let mut discounts = vec![nothing; groups.len()];
    let mut lines = Vec::with_capacity(told.len());
    for (index, told) in told.iter().enumerate() {
        // A category that comes to nothing has no group; its lines add nothing to whichever one they stand in.
        let group = told.of.tax.and_then(|tax| place_of(&groups, tax)).unwrap_or(0);
        if let Some(discount) = discounts.get_mut(group) {
            *discount = discount.plus(told.discount)?;
        }
        // Of a change order the numbers are its own: positions of the bill before it and after it may be the same.
        let number = match accepted.change {
            None => told.of.line.position,
            Some(_) => u32::try_from(index).unwrap_or(u32::MAX).saturating_add(1),
        };
        let mut line = Line::new(number, &told.of.line.description, told.counted, told.price, group);
        line.code = told.of.line.code.as_deref();
        lines.push(line);
    }
    if let (true, Some(ChangedContract { title, .. })) = (lines.is_empty(), &accepted.change) {
        lines.push(Line::new(1, title, (Decimal::ONE, LUMP_SUM), nothing, 0));
    }
    let allowances: Vec<(usize, Money)> = discounts
        .into_iter()
        .enumerate()
        .filter(|(_, amount)| !amount.is_zero())
        .collect();
    let exempt = (groups, accepted.exemption_certificate.as_deref());
    Figures::new(lines, exempt, allowances, accepted.amounts.total)
}

fn whole(of: Taxed<'_>) -> Told<'_> {
    Told {
        of,
        counted: counted(of.line),
        price: of.line.price,
        discount: of.line.discount,
    }
}

/// What differs between the contract before a change order and after it, line by line; what it takes away comes last.
fn moves<'a>(after: &'a Sheet, before: &'a Sheet) -> Result<Vec<Told<'a>>, HandoffFault> {
    let mut told = Vec::new();
    for of in Taxed::all(after) {
        let Some(old) = Taxed::all(before).find(|old| old.is_same(of)) else {
            told.push(whole(of));
            continue;
        };
        let price = of.line.price.minus(old.line.price)?;
        let discount = of.line.discount.minus(old.line.discount)?;
        if !price.is_zero() || !discount.is_zero() {
            let counted = moved(counted_by(of.line), counted_by(old.line), price);
            told.push(Told {
                of,
                counted,
                price,
                discount,
            });
        }
    }
    let nothing = after.currency.minor(0);
    for old in Taxed::all(before).filter(|old| !Taxed::all(after).any(|of| of.is_same(*old))) {
        told.push(Told {
            of: old,
            counted: counted(old.line),
            price: nothing.minus(old.line.price)?,
            discount: nothing.minus(old.line.discount)?,
        });
    }
    Ok(told)
}

/// How much more or less of what: where both move the same way.
fn moved(now: Option<Quantity>, before: Option<Quantity>, price: Money) -> (Decimal, &'static str) {
    let both = now.zip(before).filter(|(now, before)| now.unit == before.unit);
    let moved = both.and_then(|(now, before)| {
        let by = now.value.checked_sub(before.value)?;
        let same_way = !by.is_zero() && !price.is_zero() && by.is_sign_negative() == (price.minor() < 0);
        same_way.then_some((by.abs(), unit_code(now.unit)?))
    });
    moved.unwrap_or((Decimal::ONE, LUMP_SUM))
}

/// The quantity or the hours of a line.
fn counted_by(line: &SheetLine) -> Option<Quantity> {
    line.quantity.or(line.hours)
}

/// How much of what: one of a line as a whole, where its quantity cannot be told in a code.
fn counted(line: &SheetLine) -> (Decimal, &'static str) {
    let told = counted_by(line).filter(|quantity| quantity.value > Decimal::ZERO);
    told.and_then(|quantity| Some((quantity.value, unit_code(quantity.unit)?)))
        .unwrap_or((Decimal::ONE, LUMP_SUM))
}
