//! What an acceptance comes to in the ledger: what to book on the sale, and the budget of the job.
//!
//! A change order is booked as what it moves. An amount that it takes away stands on the other side.

use rust_decimal::Decimal;
use serde::Serialize;

use super::accepted::Accepted;
use super::fault::HandoffFault;
use super::ledger::{Account, LedgerSettings};
use super::sheet::{Sheet, SheetLine, SheetTax};
use crate::quantity::unit::Unit;
use crate::quantity::{Currency, Money, Quantity};

/// What to book, and the budget.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Journal {
    /// What to book on the sale. Debits and credits are equal.
    pub postings: Vec<Posting>,
    /// Net, cost and hours by cost code.
    pub cost_codes: Vec<Row>,
    /// Net, cost and hours of work by labour class.
    pub labour_classes: Vec<Row>,
    /// Tax by category of the policy.
    pub tax_categories: Vec<TaxRow>,
    /// The job's budget, for job costing.
    pub budget: Budget,
    /// Every whole beside what its parts add up to. They are equal, or there is no journal.
    pub proof: Vec<Proof>,
    /// What has no account.
    pub without_account: Vec<String>,
}

/// One posting: an amount on one side.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Posting {
    /// The account; none where the company has not said which.
    pub account: Option<Account>,
    /// What it is for.
    pub purpose: Purpose,
    /// Debit, or nothing.
    pub debit: Money,
    /// Credit, or nothing.
    pub credit: Money,
}

/// What a posting is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind", content = "name")]
pub enum Purpose {
    /// What the customer owes.
    Receivable,
    /// A sale of work of this labour class.
    LabourClass(String),
    /// A sale under this cost code.
    CostCode(String),
    /// Tax of this category.
    TaxCategory(String),
}

/// Sums of lines under one name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Row {
    /// The cost code or the labour class.
    pub name: String,
    /// Its account: of a cost code that of the cost, of a labour class that of the sale.
    pub account: Option<Account>,
    /// What it is sold for, less discount.
    pub net: Money,
    /// What it costs.
    pub cost: Money,
    /// Labour hours.
    pub hours: Quantity,
}

impl Row {
    fn moves(&self) -> bool {
        !self.net.is_zero() || !self.cost.is_zero() || !self.hours.value.is_zero()
    }
}

/// Tax of one category.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TaxRow {
    /// The category's code in the policy.
    pub name: String,
    /// What it is called.
    pub title: String,
    /// Its account.
    pub account: Option<Account>,
    /// What is taxed.
    pub base: Money,
    /// The tax.
    pub tax: Money,
}

/// The budget of the job. The cost codes hold it piece by piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Budget {
    /// Direct cost: that of the cost codes.
    pub cost: Money,
    /// For what is known to be unknown.
    pub contingency: Money,
    /// The office's own cost.
    pub overhead: Money,
    /// The three together.
    pub full_cost: Money,
    /// Hours of the cost codes.
    pub hours: Quantity,
    /// By how much the hours that are costed are more, since each class is rounded as a whole.
    pub hours_by_rounding: Quantity,
}

/// A whole, and what its parts add up to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Proof {
    /// Which whole.
    pub what: &'static str,
    /// As it was accepted.
    pub whole: Money,
    /// What the parts add up to.
    pub parts: Money,
}

/// Sums that grow line by line.
struct Sums {
    rows: Vec<(String, Option<String>, Money, Money, Decimal)>,
    currency: Currency,
}

impl Sums {
    fn new(currency: Currency) -> Self {
        Self {
            rows: Vec::new(),
            currency,
        }
    }

    /// Adds a line under a name, or takes it away. `class` tells sums of the same name apart.
    fn add(
        &mut self,
        (name, class): (&str, Option<&str>),
        line: &SheetLine,
        taken_away: bool,
    ) -> Result<(), HandoffFault> {
        let same = |row: &(String, Option<String>, Money, Money, Decimal)| {
            row.0 == name && row.1.as_deref() == class
        };
        let place = self.rows.iter().position(same).unwrap_or_else(|| {
            let nothing = self.currency.minor(0);
            let class = class.map(str::to_owned);
            self.rows
                .push((name.to_owned(), class, nothing, nothing, Decimal::ZERO));
            self.rows.len() - 1
        });
        let hours = line.hours.map_or(Decimal::ZERO, |hours| hours.value);
        if let Some((_, _, net, cost, sum)) = self.rows.get_mut(place) {
            if taken_away {
                *net = net.minus(line.net()?)?;
                *cost = cost.minus(line.cost)?;
                *sum = sum.checked_sub(hours).ok_or_else(too_many_hours)?;
            } else {
                *net = net.plus(line.net()?)?;
                *cost = cost.plus(line.cost)?;
                *sum = sum.checked_add(hours).ok_or_else(too_many_hours)?;
            }
        }
        Ok(())
    }
}

