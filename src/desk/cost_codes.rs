//! The cost codes that the company knows: those of its goods, its people, its policies and its rules, and those that its
//! ledger has an account for. A new one is told to the ledger first.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use estimate::handoff::ledger::LedgerSettings;
use estimate::pricing::PolicyFault;
use estimate::pricing::policy::Policy;
use estimate::quantity::nearest;
use estimate::workbook::Workbook;

use super::{Desk, DeskFault, Office};

impl Desk {
    /// Why a cost code cannot be taken; nothing where it is known.
    pub(super) fn unknown_cost_code(&self, office: &Office, code: &str) -> Result<Option<String>, DeskFault> {
        let ledger = self.ledger()?.settings;
        let mut known = office.cost_codes();
        known.extend(accounts(&ledger));
        Ok(unknown(code, &known))
    }

    /// Compiles rules that are to count from `day` on. The cost codes that they write down themselves are held against
    /// the known ones, those of the version before them among these.
    ///
    /// # Errors
    /// Every finding, when one of them is an error.
    pub(super) fn compile_known(
        &self,
        office: &Office,
        text: &str,
        version: u32,
        day: NaiveDate,
    ) -> Result<Workbook, DeskFault> {
        office.compile_known(text, version, day, &self.ledger()?.settings)
    }

    /// The cost codes of the lines of a policy that nobody knows.
    pub(super) fn unknown_of_policy(
        &self,
        office: &Office,
        policy: &Policy,
    ) -> Result<Vec<PolicyFault>, DeskFault> {
        let ledger = self.ledger()?.settings;
        let mut known = office.cost_codes();
        known.extend(accounts(&ledger));
        let lines = [
            ("freight", &policy.lines.freight),
            ("consumables", &policy.lines.consumables),
            ("use_tax", &policy.lines.use_tax),
        ];
        let told = lines.into_iter().filter_map(|(name, codes)| {
            Some(PolicyFault {
                pointer: format!("/lines/{name}/cost_code"),
                message: unknown(&codes.cost_code, &known)?,
            })
        });
        Ok(told.collect())
    }
}

fn accounts(ledger: &LedgerSettings) -> impl Iterator<Item = &str> {
    [&ledger.sales, &ledger.cost]
        .into_iter()
        .flat_map(|table| table.by_name.keys().map(String::as_str))
}

/// Where nothing is known yet, any code is taken.
fn unknown(code: &str, known: &BTreeSet<&str>) -> Option<String> {
    if known.is_empty() || known.contains(code) {
        return None;
    }
    let hint = nearest::hint(code, known.iter().copied());
    Some(format!(
        "`{code}` is no cost code of an item, a labour class, a policy or the rules, and the ledger has no account for \
         it{hint}"
    ))
}

impl Office {
    /// As the desk compiles rules, beside the accounts of this ledger. The first rules of an office may use new codes: only
    /// what looks like a slip is told of them, as a warning.
    ///
    /// # Errors
    /// The same.
    pub fn compile_known(
        &self,
        text: &str,
        version: u32,
        day: NaiveDate,
        ledger: &LedgerSettings,
    ) -> Result<Workbook, DeskFault> {
        let workbook = self.compile_priced(text, version, day)?;
        let mut known = self.cost_codes();
        known.extend(accounts(ledger));
        if self.shelf.ids().next().is_none() {
            return Ok(workbook.as_the_first(&known));
        }
        if let Ok(before) = self.rulebook(Some(workbook.version().id)) {
            known.extend(before.workbook.cost_codes().iter().map(String::as_str));
        }
        let mut findings = workbook.unknown_cost_codes(&known);
        if findings.is_empty() {
            return Ok(workbook);
        }
        findings.extend(workbook.warnings().iter().cloned());
        findings.sort_by_key(|finding| (finding.span.start, finding.severity));
        Err(DeskFault::Rulebook(findings))
    }

    /// The cost codes of goods, people, policies and the rules of today.
    fn cost_codes(&self) -> BTreeSet<&str> {
        let items = self.catalogue.items().iter();
        let mut known: BTreeSet<&str> = items.map(|item| item.cost_code.as_str()).collect();
        let classes = self.catalogue.labour().iter();
        known.extend(classes.map(|class| class.cost_code.as_str()));
        for version in &self.policies {
            known.extend(version.policy.cost_codes().iter().map(String::as_str));
        }
        if let Ok(version) = self.rulebook(None) {
            known.extend(version.workbook.cost_codes().iter().map(String::as_str));
        }
        known
    }

    /// What in the tables of accounts is the name of nothing. What stood there `before` is left; a cost code may be a new
    /// one, unless it is a known one in other letters.
    pub(super) fn unknown_in_ledger(
        &self,
        settings: &LedgerSettings,
        before: &LedgerSettings,
    ) -> Vec<(String, String)> {
        let classes: Vec<&str> = self
            .catalogue
            .labour()
            .iter()
            .map(|class| class.code.as_str())
            .collect();
        let mut categories: Vec<&str> = Vec::new();
        for version in &self.policies {
            categories.extend(version.policy.tax_categories().iter().map(String::as_str));
        }
        let cost_codes: Vec<&str> = self.cost_codes().into_iter().collect();
        let mut faults = Vec::new();
        for (table, what, known, new, old) in [
            (
                "labour_sales",
                "labour class",
                &classes,
                &settings.labour_sales,
                &before.labour_sales,
            ),
            ("tax", "tax category", &categories, &settings.tax, &before.tax),
            ("sales", "cost code", &cost_codes, &settings.sales, &before.sales),
            ("cost", "cost code", &cost_codes, &settings.cost, &before.cost),
        ] {
            let may_be_new = |name: &str| {
                known.is_empty()
                    || what == "cost code" && !known.iter().any(|code| code.eq_ignore_ascii_case(name))
            };
            for name in new.by_name.keys().map(String::as_str) {
                if known.contains(&name) || old.by_name.contains_key(name) || may_be_new(name) {
                    continue;
                }
                let hint = nearest::hint(name, known.iter().copied());
                let place = name.replace('~', "~0").replace('/', "~1");
                faults.push((
                    format!("/{table}/by_name/{place}"),
                    format!("there is no {what} {name}{hint}"),
                ));
            }
        }
        faults
    }
}
