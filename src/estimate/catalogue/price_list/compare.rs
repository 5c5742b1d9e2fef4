//! Holding a list against the prices that the company has: each row has one outcome.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use chrono::NaiveDate;
use rust_decimal::Decimal;

use super::SUSPICIOUS_FACTOR;
use super::a1;
use super::codes::Codes;
use super::mapping::PriceFor;
use super::outcome::{Change, Comparison, Entry, EntryKind, NewItem, Trouble, TroubleKind, Vanished};
use super::read::RowsRead;
use super::row::{AMOUNT_SCALE, ListRow, exact_product};
use crate::catalogue::Catalogue;
use crate::catalogue::item::{Item, Pack, Price};
use crate::catalogue::prices;
use crate::quantity::decimal::plain;
use crate::quantity::rounding::{Mode, to_scale};
use crate::quantity::unit::Unit;

/// What the office decides about troubles.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Choices {
    /// Take prices that are five times the one before or more, or a fifth or less.
    pub accept_factor: bool,
    /// Take prices of nothing.
    pub accept_zero: bool,
    /// Leave out the rows that are in trouble of these kinds.
    pub leave_out: BTreeSet<TroubleKind>,
}

/// Decimals of a percentage of change.
const PERCENT_SCALE: u32 = 2;

/// Holds the rows of a list against `catalogue`.
pub fn compare(read: &RowsRead, catalogue: &Catalogue, choices: &Choices) -> Comparison {
    let mut comparing = Comparing {
        read,
        catalogue,
        codes: Codes::of(catalogue),
        choices,
        troubles: read.troubles.clone(),
    };
    let mut found: Vec<Entry> = Vec::with_capacity(read.rows.len());
    for row in &read.rows {
        match comparing.entry(row) {
            Ok(entry) => found.push(entry),
            Err(trouble) => comparing.troubles.push(trouble),
        }
    }
    let entries = comparing.without_duplicates(found);
    let mut troubles = comparing.troubles;
    for trouble in &mut troubles {
        trouble.left_out = choices.leave_out.contains(&trouble.kind);
    }
    // A row is left out only when every trouble it is in is.
    let open: HashSet<u32> = troubles
        .iter()
        .filter(|one| !one.left_out)
        .map(|one| one.row)
        .collect();
    for trouble in &mut troubles {
        trouble.left_out &= !open.contains(&trouble.row);
    }
    troubles.sort_by_key(|trouble| trouble.row);
    let vanished = vanished(read, catalogue, &entries, &troubles);
    Comparison {
        day: read.day,
        rows: read.count,
        entries,
        vanished,
        troubles,
    }
}

struct Comparing<'a> {
    read: &'a RowsRead,
    catalogue: &'a Catalogue,
    codes: Codes<'a>,
    choices: &'a Choices,
    troubles: Vec<Trouble>,
}

