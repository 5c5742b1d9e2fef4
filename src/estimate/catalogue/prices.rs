//! The prices of one day: what holds of all the dated ones.

use chrono::{Datelike, NaiveDate};
use rust_decimal::Decimal;
use serde::Serialize;

use super::{Catalogue, Item, LabourClass};
use crate::quantity::Currency;

/// Every price and rate that holds on one day. It runs beside the catalogue that it was made from: the
/// places are the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PriceBook {
    day: NaiveDate,
    packs: Vec<Vec<PackPrice>>,
    hours: Vec<Option<HourPrice>>,
}

/// What one pack of an item costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PackPrice {
    /// The pack's place in the item's list.
    pub place: usize,
    /// How much the pack holds, in the item's unit.
    pub size: Decimal,
    /// Cost of one pack, in the company's currency.
    pub cost: Decimal,
    /// Since when, and by whose word.
    pub source: PriceSource,
}

/// What an hour of a labour class costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HourPrice {
    /// Loaded cost of an hour, in the company's currency.
    pub cost: Decimal,
    /// Since when, and by whose word.
    pub source: PriceSource,
}

/// Where a price comes from and how old it is on the day of the price book.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PriceSource {
    /// The first day on which it holds.
    pub valid_from: NaiveDate,
    /// Days since then; none have passed since what holds on every day.
    pub age_days: i64,
    /// A supplier's list, an offer, an invoice.
    pub source: String,
}

impl PriceSource {
    /// What was said on a day. A word that was given later than the day of pricing has no age on it.
    pub fn said(since: NaiveDate, day: NaiveDate, source: String) -> Self {
        let mut said = Self {
            valid_from: since,
            age_days: (day - since).num_days().max(0),
            source,
        };
        if said.holds_always() {
            said.age_days = 0;
        }
        said
    }

    /// Whether it holds on every day, as the first version of a rulebook or a policy does: dates begin with year 1.
    pub fn holds_always(&self) -> bool {
        self.valid_from.year() <= 1
    }
}

/// Why a price of a pack is surely a slip: it is over the most that a person gives. Whoever enters prices asks.
pub fn beyond(amount: Decimal, currency: Currency) -> Option<String> {
    let most = currency.given_most();
    (amount > most.decimal())
        .then(|| format!("{amount} is more than any pack costs; at most {most} is taken"))
}

impl PriceBook {
    /// Reads the prices of `day` out of `catalogue`. A pack without a price on that day is left out, and so
    /// is a labour class without a rate: whoever needs one of them says so.
    pub fn on(day: NaiveDate, catalogue: &Catalogue) -> Self {
        Self {
            day,
            packs: catalogue.items().iter().map(|item| packs_on(day, item)).collect(),
            hours: catalogue
                .labour()
                .iter()
                .map(|class| hour_on(day, class))
                .collect(),
        }
    }

    /// The day.
    pub fn day(&self) -> NaiveDate {
        self.day
    }

    /// The packs that the item at `place` can be bought in; empty where none has a price.
    pub fn packs(&self, place: usize) -> &[PackPrice] {
        self.packs.get(place).map_or(&[], Vec::as_slice)
    }

    /// What an hour of the labour class at `place` costs.
    pub fn hour(&self, place: usize) -> Option<&HourPrice> {
        self.hours.get(place)?.as_ref()
    }
}

fn source(day: NaiveDate, valid_from: NaiveDate, source: &str) -> PriceSource {
    PriceSource {
        valid_from,
        age_days: (day - valid_from).num_days(),
        source: source.to_owned(),
    }
}

fn packs_on(day: NaiveDate, item: &Item) -> Vec<PackPrice> {
    let priced = item.packs.iter().enumerate().filter_map(|(place, pack)| {
        let price = pack.price_on(day)?;
        Some(PackPrice {
            place,
            size: pack.size,
            cost: price.amount,
            source: source(day, price.valid_from, &price.source),
        })
    });
    priced.collect()
}

fn hour_on(day: NaiveDate, class: &LabourClass) -> Option<HourPrice> {
    let rate = class.rate_on(day)?;
    let cost = rate.loaded()?.cost_an_hour;
    Some(HourPrice {
        cost,
        source: source(day, rate.valid_from, &rate.source),
    })
}
