//! A divisible need from packs of several sizes: branches with a lower bound.

use super::{Bought, Pack, PackFault};

/// The cheapest packs that hold at least `need` in all. Takes its steps from `steps`.
pub(super) fn cheapest(packs: &[Pack], need: i64, steps: &mut u32) -> Result<Bought, PackFault> {
    let mut bought = Bought::nothing(packs);
    if need <= 0 {
        return Ok(bought);
    }
    let mut search = Search::new(packs, need, *steps);
    search.branch(0, i128::from(need), &mut bought);
    *steps = search.steps;
    search
        .best
        .filter(|_| search.steps > 0)
        .ok_or(PackFault::TooLarge)
}

/// The packs by value for money: cost a unit of size ascending, the larger first among equals.
pub(super) fn by_value(packs: &[Pack]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..packs.len()).collect();
    let cross = |a: usize, b: usize| match (packs.get(a), packs.get(b)) {
        (Some(a), Some(b)) => i128::from(a.cost) * i128::from(b.size),
        _ => 0,
    };
    // Packs stand largest first, and the sort is stable.
    order.sort_by(|a, b| cross(*a, *b).cmp(&cross(*b, *a)));
    order
}

/// The largest size that divides every size: totals come in its multiples only.
pub(super) fn common_step(packs: &[Pack]) -> i64 {
    packs.iter().fold(0, |step, pack| divisor(step, pack.size)).max(1)
}

fn divisor(mut a: i64, mut b: i64) -> i64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// Rounds a quotient of numbers that are not negative up to a whole.
pub(super) fn ceiling(a: i128, b: i128) -> i128 {
    if b <= 0 { 0 } else { (a.max(0) + b - 1) / b }
}

struct Search<'a> {
    packs: &'a [Pack],
    order: Vec<usize>,
    /// No total is smaller: the need, up to a multiple of the common step.
    least_total: i128,
    largest: i128,
    best: Option<Bought>,
    /// Steps that may still be taken.
    steps: u32,
}

impl<'a> Search<'a> {
    fn new(packs: &'a [Pack], need: i64, steps: u32) -> Self {
        let step = i128::from(common_step(packs));
        Self {
            packs,
            order: by_value(packs),
            least_total: ceiling(i128::from(need), step) * step,
            largest: packs.first().map_or(1, |pack| i128::from(pack.size)),
            best: None,
            steps,
        }
    }

    /// Tries every count of the `depth`-th best pack that can still win, most first, for the `rest`.
    fn branch(&mut self, depth: usize, rest: i128, bought: &mut Bought) {
        let Some((at, pack)) = self
            .order
            .get(depth)
            .and_then(|at| Some((*at, self.packs.get(*at)?)))
        else {
            return;
        };
        let next = self.order.get(depth + 1).and_then(|at| self.packs.get(*at));
        let size = i128::from(pack.size);
        let Ok(most) = u64::try_from(ceiling(rest, size)) else {
            return;
        };
        bought.add(self.packs, at, most);
        self.keep(bought);
        let mut count = most;
        while let (Some(next), true) = (next, count > 0 && self.steps > 0) {
            bought.remove(self.packs, at, 1);
            count -= 1;
            self.steps -= 1;
            let left = rest - size * i128::from(count);
            let floor = bought.cost + ceiling(left * i128::from(next.cost), i128::from(next.size));
            let best = self.best.as_ref().map(Bought::merit);
            // With fewer of the better pack the floor only rises.
            if best.is_some_and(|best| floor > best.0) {
                break;
            }
            let fewest = u64::try_from(ceiling(left, self.largest)).unwrap_or(u64::MAX);
            let bound = (floor, self.least_total, bought.count.saturating_add(fewest));
            if best.is_none_or(|best| bound <= best) {
                self.branch(depth + 1, left, bought);
            }
        }
        bought.remove(self.packs, at, count);
    }

    fn keep(&mut self, bought: &Bought) {
        if self.best.as_ref().is_none_or(|best| bought.beats(best)) {
            self.best = Some(bought.clone());
        }
    }
}
