//! What the ledger calls things, read from JSON with every fault told at once.

use std::collections::BTreeMap;

use estimate::handoff::codes::TaxScheme;
use estimate::handoff::ledger::{Account, Accounts, LedgerSettings};
use serde_json::Value;

use crate::api::input::{Members, escaped, under};
use crate::api::problem::InputError;

const AN_ACCOUNT: &str = "a text of 1 to 40 letters, digits and - . / _, with single words between spaces";
const A_TABLE: &str = "an object with otherwise, by_name or both";

fn account(value: &Value) -> Option<Account> {
    Account::try_from(value.as_str()?.to_owned()).ok()
}

fn country(value: &Value) -> Option<&str> {
    value.as_str()
}

fn scheme(value: &Value) -> Option<TaxScheme> {
    TaxScheme::ALL
        .into_iter()
        .find(|scheme| value.as_str() == Some(&scheme.to_string()))
}

/// A table of accounts.
fn accounts(value: &Value) -> Result<Accounts, Vec<InputError>> {
    let mut members = Members::of(value);
    let otherwise = members.maybe("otherwise", AN_ACCOUNT, account);
    let named = members.maybe(
        "by_name",
        "an object with an account for each name",
        Value::as_object,
    );
    let (mut by_name, mut faults) = (BTreeMap::new(), Vec::new());
    for (name, value) in named.into_iter().flatten() {
        match account(value) {
            Some(account) => drop(by_name.insert(name.clone(), account)),
            None => faults.push(InputError::not_allowed(
                &format!("/by_name/{}", escaped(name)),
                value,
                AN_ACCOUNT,
            )),
        }
    }
    faults.extend(members.finish());
    if faults.is_empty() {
        Ok(Accounts { otherwise, by_name })
    } else {
        Err(faults)
    }
}

/// The settings. Whether they can stand is said later.
///
/// # Errors
/// Every fault of the body.
pub(super) fn settings(body: &Value) -> Result<LedgerSettings, Vec<InputError>> {
    let mut members = Members::of(body);
    let mut faults = Vec::new();
    let mut table = |members: &mut Members<'_>, name: &'static str| {
        let value = members.maybe(name, A_TABLE, |value| value.is_object().then(|| value.clone()));
        value.map_or_else(Accounts::default, |value| {
            accounts(&value).unwrap_or_else(|errors| {
                faults.extend(under(&format!("/{name}"), errors));
                Accounts::default()
            })
        })
    };
    let usual = LedgerSettings::default();
    let read = LedgerSettings {
        labour_sales: table(&mut members, "labour_sales"),
        sales: table(&mut members, "sales"),
        tax: table(&mut members, "tax"),
        cost: table(&mut members, "cost"),
        receivable: members.maybe("receivable", AN_ACCOUNT, account),
        receipt_days: members
            .maybe("receipt_days", "a whole number of days from 1 to 3650", |value| {
                u32::try_from(value.as_u64()?).ok()
            })
            .unwrap_or(usual.receipt_days),
        country: members
            .maybe(
                "country",
                "the two letters of a country in ISO 3166-1, such as US",
                country,
            )
            .map(str::to_owned),
        tax_registration: members.maybe("tax_registration", AN_ACCOUNT, account),
        tax_scheme: members
            .maybe("tax_scheme", "one of VAT, GST, STT, LOC, OTH", scheme)
            .unwrap_or(usual.tax_scheme),
        register_number: members.maybe("register_number", AN_ACCOUNT, account),
    };
    faults.extend(members.finish());
    let told = |(pointer, message): (String, String)| InputError::does_not_fit(&pointer, message);
    faults.extend(read.faults().into_iter().map(told));
    if faults.is_empty() { Ok(read) } else { Err(faults) }
}
