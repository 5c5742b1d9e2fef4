//! Taking a list back: by a later list that has the prices from before.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use thiserror::Error;

use crate::catalogue::Catalogue;

/// A price that a list has added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AppliedRow {
    /// The row in the list.
    pub row: u32,
    /// The item's code.
    pub code: String,
    /// How much the pack holds.
    pub pack: Decimal,
    /// The first day of the price.
    pub valid_from: NaiveDate,
    /// The price.
    pub amount: Decimal,
    /// The price that held on that day before; none where there was none.
    pub replaced: Option<Decimal>,
}

/// What a later list would hold to take another back.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct UndoPlan {
    /// Rows of the later list: the amount is the price from before, `replaced` the one that is taken back.
    pub rows: Vec<AppliedRow>,
    /// Rows of the list whose price does not hold on that day any more: another has come since, and stays.
    pub superseded: usize,
    /// Rows of the list that the price did not change with: nothing is to be taken back.
    pub unchanged: usize,
    /// Packs that had no price before: they keep the one of the list, since a price is never taken away.
    pub first_prices: Vec<AppliedRow>,
}

/// The day is not later than the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("the list has prices that hold from {latest}; a list that takes it back must be of a later day")]
pub struct NotLater {
    /// The last first day of a price of the list.
    pub latest: NaiveDate,
}

/// The list, valid from `day`, that takes back `rows`.
///
/// # Errors
/// `day` is not later than every first day in `rows`.
pub fn undo(rows: &[AppliedRow], catalogue: &Catalogue, day: NaiveDate) -> Result<UndoPlan, NotLater> {
    if let Some(latest) = rows
        .iter()
        .map(|row| row.valid_from)
        .max()
        .filter(|latest| *latest >= day)
    {
        return Err(NotLater { latest });
    }
    let mut plan = UndoPlan::default();
    for row in rows {
        let pack = catalogue
            .item(&row.code)
            .and_then(|item| item.packs.iter().find(|pack| pack.size == row.pack));
        let holds = pack.and_then(|pack| pack.price_on(day));
        match (holds, row.replaced) {
            (Some(price), _) if price.valid_from != row.valid_from => plan.superseded += 1,
            (None, _) => plan.superseded += 1,
            (Some(_), None) => plan.first_prices.push(row.clone()),
            (Some(_), Some(before)) if before == row.amount => plan.unchanged += 1,
            (Some(_), Some(before)) => plan.rows.push(AppliedRow {
                valid_from: day,
                amount: before,
                replaced: Some(row.amount),
                ..row.clone()
            }),
        }
    }
    Ok(plan)
}
