//! From needs to the bill.

use rust_decimal::Decimal;

use super::amend;
use super::fault::BillFault;
use super::gather::{Cut, Gathered, gather};
use super::key::{LineKey, PolicyLine};
use super::line::{Bill, BillCaution, BillLine, BoughtPack, Content, Explanation, Figure, Goods, Work};
use super::packs::{Choice, Offer, PackFault, TooLong, choose_joined};
use crate::catalogue::Catalogue;
use crate::catalogue::prices::{PackPrice, PriceBook, PriceSource};
use crate::job::{ManualLine, Override};
use crate::quantity::Quantity;
use crate::quantity::unit::Unit;
use crate::rules::outcome::{Level, LineHead, Outcome};
use crate::rules::trace::Subject;

/// Why there is no bill.
#[derive(Debug)]
pub struct Unbilled<'a> {
    /// Every fault.
    pub faults: Vec<BillFault>,
    /// The bill without the changes that do not fit; none when it has other faults.
    pub without: Option<Box<Bill<'a>>>,
}

/// Makes the bill of one job.
///
/// The needs of an item are added up over all assemblies before packs are chosen; each assembly's share
/// stays in the line. A piece that no pack is long enough for is joined from several, and a stop among the
/// bill's cautions says so. `prices` must have been read out of `catalogue`. Lines stand in the order of the
/// rulebook's sections and assemblies, allowances and then lines put in by hand last.
///
/// # Errors
/// Every fault at once: items and classes that are not in the catalogue or have no price on the day, packs
/// that cannot be chosen, and changes that do not fit, with their JSON Pointer in the request.
pub fn assemble<'a>(
    outcome: &Outcome<'a>,
    catalogue: &'a Catalogue,
    prices: &'a PriceBook,
    manual: &'a [ManualLine],
    overrides: &'a [Override],
) -> Result<Bill<'a>, Unbilled<'a>> {
    let many_more = manual.len() + PolicyLine::ALL.len();
    let mut gathered = gather(outcome, catalogue, prices, many_more);
    amend::add_manual(&mut gathered, catalogue, manual);
    gathered.rate_hours();
    let policy_changes = amend::replace(&mut gathered, overrides);
    let Gathered {
        mut lines,
        cuts,
        mut faults,
        ..
    } = gathered;
    let covers = |code: &str| outcome.missing.iter().any(|subject| subject.code == code);
    let mut cautions = amend::near_items(catalogue, manual, covers);
    for cut in &cuts {
        let Some(line) = lines.get_mut(cut.line) else {
            continue;
        };
        match pack(line, cut, prices) {
            Ok(too_long) => cautions.extend(too_long.map(|long| piece_too_long(line, &long))),
            Err(fault) => faults.push(fault),
        }
    }
    faults.extend(lines.iter().filter_map(|line| without_rate(line, prices)));
    by_section(&mut lines);
    explain(&mut lines, outcome);
    let missing = outcome.missing.iter();
    let bill = Bill {
        lines,
        policy_changes,
        missing: missing
            .filter(|subject| !by_hand(manual, subject.code))
            .copied()
            .collect(),
        cautions,
    };
    if faults.is_empty() {
        return Ok(bill);
    }
    let changes_only = faults
        .iter()
        .all(|fault| matches!(fault, BillFault::Change { .. }));
    Err(Unbilled {
        faults,
        without: changes_only.then(|| Box::new(bill)),
    })
}

fn by_hand(manual: &[ManualLine], subject: &str) -> bool {
    manual.iter().any(|line| line.code.as_deref() == Some(subject))
}

fn without_rate(line: &BillLine<'_>, prices: &PriceBook) -> Option<BillFault> {
    let Content::Work(Work {
        source: None, class, ..
    }) = &line.content
    else {
        return None;
    };
    let given = line
        .replaced
        .iter()
        .any(|figure| matches!(figure.given, Figure::UnitCost(_)));
    (!given).then(|| BillFault::NoRate {
        class: class.code.clone(),
        day: prices.day(),
        first: class.first_day(),
    })
}

/// The stop that says which pieces no pack is long enough for.
fn piece_too_long(line: &BillLine<'_>, long: &TooLong) -> BillCaution {
    let unit = match &line.content {
        Content::Goods(goods) => goods.item.unit,
        Content::Work(_) | Content::Sum(_) => Unit::ONE,
    };
    let amount = |value: Decimal| Quantity { value, unit };
    let others = match long.count.saturating_sub(1) {
        0 => String::new(),
        1 => " (another piece is too long as well)".to_owned(),
        others => format!(" ({others} more pieces are too long as well)"),
    };
    BillCaution {
        level: Level::Stop,
        code: "piece_too_long",
        message: format!(
            "{}: {} are needed in one piece{others}, the longest pack holds {}: a joint would be needed",
            line.code.unwrap_or(line.description),
            amount(long.piece),
            amount(long.largest)
        ),
        source: "the packs in the catalogue",
    }
}