fn too_many_hours() -> HandoffFault {
    HandoffFault::Unreadable("more hours than can be counted".to_owned())
}

fn hours(value: Decimal) -> Quantity {
    Quantity { value, unit: Unit::H }
}

/// The journal of what was accepted, under the company's accounts.
///
/// # Errors
/// A whole is not the sum of its parts.
pub fn journal(accepted: &Accepted, ledger: &LedgerSettings) -> Result<Journal, HandoffFault> {
    let currency = accepted.currency();
    let (mut sales, mut codes, mut classes) = (Sums::new(currency), Sums::new(currency), Sums::new(currency));
    let sheets = [(Some(&accepted.sheet), false), (accepted.sheet_before(), true)];
    for (sheet, taken_away) in sheets {
        for line in sheet.map_or(&[][..], |sheet| &sheet.lines) {
            let class = line.labour_class.as_deref();
            // Work whose class has an account of its own is sold there, all else by its cost code.
            let own = class.filter(|class| ledger.labour_sales.of(class).is_some());
            let name = own.map_or((line.cost_code.as_str(), None), |class| (class, Some(class)));
            sales.add(name, line, taken_away)?;
            codes.add((&line.cost_code, None), line, taken_away)?;
            if let Some(class) = class {
                classes.add((class, None), line, taken_away)?;
            }
        }
    }
    let tax_categories = tax_rows(accepted, ledger)?;
    let postings = postings(accepted, ledger, &sales, &tax_categories)?;
    // A change order has the rows that it moves.
    let order = accepted.change.as_ref();
    let rows = |sums: Sums, account: &dyn Fn(&str) -> Option<Account>| {
        let rows = sums.rows.into_iter().map(|(name, _, net, cost, sum)| Row {
            account: account(&name),
            name,
            net,
            cost,
            hours: hours(sum),
        });
        rows.filter(|row| order.is_none() || row.moves())
            .collect::<Vec<_>>()
    };
    let cost_codes = rows(codes, &|code| ledger.cost.of(code).cloned());
    let labour_classes = rows(classes, &|class| ledger.labour_sales.of(class).cloned());
    let budget = budget(accepted, &cost_codes)?;
    let mut journal = Journal {
        postings,
        cost_codes,
        labour_classes,
        tax_categories,
        budget,
        proof: Vec::new(),
        without_account: Vec::new(),
    };
    journal.proof = journal.proved(accepted)?;
    journal.without_account = journal.unmapped();
    Ok(journal)
}

fn tax_rows(accepted: &Accepted, ledger: &LedgerSettings) -> Result<Vec<TaxRow>, HandoffFault> {
    let order = accepted.change.is_some();
    let moves = |tax: &SheetTax| !order || !tax.base.is_zero() || !tax.amount.is_zero();
    let rows = accepted.taxes()?.into_iter().filter(moves).map(|tax| TaxRow {
        account: ledger.tax.of(&tax.category).cloned(),
        name: tax.category,
        title: tax.title,
        base: tax.base,
        tax: tax.amount,
    });
    Ok(rows.collect())
}

fn postings(
    accepted: &Accepted,
    ledger: &LedgerSettings,
    sales: &Sums,
    taxes: &[TaxRow],
) -> Result<Vec<Posting>, HandoffFault> {
    let nothing = accepted.currency().minor(0);
    let mut postings = Vec::new();
    // A credit below nothing is a debit, and the other way round.
    let mut post = |account: Option<&Account>, purpose: Purpose, debit: Money| -> Result<(), HandoffFault> {
        if debit.is_zero() {
            return Ok(());
        }
        let credit = debit.minor() < 0;
        let amount = if credit { nothing.minus(debit)? } else { debit };
        postings.push(Posting {
            account: account.cloned(),
            purpose,
            debit: if credit { nothing } else { amount },
            credit: if credit { amount } else { nothing },
        });
        Ok(())
    };
    post(
        ledger.receivable.as_ref(),
        Purpose::Receivable,
        accepted.amounts.total,
    )?;
    for (name, class, net, _, _) in &sales.rows {
        let purpose = match class {
            Some(class) => Purpose::LabourClass(class.clone()),
            None => Purpose::CostCode(name.clone()),
        };
        let account = ledger.sales_account(class.as_deref(), name);
        post(account, purpose, nothing.minus(*net)?)?;
    }
    for tax in taxes {
        let purpose = Purpose::TaxCategory(tax.name.clone());
        post(tax.account.as_ref(), purpose, nothing.minus(tax.tax)?)?;
    }
    Ok(postings)
}

