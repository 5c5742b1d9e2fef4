//! What UBL 2.1 documents have in common: lines, taxes and totals, in the order of the schema.
//!
//! The figures obey EN 16931: lines add up to the line total (BR-CO-10), allowances and charges to theirs (BR-CO-11,
//! BR-CO-12), taxes to the tax (BR-CO-14), and each total follows from those (BR-CO-13, BR-CO-15, BR-CO-16). Where the
//! rules of the format and what was agreed are a cent apart, that cent is the rounding of the amount to be paid.

use rust_decimal::Decimal;

use super::codes::{DISCOUNT, TaxCode, TaxScheme};
use super::fault::HandoffFault;
use super::tax_groups::TaxGroup;
use super::xml::Xml;
use crate::quantity::decimal::plain;
use crate::quantity::{Currency, Money};

pub(super) const CAC: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2";
pub(super) const CBC: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2";

/// A line. The price of one is `price` ÷ `per`, exact however the division comes out.
pub(super) struct Line<'a> {
    pub(super) number: u32,
    pub(super) name: &'a str,
    pub(super) code: Option<&'a str>,
    pub(super) quantity: Decimal,
    pub(super) unit: &'static str,
    pub(super) amount: Money,
    pub(super) price: Money,
    pub(super) per: Decimal,
    /// Its place among the tax groups.
    pub(super) group: usize,
}

impl<'a> Line<'a> {
    /// A line of `quantity` that comes to `amount`. A price is never below nothing (BR-27): of a credit the quantity is.
    pub(super) fn new(
        number: u32,
        name: &'a str,
        (quantity, unit): (Decimal, &'static str),
        amount: Money,
        group: usize,
    ) -> Self {
        let credit = amount.minor() < 0;
        Self {
            number,
            name,
            code: None,
            quantity: if credit { -quantity } else { quantity },
            unit,
            amount,
            price: amount.currency().minor(amount.minor().saturating_abs()),
            per: quantity,
            group,
        }
    }
}

/// The figures of a document.
pub(super) struct Figures<'a> {
    pub(super) lines: Vec<Line<'a>>,
    pub(super) groups: Vec<TaxGroup>,
    certificate: Option<&'a str>,
    taxes: Vec<Money>,
    /// By group: an allowance above nothing, a charge below.
    allowances: Vec<(usize, Money)>,
    line_total: Money,
    allowance_total: Money,
    charge_total: Money,
    exclusive: Money,
    tax: Money,
    inclusive: Money,
    rounding: Money,
    payable: Money,
}

