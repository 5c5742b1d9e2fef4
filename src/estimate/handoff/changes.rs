//! What a change order adds to a contract, takes out of it and changes in it, as its customer reads it.

use std::collections::BTreeMap;

use serde::Serialize;

use super::figure::{self, Reader};
use super::house_style::Prices;
use super::offer::Offer;
use super::paper_fault::PaperFault;
use super::proposal::{POLICY_LINES, section_of};
use crate::quantity::{Money, Quantity};
use crate::quote::estimated::{Estimated, LineFigures};

/// Lines or works that a change moves, under one heading.
#[derive(Debug, Serialize)]
pub(super) struct Group {
    title: &'static str,
    rows: Vec<Row>,
    /// Whether it is of the work, and not of discount and tax alone.
    #[serde(skip)]
    of_work: bool,
}

/// A line or a work that a change moves.
#[derive(Debug, Serialize)]
struct Row {
    title: String,
    /// How much there is of it now, and how much until now.
    detail: Option<String>,
    /// By how much its price moves, where the office tells prices.
    difference: Option<String>,
}

/// A line or a work on one side of the change.
#[derive(Debug, Clone, Default, PartialEq)]
struct Stands {
    quantity: Option<Quantity>,
    price: Option<Money>,
    /// Everything that tells it apart from what it was.
    content: Vec<Content>,
}

/// What makes a line another one for its customer: its price alone does not.
#[derive(Debug, Clone, PartialEq)]
struct Content {
    key: String,
    description: String,
    quantity: Option<Quantity>,
    hours: Option<Quantity>,
}

impl Content {
    fn of(line: &LineFigures) -> Self {
        Self {
            key: line.key.clone(),
            description: line.description.clone(),
            quantity: line.quantity,
            hours: line.hours,
        }
    }
}

/// A line or a work on both sides.
#[derive(Debug, Default)]
struct Both {
    title: String,
    before: Option<Stands>,
    now: Option<Stands>,
}

/// What the change of `offer` moves; nothing of an offer that is none.
pub(super) fn changes(offer: &Offer) -> Result<Vec<Group>, PaperFault> {
    let Some(change) = &offer.change else {
        return Ok(Vec::new());
    };
    let words = offer.words();
    let mut order: Vec<String> = Vec::new();
    let mut all: BTreeMap<String, Both> = BTreeMap::new();
    for (estimated, now) in [(&offer.estimated, true), (&change.before, false)] {
        gather(offer, estimated, now, &mut order, &mut all)?;
    }
    let mut groups = [
        (words.added, Vec::new()),
        (words.omitted, Vec::new()),
        (words.changed, Vec::new()),
    ];
    let mut others = offer.estimated.figures().currency.minor(0);
    for both in order.iter().filter_map(|key| all.get(key)) {
        let at = match (&both.before, &both.now) {
            (None, _) => 0,
            (_, None) => 1,
            // Prices of what stays move by shares of what every line carries; they are told as one.
            (Some(before), Some(now)) if before.content == now.content => {
                others = others.plus(moved(offer, both)?)?;
                continue;
            }
            _ => 2,
        };
        if let Some((_, rows)) = groups.get_mut(at) {
            rows.push(row(offer, both)?);
        }
    }
    if let Some((_, rows)) = groups.last_mut().filter(|_| told(offer) && !others.is_zero()) {
        rows.push(Row {
            title: words.other_lines.to_owned(),
            detail: None,
            difference: Some(figure::moved(others)),
        });
    }
    let groups = groups.into_iter().filter(|(_, rows)| !rows.is_empty());
    let groups = groups.map(|(title, rows)| Group {
        title,
        rows,
        of_work: true,
    });
    Ok(groups.chain(after_work(offer, &change.before)?).collect())
}

