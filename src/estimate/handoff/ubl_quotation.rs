//! A UBL 2.1 Quotation of what was accepted. It is the customer's side: no cost is in it.
//!
//! Of a change order it is what the change moves, to the cent what the feed and the receipt have; what the contract came
//! to before it and comes to with it is in a note.

use super::accepted::Accepted;
use super::fault::HandoffFault;
use super::ubl::{self, CAC, CBC};
use super::ubl_lines::figures;
use super::ubl_party::{buyer, delivery, seller};
use super::xml::Xml;
use crate::quantity::decimal::plain;

pub use super::ubl_party::Seller;

const NAMESPACE: &str = "urn:oasis:names:specification:ubl:schema:xsd:Quotation-2";

/// The Quotation, in UTF-8.
///
/// # Errors
/// The format cannot carry the amounts, or they do not add up.
pub fn quotation(accepted: &Accepted, by: &Seller) -> Result<Vec<u8>, HandoffFault> {
    let figures = figures(accepted)?;
    let namespaces = [("xmlns", NAMESPACE), ("xmlns:cac", CAC), ("xmlns:cbc", CBC)];
    let scheme = by.tax_scheme;
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
        if accepted.change.is_some() {
            let contract = accepted.name.number.to_string();
            xml.within("cac:Contract", |xml| xml.put("cbc:ID", &contract));
        }
        seller(xml, "cac:SellerSupplierParty", by, &figures.groups);
        buyer(xml, "cac:BuyerCustomerParty", &accepted.customer, by);
        delivery(xml, &accepted.site.address, by);
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
            "Change order: {}. The amounts are what it moves: with it the contract {} comes to {}, and came to {} before",
            change.title, accepted.name.number, change.after.total, change.before.total
        );
        xml.put("cbc:Note", &note);
        xml.put("cbc:Note", "Instalments of the whole contract with it:");
    }
    for payment in &accepted.sheet.payment_schedule {
        let share = plain(payment.share);
        xml.put(
            "cbc:Note",
            &format!("{}: {share} %, {}", payment.label, payment.amount),
        );
    }
}
