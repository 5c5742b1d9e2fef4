//! Who sells, who buys and where the work is done, as UBL 2.1 and EN 16931 have them.

use super::codes::{TaxCode, TaxScheme};
use super::fault::HandoffFault;
use super::tax_groups::TaxGroup;
use super::ubl::tax_scheme;
use super::xml::Xml;
use crate::quote::party::{Address, Customer};

/// Who sells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seller {
    /// The name on its papers.
    pub name: String,
    /// Postal address, a line each.
    pub address: Vec<String>,
    /// Country, two letters of ISO 3166-1. An address without one is in this country.
    pub country: Option<String>,
    /// Telephone.
    pub telephone: String,
    /// Mail address.
    pub mail: String,
    /// Its registration for the tax on its sales.
    pub tax_registration: Option<String>,
    /// Which tax that is.
    pub tax_scheme: TaxScheme,
    /// Its number in a register of companies.
    pub register_number: Option<String>,
}

impl Seller {
    /// Whether an invoice can be made out by this seller.
    ///
    /// # Errors
    /// EN 16931 asks for something that is not known of it: its country (BR-09), its registration for a tax that is on the
    /// invoice (BR-S-02, BR-E-02, BR-Z-02), or anything by which a buyer's program knows it (BR-CO-26).
    pub(super) fn fit_for_an_invoice(&self, groups: &[TaxGroup]) -> Result<(), HandoffFault> {
        let taxed = in_scope(groups);
        let mut lacks = Vec::new();
        if self.country.is_none() {
            lacks.push("country");
        }
        match (&self.tax_registration, &self.register_number) {
            (None, _) if taxed => lacks.push("tax_registration"),
            (None, None) => lacks.push("register_number"),
            _ => {}
        }
        if lacks.is_empty() {
            return Ok(());
        }
        Err(HandoffFault::SellerLacks(lacks))
    }
}

fn in_scope(groups: &[TaxGroup]) -> bool {
    groups.iter().any(|group| group.code != TaxCode::OutsideScope)
}

/// The seller. Its registration goes with a document on which tax is charged or might be (BR-S-02, BR-O-02).
pub(super) fn seller(xml: &mut Xml, name: &str, seller: &Seller, groups: &[TaxGroup]) {
    xml.within(name, |xml| {
        xml.within("cac:Party", |xml| {
            if let Some(registration) = &seller.tax_registration {
                xml.within("cac:PartyIdentification", |xml| xml.put("cbc:ID", registration));
            }
            xml.within("cac:PartyName", |xml| xml.put("cbc:Name", &seller.name));
            address(
                xml,
                "cac:PostalAddress",
                &seller.address,
                seller.country.as_deref(),
            );
            let registration = seller.tax_registration.as_deref();
            if let Some(registration) = registration.filter(|_| in_scope(groups)) {
                xml.within("cac:PartyTaxScheme", |xml| {
                    xml.put("cbc:CompanyID", registration);
                    tax_scheme(xml, seller.tax_scheme);
                });
            }
            xml.within("cac:PartyLegalEntity", |xml| {
                xml.put("cbc:RegistrationName", &seller.name);
                if let Some(number) = &seller.register_number {
                    xml.put("cbc:CompanyID", number);
                }
            });
            contact(xml, None, Some(&seller.telephone), Some(&seller.mail));
        });
    });
}

/// The buyer.
pub(super) fn buyer(xml: &mut Xml, name: &str, customer: &Customer, seller: &Seller) {
    xml.within(name, |xml| {
        xml.within("cac:Party", |xml| {
            xml.within("cac:PartyIdentification", |xml| xml.put("cbc:ID", &customer.id));
            xml.within("cac:PartyName", |xml| xml.put("cbc:Name", &customer.name));
            let country = country(&customer.address, seller);
            address(xml, "cac:PostalAddress", &customer.address.lines, country);
            xml.within("cac:PartyLegalEntity", |xml| {
                xml.put("cbc:RegistrationName", &customer.name);
            });
            contact(
                xml,
                customer.contact.as_deref(),
                customer.telephone.as_deref(),
                customer.mail.as_deref(),
            );
        });
    });
}

fn contact(xml: &mut Xml, name: Option<&str>, telephone: Option<&str>, mail: Option<&str>) {
    let parts = [
        ("cbc:Name", name),
        ("cbc:Telephone", telephone),
        ("cbc:ElectronicMail", mail),
    ];
    if parts.iter().all(|(_, part)| part.is_none()) {
        return;
    }
    xml.within("cac:Contact", |xml| {
        for (element, part) in parts {
            if let Some(part) = part {
                xml.put(element, part);
            }
        }
    });
}

fn country<'a>(address: &'a Address, seller: &'a Seller) -> Option<&'a str> {
    address.country.as_deref().or(seller.country.as_deref())
}

/// An address. EN 16931 has three lines of one (BT-35, BT-36, BT-162): what is more goes into the third.
fn address(xml: &mut Xml, name: &str, lines: &[String], country: Option<&str>) {
    xml.within(name, |xml| {
        let mut lines = lines.iter();
        for element in ["cbc:StreetName", "cbc:AdditionalStreetName"] {
            if let Some(line) = lines.next() {
                xml.put(element, line);
            }
        }
        let rest: Vec<&str> = lines.map(String::as_str).collect();
        if !rest.is_empty() {
            xml.within("cac:AddressLine", |xml| xml.put("cbc:Line", &rest.join(", ")));
        }
        if let Some(country) = country {
            xml.within("cac:Country", |xml| xml.put("cbc:IdentificationCode", country));
        }
    });
}

/// Where the work is done.
pub(super) fn delivery(xml: &mut Xml, site: &Address, seller: &Seller) {
    xml.within("cac:Delivery", |xml| {
        xml.within("cac:DeliveryLocation", |xml| {
            address(xml, "cac:Address", &site.lines, country(site, seller));
        });
    });
}
