//! An accepted offer or change order with everything that accounting takes over.

use chrono::{DateTime, NaiveDate, Utc};
use serde::Serialize;
use serde_json::Value;

use super::amounts::Amounts;
use super::fault::HandoffFault;
use super::sheet::{Sheet, SheetLine, SheetTax};
use crate::quantity::{Currency, Money};
use crate::quote::acceptance::Acceptance;
use crate::quote::canonical::Digest;
use crate::quote::number::RevisionName;
use crate::quote::party::{Customer, Site};
use crate::quote::revision::Revision;

/// An accepted offer or change order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Accepted {
    /// What accounting calls it: the quote's number, with `-C1` behind it for its first change order.
    pub number: String,
    /// The revision that was accepted.
    pub name: RevisionName,
    /// Digest of the record of the acceptance.
    pub digest: Digest,
    /// When it was issued.
    pub issued_at: DateTime<Utc>,
    /// The day of that, where the company is.
    pub issued_on: NaiveDate,
    /// Who issued it.
    pub issued_by: String,
    /// The last day of the offer.
    pub valid_until: NaiveDate,
    /// When the acceptance was recorded.
    pub accepted_at: DateTime<Utc>,
    /// The day of that, where the company is.
    pub accepted_on: NaiveDate,
    /// Who accepted on the customer's side.
    pub accepted_by: String,
    /// The customer's reference.
    pub reference: Option<String>,
    /// Who recorded it.
    pub recorded_by: String,
    /// Names of the chosen alternates.
    pub chosen: Vec<String>,
    /// The customer as known when it was issued.
    pub customer: Customer,
    /// The site as known then.
    pub site: Site,
    /// Number of the customer's exemption certificate, where the job names one.
    pub exemption_certificate: Option<String>,
    /// What it comes to: of a change order, what it moves.
    pub amounts: Amounts,
    /// For a change order: the contract that it changed.
    pub change: Option<ChangedContract>,
    /// The accepted job with its figures: of a change order, the contract after it.
    #[serde(flatten)]
    pub sheet: Sheet,
}

/// The contract that a change order changed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChangedContract {
    /// What the customer reads.
    pub title: String,
    /// The contract before it.
    pub before: Amounts,
    /// The contract after it.
    pub after: Amounts,
    /// The figures before it.
    #[serde(skip)]
    pub sheet_before: Sheet,
}

/// A line of what was accepted, beside what stood there before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MovedLine<'a> {
    /// The line as it stands, or stood when the change takes it away.
    pub line: &'a SheetLine,
    /// Whether it stands now.
    pub stands: bool,
    /// What it is sold for, less discount: nothing when the change takes it away.
    pub net: Money,
    /// By how much that was moved.
    pub net_moved: Money,
    /// What it costs: nothing when the change takes it away.
    pub cost: Money,
    /// By how much that was moved.
    pub cost_moved: Money,
}

impl Accepted {
    /// Puts together what the records hold. `before` is, for a change order, the acceptance that it builds on.
    ///
    /// # Errors
    /// The records do not belong together, or their figures do not add up.
    pub fn of(
        revision: &Revision,
        acceptance: &Acceptance,
        digest: Digest,
        before: Option<(&Acceptance, Digest)>,
    ) -> Result<Self, HandoffFault> {
        let sheet = Sheet::read(&acceptance.estimate)?;
        let change = match (&revision.change, before) {
            (None, _) => None,
            (Some(change), Some((contract, digest))) if change.contract == digest => {
                let sheet_before = Sheet::read(&contract.estimate)?;
                Some(ChangedContract {
                    title: change.title.clone(),
                    before: amounts(&sheet_before),
                    after: amounts(&sheet),
                    sheet_before,
                })
            }
            _ => {
                let word = format!("{} has not the contract that it changes", revision.name);
                return Err(HandoffFault::Unreadable(word));
            }
        };
        let zone = revision.validity.time_zone;
        let certificate = acceptance.request.pointer("/job/tax/exemption_certificate");
        Ok(Self {
            number: entry_number(&revision.name),
            name: revision.name.clone(),
            digest,
            issued_at: revision.issued_at,
            issued_on: zone.day(revision.issued_at),
            issued_by: revision.issued_by.clone(),
            valid_until: revision.validity.until,
            accepted_at: acceptance.at,
            accepted_on: zone.day(acceptance.at),
            accepted_by: acceptance.accepted_by.clone(),
            reference: acceptance.reference.clone(),
            recorded_by: acceptance.recorded_by.clone(),
            chosen: acceptance.chosen.clone(),
            customer: revision.customer.clone(),
            site: revision.site.clone(),
            exemption_certificate: certificate.and_then(Value::as_str).map(str::to_owned),
            amounts: match &change {
                None => amounts(&sheet),
                Some(change) => change.after.minus(change.before)?,
            },
            change,
            sheet,
        })
    }

