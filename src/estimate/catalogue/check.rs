//! Whether the office's data hold together: every fault at once, each with its place.

use std::collections::HashSet;

use rust_decimal::Decimal;
use thiserror::Error;

use super::{Equipment, Item, LabourClass};
use crate::quantity::decimal::UNIT_PRICE_SCALE;

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
    if class.rates.is_empty() {
        faults.add("labour class", &class.code, "has no rate");
    }
    for rate in &class.rates {
        if rate.wage <= Decimal::ZERO || rate.loaded().is_none() {
            let from = rate.valid_from;
            let message =
                format!("the rate from {from} needs a wage above zero and more paid hours than idle ones");
            faults.add("labour class", &class.code, message);
        }
    }
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
