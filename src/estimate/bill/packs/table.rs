//! A divisible need by a table over totals: exact where a search by branches would wander.
//!
//! Sizes are divided by their common step. Let `b` be the pack of best value (the larger among equals) and
//! `s` its size in steps. Among any `s` packs of other sizes some add up to a multiple of `s`; putting
//! packs `b` in their place costs no more, and at equal cost takes fewer packs. So a best choice has fewer
//! than `s` packs that are not `b`, and all of a large need beyond those is packs `b`: the table need not
//! be longer than `s` times the largest size.

use super::cover::{by_value, ceiling, common_step};
use super::{Bought, Pack, PackFault};

/// Most cells of the table.
pub const CELLS: usize = 200_000;

/// Least cost for a total, and the fewest packs at that cost.
type Cell = Option<(i128, u64)>;

/// The cheapest packs that hold at least `need` in all.
pub(super) fn cheapest(packs: &[Pack], need: i64) -> Result<Bought, PackFault> {
    let step = common_step(packs);
    let steps: Vec<usize> = packs
        .iter()
        .filter_map(|pack| usize::try_from(pack.size / step).ok())
        .collect();
    let best_value = by_value(packs).first().copied().ok_or(PackFault::NoOffer)?;
    let base_size = steps.get(best_value).copied().ok_or(PackFault::NoOffer)?;
    let largest = steps.first().copied().ok_or(PackFault::NoOffer)?;

    let need_steps =
        usize::try_from(ceiling(i128::from(need), i128::from(step))).map_err(|_| PackFault::TooLarge)?;
    let others = base_size.saturating_sub(1).saturating_mul(largest);
    let base = need_steps.saturating_sub(others) / base_size.max(1);
    let rest = need_steps - base * base_size;
    let cells = rest
        .checked_add(largest)
        .filter(|cells| *cells <= CELLS)
        .ok_or(PackFault::TooLarge)?;

    let table = fill(packs, &steps, cells);
    let end = (rest..cells)
        .filter_map(|total| {
            table
                .get(total)
                .copied()
                .flatten()
                .map(|(cost, count)| (cost, total, count))
        })
        .min()
        .ok_or(PackFault::TooLarge)?;
    let mut bought = walk_back(packs, &steps, &table, end.1);
    bought.add(packs, best_value, base as u64);
    Ok(bought)
}

fn fill(packs: &[Pack], steps: &[usize], cells: usize) -> Vec<Cell> {
    let mut table: Vec<Cell> = Vec::with_capacity(cells);
    table.push(Some((0, 0)));
    for total in 1..cells {
        let ways = packs.iter().zip(steps).filter_map(|(pack, size)| {
            let before = table.get(total.checked_sub(*size)?).copied().flatten()?;
            Some((before.0 + i128::from(pack.cost), before.1 + 1))
        });
        let least = ways.min();
        table.push(least);
    }
    table
}

/// Reads the packs out of the table, always the largest that lies on a best way: so larger packs win ties.
fn walk_back(packs: &[Pack], steps: &[usize], table: &[Cell], mut total: usize) -> Bought {
    let mut bought = Bought::nothing(packs);
    while total > 0 {
        let here = table.get(total).copied().flatten();
        let taken = packs
            .iter()
            .zip(steps)
            .enumerate()
            .find_map(|(at, (pack, size))| {
                let rest = total.checked_sub(*size)?;
                let before = table.get(rest).copied().flatten()?;
                (Some((before.0 + i128::from(pack.cost), before.1 + 1)) == here).then_some((at, rest))
            });
        let Some((at, rest)) = taken else { break };
        bought.add(packs, at, 1);
        total = rest;
    }
    bought
}