impl<'a> Figures<'a> {
    /// The figures of a document with these lines and allowances by group, of which `payable` is to be paid.
    pub(super) fn new(
        lines: Vec<Line<'a>>,
        (groups, certificate): (Vec<TaxGroup>, Option<&'a str>),
        allowances: Vec<(usize, Money)>,
        payable: Money,
    ) -> Result<Self, HandoffFault> {
        let currency = payable.currency();
        if currency.minor_digits() > 2 {
            return Err(HandoffFault::TooFine(currency));
        }
        if lines.is_empty() {
            return Err(HandoffFault::Empty);
        }
        let nothing = currency.minor(0);
        let line_total = Money::sum(currency, lines.iter().map(|line| line.amount))?;
        let (mut allowance_total, mut charge_total) = (nothing, nothing);
        for (_, amount) in &allowances {
            if amount.minor() < 0 {
                charge_total = charge_total.minus(*amount)?;
            } else {
                allowance_total = allowance_total.plus(*amount)?;
            }
        }
        let exclusive = line_total.minus(allowance_total)?.plus(charge_total)?;
        let bases = Money::sum(currency, groups.iter().map(|group| group.base))?;
        HandoffFault::unless_equal("amount without tax", bases, exclusive)?;
        let taxes = groups.iter().map(|group| group.tax_on(group.base));
        let taxes = taxes.collect::<Result<Vec<_>, _>>()?;
        let tax = Money::sum(currency, taxes.iter().copied())?;
        let inclusive = exclusive.plus(tax)?;
        Ok(Self {
            lines,
            groups,
            certificate,
            taxes,
            allowances,
            line_total,
            allowance_total,
            charge_total,
            exclusive,
            tax,
            inclusive,
            rounding: payable.minus(inclusive)?,
            payable,
        })
    }

    fn currency(&self) -> Currency {
        self.payable.currency()
    }

    /// The allowances and charges of the document, by tax group.
    pub(super) fn write_allowances(&self, xml: &mut Xml, scheme: TaxScheme) {
        for (place, amount) in &self.allowances {
            let charge = amount.minor() < 0;
            let shown = self.currency().minor(amount.minor().saturating_abs());
            xml.within("cac:AllowanceCharge", |xml| {
                xml.put("cbc:ChargeIndicator", if charge { "true" } else { "false" });
                if charge {
                    xml.put("cbc:AllowanceChargeReason", "Discount taken back on credits");
                } else {
                    xml.put("cbc:AllowanceChargeReasonCode", DISCOUNT);
                    xml.put("cbc:AllowanceChargeReason", "Discount");
                }
                money(xml, "cbc:Amount", shown);
                if let Some(group) = self.groups.get(*place) {
                    tax_category(xml, "cac:TaxCategory", group, scheme, None);
                }
            });
        }
    }

    /// Tax, with its breakdown.
    pub(super) fn write_taxes(&self, xml: &mut Xml, scheme: TaxScheme) {
        xml.within("cac:TaxTotal", |xml| {
            money(xml, "cbc:TaxAmount", self.tax);
            for (group, tax) in self.groups.iter().zip(&self.taxes) {
                xml.within("cac:TaxSubtotal", |xml| {
                    money(xml, "cbc:TaxableAmount", group.base);
                    money(xml, "cbc:TaxAmount", *tax);
                    let reason = group.reason(self.certificate);
                    tax_category(xml, "cac:TaxCategory", group, scheme, reason.as_deref());
                });
            }
        });
    }

    /// The totals, under the name that the document has for them.
    pub(super) fn write_totals(&self, xml: &mut Xml, name: &str) {
        xml.within(name, |xml| {
            money(xml, "cbc:LineExtensionAmount", self.line_total);
            money(xml, "cbc:TaxExclusiveAmount", self.exclusive);
            money(xml, "cbc:TaxInclusiveAmount", self.inclusive);
            if !self.allowance_total.is_zero() {
                money(xml, "cbc:AllowanceTotalAmount", self.allowance_total);
            }
            if !self.charge_total.is_zero() {
                money(xml, "cbc:ChargeTotalAmount", self.charge_total);
            }
            if !self.rounding.is_zero() {
                money(xml, "cbc:PayableRoundingAmount", self.rounding);
            }
            money(xml, "cbc:PayableAmount", self.payable);
        });
    }

    /// What a line is of, and its tax category.
    pub(super) fn write_item(&self, xml: &mut Xml, line: &Line<'_>, scheme: TaxScheme) {
        xml.within("cac:Item", |xml| {
            xml.put("cbc:Description", line.name);
            xml.put("cbc:Name", line.name);
            if let Some(code) = line.code {
                xml.within("cac:SellersItemIdentification", |xml| xml.put("cbc:ID", code));
            }
            if let Some(group) = self.groups.get(line.group) {
                tax_category(xml, "cac:ClassifiedTaxCategory", group, scheme, None);
            }
        });
    }
}

pub(super) fn money(xml: &mut Xml, name: &str, amount: Money) {
    xml.put_with(name, &[("currencyID", amount.currency().code())], &amount.text());
}

pub(super) fn quantity(xml: &mut Xml, name: &str, value: Decimal, unit: &str) {
    xml.put_with(name, &[("unitCode", unit)], &plain(value));
}

pub(super) fn price(xml: &mut Xml, line: &Line<'_>) {
    xml.within("cac:Price", |xml| {
        money(xml, "cbc:PriceAmount", line.price);
        quantity(xml, "cbc:BaseQuantity", line.per, line.unit);
    });
}

/// Outside the scope there is no rate (BR-O-05).
fn tax_category(xml: &mut Xml, name: &str, group: &TaxGroup, scheme: TaxScheme, reason: Option<&str>) {
    xml.within(name, |xml| {
        xml.put("cbc:ID", group.code.letter());
        if group.code != TaxCode::OutsideScope {
            xml.put("cbc:Percent", &plain(group.rate));
        }
        if let Some(reason) = reason {
            xml.put("cbc:TaxExemptionReason", reason);
        }
        tax_scheme(xml, scheme);
    });
}

pub(super) fn tax_scheme(xml: &mut Xml, scheme: TaxScheme) {
    xml.within("cac:TaxScheme", |xml| xml.put("cbc:ID", &scheme.to_string()));
}