/// By how much discount and tax move, so that all rows together are what the change comes to.
fn after_work(offer: &Offer, before: &Estimated) -> Result<Option<Group>, PaperFault> {
    let words = offer.words();
    let (now, before) = (offer.estimated.totals(), before.totals());
    let amounts = [
        (words.discount, before.discount.minus(now.discount)?),
        (words.tax, now.tax.minus(before.tax)?),
    ];
    let moved = amounts
        .into_iter()
        .filter(|(_, amount)| told(offer) && !amount.is_zero());
    let rows: Vec<Row> = moved
        .map(|(title, amount)| Row {
            title: title.to_owned(),
            detail: None,
            difference: Some(figure::moved(amount)),
        })
        .collect();
    Ok((!rows.is_empty()).then_some(Group {
        title: words.discount_and_tax,
        rows,
        of_work: false,
    }))
}

/// What is said of a change order that changes nothing of the work.
pub(super) fn unchanged(offer: &Offer, changes: &[Group]) -> Option<&'static str> {
    let change = offer.change.as_ref()?;
    if changes.iter().any(|group| group.of_work) {
        return None;
    }
    let words = offer.words();
    let same = change.before.totals().total == offer.estimated.totals().total;
    Some(if same {
        words.nothing_moves
    } else {
        words.nothing_changes
    })
}

/// Whether the paper tells prices of lines or works.
fn told(offer: &Offer) -> bool {
    offer.style.prices != Prices::LumpSum
}

/// Puts the lines of one side in: each by itself where the office tells every price, else by works.
fn gather(
    offer: &Offer,
    estimated: &Estimated,
    now: bool,
    order: &mut Vec<String>,
    all: &mut BTreeMap<String, Both>,
) -> Result<(), PaperFault> {
    let trees = estimated.part("lines").as_array().map_or(&[][..], Vec::as_slice);
    for (line, tree) in estimated.figures().lines.iter().zip(trees) {
        let added_by_policy = line.key.starts_with(POLICY_LINES);
        let by_line = offer.style.prices == Prices::AllLines && !added_by_policy;
        let (key, title) = if by_line {
            (line.key.clone(), line.description.clone())
        } else {
            let section = section_of(line, tree, offer.words());
            let work = tree["assembly_title"].as_str().unwrap_or(&line.description);
            let work = if added_by_policy { section } else { work };
            (format!("{section}/{work}"), work.to_owned())
        };
        let both = all.entry(key.clone()).or_insert_with(|| {
            order.push(key);
            Both {
                title,
                ..Both::default()
            }
        });
        let side = if now { &mut both.now } else { &mut both.before };
        let side = side.get_or_insert_default();
        side.quantity = line.quantity.filter(|_| by_line);
        side.price = Some(match side.price {
            Some(price) => price.plus(line.price)?,
            None => line.price,
        });
        // What the policy adds moves with everything; it is told by its price alone.
        if !added_by_policy {
            side.content.push(Content::of(line));
        }
    }
    Ok(())
}

/// By how much the price of a line or a work moves.
fn moved(offer: &Offer, both: &Both) -> Result<Money, PaperFault> {
    let nothing = offer.estimated.figures().currency.minor(0);
    let price = |side: &Option<Stands>| side.as_ref().and_then(|side| side.price).unwrap_or(nothing);
    Ok(price(&both.now).minus(price(&both.before))?)
}

fn row(offer: &Offer, both: &Both) -> Result<Row, PaperFault> {
    let reader = offer.reader();
    let of = |side: &Option<Stands>| side.as_ref().and_then(|side| side.quantity);
    let moved = moved(offer, both)?;
    Ok(Row {
        title: both.title.clone(),
        detail: detail(of(&both.before), of(&both.now), reader),
        difference: told(offer).then(|| figure::moved(moved)),
    })
}

fn detail(before: Option<Quantity>, now: Option<Quantity>, reader: Reader) -> Option<String> {
    match (before, now) {
        (Some(before), Some(now)) if before != now => Some(format!(
            "{} ({}: {})",
            reader.quantity(&now),
            reader.words().until_now,
            reader.quantity(&before)
        )),
        (before, now) => now.or(before).map(|quantity| reader.quantity(&quantity)),
    }
}