/// Chooses the packs of a line of goods. Tells of pieces longer than the longest pack.
fn pack<'a>(line: &mut BillLine<'a>, cut: &Cut, prices: &'a PriceBook) -> Result<Option<TooLong>, BillFault> {
    let (Content::Goods(goods), replaced) = (&mut line.content, &mut line.replaced) else {
        return Ok(None);
    };
    let item = goods.item;
    let priced = prices.packs(goods.place);
    let fault = |fault| BillFault::Packs {
        item: item.code.clone(),
        fault,
    };
    let offers = priced.iter().map(|pack| Offer {
        size: pack.size,
        cost: pack.cost,
    });
    let Some(unit_cost) = cut.unit_cost else {
        let listed = choose_joined(offers, cut.divisible, &cut.pieces);
        let (choice, too_long) = listed.map_err(|pack| match pack {
            PackFault::NoOffer => BillFault::NoPrice {
                item: item.code.clone(),
                day: prices.day(),
                first: item.first_day(),
            },
            other => fault(other),
        })?;
        take(goods, choice, priced).ok_or_else(|| fault(PackFault::TooLarge))?;
        return Ok(too_long);
    };
    // A given cost of a unit makes every pack as good as another: the least left over decides.
    let listed = choose_joined(offers, cut.divisible, &cut.pieces);
    let computed = listed.ok().and_then(|(choice, _)| {
        take(goods, choice, priced)?;
        goods.unit_cost()
    });
    let by_size = item.packs.iter().map(|pack| Offer {
        size: pack.size,
        cost: pack.size,
    });
    let (choice, too_long) = choose_joined(by_size, cut.divisible, &cut.pieces).map_err(fault)?;
    let given = choice.total.checked_mul(unit_cost);
    take(goods, choice, &[]).ok_or_else(|| fault(PackFault::TooLarge))?;
    goods.cost = given.ok_or_else(|| fault(PackFault::TooLarge))?;
    for pack in &mut goods.packs {
        pack.cost = pack
            .size
            .checked_mul(unit_cost)
            .ok_or_else(|| fault(PackFault::TooLarge))?;
    }
    for figure in replaced
        .iter_mut()
        .filter(|figure| matches!(figure.given, Figure::UnitCost(_)))
    {
        figure.computed = Figure::UnitCost(computed);
    }
    Ok(too_long)
}

/// Writes the choice into the line. With `priced` empty, the places of the choice are those of the item's
/// packs and there is no price behind them.
fn take<'a>(goods: &mut Goods<'a>, choice: Choice, priced: &'a [PackPrice]) -> Option<()> {
    goods.left_over = choice
        .total
        .checked_sub(goods.quantity)?
        .checked_sub(goods.waste)?;
    goods.bought = choice.total;
    goods.cost = choice.cost;
    goods.source = None;
    goods.packs.clear();
    goods.packs.reserve_exact(choice.counts.len());
    for (place, count) in choice.counts {
        let price = priced.get(place);
        let pack = goods.item.packs.get(price.map_or(place, |price| price.place))?;
        let cost = price.map_or(Decimal::ZERO, |price| price.cost);
        goods.packs.push(BoughtPack {
            size: pack.size,
            name: &pack.name,
            count,
            cost,
        });
        let older = |source: &&PriceSource| {
            goods
                .source
                .is_none_or(|oldest| source.age_days > oldest.age_days)
        };
        if let Some(source) = price.map(|price| &price.source).filter(older) {
            goods.source = Some(source);
        }
    }
    Some(())
}

/// Brings lines of one section together, sections in the order of their first line. A rulebook that keeps
/// its sections together needs nothing moved.
fn by_section(lines: &mut [BillLine<'_>]) {
    let mut sections: Vec<&str> = Vec::new();
    let mut ranks = Vec::with_capacity(lines.len());
    for line in lines.iter() {
        let rank = match line.from {
            None => usize::MAX,
            Some(from) => {
                let section = &*from.assembly.section;
                sections
                    .iter()
                    .rposition(|known| *known == section)
                    .unwrap_or_else(|| {
                        sections.push(section);
                        sections.len() - 1
                    })
            }
        };
        ranks.push(rank);
    }
    if ranks.is_sorted() {
        return;
    }
    let rank = |line: &BillLine<'_>| {
        line.from.and_then(|from| {
            sections
                .iter()
                .position(|known| *known == &*from.assembly.section)
        })
    };
    lines.sort_by_key(|line| rank(line).unwrap_or(usize::MAX));
}

/// Puts to each line how it came about: the derived values that were read on the way, the labour factors that
/// applied, the condition of each assembly that asks for it, and the formulas of the rulebook's lines.
fn explain<'a>(lines: &mut [BillLine<'a>], outcome: &Outcome<'a>) {
    let Some(trace) = &outcome.trace else { return };
    let formulas = trace.by_subject();
    for line in lines {
        let mut subjects = Vec::new();
        let of_line = |from: &LineHead| {
            [
                Subject::Assembly(from.assembly.place),
                Subject::Line(from.assembly.place, from.number),
            ]
        };
        match &line.content {
            Content::Goods(goods) => {
                subjects.extend(goods.shares.iter().flat_map(|share| of_line(share.line)))
            }
            Content::Work(work) => {
                subjects.extend(work.factors.iter().map(|factor| Subject::Factor(factor.name)));
                subjects.extend(line.from.into_iter().flat_map(of_line));
            }
            Content::Sum(_) => subjects.extend(line.from.into_iter().flat_map(of_line)),
        }
        if let LineKey::Allowance { answer } = line.key {
            subjects.push(Subject::Allowance(answer));
        }
        line.explanation = Some(Box::new(Explanation {
            formulas: formulas.behind(subjects),
            price_source: None,
        }));
    }
}