impl Comparing<'_> {
    fn trouble(&self, row: &ListRow, place: Option<usize>, kind: TroubleKind, message: String) -> Trouble {
        Trouble {
            row: row.row,
            cell: place.map(|place| a1::cell(place, row.row)),
            code: Some(row.code.clone()),
            kind,
            message,
            left_out: false,
        }
    }

    fn entry(&self, row: &ListRow) -> Result<Entry, Trouble> {
        let item = self.catalogue.item(&row.code);
        match item {
            Some(item) => self.check_unit(row, item)?,
            None => self.codes.judge(&row.code).map_err(|message| {
                self.trouble(row, Some(self.read.places.code), TroubleKind::Code, message)
            })?,
        }
        let pack = self.pack_size(row, item)?;
        let amount = self.amount(row, pack)?;
        let valid_from = row.valid_from.unwrap_or(self.read.day);
        let known = item.and_then(|item| item.packs.iter().find(|known| known.size == pack));
        let kind = match (item, known) {
            (_, Some(known)) => self.dated(row, known, valid_from, amount)?,
            (Some(_), None) if self.read.mapping.new_items.is_some() => EntryKind::NewPack {
                name: self.pack_name(row).into(),
            },
            (None, None) if self.read.mapping.new_items.is_some() => self.new_item(row),
            (_, None) => EntryKind::NotHeld,
        };
        let is_new = matches!(
            kind,
            EntryKind::NewPack { .. } | EntryKind::NewItem(_) | EntryKind::FirstPrice | EntryKind::Changed(_)
        );
        if let (Some(item), EntryKind::NewPack { .. } | EntryKind::FirstPrice) = (item, &kind) {
            self.check_beside_others(row, item, pack, valid_from, amount)?;
        }
        if amount.is_zero() && is_new && !self.choices.accept_zero {
            let place = Some(self.read.places.price);
            return Err(self.trouble(row, place, TroubleKind::Zero, COSTS_NOTHING.to_owned()));
        }
        Ok(Entry {
            row: row.row,
            code: row.code.clone(),
            pack,
            valid_from,
            amount,
            rounded_from: row.rounded_from.clone(),
            until: known.and_then(|known| next_day(known, valid_from)),
            kind,
        })
    }

    /// A pack without an earlier price is held against the item's other packs, unit for unit.
    fn check_beside_others(
        &self,
        row: &ListRow,
        item: &Item,
        pack: Decimal,
        valid_from: NaiveDate,
        amount: Decimal,
    ) -> Result<(), Trouble> {
        let others = item.packs.iter().filter(|other| other.size != pack);
        let priced = others.filter_map(|other| Some((other, other.price_on(valid_from)?)));
        let far = |(other, price): &(&Pack, &Price)| {
            let alike = price.amount.checked_mul(pack)?.checked_div(other.size)?;
            Some(is_suspicious(alike, amount))
        };
        let mut priced: Vec<(&Pack, &Price)> = priced.collect();
        if self.choices.accept_factor || amount.is_zero() || !priced.iter().all(|one| far(one) == Some(true))
        {
            return Ok(());
        }
        let Some((other, price)) = priced.pop() else {
            return Ok(());
        };
        let message = format!(
            "{} for a pack of {}, where a pack of {} costs {} since {}: unit for unit a factor of {SUSPICIOUS_FACTOR} \
             or more",
            plain(amount),
            plain(pack),
            plain(other.size),
            plain(price.amount),
            price.valid_from
        );
        Err(self.trouble(row, Some(self.read.places.price), TroubleKind::Factor, message))
    }

    fn check_unit(&self, row: &ListRow, item: &Item) -> Result<(), Trouble> {
        match row.unit {
            Some(unit) if unit != item.unit => {
                let message = format!(
                    "the list counts in {unit}, the item {} in {}",
                    item.code, item.unit
                );
                Err(self.trouble(row, self.read.places.unit, TroubleKind::Unit, message))
            }
            _ => Ok(()),
        }
    }

    fn pack_size(&self, row: &ListRow, item: Option<&Item>) -> Result<Decimal, Trouble> {
        match (row.size, item.map(|item| item.packs.as_slice())) {
            (Some(size), _) => Ok(size),
            (None, None) => Ok(Decimal::ONE),
            (None, Some([only])) => Ok(only.size),
            (None, Some(packs)) => {
                let sizes: Vec<String> = packs.iter().map(|pack| plain(pack.size)).collect();
                let message = format!(
                    "the item is sold in packs of {}; the list does not say which",
                    sizes.join(", ")
                );
                Err(self.trouble(row, self.read.places.pack_size, TroubleKind::Pack, message))
            }
        }
    }

    /// Cost of one pack: the listed price less the discount, for as many units as the pack holds, to six decimals.
    fn amount(&self, row: &ListRow, pack: Decimal) -> Result<Decimal, Trouble> {
        let mapping = &self.read.mapping;
        let (units, per) = match mapping.price_for {
            PriceFor::Pack => (Decimal::ONE, Decimal::ONE),
            PriceFor::Unit => (pack, row.per.unwrap_or(Decimal::ONE)),
        };
        let paid = Decimal::ONE_HUNDRED.checked_sub(mapping.discount_percent.normalize());
        let amount = paid
            .and_then(|paid| exact_product(row.price.normalize(), paid))
            .and_then(|amount| exact_product(amount.normalize(), units.normalize()))
            .and_then(|amount| {
                amount
                    .normalize()
                    .checked_div(exact_product(per, Decimal::ONE_HUNDRED)?)
            })
            .map(|amount| to_scale(amount, AMOUNT_SCALE, Mode::HalfUp).normalize());
        let trouble = |message| self.trouble(row, Some(self.read.places.price), TroubleKind::Number, message);
        let amount = amount
            .ok_or_else(|| trouble("the price of a pack has more digits than can be kept".to_owned()))?;
        match prices::beyond(amount, self.read.currency) {
            Some(message) => Err(trouble(message)),
            None => Ok(amount),
        }
    }

    fn dated(
        &self,
        row: &ListRow,
        pack: &Pack,
        valid_from: NaiveDate,
        amount: Decimal,
    ) -> Result<EntryKind, Trouble> {
        let Some(Price {
            valid_from: since,
            amount: before,
            ..
        }) = pack.price_on(valid_from)
        else {
            return Ok(EntryKind::FirstPrice);
        };
        let (since, before) = (*since, *before);
        if since == valid_from {
            if before == amount {
                return Ok(EntryKind::AlreadyThere);
            }
            let message = format!(
                "the pack has a price of {} from {since} on already, not {}; a price is never overwritten",
                plain(before),
                plain(amount)
            );
            return Err(self.trouble(row, Some(self.read.places.price), TroubleKind::DayTaken, message));
        }
        if before == amount {
            return Ok(EntryKind::Unchanged { since });
        }
        // A price of nothing is told as such.
        if !self.choices.accept_factor && !amount.is_zero() && is_suspicious(before, amount) {
            let message = by_a_factor(amount, before, since);
            return Err(self.trouble(row, Some(self.read.places.price), TroubleKind::Factor, message));
        }
        Ok(EntryKind::Changed(Change {
            before,
            since,
            percent: percent(before, amount),
        }))
    }

    fn pack_name(&self, row: &ListRow) -> String {
        let usual = self.read.mapping.usual.pack_name.as_deref();
        row.pack_name.as_deref().or(usual).unwrap_or("pack").to_owned()
    }

    fn new_item(&self, row: &ListRow) -> EntryKind {
        EntryKind::NewItem(Box::new(NewItem {
            description: row.description.as_deref().unwrap_or(&row.code).to_owned(),
            unit: row.unit.unwrap_or(Unit::EACH),
            pack_name: self.pack_name(row),
        }))
    }

    /// The entries whose pack and day are in the list once; the others are troubles, each naming the first. Rows of
    /// one new item in different units are troubles too.
    fn without_duplicates(&mut self, found: Vec<Entry>) -> Vec<Entry> {
        let mut first: HashMap<(&str, Decimal, NaiveDate), u32> = HashMap::with_capacity(found.len());
        let mut units: HashMap<&str, (Unit, u32)> = HashMap::new();
        let mut twice: BTreeMap<u32, (TroubleKind, String)> = BTreeMap::new();
        for entry in &found {
            let key = (entry.code.as_str(), entry.pack, entry.valid_from);
            let row = *first.entry(key).or_insert(entry.row);
            if row != entry.row {
                let pack = plain(entry.pack);
                let message =
                    |other: u32| format!("the pack of {pack} of {} is in row {other} too", entry.code);
                twice
                    .entry(row)
                    .or_insert_with(|| (TroubleKind::Duplicate, message(entry.row)));
                twice.insert(entry.row, (TroubleKind::Duplicate, message(row)));
            }
            if let EntryKind::NewItem(new) = &entry.kind {
                let (unit, row) = *units.entry(&entry.code).or_insert((new.unit, entry.row));
                if unit != new.unit {
                    let message = format!(
                        "the new item is counted in {} here and in {unit} in row {row}",
                        new.unit
                    );
                    twice.entry(entry.row).or_insert((TroubleKind::Unit, message));
                }
            }
        }
        let mut kept = Vec::with_capacity(found.len());
        for entry in found {
            match twice.remove(&entry.row) {
                None => kept.push(entry),
                Some((kind, message)) => self.troubles.push(Trouble {
                    row: entry.row,
                    cell: None,
                    code: Some(entry.code),
                    kind,
                    message,
                    left_out: false,
                }),
            }
        }
        kept
    }
}

