//! What is bought: by supplier and item, in whole packs, of one quote or of several together.
//!
//! A list of one quote has the packs of its estimate. Of several, what is needed of an item is added up before
//! packs are chosen, each piece that must be whole by itself, at the prices of one day.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::Serialize;
use serde_json::Value;

use super::paper_fault::PaperFault;
use crate::bill::packs::{Choice, Offer, choose_joined};
use crate::catalogue::prices::{PackPrice, PriceBook};
use crate::catalogue::{Catalogue, Item};
use crate::quantity::{Decimal, Quantity};

/// A quote, or a job, and its estimate.
#[derive(Debug, Clone, Copy)]
pub struct Source<'e> {
    /// Name of the revision, or title of the job.
    pub name: &'e str,
    /// The estimate as a document.
    pub estimate: &'e Value,
}

/// What is bought.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PurchaseList {
    /// The day of the list: of one issued revision that of its issue, of a draft that of its prices. Of several quotes it is
    /// the day whose catalogue and prices chose their packs.
    pub day: NaiveDate,
    /// Names of the quotes.
    pub quotes: Vec<String>,
    /// By supplier and code; what a person put in by hand has neither and stands first.
    pub lines: Vec<Purchase>,
}

/// An item, and how it is bought.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Purchase {
    /// Who sells it; empty for what a person put in by hand.
    pub supplier: String,
    /// The company's own code; may be empty for what a person put in by hand.
    pub code: String,
    /// The supplier's own number.
    pub part_number: Option<String>,
    /// What it is.
    pub description: String,
    /// Needed, without waste; none where a sum of money stands for it.
    pub needed: Option<Quantity>,
    /// Added for waste.
    pub waste: Option<Quantity>,
    /// The packs, the larger first.
    pub packs: Vec<Packs>,
    /// What the packs hold.
    pub bought: Option<Quantity>,
    /// Bought and not needed.
    pub left_over: Option<Quantity>,
    /// Working days from order to delivery.
    pub lead_days: Option<u32>,
    /// What each quote needs, waste in it.
    pub shares: Vec<Share>,
}

/// So many packs of a size.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Packs {
    /// What the trade calls one.
    pub name: String,
    /// How much one holds.
    pub size: Quantity,
    /// How many.
    pub count: u64,
}

/// What a quote needs of an item.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Share {
    /// Name of the quote.
    pub quote: String,
    /// Needed, waste in it; none where a sum of money stands for it.
    pub quantity: Option<Quantity>,
}

/// A line of goods as an estimate has it, and what must come out of one pack each.
struct Needed {
    purchase: Purchase,
    pieces: Vec<Decimal>,
}

