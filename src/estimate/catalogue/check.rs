//! Whether the office's data hold together: every fault at once, each with its place.

use std::collections::HashSet;

use rust_decimal::Decimal;
use thiserror::Error;

use super::labour::{Burden, LabourRate};
use super::{Equipment, Item, LabourClass};
use crate::quantity::decimal::{RATE_SCALE, UNIT_PRICE_SCALE};

/// Something in the catalogue that cannot stand.
#[derive(Debug, Clone, PartialEq, Eq, Error, serde::Serialize)]
#[error("{place}: {message}")]
pub struct CatalogueFault {
    /// Which entry: `item BX-10`, `equipment C30`.
    pub place: String,
    /// What is wrong with it, in plain words.
    pub message: String,
}

/// Every fault of the parts and of how they refer to one another.
pub fn all(items: &[Item], labour: &[LabourClass], equipment: &[Equipment]) -> Vec<CatalogueFault> {
    let mut faults = Faults::default();
    let codes: HashSet<&str> = items.iter().map(|i| i.code.as_str()).collect();
    faults.twice("item", items.iter().map(|i| i.code.as_str()));
    faults.twice("labour class", labour.iter().map(|l| l.code.as_str()));
    faults.twice("equipment", equipment.iter().map(|e| e.class.as_str()));
    for item in items {
        check_item(item, &mut faults);
    }
    for class in labour {
        check_labour(class, &mut faults);
    }
    for unit in equipment {
        check_equipment(unit, &codes, &mut faults);
    }
    faults.found
}

#[derive(Default)]
struct Faults {
    found: Vec<CatalogueFault>,
}

impl Faults {
    fn add(&mut self, kind: &str, code: &str, message: impl Into<String>) {
        self.found.push(CatalogueFault {
            place: format!("{kind} {code}"),
            message: message.into(),
        });
    }

    fn twice<'a>(&mut self, kind: &str, codes: impl Iterator<Item = &'a str>) {
        let mut seen = HashSet::new();
        for code in codes {
            if code.is_empty() {
                self.add(kind, "without a code", "a code is needed");
            } else if !seen.insert(code) {
                self.add(kind, code, "the code is used twice");
            }
        }
    }
}

fn check_item(item: &Item, faults: &mut Faults) {
    let mut fault = |message: String| faults.add("item", &item.code, message);
    if item.packs.is_empty() {
        fault("has no pack size".into());
    }
    let mut sizes = HashSet::new();
    for pack in &item.packs {
        if pack.size <= Decimal::ZERO {
            fault(format!("pack size {} is not more than zero", pack.size));
        }
        if !sizes.insert(pack.size.normalize()) {
            fault(format!("pack size {} is there twice", pack.size));
        }
        let mut days = HashSet::new();
        for price in &pack.prices {
            if price.amount < Decimal::ZERO || price.amount.scale() > UNIT_PRICE_SCALE {
                let amount = price.amount;
                fault(format!(
                    "price {amount} must not be negative and may have at most {UNIT_PRICE_SCALE} decimals"
                ));
            }
            if !days.insert(price.valid_from) {
                fault(format!(
                    "pack of {} has two prices from {}",
                    pack.size, price.valid_from
                ));
            }
        }
    }
}

fn check_labour(class: &LabourClass, faults: &mut Faults) {
    for (pointer, message) in labour(class)
        .into_iter()
        .filter(|(pointer, _)| pointer != "/code")
    {
        faults.add("labour class", &class.code, format!("{pointer} {message}"));
    }
}

/// What in a labour class cannot stand: JSON Pointer and words.
pub fn labour(class: &LabourClass) -> Vec<(String, String)> {
    let mut faults = Vec::new();
    let mut add = |pointer: &str, message: String| faults.push((pointer.to_owned(), message));
    if class.code.is_empty() {
        add("/code", "is needed".to_owned());
    }
    if class.rates.is_empty() {
        add("/rates", "must hold a rate".to_owned());
    }
    let mut days = HashSet::new();
    for (place, one) in class.rates.iter().enumerate() {
        if !days.insert(one.valid_from) {
            add(
                &format!("/rates/{place}/valid_from"),
                format!("is {}, as of another rate", one.valid_from),
            );
        }
        for (pointer, message) in rate(one) {
            add(&format!("/rates/{place}{pointer}"), message);
        }
    }
    faults
}

