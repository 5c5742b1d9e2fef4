//! Lines and totals as JSON: money and quantity objects, what does not apply left out.

use rust_decimal::Decimal;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::result::{LabourTotal, Line, Lines, Payment, TaxLine, Totals};
use crate::bill::line::{BoughtPack, Content, FactorHours, Figure, Goods, Replacement, Share, Work};
use crate::quantity::decimal::plain;
use crate::quantity::unit::Unit;
use crate::quantity::{Currency, Quantity};

/// A decimal as plain text.
struct Plain(Decimal);

impl Serialize for Plain {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&plain(self.0))
    }
}

/// A cost of one unit: a money object with as many decimals as the currency has, or up to six.
struct UnitCost(Decimal, Currency);

impl Serialize for UnitCost {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut amount = self.0.normalize();
        if amount.scale() < self.1.minor_digits() {
            amount.rescale(self.1.minor_digits());
        }
        let mut map = serializer.serialize_map(Some(2))?;
        map.serialize_entry("amount", &amount.to_string())?;
        map.serialize_entry("currency", self.1.code())?;
        map.end()
    }
}

fn hours(value: Decimal) -> Quantity {
    Quantity { value, unit: Unit::H }
}

impl Serialize for Lines<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.iter())
    }
}

impl Serialize for Line<'_, '_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let (bill, currency) = (self.bill, self.cost.currency());
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("position", &self.position)?;
        map.serialize_entry("key", &bill.key)?;
        if let Some(from) = &bill.from {
            map.serialize_entry("section", &*from.assembly.section)?;
            map.serialize_entry("assembly", &*from.assembly.code)?;
            map.serialize_entry("assembly_title", &*from.assembly.title)?;
        }
        map.serialize_entry("kind", &bill.kind)?;
        optional(&mut map, "code", bill.code)?;
        map.serialize_entry("description", bill.description)?;
        match &bill.content {
            Content::Goods(goods) => goods_entries(&mut map, goods, currency)?,
            Content::Work(work) => work_entries(&mut map, work)?,
            Content::Sum(sum) => optional(&mut map, "quantity", sum.quantity)?,
        }
        optional(
            &mut map,
            "unit_cost",
            self.unit_cost().map(|cost| UnitCost(cost, currency)),
        )?;
        map.serialize_entry("cost", &self.cost)?;
        map.serialize_entry("price", &self.price)?;
        map.serialize_entry("discount", &self.discount)?;
        map.serialize_entry("tax_category", bill.tax_category)?;
        map.serialize_entry("cost_code", bill.cost_code)?;
        optional(&mut map, "price_source", self.price_source())?;
        if !bill.replaced.is_empty() {
            let replaced: Vec<_> = bill
                .replaced
                .iter()
                .map(|figure| ReplacedOut(figure, currency))
                .collect();
            map.serialize_entry("replaced", &replaced)?;
        }
        optional(&mut map, "note", bill.from.and_then(|from| from.note.as_deref()))?;
        optional(&mut map, "reason", bill.reason)?;
        let explanation = bill.explanation.as_ref();
        optional(
            &mut map,
            "explanation",
            explanation.map(|explained| &explained.formulas),
        )?;
        map.end()
    }
}

fn optional<M: SerializeMap, T: Serialize>(
    map: &mut M,
    name: &str,
    value: Option<T>,
) -> Result<(), M::Error> {
    value.map_or(Ok(()), |value| map.serialize_entry(name, &value))
}

fn goods_entries<M: SerializeMap>(
    map: &mut M,
    goods: &Goods<'_>,
    currency: Currency,
) -> Result<(), M::Error> {
    let of = |value| Quantity {
        value,
        unit: goods.item.unit,
    };
    map.serialize_entry("group", &goods.item.group)?;
    map.serialize_entry("quantity", &of(goods.quantity))?;
    map.serialize_entry("waste", &of(goods.waste))?;
    let shares: Vec<_> = goods
        .shares
        .iter()
        .map(|share| ShareOut(share, goods.item.unit))
        .collect();
    map.serialize_entry("shares", &shares)?;
    map.serialize_entry("bought", &BoughtOut(goods, currency))?;
    map.serialize_entry("supplier", &goods.item.supplier)?;
    map.serialize_entry("lead_days", &goods.item.lead_days)
}

fn work_entries<M: SerializeMap>(map: &mut M, work: &Work<'_>) -> Result<(), M::Error> {
    map.serialize_entry("labour_class", &work.class.code)?;
    map.serialize_entry("hours", &hours(work.hours))?;
    map.serialize_entry("clock_hours", &hours(work.clock_hours))?;
    map.serialize_entry("crew", &Plain(work.crew))?;
    let factors: Vec<_> = work.factors.iter().map(FactorOut).collect();
    map.serialize_entry("factors", &factors)?;
    map.serialize_entry("factors_capped", &work.capped)
}

struct ShareOut<'a>(&'a Share<'a>, Unit);