/// What is said of a price of nothing.
pub const COSTS_NOTHING: &str = "the price is 0: a pack would cost nothing";

/// What is said of a price that is suspicious beside the one before.
fn by_a_factor(amount: Decimal, before: Decimal, since: NaiveDate) -> String {
    format!(
        "{} after {} since {since}: a factor of {SUSPICIOUS_FACTOR} or more",
        plain(amount),
        plain(before)
    )
}

/// Why a new price of a pack is suspicious: it is nothing, or far from the price that holds on its day.
pub fn suspicious_price(
    pack: &Pack,
    valid_from: NaiveDate,
    amount: Decimal,
) -> Option<(TroubleKind, String)> {
    let before = pack.price_on(valid_from).filter(|before| before.amount != amount);
    if amount.is_zero() {
        let known = pack
            .price_on(valid_from)
            .is_some_and(|before| before.amount.is_zero());
        return (!known).then(|| (TroubleKind::Zero, COSTS_NOTHING.to_owned()));
    }
    let before = before.filter(|before| is_suspicious(before.amount, amount))?;
    Some((
        TroubleKind::Factor,
        by_a_factor(amount, before.amount, before.valid_from),
    ))
}

/// Whether one of the two is the other times [`SUSPICIOUS_FACTOR`] or more.
fn is_suspicious(before: Decimal, amount: Decimal) -> bool {
    let factor = Decimal::from(SUSPICIOUS_FACTOR);
    let reaches = |more: Decimal, less: Decimal| less.checked_mul(factor).is_some_and(|limit| more >= limit);
    reaches(amount, before) || reaches(before, amount)
}