fn budget(accepted: &Accepted, cost_codes: &[Row]) -> Result<Budget, HandoffFault> {
    let before = accepted.sheet_before();
    let moved = |of: fn(&Sheet) -> Money| match before {
        None => Ok(of(&accepted.sheet)),
        Some(before) => of(&accepted.sheet).minus(of(before)),
    };
    let costed = |sheet: Option<&Sheet>| sheet.map_or(Decimal::ZERO, |sheet| sheet.totals.hours.value);
    let costed = costed(Some(&accepted.sheet)).checked_sub(costed(before));
    let counted = cost_codes
        .iter()
        .try_fold(Decimal::ZERO, |sum, row| sum.checked_add(row.hours.value));
    let counted = counted.ok_or_else(too_many_hours)?;
    let rounding = costed.and_then(|costed| costed.checked_sub(counted));
    Ok(Budget {
        cost: moved(|sheet| sheet.totals.cost)?,
        contingency: moved(|sheet| sheet.totals.contingency)?,
        overhead: moved(|sheet| sheet.totals.overhead)?,
        full_cost: moved(|sheet| sheet.totals.full_cost)?,
        hours: hours(counted),
        hours_by_rounding: hours(rounding.ok_or_else(too_many_hours)?),
    })
}

impl Journal {
    /// Every whole beside its parts, once all are equal.
    fn proved(&self, accepted: &Accepted) -> Result<Vec<Proof>, HandoffFault> {
        let currency = accepted.currency();
        fn sum<'a>(
            currency: Currency,
            amounts: impl Iterator<Item = &'a Money>,
        ) -> Result<Money, HandoffFault> {
            Ok(Money::sum(currency, amounts.copied())?)
        }
        let debits = sum(currency, self.postings.iter().map(|posting| &posting.debit))?;
        let credits = sum(currency, self.postings.iter().map(|posting| &posting.credit))?;
        let amounts = accepted.amounts;
        let budget = &self.budget;
        let proof = [
            ("debits and credits", debits, credits),
            (
                "net by cost code",
                amounts.net,
                sum(currency, self.cost_codes.iter().map(|row| &row.net))?,
            ),
            (
                "base by tax category",
                amounts.net,
                sum(currency, self.tax_categories.iter().map(|row| &row.base))?,
            ),
            (
                "tax by tax category",
                amounts.tax,
                sum(currency, self.tax_categories.iter().map(|row| &row.tax))?,
            ),
            ("net and tax", amounts.total, amounts.net.plus(amounts.tax)?),
            (
                "cost by cost code",
                budget.cost,
                sum(currency, self.cost_codes.iter().map(|row| &row.cost))?,
            ),
            (
                "full cost",
                budget.full_cost,
                budget.cost.plus(budget.contingency)?.plus(budget.overhead)?,
            ),
        ];
        let mut proved = Vec::with_capacity(proof.len());
        for (what, whole, parts) in proof {
            HandoffFault::unless_equal(what, whole, parts)?;
            proved.push(Proof { what, whole, parts });
        }
        Ok(proved)
    }

    /// What has no account: postings, and cost codes with a cost.
    fn unmapped(&self) -> Vec<String> {
        let postings = self.postings.iter().filter(|posting| posting.account.is_none());
        let postings = postings.map(|posting| match &posting.purpose {
            Purpose::Receivable => "receivable".to_owned(),
            Purpose::LabourClass(name) => format!("sale of labour class {name}"),
            Purpose::CostCode(name) => format!("sale under cost code {name}"),
            Purpose::TaxCategory(name) => format!("tax of category {name}"),
        });
        let costs = self
            .cost_codes
            .iter()
            .filter(|row| row.account.is_none() && !row.cost.is_zero())
            .map(|row| format!("cost under cost code {}", row.name));
        postings.chain(costs).collect()
    }
}