impl Serialize for ShareOut<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let of = |value| Quantity { value, unit: self.1 };
        let mut map = serializer.serialize_map(Some(5))?;
        map.serialize_entry("assembly", &*self.0.line.assembly.code)?;
        map.serialize_entry("line", &self.0.line.number)?;
        map.serialize_entry("quantity", &of(self.0.quantity))?;
        map.serialize_entry("waste", &of(self.0.waste))?;
        map.serialize_entry("one_piece", &self.0.one_piece)?;
        map.end()
    }
}

struct BoughtOut<'a>(&'a Goods<'a>, Currency);

impl Serialize for BoughtOut<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let of = |value| Quantity {
            value,
            unit: self.0.item.unit,
        };
        let mut map = serializer.serialize_map(Some(3))?;
        let packs: Vec<_> = self
            .0
            .packs
            .iter()
            .map(|pack| PackOut(pack, self.0.item.unit, self.1))
            .collect();
        map.serialize_entry("packs", &packs)?;
        map.serialize_entry("total", &of(self.0.bought))?;
        map.serialize_entry("left_over", &of(self.0.left_over))?;
        map.end()
    }
}

struct PackOut<'a>(&'a BoughtPack<'a>, Unit, Currency);

impl Serialize for PackOut<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(4))?;
        map.serialize_entry(
            "size",
            &Quantity {
                value: self.0.size,
                unit: self.1,
            },
        )?;
        map.serialize_entry("name", self.0.name)?;
        map.serialize_entry("count", &self.0.count)?;
        map.serialize_entry("unit_cost", &UnitCost(super::cost::shown(self.0.cost), self.2))?;
        map.end()
    }
}

struct FactorOut<'a>(&'a FactorHours<'a>);

impl Serialize for FactorOut<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(4))?;
        map.serialize_entry("name", self.0.name)?;
        map.serialize_entry("title", self.0.title)?;
        map.serialize_entry("add", &Plain(super::cost::shown(self.0.add)))?;
        map.serialize_entry("hours", &hours(self.0.hours))?;
        map.end()
    }
}

struct ReplacedOut<'a>(&'a Replacement<'a>, Currency);

impl Serialize for ReplacedOut<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(4))?;
        map.serialize_entry("figure", self.0.field)?;
        map.serialize_entry("computed", &FigureOut(self.0.computed, self.1))?;
        map.serialize_entry("given", &FigureOut(self.0.given, self.1))?;
        map.serialize_entry("reason", self.0.reason)?;
        map.end()
    }
}

struct FigureOut(Figure, Currency);

impl Serialize for FigureOut {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.0 {
            Figure::Quantity(quantity) => quantity.serialize(serializer),
            Figure::UnitCost(cost) => cost
                .map(|cost| UnitCost(super::cost::shown(cost), self.1))
                .serialize(serializer),
            Figure::Amount(amount) => amount.serialize(serializer),
        }
    }
}

impl Serialize for LabourTotal<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(6))?;
        map.serialize_entry("labour_class", self.class)?;
        map.serialize_entry("rate", &UnitCost(self.rate, self.cost.currency()))?;
        map.serialize_entry("line_hours", &hours(self.line_hours))?;
        map.serialize_entry("hours", &hours(self.hours))?;
        map.serialize_entry("cost", &self.cost)?;
        map.serialize_entry("price", &self.price)?;
        map.end()
    }
}

impl Serialize for Totals<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(17))?;
        map.serialize_entry("cost", &self.cost)?;
        map.serialize_entry("contingency", &self.contingency)?;
        map.serialize_entry("overhead", &self.overhead)?;
        map.serialize_entry("full_cost", &self.full_cost)?;
        map.serialize_entry("warranty_reserve", &self.warranty_reserve)?;
        map.serialize_entry("subcontract_markup", &self.subcontract_markup)?;
        map.serialize_entry("profit", &self.profit)?;
        map.serialize_entry("price_changes", &self.price_changes)?;
        map.serialize_entry("price", &self.price)?;
        map.serialize_entry("discount", &self.discount)?;
        map.serialize_entry("net", &self.net)?;
        map.serialize_entry("taxes", &self.taxes)?;
        map.serialize_entry("tax", &self.tax)?;
        map.serialize_entry("total", &self.total)?;
        map.serialize_entry("hours", &hours(self.hours))?;
        map.serialize_entry("margin", &self.margin.map(Plain))?;
        map.serialize_entry("profit_margin", &self.profit_margin.map(Plain))?;
        map.end()
    }
}

impl Serialize for TaxLine<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(6))?;
        map.serialize_entry("category", self.category)?;
        map.serialize_entry("title", self.title)?;
        map.serialize_entry("uncl5305", self.uncl5305)?;
        map.serialize_entry("rate", &Plain(self.rate))?;
        map.serialize_entry("base", &self.base)?;
        map.serialize_entry("amount", &self.amount)?;
        map.end()
    }
}

impl Serialize for Payment<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("label", self.label)?;
        map.serialize_entry("share", &Plain(self.share))?;
        map.serialize_entry("amount", &self.amount)?;
        optional(&mut map, "due_after_days", self.due_after_days)?;
        map.end()
    }
}