fn percent(before: Decimal, amount: Decimal) -> Option<Decimal> {
    let change = amount.checked_sub(before)?.checked_mul(Decimal::ONE_HUNDRED)?;
    let mut percent = to_scale(change.checked_div(before)?, PERCENT_SCALE, Mode::HalfUp);
    percent.rescale(PERCENT_SCALE);
    Some(percent)
}

/// The first day after `day` from which another price holds.
fn next_day(pack: &Pack, day: NaiveDate) -> Option<NaiveDate> {
    pack.prices
        .iter()
        .map(|price| price.valid_from)
        .filter(|from| *from > day)
        .min()
}

fn vanished(
    read: &RowsRead,
    catalogue: &Catalogue,
    entries: &[Entry],
    troubles: &[Trouble],
) -> Vec<Vanished> {
    let listed: HashSet<(&str, Decimal)> = entries
        .iter()
        .map(|entry| (entry.code.as_str(), entry.pack.normalize()))
        .collect();
    let in_trouble: HashSet<&str> = troubles
        .iter()
        .filter_map(|trouble| trouble.code.as_deref())
        .collect();
    let mut gone = Vec::new();
    let of_supplier = catalogue
        .items()
        .iter()
        .filter(|item| item.supplier == read.mapping.supplier);
    for item in of_supplier.filter(|item| !in_trouble.contains(item.code.as_str())) {
        for pack in &item.packs {
            let listed = listed.contains(&(item.code.as_str(), pack.size.normalize()));
            if let Some(price) = pack.price_on(read.day).filter(|_| !listed) {
                gone.push(Vanished {
                    code: item.code.clone(),
                    pack: pack.size,
                    amount: price.amount,
                    since: price.valid_from,
                });
            }
        }
    }
    gone
}