/// What in a labour rate cannot stand: JSON Pointer and words.
pub fn rate(rate: &LabourRate) -> Vec<(String, String)> {
    let mut faults = Vec::new();
    let mut number = |pointer: String, value: Decimal, least: Decimal, what: &str| {
        if value < least || value.normalize().scale() > RATE_SCALE {
            faults.push((
                pointer,
                format!("is {value}, and must be {what} with at most {RATE_SCALE} decimals"),
            ));
        }
    };
    let tiny = Decimal::new(1, RATE_SCALE);
    number("/wage".to_owned(), rate.wage, tiny, "more than zero");
    number("/paid_hours".to_owned(), rate.paid_hours, tiny, "more than zero");
    for (place, part) in rate.burden.iter().enumerate() {
        match part {
            Burden::Percent {
                percent, on_first, ..
            } => {
                number(
                    format!("/burden/{place}/percent"),
                    *percent,
                    Decimal::ZERO,
                    "zero or more",
                );
                let first = on_first.unwrap_or_default();
                number(
                    format!("/burden/{place}/on_first"),
                    first,
                    Decimal::ZERO,
                    "zero or more",
                );
            }
            Burden::Yearly { amount, .. } => {
                number(
                    format!("/burden/{place}/amount"),
                    *amount,
                    Decimal::ZERO,
                    "zero or more",
                );
            }
        }
    }
    for (place, idle) in rate.non_productive.iter().enumerate() {
        number(
            format!("/non_productive/{place}/hours"),
            idle.hours,
            Decimal::ZERO,
            "zero or more",
        );
    }
    if faults.is_empty() && rate.loaded().is_none() {
        let message = "leaves no productive hour of those that are paid, or amounts that do not fit";
        faults.push(("/non_productive".to_owned(), message.to_owned()));
    }
    faults
}

fn check_equipment(unit: &Equipment, items: &HashSet<&str>, faults: &mut Faults) {
    let mut fault = |message: String| faults.add("equipment", &unit.class, message);
    for code in [&unit.items.ceiling_unit, &unit.items.condensing_unit] {
        if !items.contains(code.as_str()) {
            fault(format!("names item {code}, which the catalogue does not hold"));
        }
    }
    let table = &unit.capacity;
    let ascending = |temperatures: &[_]| temperatures.windows(2).all(|pair| pair[0] < pair[1]);
    if table.condenser_air.is_empty() || table.cellar_air.is_empty() {
        fault("the capacity table has no temperatures".into());
    }
    if !ascending(&table.condenser_air) || !ascending(&table.cellar_air) {
        fault("the temperatures of the capacity table do not ascend".into());
    }
    let fits = table.capacity.len() == table.condenser_air.len()
        && table
            .capacity
            .iter()
            .all(|row| row.len() == table.cellar_air.len());
    if !fits {
        let (rows, columns) = (table.condenser_air.len(), table.cellar_air.len());
        fault(format!(
            "the capacity table must have {rows} rows of {columns} capacities"
        ));
    }
    if table
        .capacity
        .iter()
        .flatten()
        .any(|capacity| capacity.0 <= Decimal::ZERO)
    {
        fault("a capacity is not more than zero".into());
    }
    if unit.maximum_overcurrent < unit.minimum_circuit_ampacity {
        fault("the maximum overcurrent device is under the minimum circuit ampacity".into());
    }
    if unit.condenser_air.highest <= unit.condenser_air.lowest {
        fault("the range of condenser air is empty".into());
    }
    if let Some(pump) = &unit.pump {
        let climbs = pump.points.windows(2).all(|pair| pair[0].lift < pair[1].lift);
        if pump.points.len() < 2 || !climbs {
            fault("the pump curve needs two points or more, the lift ascending".into());
        }
    }
    let void = &unit.void_needed;
    if void.exposed.is_none() && void.partly_recessed.is_none() && void.flush.is_none() {
        fault("allows no mounting at all".into());
    }
    if unit.bracket.fasteners == 0 || unit.bracket.safety_factor < Decimal::ONE {
        fault("the bracket needs a fastener or more and a safety factor of 1 or more".into());
    }
}
