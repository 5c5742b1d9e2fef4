//! What moved between two estimates: money, hours and lines by their stable keys.

use std::collections::{HashMap, HashSet};

use serde::Serialize;
use thiserror::Error;

use super::estimated::{Estimated, Figures, LineFigures, UnitCost};
use crate::quantity::money::MoneyFault;
use crate::quantity::{Currency, Money, Quantity};

/// Why two estimates cannot be compared.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MovedFault {
    /// They are in different currencies.
    #[error("one estimate is in {0}, the other in {1}")]
    Currencies(String, String),
    /// A difference does not fit.
    #[error(transparent)]
    Money(#[from] MoneyFault),
    /// A difference of hours does not fit.
    #[error("the difference of hours is too large")]
    Hours,
}

/// A figure before and after.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct FromTo<T> {
    /// Before.
    pub from: T,
    /// After.
    pub to: T,
}

/// An amount before and after, and what lies between.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct MovedMoney {
    /// Before.
    pub from: Money,
    /// After.
    pub to: Money,
    /// After less before.
    pub moved: Money,
}

/// Hours before and after, and what lies between.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct MovedHours {
    /// Before.
    pub from: Quantity,
    /// After.
    pub to: Quantity,
    /// After less before.
    pub moved: Quantity,
}

/// What moved between two estimates.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Moved {
    /// Direct cost.
    pub cost: MovedMoney,
    /// Sum of the lines' prices.
    pub price: MovedMoney,
    /// Discount.
    pub discount: MovedMoney,
    /// Price less discount, before tax.
    pub net: MovedMoney,
    /// Tax.
    pub tax: MovedMoney,
    /// Net and tax.
    pub total: MovedMoney,
    /// Labour hours.
    pub hours: MovedHours,
    /// Lines that are new, gone or other than before. The prices moved in them add up to that of `price`.
    pub lines: Vec<MovedLine>,
}

/// What happened to a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LineFate {
    /// It is new.
    Added,
    /// It is gone.
    Removed,
    /// Its figures or words are others.
    Changed,
}

/// A line that is not as it was.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MovedLine {
    /// Its stable key.
    pub key: String,
    /// What happened to it.
    pub fate: LineFate,
    /// Material, labour, subcontract or fee.
    pub kind: String,
    /// What it is, in words; as it is now, where it is still there.
    pub description: String,
    /// What it was called before, where that changed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub description_before: Option<String>,
    /// Quantity, where it is counted and moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub quantity: Option<FromTo<Option<Quantity>>>,
    /// Hours, where it is work and moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hours: Option<FromTo<Option<Quantity>>>,
    /// Cost of one unit, where it moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit_cost: Option<FromTo<Option<UnitCost>>>,
    /// What it costs the company.
    pub cost: MovedMoney,
    /// What it is sold for, before discount and tax.
    pub price: MovedMoney,
}

impl MovedMoney {
    /// From `from` to `to`, which are of one currency.
    pub(super) fn between(from: Money, to: Money) -> Result<Self, MoneyFault> {
        Ok(Self {
            from,
            to,
            moved: to.minus(from)?,
        })
    }
}

impl Moved {
    /// What moved from `from` to `to`.
    ///
    /// # Errors
    /// The two are in different currencies, or a difference does not fit.
    pub fn between(from: &Estimated, to: &Estimated) -> Result<Self, MovedFault> {
        let (one, other) = (from.figures(), to.figures());
        same_currency(one.currency, other.currency)?;
        let (before, after) = (&one.totals, &other.totals);
        Ok(Self {
            cost: MovedMoney::between(before.cost, after.cost)?,
            price: MovedMoney::between(before.price, after.price)?,
            discount: MovedMoney::between(before.discount, after.discount)?,
            net: MovedMoney::between(before.net, after.net)?,
            tax: MovedMoney::between(before.tax, after.tax)?,
            total: MovedMoney::between(before.total, after.total)?,
            hours: moved_hours(before.hours, after.hours)?,
            lines: lines(one, other)?,
        })
    }
}

pub(super) fn same_currency(one: Currency, other: Currency) -> Result<(), MovedFault> {
    if one == other {
        return Ok(());
    }
    Err(MovedFault::Currencies(
        one.code().to_owned(),
        other.code().to_owned(),
    ))
}

pub(super) fn moved_hours(from: Quantity, to: Quantity) -> Result<MovedHours, MovedFault> {
    let value = to.value.checked_sub(from.value).ok_or(MovedFault::Hours)?;
    let moved = Quantity { value, unit: to.unit };
    Ok(MovedHours { from, to, moved })
}

/// The lines that are not as they were: those of `to` in their order, then those that are gone.
fn lines(from: &Figures, to: &Figures) -> Result<Vec<MovedLine>, MoneyFault> {
    let before: HashMap<_, _> = keyed(&from.lines).collect();
    let kept: HashSet<_> = keyed(&to.lines).map(|(key, _)| key).collect();
    let nothing = from.currency.minor(0);
    let mut moved = Vec::new();
    for (key, line) in keyed(&to.lines) {
        match before.get(&key) {
            None => moved.push(MovedLine::new(LineFate::Added, line, None, Some(line), nothing)?),
            Some(old) if *old == line => {}
            Some(old) => moved.push(MovedLine::new(
                LineFate::Changed,
                line,
                Some(old),
                Some(line),
                nothing,
            )?),
        }
    }
    for (_, line) in keyed(&from.lines).filter(|(key, _)| !kept.contains(key)) {
        moved.push(MovedLine::new(
            LineFate::Removed,
            line,
            Some(line),
            None,
            nothing,
        )?);
    }
    Ok(moved)
}

/// Lines by their key and, where a key is there more than once, which of them it is.
fn keyed(lines: &[LineFigures]) -> impl Iterator<Item = ((&str, usize), &LineFigures)> {
    let mut times: HashMap<&str, usize> = HashMap::new();
    lines.iter().map(move |line| {
        let time = times.entry(line.key.as_str()).or_default();
        *time += 1;
        ((line.key.as_str(), *time), line)
    })
}

impl MovedLine {
    fn new(
        fate: LineFate,
        shown: &LineFigures,
        from: Option<&LineFigures>,
        to: Option<&LineFigures>,
        nothing: Money,
    ) -> Result<Self, MoneyFault> {
        let amount = |of: fn(&LineFigures) -> Money| {
            let [from, to] = [from, to].map(|line| line.map_or(nothing, of));
            MovedMoney::between(from, to)
        };
        Ok(Self {
            key: shown.key.clone(),
            fate,
            kind: shown.kind.clone(),
            description: shown.description.clone(),
            description_before: from
                .filter(|from| from.description != shown.description)
                .map(|from| from.description.clone()),
            quantity: other(from, to, |line| line.quantity),
            hours: other(from, to, |line| line.hours),
            unit_cost: other(from, to, |line| line.unit_cost.clone()),
            cost: amount(|line| line.cost)?,
            price: amount(|line| line.price)?,
        })
    }
}

fn other<T: PartialEq>(
    from: Option<&LineFigures>,
    to: Option<&LineFigures>,
    of: fn(&LineFigures) -> Option<T>,
) -> Option<FromTo<Option<T>>> {
    let (from, to) = (from.and_then(of), to.and_then(of));
    (from != to).then_some(FromTo { from, to })
}
