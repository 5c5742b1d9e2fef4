//! What the company's own ledger calls things: its accounts, its tax registration, and how long a receipt may take.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::codes::TaxScheme;
use crate::quote::country::is_country;

/// Longest account number or registration.
const MOST: usize = 40;
/// Days that a receipt may take, where the company says nothing.
const RECEIPT_DAYS: u32 = 7;
/// Most days that a receipt may take.
const MOST_DAYS: u32 = 3_650;
/// Most accounts in one table.
const MOST_ACCOUNTS: usize = 1_000;

/// An account of the company's ledger, by its number.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Account(String);

/// The text is not a number of an account or a registration.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("an account has 1 to {MOST} letters, digits and - . / _ and spaces between them")]
pub struct NotAnAccount;

impl TryFrom<String> for Account {
    type Error = NotAnAccount;

    fn try_from(text: String) -> Result<Self, NotAnAccount> {
        let allowed = |sign: char| sign.is_alphanumeric() || "-./_ ".contains(sign);
        let sound =
            (1..=MOST).contains(&text.chars().count()) && text.chars().all(allowed) && text.trim() == text;
        if sound { Ok(Self(text)) } else { Err(NotAnAccount) }
    }
}

impl Account {
    /// Whether it begins as a new one must: a sign in front of a number makes another number of it.
    fn begins_well(&self) -> bool {
        self.0.starts_with(char::is_alphanumeric)
    }

    fn begins_badly(&self) -> String {
        format!("is {}, and must begin with a letter or a digit", self.0)
    }
}

impl From<Account> for String {
    fn from(account: Account) -> Self {
        account.0
    }
}

/// The accounts of a table: those of single names, and the one for all others.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Accounts {
    /// For every name that has none of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub otherwise: Option<Account>,
    /// By name.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub by_name: BTreeMap<String, Account>,
}

impl Accounts {
    /// The account of `name`.
    pub fn of(&self, name: &str) -> Option<&Account> {
        self.by_name.get(name).or(self.otherwise.as_ref())
    }
}

/// What the company's ledger calls things. Nothing has to be said; what is left out is told where it is missed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LedgerSettings {
    /// What customers owe.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub receivable: Option<Account>,
    /// Sales, by labour class for work.
    #[serde(default)]
    pub labour_sales: Accounts,
    /// Sales, by cost code for everything else, and for work whose class has no account.
    #[serde(default)]
    pub sales: Accounts,
    /// Tax, by tax category of the policy.
    #[serde(default)]
    pub tax: Accounts,
    /// Cost of the work, by cost code.
    #[serde(default)]
    pub cost: Accounts,
    /// Days after an acceptance within which the ledger says that it has it.
    #[serde(default = "receipt_days")]
    pub receipt_days: u32,
    /// The company's country, two letters of ISO 3166-1, for papers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub country: Option<String>,
    /// The company's registration for the tax on its sales, for papers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tax_registration: Option<Account>,
    /// Which tax that is.
    #[serde(default)]
    pub tax_scheme: TaxScheme,
    /// The company's number in a register of companies, for papers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub register_number: Option<Account>,
}

fn receipt_days() -> u32 {
    RECEIPT_DAYS
}

impl Default for LedgerSettings {
    fn default() -> Self {
        Self {
            receivable: None,
            labour_sales: Accounts::default(),
            sales: Accounts::default(),
            tax: Accounts::default(),
            cost: Accounts::default(),
            receipt_days: RECEIPT_DAYS,
            country: None,
            tax_registration: None,
            tax_scheme: TaxScheme::default(),
            register_number: None,
        }
    }
}

impl LedgerSettings {
    /// The account of a line's sale: work by its class, everything else by its cost code.
    pub fn sales_account(&self, labour_class: Option<&str>, cost_code: &str) -> Option<&Account> {
        labour_class
            .and_then(|class| self.labour_sales.of(class))
            .or_else(|| self.sales.of(cost_code))
    }

    /// What cannot stand: JSON Pointer and words of each fault.
    pub fn faults(&self) -> Vec<(String, String)> {
        let mut faults = Vec::new();
        let mut add = |pointer: &str, message: String| faults.push((pointer.to_owned(), message));
        if !(1..=MOST_DAYS).contains(&self.receipt_days) {
            add(
                "/receipt_days",
                format!("is {}, and must be from 1 to {MOST_DAYS}", self.receipt_days),
            );
        }
        if let Some(country) = self.country.as_ref().filter(|country| !is_country(country)) {
            let shown: String = country.chars().take(MOST).collect();
            add(
                "/country",
                format!("is {shown}, and must be the two letters of a country in ISO 3166-1, such as US"),
            );
        }
        let own = [
            ("/receivable", &self.receivable),
            ("/tax_registration", &self.tax_registration),
            ("/register_number", &self.register_number),
        ];
        for (pointer, account) in own {
            if let Some(account) = account.as_ref().filter(|account| !account.begins_well()) {
                add(pointer, account.begins_badly());
            }
        }
        let tables = [
            ("/labour_sales", &self.labour_sales),
            ("/sales", &self.sales),
            ("/tax", &self.tax),
            ("/cost", &self.cost),
        ];
        for (pointer, table) in tables {
            if table.by_name.len() > MOST_ACCOUNTS {
                add(pointer, format!("has more than {MOST_ACCOUNTS} accounts"));
            }
            let named = table.by_name.iter().map(|(name, account)| {
                let name = name.replace('~', "~0").replace('/', "~1");
                (format!("{pointer}/by_name/{name}"), account)
            });
            let otherwise = table
                .otherwise
                .iter()
                .map(|account| (format!("{pointer}/otherwise"), account));
            for (place, account) in named.chain(otherwise) {
                if !account.begins_well() {
                    add(&place, account.begins_badly());
                }
            }
        }
        faults
    }
}
