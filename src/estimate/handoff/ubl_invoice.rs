//! A UBL 2.1 Invoice of one instalment: what accounting makes its own invoice from.
//!
//! Its number is the entry's with the instalment behind it, and its day that of the acceptance: the ledger gives its
//! own of both when the invoice goes out.

use rust_decimal::Decimal;

use super::accepted::Accepted;
use super::codes::LUMP_SUM;
use super::fault::HandoffFault;
use super::instalments::{Instalment, Instalments};
use super::tax_groups::TaxGroup;
use super::ubl::{self, CAC, CBC, Figures, Line, Seller};
use super::xml::Xml;

const NAMESPACE: &str = "urn:oasis:names:specification:ubl:schema:xsd:Invoice-2";

/// The number of an instalment's invoice, until the ledger gives its own.
pub fn invoice_number(accepted: &Accepted, instalment: &Instalment) -> String {
    format!("{}-I{}", accepted.number, instalment.number)
}

/// The Invoice, in UTF-8.
///
/// # Errors
/// The format cannot carry the amounts, or they do not add up.
pub fn invoice(
    accepted: &Accepted,
    instalments: &Instalments,
    instalment: &Instalment,
    seller: &Seller,
) -> Result<Vec<u8>, HandoffFault> {
    let names: Vec<String> = instalments
        .groups
        .iter()
        .map(|group| format!("{}: {}", instalment.label, group.titles.join(", ")))
        .collect();
    let certificate = accepted.exemption_certificate.as_deref();
    let figures = figures(instalments, instalment, (&names, certificate))?;
    let namespaces = [("xmlns", NAMESPACE), ("xmlns:cac", CAC), ("xmlns:cbc", CBC)];
    let scheme = seller.tax_scheme;
    Ok(Xml::document("Invoice", &namespaces, |xml| {
        xml.put("cbc:UBLVersionID", "2.1");
        xml.put("cbc:ID", &invoice_number(accepted, instalment));
        xml.put("cbc:IssueDate", &accepted.accepted_on.to_string());
        if let Some(day) = instalment.due_on {
            xml.put("cbc:DueDate", &day.to_string());
        }
        xml.put("cbc:InvoiceTypeCode", instalment.kind.code());
        xml.put("cbc:DocumentCurrencyCode", accepted.currency().code());
        xml.put("cbc:LineCountNumeric", &figures.lines.len().to_string());
        if let Some(reference) = &accepted.reference {
            xml.within("cac:OrderReference", |xml| xml.put("cbc:ID", reference));
        }
        xml.within("cac:ContractDocumentReference", |xml| {
            xml.put("cbc:ID", &accepted.name.to_string());
        });
        ubl::seller(xml, "cac:AccountingSupplierParty", seller, &figures.groups);
        ubl::buyer(xml, "cac:AccountingCustomerParty", &accepted.customer);
        ubl::delivery(xml, &accepted.site.address);
        xml.within("cac:PaymentTerms", |xml| xml.put("cbc:Note", &instalment.label));
        figures.write_allowances(xml, scheme);
        figures.write_taxes(xml, scheme);
        figures.write_totals(xml, "cac:LegalMonetaryTotal");
        for line in &figures.lines {
            xml.within("cac:InvoiceLine", |xml| {
                xml.put("cbc:ID", &line.number.to_string());
                ubl::quantity(xml, "cbc:InvoicedQuantity", line.quantity, line.unit);
                ubl::money(xml, "cbc:LineExtensionAmount", line.amount);
                figures.write_item(xml, line, scheme);
                ubl::price(xml, line);
            });
        }
    }))
}

/// A line for each tax group on which something stands.
fn figures<'a>(
    instalments: &Instalments,
    instalment: &Instalment,
    (names, certificate): (&'a [String], Option<&'a str>),
) -> Result<Figures<'a>, HandoffFault> {
    let (mut lines, mut groups) = (Vec::new(), Vec::new());
    for ((group, name), (base, _)) in instalments.groups.iter().zip(names).zip(&instalment.parts) {
        if base.is_zero() {
            continue;
        }
        let place = groups.len();
        let number = u32::try_from(place).unwrap_or(u32::MAX).saturating_add(1);
        lines.push(Line::new(number, name, (Decimal::ONE, LUMP_SUM), *base, place));
        groups.push(TaxGroup {
            base: *base,
            ..group.clone()
        });
    }
    Figures::new(lines, (groups, certificate), Vec::new(), instalment.amount)
}
