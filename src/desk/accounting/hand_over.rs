//! What was accepted, in the formats that a ledger reads; its journal; and what is to be invoiced.

use chrono::NaiveDate;
use estimate::handoff::accepted::Accepted;
use estimate::handoff::instalments::{Instalment, Instalments, instalments};
use estimate::handoff::ubl_invoice::{invoice, invoice_number};
use estimate::handoff::ubl_quotation::{Seller, quotation};
use estimate::handoff::{csv, journal};
use serde_json::{Map, Value, json};

use crate::desk::{Desk, DeskFault};

/// A format of what was accepted that is not JSON.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// UBL 2.1 in XML.
    Ubl,
    /// One row a line.
    Csv,
}

fn tree(value: &impl serde::Serialize) -> Result<Value, DeskFault> {
    serde_json::to_value(value).map_err(|fault| DeskFault::Defect(fault.to_string()))
}

impl Desk {
    /// What was accepted, with the ledger's receipt where there is one.
    ///
    /// # Errors
    /// Nothing of this number was accepted.
    pub fn handed_over(&self, number: &str) -> Result<Value, DeskFault> {
        let found = self.found_acceptance(number)?;
        let receipt = self.store.receipt(&found.quote, found.change_order)?;
        let mut body = tree(&found.accepted)?;
        if let Value::Object(members) = &mut body {
            let receipt = receipt.map(|row| super::receipt::told(&row)).transpose()?;
            members.insert("receipt".to_owned(), tree(&receipt)?);
        }
        Ok(body)
    }

    /// What was accepted, in another format.
    ///
    /// # Errors
    /// Nothing of this number was accepted, or the format cannot carry it.
    pub fn handed_over_as(&self, number: &str, format: Format) -> Result<Vec<u8>, DeskFault> {
        let accepted = self.found_acceptance(number)?.accepted;
        Ok(match format {
            Format::Ubl => quotation(&accepted, &self.seller()?)?,
            Format::Csv => csv::lines(&accepted)?.into_bytes(),
        })
    }

    /// The journal of what was accepted, under the company's accounts.
    ///
    /// # Errors
    /// Nothing of this number was accepted.
    pub fn journal(&self, number: &str) -> Result<Value, DeskFault> {
        let accepted = self.found_acceptance(number)?.accepted;
        let ledger = self.ledger()?;
        let mut body = Map::new();
        body.insert("number".to_owned(), json!(accepted.number));
        body.insert("name".to_owned(), tree(&accepted.name)?);
        body.insert("accepted_on".to_owned(), tree(&accepted.accepted_on)?);
        body.insert("settings_version".to_owned(), json!(ledger.version));
        body.insert("amounts".to_owned(), tree(&accepted.amounts)?);
        if let Value::Object(members) = tree(&journal::journal(&accepted, &ledger.settings)?)? {
            body.extend(members);
        }
        Ok(Value::Object(body))
    }

    /// The postings of the journal as CSV, one row each.
    ///
    /// # Errors
    /// Nothing of this number was accepted.
    pub fn journal_as_csv(&self, number: &str) -> Result<Vec<u8>, DeskFault> {
        let accepted = self.found_acceptance(number)?.accepted;
        let journal = journal::journal(&accepted, &self.ledger()?.settings)?;
        Ok(csv::postings(&accepted, &journal).into_bytes())
    }

    /// What is to be invoiced of what was accepted, and when.
    ///
    /// # Errors
    /// Nothing of this number was accepted.
    pub fn invoices(&self, number: &str) -> Result<Value, DeskFault> {
        let accepted = self.found_acceptance(number)?.accepted;
        let instalments = instalments(&accepted)?;
        let list = instalments.list.iter();
        let list = list.map(|one| invoice_told(&accepted, &instalments, one));
        Ok(json!({
            "number": accepted.number,
            "name": accepted.name,
            "amounts": accepted.amounts,
            "invoices": list.collect::<Result<Vec<_>, _>>()?,
            "sums": instalments.sums,
        }))
    }

    /// One of the invoices or credit notes, as UBL, of the day that is told or that the schedule has for it.
    ///
    /// # Errors
    /// There is none of this number, its day is not known, or the format cannot carry it.
    pub fn invoice_as_ubl(
        &self,
        number: &str,
        instalment: u32,
        issued_on: Option<NaiveDate>,
    ) -> Result<Vec<u8>, DeskFault> {
        let accepted = self.found_acceptance(number)?.accepted;
        let instalments = instalments(&accepted)?;
        let one = instalments.list.iter().find(|one| one.number == instalment);
        let one = one.ok_or_else(|| DeskFault::unknown("invoice", &instalment.to_string()))?;
        Ok(invoice(&accepted, &instalments, one, &self.seller()?, issued_on)?)
    }

    fn seller(&self) -> Result<Seller, DeskFault> {
        let office = self.office()?;
        let (company, settings) = (&office.company, self.ledger()?.settings);
        Ok(Seller {
            name: company.name.clone(),
            address: company.address.clone(),
            country: settings.country,
            telephone: company.telephone.clone(),
            mail: company.mail.clone(),
            tax_registration: settings.tax_registration.map(String::from),
            tax_scheme: settings.tax_scheme,
            register_number: settings.register_number.map(String::from),
        })
    }
}

fn invoice_told(
    accepted: &Accepted,
    instalments: &Instalments,
    one: &Instalment,
) -> Result<Value, DeskFault> {
    let (net, tax) = one.net_and_tax()?;
    let taxes: Vec<Value> = instalments
        .groups
        .iter()
        .zip(&one.parts)
        .map(|(group, (base, tax))| {
            json!({
                "uncl5305": group.code.letter(),
                "rate": estimate::quantity::decimal::plain(group.rate),
                "titles": group.titles,
                "base": base,
                "amount": tax,
            })
        })
        .collect();
    Ok(json!({
        "instalment": one.number,
        "invoice": invoice_number(accepted, one),
        "kind": one.kind,
        "document": if one.is_credit() { "credit_note" } else { "invoice" },
        "type_code": one.code(),
        "label": one.label,
        "share": estimate::quantity::decimal::plain(one.share),
        "due_on": one.due_on,
        "net": net,
        "taxes": taxes,
        "tax": tax,
        "rounding": one.rounding,
        "amount": one.amount,
    }))
}
