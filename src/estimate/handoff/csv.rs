//! Lines, postings and the report of a period as CSV (RFC 4180): a header, one row a line, ends of line CR LF, UTF-8.
//!
//! A text that a spreadsheet would run as a formula gets an apostrophe in front; figures are written by this program
//! alone and stay as they are.

use super::accepted::{Accepted, MovedLine};
use super::fault::HandoffFault;
use super::journal::{Journal, Purpose};
use super::reconciliation::{Grouped, Reconciliation};
use crate::quantity::decimal::plain;
use crate::quantity::{Currency, Money};

/// The columns, with what each holds.
pub const COLUMNS: &[(&str, &str)] = &[
    ("number", "What accounting calls the offer or change order"),
    ("revision", "Name of the revision that was accepted"),
    ("accepted_on", "Day of the acceptance, where the company is"),
    ("customer", "Name of the customer"),
    ("position", "Place of the line on the bill"),
    ("key", "Stable name of the line"),
    ("kind", "material, labour, subcontract or fee"),
    ("code", "Code of the item; empty where it is none"),
    ("description", "What it is, in words"),
    ("quantity", "Needed quantity; empty where it is not counted"),
    ("unit", "Unit of the quantity"),
    ("labour_class", "Labour class; empty where it is no work"),
    ("hours", "Labour hours; empty where it is no work"),
    ("cost_code", "Cost code of job costing"),
    ("tax_category", "Tax category of the policy"),
    ("currency", "Currency of every amount, ISO 4217"),
    ("cost", "What it costs the company, as it stands now"),
    ("cost_moved", "By how much this acceptance moved the cost"),
    ("price", "What it is sold for before discount, as it stands now"),
    ("discount", "Its share of the discount, as it stands now"),
    ("net", "Price less discount, as it stands now"),
    (
        "net_moved",
        "By how much this acceptance moved the net: these add up to the net of the entry",
    ),
];

/// The columns of postings, with what each holds.
pub const POSTING_COLUMNS: &[(&str, &str)] = &[
    ("number", "What accounting calls the offer or change order"),
    ("accepted_on", "Day of the acceptance, where the company is"),
    (
        "account",
        "Number of the account; empty where the company has not said which",
    ),
    ("purpose", "receivable, labour_class, cost_code or tax_category"),
    (
        "name",
        "Which labour class, cost code or tax category; empty for receivable",
    ),
    ("debit", "The amount on the debit side, or nothing"),
    ("credit", "The amount on the credit side, or nothing"),
    ("currency", "Currency of every amount, ISO 4217"),
];

/// The columns of the report of a period, with what each holds.
pub const REPORT_COLUMNS: &[(&str, &str)] = &[
    (
        "by",
        "state, month, estimator or receipt: one offer stands under each of them once",
    ),
    (
        "name",
        "Which state, month or estimator; with_receipt, without_receipt or refused",
    ),
    ("state", "The state that the offers came to"),
    ("count", "How many"),
    ("net", "Before tax"),
    ("tax", "Tax"),
    ("total", "With tax"),
    ("currency", "Currency of every amount, ISO 4217"),
];

/// The postings of a journal.
pub fn postings(accepted: &Accepted, journal: &Journal) -> String {
    let mut out = header(POSTING_COLUMNS);
    for posting in &journal.postings {
        let (purpose, name) = match &posting.purpose {
            Purpose::Receivable => ("receivable", ""),
            Purpose::LabourClass(name) => ("labour_class", name.as_str()),
            Purpose::CostCode(name) => ("cost_code", name.as_str()),
            Purpose::TaxCategory(name) => ("tax_category", name.as_str()),
        };
        let account = posting.account.clone().map(String::from).unwrap_or_default();
        let cells = [
            defused(&accepted.number),
            accepted.accepted_on.to_string(),
            defused(&account),
            purpose.to_owned(),
            defused(name),
            posting.debit.text(),
            posting.credit.text(),
            accepted.currency().code().to_owned(),
        ];
        row(&mut out, cells.into_iter());
    }
    out
}

/// The report of a period.
pub fn report(report: &Reconciliation, currency: Currency) -> String {
    let mut out = header(REPORT_COLUMNS);
    let tables: [(&str, &[Grouped]); 4] = [
        ("state", &report.states),
        ("month", &report.months),
        ("estimator", &report.estimators),
        ("receipt", &report.receipts),
    ];
    for (by, groups) in tables {
        for group in groups {
            let amounts = group.sums.amounts;
            let cells = [
                by.to_owned(),
                defused(&group.name),
                group.state.word().to_owned(),
                group.sums.count.to_string(),
                amounts.net.text(),
                amounts.tax.text(),
                amounts.total.text(),
                currency.code().to_owned(),
            ];
            row(&mut out, cells.into_iter());
        }
    }
    out
}

fn header(columns: &[(&str, &str)]) -> String {
    let mut out = String::new();
    row(&mut out, columns.iter().map(|(name, _)| (*name).to_owned()));
    out
}

/// The lines of what was accepted.
///
/// # Errors
/// A sum does not fit.
pub fn lines(accepted: &Accepted) -> Result<String, HandoffFault> {
    let mut out = header(COLUMNS);
    for line in accepted.lines()? {
        row(&mut out, cells(accepted, &line).into_iter());
    }
    Ok(out)
}

fn cells(accepted: &Accepted, moved: &MovedLine<'_>) -> [String; 22] {
    let line = moved.line;
    let nothing = accepted.currency().minor(0);
    let shown = |amount: Money| if moved.stands { amount } else { nothing }.text();
    let maybe = |text: &Option<String>| defused(text.as_deref().unwrap_or_default());
    [
        defused(&accepted.number),
        defused(&accepted.name.to_string()),
        accepted.accepted_on.to_string(),
        defused(&accepted.customer.name),
        line.position.to_string(),
        defused(&line.key),
        defused(&line.kind),
        maybe(&line.code),
        defused(&line.description),
        line.quantity
            .map(|quantity| plain(quantity.value))
            .unwrap_or_default(),
        line.quantity
            .map(|quantity| quantity.unit.symbol())
            .unwrap_or_default(),
        maybe(&line.labour_class),
        line.hours.map(|hours| plain(hours.value)).unwrap_or_default(),
        defused(&line.cost_code),
        defused(&line.tax_category),
        accepted.currency().code().to_owned(),
        moved.cost.text(),
        moved.cost_moved.text(),
        shown(line.price),
        shown(line.discount),
        moved.net.text(),
        moved.net_moved.text(),
    ]
}

/// The text, with an apostrophe in front where a spreadsheet would run it.
fn defused(text: &str) -> String {
    let first = text
        .chars()
        .find(|sign| !sign.is_whitespace() && !is_unseen(*sign));
    let runs =
        first.is_some_and(|sign| "=+-@＝＋－＠".contains(sign)) || text.starts_with(['\t', '\r', '\n']);
    if runs { format!("'{text}") } else { text.to_owned() }
}

/// Signs that show as nothing, which some programs leave out before they look at a cell.
fn is_unseen(sign: char) -> bool {
    sign.is_control()
        || matches!(sign, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

fn row(out: &mut String, cells: impl Iterator<Item = String>) {
    for (index, cell) in cells.enumerate() {
        if index > 0 {
            out.push(',');
        }
        if cell.contains([',', '"', '\r', '\n']) {
            out.push('"');
            out.push_str(&cell.replace('"', "\"\""));
            out.push('"');
        } else {
            out.push_str(&cell);
        }
    }
    out.push_str("\r\n");
}
