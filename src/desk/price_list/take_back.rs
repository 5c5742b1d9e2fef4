//! Applied lists read again, and taken back by a later one.

use chrono::NaiveDate;
use estimate::catalogue::price_list::{AppliedRow, undo};
use estimate::quantity::decimal::plain;

use super::apply::{Kept, answer, text};
use crate::desk::{Desk, DeskFault, Office, Told, now};
use crate::store::{NewPriceList, Origin, PriceListHead, RequestKey, StoreFault};

/// The word for a row that takes another back.
const TAKEN_BACK: &str = "taken_back";

/// What taking a list back comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenBack {
    /// Its rows.
    pub rows: Vec<AppliedRow>,
    /// Prices that another has come after, and that stay as they are.
    pub superseded: usize,
    /// Prices that the list did not change.
    pub unchanged: usize,
    /// Packs that had no price before and keep the one of the list.
    pub first_prices: Vec<AppliedRow>,
}

impl Desk {
    /// At most `limit` applied lists after the number `after`.
    ///
    /// # Errors
    /// The database.
    pub fn price_lists(&self, after: u32, limit: usize) -> Result<Vec<PriceListHead>, DeskFault> {
        Ok(self.store.price_lists(after, bounded(limit))?)
    }

    /// The applied list of this number, and what is kept of it.
    ///
    /// # Errors
    /// There is none, or the database.
    pub fn price_list(&self, number: u32) -> Result<(PriceListHead, Kept), DeskFault> {
        let head = self.store.price_list(number).map_err(|fault| match fault {
            StoreFault::Missing => DeskFault::unknown("price list", &number.to_string()),
            other => DeskFault::Store(other),
        })?;
        let kept = serde_json::from_str(&head.body).map_err(|fault| DeskFault::Defect(fault.to_string()))?;
        Ok((head, kept))
    }

    /// At most `limit` rows of an applied list after the row `after`, of one kind or all.
    ///
    /// # Errors
    /// There is no such list, or the database.
    pub fn price_list_rows(
        &self,
        number: u32,
        kind: Option<&str>,
        after: u32,
        limit: usize,
    ) -> Result<Vec<(String, AppliedRow)>, DeskFault> {
        self.price_list(number)?;
        Ok(self.store.price_list_rows(number, kind, after, bounded(limit))?)
    }

    /// What a list that takes the list `number` back from `day` on would do.
    ///
    /// # Errors
    /// There is no such list, `day` is not later than its prices, or the database.
    pub fn try_taking_back(&self, number: u32, day: NaiveDate) -> Result<TakenBack, DeskFault> {
        self.price_list(number)?;
        self.taken_back(&*self.office()?, number, day)
    }

    fn taken_back(&self, office: &Office, number: u32, day: NaiveDate) -> Result<TakenBack, DeskFault> {
        let rows = self.store.price_list_rows(number, None, 0, i64::MAX)?;
        let rows: Vec<AppliedRow> = rows.into_iter().map(|(_, row)| row).collect();
        let plan = undo(&rows, &office.catalogue, day).map_err(|fault| DeskFault::Member {
            pointer: "/valid_from",
            message: fault.to_string(),
        })?;
        Ok(TakenBack {
            rows: plan.rows,
            superseded: plan.superseded,
            unchanged: plan.unchanged,
            first_prices: plan.first_prices,
        })
    }

    /// Takes the list `number` back by a list that holds from `day` on, once for `key`. `tell` makes the answer of what it
    /// did and its number.
    ///
    /// # Errors
    /// There is no such list, `day` is not later than its prices, nothing is left to be taken back, or the database.
    pub fn take_price_list_back(
        &self,
        key: Option<&RequestKey>,
        number: u32,
        (day, reason): (NaiveDate, &str),
        tell: impl Fn(&TakenBack, u32) -> Result<Told, DeskFault>,
    ) -> Result<Told, DeskFault> {
        self.once(key, || {
            let (head, _) = self.price_list(number)?;
            let office = self.office()?;
            let taken = self.taken_back(&office, number, day)?;
            if taken.rows.is_empty() {
                return Err(DeskFault::Conflict(nothing_left(number, &taken)));
            }
            let kept = Kept {
                rows: taken.rows.len(),
                counts: [(TAKEN_BACK.to_owned(), taken.rows.len())].into(),
                reason: Some(reason.to_owned()),
                ..Kept::default()
            };
            let now = now();
            let rows: Vec<_> = taken.rows.iter().map(|row| (TAKEN_BACK, row.clone())).collect();
            let new = NewPriceList {
                supplier: &head.supplier,
                source: &format!("taken back: {}", head.source),
                valid_from: day,
                origin: Origin::TakesBack(number),
                body: text(&kept)?,
                items: &[],
                packed_anew: &[],
                rows: &rows,
                created_at: &now,
            };
            let tell = |number| answer(tell(&taken, number), number);
            let applied = self.store.apply_price_list(key, &new, office.revision, tell);
            applied.map_err(|fault| match fault {
                StoreFault::Changed => DeskFault::Changed,
                other => DeskFault::Store(other),
            })
        })
    }
}

/// Packs that are named in a sentence.
const PACKS_NAMED: usize = 3;

/// Why no price of a list can be taken back, and what becomes of its prices.
fn nothing_left(number: u32, taken: &TakenBack) -> String {
    let mut reasons = Vec::new();
    let first = taken.first_prices.len();
    if first > 0 {
        let packs = taken.first_prices.iter().take(PACKS_NAMED);
        let mut named: Vec<String> = packs
            .map(|row| format!("{}, pack of {}", row.code, plain(row.pack)))
            .collect();
        if let Some(more) = first.checked_sub(PACKS_NAMED).filter(|more| *more > 0) {
            named.push(format!("and {more} more"));
        }
        let (are, packs, they) = match first {
            1 => ("1 price is".to_owned(), "its pack", "it stays"),
            many => (format!("{many} prices are"), "their packs", "they stay"),
        };
        reasons.push(format!(
            "{are} the first of {packs} ({}): there is no earlier price to go back to, and {they} until another price \
             is added, by a list or one by one",
            named.join("; "),
        ));
    }
    let told = |count: usize, one: &str, more: &str| match count {
        0 => None,
        1 => Some(format!("1 price {one}")),
        count => Some(format!("{count} prices {more}")),
    };
    reasons.extend(told(
        taken.superseded,
        "has been followed by a newer one, which stays",
        "have been followed by newer ones, which stay",
    ));
    reasons.extend(told(
        taken.unchanged,
        "is the same as before the list",
        "are the same as before the list",
    ));
    format!(
        "nothing of price list {number} can be taken back: {}",
        reasons.join("; ")
    )
}

fn bounded(limit: usize) -> i64 {
    i64::try_from(limit).unwrap_or(i64::MAX)
}
