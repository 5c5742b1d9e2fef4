//! Pieces without a joint: each is cut from one pack, several may come from one, and what is left of the
//! packs serves the divisible rest.

use super::cover::{self, ceiling};
use super::{Bought, Pack, PackFault, STEPS};

/// The cheapest packs that hold `pieces` (longest first, none longer than the largest pack), and
/// `divisible` beside them.
pub(super) fn cheapest(packs: &[Pack], divisible: i64, pieces: &[i64]) -> Result<Bought, PackFault> {
    let best_value = cover::by_value(packs)
        .first()
        .and_then(|at| packs.get(*at))
        .ok_or(PackFault::NoOffer)?;
    let mut search = Search {
        packs,
        divisible: i128::from(divisible),
        best_value: *best_value,
        largest: packs.first().map_or(1, |pack| i128::from(pack.size)),
        open: Vec::new(),
        bought: Bought::nothing(packs),
        best: None,
        steps: STEPS,
    };
    search.place(pieces, 0)?;
    search.best.ok_or(PackFault::TooLarge)
}

/// A pack that pieces are cut from.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Open {
    room: i64,
}

struct Search<'a> {
    packs: &'a [Pack],
    divisible: i128,
    best_value: Pack,
    largest: i128,
    open: Vec<Open>,
    bought: Bought,
    best: Option<Bought>,
    /// Steps that may still be taken, those of the divisible rest among them.
    steps: u32,
}

impl Search<'_> {
    /// Places the first of `pieces`, then the others. A piece as long as the one before it goes into the
    /// same open pack or a later one (`from`): the other order is the same cut.
    fn place(&mut self, pieces: &[i64], from: usize) -> Result<(), PackFault> {
        self.steps = self.steps.checked_sub(1).ok_or(PackFault::TooLarge)?;
        if !self.can_win(pieces) {
            return Ok(());
        }
        let Some((piece, others)) = pieces.split_first() else {
            return self.finish();
        };
        let same_again = others.first() == Some(piece);
        for at in from..self.open.len() {
            let Some(room) = self.open.get(at).map(|open| open.room) else {
                break;
            };
            let earlier_twin = self.open.iter().take(at).skip(from).any(|open| open.room == room);
            if room >= *piece && !earlier_twin {
                self.set_room(at, room - piece);
                self.place(others, if same_again { at } else { 0 })?;
                self.set_room(at, room);
            }
        }
        // The smallest pack that will do comes first: it is most often the cheapest.
        for (at, pack) in self.packs.iter().enumerate().rev() {
            if pack.size >= *piece {
                self.open.push(Open {
                    room: pack.size - piece,
                });
                self.bought.add(self.packs, at, 1);
                let new = self.open.len() - 1;
                self.place(others, if same_again { new } else { 0 })?;
                self.bought.remove(self.packs, at, 1);
                self.open.pop();
            }
        }
        Ok(())
    }

    fn set_room(&mut self, at: usize, room: i64) {
        if let Some(open) = self.open.get_mut(at) {
            open.room = room;
        }
    }

    fn room(&self) -> i128 {
        self.open.iter().map(|open| i128::from(open.room)).sum()
    }

    /// Whether the best that can still come of this is as good as the best so far: what does not fit into
    /// the open packs costs at least what the pack of best value asks for it.
    fn can_win(&self, pieces: &[i64]) -> bool {
        let Some(best) = self.best.as_ref().map(Bought::merit) else {
            return true;
        };
        let wanted: i128 = self.divisible + pieces.iter().map(|piece| i128::from(*piece)).sum::<i128>();
        let missing = (wanted - self.room()).max(0);
        let cost = ceiling(
            missing * i128::from(self.best_value.cost),
            i128::from(self.best_value.size),
        );
        let count = u64::try_from(ceiling(missing, self.largest)).unwrap_or(u64::MAX);
        let bound = (
            self.bought.cost + cost,
            self.bought.total + missing,
            self.bought.count.saturating_add(count),
        );
        bound <= best
    }

    /// All pieces are cut; buys what the rooms left over do not hold of the divisible need.
    fn finish(&mut self) -> Result<(), PackFault> {
        let missing =
            i64::try_from((self.divisible - self.room()).max(0)).map_err(|_| PackFault::TooLarge)?;
        let mut bought = self.bought.clone();
        if missing > 0 {
            let more = cover::cheapest(self.packs, missing, &mut self.steps)?;
            for (at, count) in more.counts.iter().enumerate() {
                bought.add(self.packs, at, *count);
            }
        }
        if self.best.as_ref().is_none_or(|best| bought.beats(best)) {
            self.best = Some(bought);
        }
        Ok(())
    }
}