    /// The currency of every amount.
    pub fn currency(&self) -> Currency {
        self.sheet.currency
    }

    /// The figures before a change order.
    pub fn sheet_before(&self) -> Option<&Sheet> {
        self.change.as_ref().map(|change| &change.sheet_before)
    }

    /// Every line beside what stood there before, in the order of the bill; what a change order takes away comes last.
    ///
    /// # Errors
    /// A sum does not fit.
    pub fn lines(&self) -> Result<Vec<MovedLine<'_>>, HandoffFault> {
        let nothing = self.currency().minor(0);
        let before = self.sheet_before().map_or(&[][..], |sheet| &sheet.lines);
        let mut lines = Vec::with_capacity(self.sheet.lines.len());
        for line in &self.sheet.lines {
            let old = before.iter().find(|old| old.key == line.key);
            let (net, cost) = (line.net()?, line.cost);
            let (old_net, old_cost) = match old {
                None => (nothing, nothing),
                Some(old) => (old.net()?, old.cost),
            };
            lines.push(MovedLine {
                line,
                stands: true,
                net,
                net_moved: net.minus(old_net)?,
                cost,
                cost_moved: cost.minus(old_cost)?,
            });
        }
        let gone = |old: &&SheetLine| !self.sheet.lines.iter().any(|line| line.key == old.key);
        for line in before.iter().filter(gone) {
            lines.push(MovedLine {
                line,
                stands: false,
                net: nothing,
                net_moved: nothing.minus(line.net()?)?,
                cost: nothing,
                cost_moved: nothing.minus(line.cost)?,
            });
        }
        Ok(lines)
    }

    /// The taxes of what was accepted; of a change order, what it moves of them.
    ///
    /// # Errors
    /// A sum does not fit.
    pub fn taxes(&self) -> Result<Vec<SheetTax>, HandoffFault> {
        let mut taxes = self.sheet.totals.taxes.clone();
        for old in self.sheet_before().map_or(&[][..], |sheet| &sheet.totals.taxes) {
            let same = |tax: &&mut SheetTax| {
                (&tax.category, tax.rate, &tax.uncl5305) == (&old.category, old.rate, &old.uncl5305)
            };
            match taxes.iter_mut().find(same) {
                Some(tax) => {
                    tax.base = tax.base.minus(old.base)?;
                    tax.amount = tax.amount.minus(old.amount)?;
                }
                None => {
                    let nothing = self.currency().minor(0);
                    taxes.push(SheetTax {
                        base: nothing.minus(old.base)?,
                        amount: nothing.minus(old.amount)?,
                        ..old.clone()
                    });
                }
            }
        }
        Ok(taxes)
    }
}

/// What accounting calls a revision's offer or change order.
pub fn entry_number(name: &RevisionName) -> String {
    match name.change_order {
        None => name.number.to_string(),
        Some(order) => format!("{}-C{order}", name.number),
    }
}

/// The quote's number and the change order in what accounting calls an entry; 0 for the offer itself. A quote number
/// never ends in `-C` and digits.
pub fn read_entry_number(text: &str) -> (&str, u32) {
    let order = text.rsplit_once("-C").and_then(|(number, digits)| {
        let order: u32 = digits.parse().ok()?;
        (order > 0 && order.to_string() == digits).then_some((number, order))
    });
    order.unwrap_or((text, 0))
}

fn amounts(sheet: &Sheet) -> Amounts {
    Amounts {
        net: sheet.totals.net,
        tax: sheet.totals.tax,
        total: sheet.totals.total,
    }
}
