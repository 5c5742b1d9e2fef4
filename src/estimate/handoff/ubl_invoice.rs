//! A UBL 2.1 Invoice of one instalment, or a CreditNote of one that goes to the customer: what accounting makes its own
//! from.
//!
//! Its number is the entry's with the instalment behind it: the ledger gives its own. Its day is the one on which the
//! instalment falls due, or the one that is told.

use chrono::NaiveDate;
use rust_decimal::Decimal;

use super::accepted::Accepted;
use super::codes::{EN_16931, LUMP_SUM, TaxScheme};
use super::fault::HandoffFault;
use super::instalments::{Instalment, Instalments};
use super::tax_groups::TaxGroup;
use super::ubl::{self, CAC, CBC, Figures, Line};
use super::ubl_party::{Seller, buyer, delivery, seller};
use super::xml::Xml;
use crate::quantity::Money;

/// The names that an invoice and a credit note have for the same things.
struct Names {
    root: &'static str,
    namespace: &'static str,
    code: &'static str,
    line: &'static str,
    quantity: &'static str,
}

const INVOICE: Names = Names {
    root: "Invoice",
    namespace: "urn:oasis:names:specification:ubl:schema:xsd:Invoice-2",
    code: "cbc:InvoiceTypeCode",
    line: "cac:InvoiceLine",
    quantity: "cbc:InvoicedQuantity",
};

const CREDIT_NOTE: Names = Names {
    root: "CreditNote",
    namespace: "urn:oasis:names:specification:ubl:schema:xsd:CreditNote-2",
    code: "cbc:CreditNoteTypeCode",
    line: "cac:CreditNoteLine",
    quantity: "cbc:CreditedQuantity",
};

/// The number of an instalment's document, until the ledger gives its own.
pub fn invoice_number(accepted: &Accepted, instalment: &Instalment) -> String {
    format!("{}-I{}", accepted.number, instalment.number)
}

/// The Invoice or CreditNote, in UTF-8. `issued_on` is its day, where the caller tells one.
///
/// # Errors
/// The format cannot carry the amounts, the seller is not known well enough, the day is not known, or the amounts do not
/// add up.
pub fn invoice(
    accepted: &Accepted,
    instalments: &Instalments,
    instalment: &Instalment,
    by: &Seller,
    issued_on: Option<NaiveDate>,
) -> Result<Vec<u8>, HandoffFault> {
    let titles: Vec<String> = instalments
        .groups
        .iter()
        .map(|group| format!("{}: {}", instalment.label, group.titles.join(", ")))
        .collect();
    let certificate = accepted.exemption_certificate.as_deref();
    let figures = figures(instalments, instalment, (&titles, certificate))?;
    // EN 16931 knows value added tax alone: a document with another tax has its figures and does not say that it is one.
    let scheme = by.tax_scheme;
    let of_the_standard = scheme == TaxScheme::ValueAdded;
    if of_the_standard {
        by.fit_for_an_invoice(&figures.groups)?;
    }
    let issued_on = instalment.issue_day(accepted, issued_on)?;
    let credit = instalment.is_credit();
    let names = if credit { &CREDIT_NOTE } else { &INVOICE };
    let namespaces = [("xmlns", names.namespace), ("xmlns:cac", CAC), ("xmlns:cbc", CBC)];
    Ok(Xml::document(names.root, &namespaces, |xml| {
        xml.put("cbc:UBLVersionID", "2.1");
        if of_the_standard {
            xml.put("cbc:CustomizationID", EN_16931);
        }
        xml.put("cbc:ID", &invoice_number(accepted, instalment));
        xml.put("cbc:IssueDate", &issued_on.to_string());
        if let Some(day) = instalment.due_on.filter(|_| !credit) {
            xml.put("cbc:DueDate", &day.max(issued_on).to_string());
        }
        xml.put(names.code, instalment.code());
        if credit {
            let quote = &accepted.name.number;
            let note = format!("Goes against instalment {} of {quote}", instalment.number);
            xml.put("cbc:Note", &note);
        }
        xml.put("cbc:DocumentCurrencyCode", accepted.currency().code());
        if let Some(reference) = &accepted.reference {
            xml.within("cac:OrderReference", |xml| xml.put("cbc:ID", reference));
        }
        xml.within("cac:ContractDocumentReference", |xml| {
            xml.put("cbc:ID", &accepted.name.to_string());
        });
        seller(xml, "cac:AccountingSupplierParty", by, &figures.groups);
        buyer(xml, "cac:AccountingCustomerParty", &accepted.customer, by);
        delivery(xml, &accepted.site.address, by);
        xml.within("cac:PaymentTerms", |xml| xml.put("cbc:Note", &instalment.label));
        figures.write_allowances(xml, scheme);
        figures.write_taxes(xml, scheme);
        figures.write_totals(xml, "cac:LegalMonetaryTotal");
        for line in &figures.lines {
            xml.within(names.line, |xml| {
                xml.put("cbc:ID", &line.number.to_string());
                ubl::quantity(xml, names.quantity, line.quantity, line.unit);
                ubl::money(xml, "cbc:LineExtensionAmount", line.amount);
                figures.write_item(xml, line, scheme);
                ubl::price(xml, line);
            });
        }
    }))
}

/// A line for each tax group on which something stands. What a credit note gives back is above nothing on it.
fn figures<'a>(
    instalments: &Instalments,
    instalment: &Instalment,
    (titles, certificate): (&'a [String], Option<&'a str>),
) -> Result<Figures<'a>, HandoffFault> {
    let nothing = instalment.amount.currency().minor(0);
    let shown = |amount: Money| -> Result<Money, HandoffFault> {
        Ok(if instalment.is_credit() {
            nothing.minus(amount)?
        } else {
            amount
        })
    };
    let (mut lines, mut groups) = (Vec::new(), Vec::new());
    for ((group, title), (base, _)) in instalments.groups.iter().zip(titles).zip(&instalment.parts) {
        if base.is_zero() {
            continue;
        }
        let (place, base) = (groups.len(), shown(*base)?);
        let number = u32::try_from(place).unwrap_or(u32::MAX).saturating_add(1);
        lines.push(Line::new(number, title, (Decimal::ONE, LUMP_SUM), base, place));
        groups.push(TaxGroup {
            base,
            ..group.clone()
        });
    }
    Figures::new(
        lines,
        (groups, certificate),
        Vec::new(),
        shown(instalment.amount)?,
    )
}