/// The list of `day` of what `sources` need. `prices` choose packs where an item is needed by several.
///
/// # Errors
/// An estimate does not read, or a sum does not fit.
pub fn purchase_list(
    sources: &[Source<'_>],
    catalogue: &Catalogue,
    prices: &PriceBook,
    day: NaiveDate,
) -> Result<PurchaseList, PaperFault> {
    let mut by_item: BTreeMap<(String, String), Vec<Needed>> = BTreeMap::new();
    let mut by_hand = Vec::new();
    for source in sources {
        for line in goods(source.estimate) {
            let needed = needed(source.name, line, catalogue)?;
            if needed.purchase.packs.is_empty() || needed.purchase.code.is_empty() {
                by_hand.push(needed.purchase);
            } else {
                let key = (needed.purchase.supplier.clone(), needed.purchase.code.clone());
                by_item.entry(key).or_default().push(needed);
            }
        }
    }
    let merged = by_item
        .into_values()
        .map(|needed| merged(needed, catalogue, prices));
    let mut lines = by_hand;
    for line in merged {
        lines.push(line?);
    }
    Ok(PurchaseList {
        day,
        quotes: sources.iter().map(|source| source.name.to_owned()).collect(),
        lines,
    })
}

fn goods(estimate: &Value) -> impl Iterator<Item = &Value> {
    let lines = estimate["lines"].as_array().into_iter().flatten();
    lines.filter(|line| line["kind"] == "material")
}

fn quantity(tree: &Value) -> Result<Option<Quantity>, PaperFault> {
    if tree.is_null() {
        return Ok(None);
    }
    serde_json::from_value(tree.clone())
        .map(Some)
        .map_err(|fault| PaperFault::unreadable("goods", fault))
}

fn needed(quote: &str, line: &Value, catalogue: &Catalogue) -> Result<Needed, PaperFault> {
    let text = |name: &str| line[name].as_str().unwrap_or_default().to_owned();
    let (needed, waste) = (quantity(&line["quantity"])?, quantity(&line["waste"])?);
    let whole = added(needed, waste)?;
    let packs = line["bought"]["packs"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|pack| {
            let size = quantity(&pack["size"])?;
            Ok(Packs {
                name: pack["name"].as_str().unwrap_or_default().to_owned(),
                size: size.ok_or_else(|| PaperFault::unreadable("goods", "a pack has no size"))?,
                count: pack["count"].as_u64().unwrap_or(0),
            })
        });
    let packs = packs.collect::<Result<Vec<_>, PaperFault>>()?;
    let code = text("code");
    let item = catalogue.item(&code);
    let purchase = Purchase {
        supplier: text("supplier"),
        part_number: item.and_then(|item| item.part_number.clone()),
        description: text("description"),
        needed,
        waste,
        packs,
        bought: quantity(&line["bought"]["total"])?,
        left_over: quantity(&line["bought"]["left_over"])?,
        lead_days: line["lead_days"]
            .as_u64()
            .and_then(|days| u32::try_from(days).ok()),
        shares: vec![Share {
            quote: quote.to_owned(),
            quantity: whole,
        }],
        code,
    };
    let pieces = pieces(line, whole, item)?;
    Ok(Needed { purchase, pieces })
}

fn added(one: Option<Quantity>, other: Option<Quantity>) -> Result<Option<Quantity>, PaperFault> {
    let (one, other) = match (one, other) {
        (Some(one), Some(other)) => (one, other),
        (one, other) => return Ok(one.or(other)),
    };
    let other = other.unit.convert(other.value, &one.unit)?;
    let value = one.value.checked_add(other);
    let value = value.ok_or(PaperFault::TooLarge("a quantity"))?;
    Ok(Some(Quantity { value, ..one }))
}

/// What must come out of one pack each. Where a person replaced the quantity, the shares say it no longer, and the
/// item's own rule holds.
fn pieces(line: &Value, whole: Option<Quantity>, item: Option<&Item>) -> Result<Vec<Decimal>, PaperFault> {
    let (mut sum, mut pieces) = (Decimal::ZERO, Vec::new());
    for share in line["shares"].as_array().into_iter().flatten() {
        let part = added(quantity(&share["quantity"])?, quantity(&share["waste"])?)?;
        let value = part.map(|part| part.value).unwrap_or_default();
        sum = sum.checked_add(value).ok_or(PaperFault::TooLarge("a quantity"))?;
        if share["one_piece"] == true {
            pieces.push(value);
        }
    }
    let whole = whole.map(|whole| whole.value).unwrap_or_default();
    if sum == whole {
        return Ok(pieces);
    }
    let is_whole = item.is_some_and(|item| item.one_piece);
    Ok(if is_whole { vec![whole] } else { Vec::new() })
}

/// One line of what several quotes need of an item. A single need keeps the packs that its quote has; so do items that
/// nobody sells any more, or whose cheapest packs are beyond the search.
fn merged(needed: Vec<Needed>, catalogue: &Catalogue, prices: &PriceBook) -> Result<Purchase, PaperFault> {
    let mut needed = needed.into_iter();
    let first = needed
        .next()
        .ok_or_else(|| PaperFault::unreadable("goods", "an item that nobody needs"))?;
    let (mut sum, mut pieces, mut several) = (first.purchase, first.pieces, false);
    for more in needed {
        several = true;
        sum.needed = added(sum.needed, more.purchase.needed)?;
        sum.waste = added(sum.waste, more.purchase.waste)?;
        sum.bought = added(sum.bought, more.purchase.bought)?;
        sum.left_over = added(sum.left_over, more.purchase.left_over)?;
        sum.shares.extend(more.purchase.shares);
        pieces.extend(more.pieces);
        for packs in more.purchase.packs {
            match sum.packs.iter_mut().find(|known| known.size == packs.size) {
                Some(known) => known.count = known.count.saturating_add(packs.count),
                None => sum.packs.push(packs),
            }
        }
    }
    if several {
        pack_anew(&mut sum, &pieces, catalogue, prices)?;
    }
    Ok(sum)
}

fn pack_anew(
    sum: &mut Purchase,
    pieces: &[Decimal],
    catalogue: &Catalogue,
    prices: &PriceBook,
) -> Result<(), PaperFault> {
    let place = catalogue.item_place(&sum.code);
    let found = place.and_then(|place| Some((catalogue.items().get(place)?, prices.packs(place))));
    let Some((item, packs)) = found else {
        return Ok(());
    };
    let (Some(whole), false) = (added(sum.needed, sum.waste)?, packs.is_empty()) else {
        return Ok(());
    };
    if whole.unit != item.unit {
        return Ok(());
    }
    let cut: Decimal = pieces.iter().sum();
    let divisible = whole.value.checked_sub(cut);
    let divisible = divisible.ok_or(PaperFault::TooLarge("a quantity"))?;
    let offers = packs.iter().map(|pack| Offer {
        size: pack.size,
        cost: pack.cost,
    });
    if let Ok((choice, _)) = choose_joined(offers, divisible, pieces) {
        take(sum, &choice, packs, item)?;
    }
    Ok(())
}

/// Puts the packs of `choice` in the place of those that the quotes had.
fn take(sum: &mut Purchase, choice: &Choice, priced: &[PackPrice], item: &Item) -> Result<(), PaperFault> {
    let of = |value: Decimal| Quantity {
        value,
        unit: item.unit,
    };
    let whole = added(sum.needed, sum.waste)?.map(|whole| whole.value);
    let left = whole.and_then(|whole| choice.total.checked_sub(whole));
    let left = left.ok_or(PaperFault::TooLarge("a quantity"))?;
    let packs = choice.counts.iter().filter_map(|(offer, count)| {
        let pack = item.packs.get(priced.get(*offer)?.place)?;
        Some(Packs {
            name: pack.name.clone(),
            size: of(pack.size),
            count: *count,
        })
    });
    sum.packs = packs.collect();
    sum.bought = Some(of(choice.total));
    sum.left_over = Some(of(left));
    Ok(())
}
