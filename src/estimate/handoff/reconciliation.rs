//! What happened to offers in a period, in counts and sums, and which acceptances the ledger has.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use serde::Serialize;

use super::amounts::Amounts;
use super::fault::HandoffFault;
use crate::quantity::Currency;
use crate::quote::life::State;
use crate::quote::validity::Zone;

/// One thing that happened to an offer or a change order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Happening {
    /// The state that it came to.
    pub state: State,
    /// When.
    pub at: DateTime<Utc>,
    /// Who issued it.
    pub estimator: String,
    /// What it comes to.
    pub amounts: Amounts,
    /// Of an acceptance: whether the ledger has it.
    pub receipt: ReceiptStanding,
}

/// Whether the ledger has an acceptance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ReceiptStanding {
    /// It has.
    WithReceipt,
    /// It has not said so.
    WithoutReceipt,
    /// It has another figure, and was refused.
    Refused,
}

/// How many, and what they come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Sums {
    /// How many.
    pub count: u64,
    /// What they come to.
    #[serde(flatten)]
    pub amounts: Amounts,
}

/// Sums under a name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Grouped {
    /// State, month, estimator, or what became of the receipt.
    pub name: String,
    /// The state that the offers came to.
    pub state: State,
    /// The sums.
    #[serde(flatten)]
    pub sums: Sums,
}

/// The report of a period.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reconciliation {
    /// By state, in the order of an offer's life.
    pub states: Vec<Grouped>,
    /// By month, where the company is, and state.
    pub months: Vec<Grouped>,
    /// By who issued it, and state.
    pub estimators: Vec<Grouped>,
    /// Acceptances by what became of their receipt.
    pub receipts: Vec<Grouped>,
}

type Table = BTreeMap<(String, usize), Sums>;

/// The report of these happenings. Months are those of `zone`.
///
/// # Errors
/// A sum does not fit.
pub fn reconcile(
    happenings: &[Happening],
    currency: Currency,
    zone: Zone,
) -> Result<Reconciliation, HandoffFault> {
    let (mut states, mut months, mut estimators, mut receipts) =
        (Table::new(), Table::new(), Table::new(), Table::new());
    for happening in happenings {
        let month = zone.day(happening.at).format("%Y-%m").to_string();
        add(
            &mut states,
            happening.state.word().to_owned(),
            happening,
            currency,
        )?;
        add(&mut months, month, happening, currency)?;
        add(&mut estimators, happening.estimator.clone(), happening, currency)?;
        if happening.state == State::Accepted {
            add(
                &mut receipts,
                happening.receipt.word().to_owned(),
                happening,
                currency,
            )?;
        }
    }
    let mut states = told(states);
    states.sort_by_key(|group| place(group.state));
    Ok(Reconciliation {
        states,
        months: told(months),
        estimators: told(estimators),
        receipts: told(receipts),
    })
}

impl ReceiptStanding {
    fn word(self) -> &'static str {
        match self {
            Self::WithReceipt => "with_receipt",
            Self::WithoutReceipt => "without_receipt",
            Self::Refused => "refused",
        }
    }
}

fn add(
    table: &mut Table,
    name: String,
    happening: &Happening,
    currency: Currency,
) -> Result<(), HandoffFault> {
    let nothing = currency.minor(0);
    let amounts = Amounts {
        net: nothing,
        tax: nothing,
        total: nothing,
    };
    let sums = table
        .entry((name, place(happening.state)))
        .or_insert(Sums { count: 0, amounts });
    sums.count = sums.count.saturating_add(1);
    sums.amounts = sums.amounts.plus(happening.amounts)?;
    Ok(())
}

/// The place of a state in the life of an offer.
fn place(state: State) -> usize {
    State::ALL
        .iter()
        .position(|known| *known == state)
        .unwrap_or_default()
}

fn told(table: Table) -> Vec<Grouped> {
    let rows = table.into_iter().filter_map(|((name, place), sums)| {
        let state = State::ALL.get(place).copied()?;
        Some(Grouped { name, state, sums })
    });
    rows.collect()
}
