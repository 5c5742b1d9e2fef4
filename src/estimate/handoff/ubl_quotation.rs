//! A UBL 2.1 Quotation of what was accepted. It is the customer's side: no cost is in it.
//!
//! Of a change order it is the contract with the change in it, as the customer agreed to it.

use rust_decimal::Decimal;

use super::accepted::Accepted;
use super::codes::{LUMP_SUM, unit_code};
use super::fault::HandoffFault;
use super::sheet::SheetLine;
use super::tax_groups::{groups, place_of};
use super::ubl::{self, CAC, CBC, Figures, Line};
use super::xml::Xml;
use crate::quantity::Money;
use crate::quantity::decimal::plain;

pub use super::ubl::Seller;

const NAMESPACE: &str = "urn:oasis:names:specification:ubl:schema:xsd:Quotation-2";

/// The Quotation, in UTF-8.
///
/// # Errors
/// The format cannot carry the amounts, or they do not add up.
pub fn quotation(accepted: &Accepted, seller: &Seller) -> Result<Vec<u8>, HandoffFault> {
    let figures = figures(accepted)?;
    let namespaces = [("xmlns", NAMESPACE), ("xmlns:cac", CAC), ("xmlns:cbc", CBC)];
    let scheme = seller.tax_scheme;
    Ok(Xml::document("Quotation", &namespaces, |xml| {
        xml.put("cbc:UBLVersionID", "2.1");
        xml.put("cbc:ID", &accepted.name.to_string());
        xml.put("cbc:IssueDate", &accepted.issued_on.to_string());
        notes(xml, accepted);
        xml.put("cbc:PricingCurrencyCode", accepted.currency().code());
        xml.put("cbc:LineCountNumeric", &figures.lines.len().to_string());
        xml.within("cac:ValidityPeriod", |xml| {
            xml.put("cbc:StartDate", &accepted.issued_on.to_string());
            xml.put("cbc:EndDate", &accepted.valid_until.to_string());
        });
        ubl::seller(xml, "cac:SellerSupplierParty", seller, &figures.groups);
        ubl::buyer(xml, "cac:BuyerCustomerParty", &accepted.customer);
        ubl::delivery(xml, &accepted.site.address);
        figures.write_allowances(xml, scheme);
        figures.write_taxes(xml, scheme);
        figures.write_totals(xml, "cac:QuotedMonetaryTotal");
        for line in &figures.lines {
            xml.within("cac:QuotationLine", |xml| {
                xml.put("cbc:ID", &line.number.to_string());
                xml.within("cac:LineItem", |xml| {
                    xml.put("cbc:ID", &line.number.to_string());
                    ubl::quantity(xml, "cbc:Quantity", line.quantity, line.unit);
                    ubl::money(xml, "cbc:LineExtensionAmount", line.amount);
                    ubl::price(xml, line);
                    figures.write_item(xml, line, scheme);
                });
            });
        }
    }))
}

fn notes(xml: &mut Xml, accepted: &Accepted) {
    xml.put(
        "cbc:Note",
        &format!("Accepted on {} by {}", accepted.accepted_on, accepted.accepted_by),
    );
    if let Some(reference) = &accepted.reference {
        xml.put("cbc:Note", &format!("Customer's reference: {reference}"));
    }
    if let Some(change) = &accepted.change {
        let note = format!(
            "Change order: {}. It moves the contract from {} to {}",
            change.title, change.before.total, change.after.total
        );
        xml.put("cbc:Note", &note);
    }
    for payment in &accepted.sheet.payment_schedule {
        let share = plain(payment.share);
        xml.put(
            "cbc:Note",
            &format!("{}: {share} %, {}", payment.label, payment.amount),
        );
    }
}

fn figures(accepted: &Accepted) -> Result<Figures<'_>, HandoffFault> {
    let sheet = &accepted.sheet;
    let groups = groups(&sheet.totals.taxes, sheet.currency)?;
    let mut discounts = vec![sheet.currency.minor(0); groups.len()];
    let mut lines = Vec::with_capacity(sheet.lines.len());
    for line in &sheet.lines {
        // A category that comes to nothing has no group; its lines add nothing to whichever one they stand in.
        let group = place_of(&groups, &line.tax_category).unwrap_or(0);
        if let Some(discount) = discounts.get_mut(group) {
            *discount = discount.plus(line.discount)?;
        }
        let mut shown = Line::new(line.position, &line.description, counted(line), line.price, group);
        shown.code = line.code.as_deref();
        lines.push(shown);
    }
    let allowances: Vec<(usize, Money)> = discounts
        .into_iter()
        .enumerate()
        .filter(|(_, amount)| !amount.is_zero())
        .collect();
    let exempt = (groups, accepted.exemption_certificate.as_deref());
    Figures::new(lines, exempt, allowances, sheet.totals.total)
}

/// How much of what: the quantity or the hours of a line, one of it as a whole where neither can be told in a code.
fn counted(line: &SheetLine) -> (Decimal, &'static str) {
    let told = line.quantity.or(line.hours);
    let told = told.filter(|quantity| quantity.value > Decimal::ZERO);
    told.and_then(|quantity| Some((quantity.value, unit_code(quantity.unit)?)))
        .unwrap_or((Decimal::ONE, LUMP_SUM))
}
