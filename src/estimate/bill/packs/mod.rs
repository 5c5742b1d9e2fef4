//! Which packs to buy: the least-cost choice, by exact search.
//!
//! In: the packs on offer, how much is needed in all, and the pieces that must each come out of one
//! pack. Out: how many of each pack. The answer is the cheapest; among equally cheap ones the one with
//! the least left over, then with the fewest packs, then with the larger packs. What is left of a pack
//! that pieces were cut from serves the divisible part of the need.
//!
//! Everything is counted in millionths, as integers, so that no tie is decided by a rounding.

mod cover;
mod pieces;
mod table;

use rust_decimal::Decimal;
use thiserror::Error;

use crate::quantity::decimal::QUANTITY_SCALE;
use crate::quantity::rounding::{Mode, count};

/// A pack that can be bought.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Offer {
    /// How much it holds, in the item's unit; more than zero, at most six decimals.
    pub size: Decimal,
    /// What one costs; not negative, at most six decimals.
    pub cost: Decimal,
}

/// What to buy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// How many of which offer (its place in the list that was given), larger packs first.
    pub counts: Vec<(usize, u64)>,
    /// How much all the packs hold.
    pub total: Decimal,
    /// What all the packs cost, exact.
    pub cost: Decimal,
}

/// Pieces longer than the largest pack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooLong {
    /// The longest of them.
    pub piece: Decimal,
    /// How many there are.
    pub count: usize,
    /// The largest pack on offer.
    pub largest: Decimal,
}

/// Why no packs could be chosen.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PackFault {
    /// There is nothing to choose from.
    #[error("no pack is on offer")]
    NoOffer,
    /// A piece is longer than the largest pack.
    #[error("a piece of {piece} must be whole, and the largest pack holds {largest}")]
    PieceTooLong {
        /// The piece.
        piece: Decimal,
        /// The largest pack on offer.
        largest: Decimal,
    },
    /// A size, cost or need is negative, of nothing, finer than six decimals or beyond nine billion.
    #[error(
        "{0} cannot be bought in packs: a size, a cost and a need are from 0 to 9,000,000,000 with at most six decimals, \
         and a pack holds more than nothing"
    )]
    OutOfRange(Decimal),
    /// The search would have taken more steps than are allowed ([`STEPS`], then a table of 200,000 totals), or
    /// the cost is beyond what a decimal holds.
    #[error("the search for the cheapest packs is too large")]
    TooLarge,
}

/// Most steps of a search by branches. A need met from a handful of sizes takes some tens.
pub const STEPS: u32 = 100_000;

/// Millionths of a unit, or of a unit of currency, that a decimal of ours may come to.
const LARGEST: i64 = 9_000_000_000_000_000;

/// An offer in integers. `place` is where it stood in the list that was given.
#[derive(Debug, Clone, Copy)]
struct Pack {
    size: i64,
    cost: i64,
    place: usize,
}

impl Pack {
    fn new(offer: Offer, place: usize) -> Result<Self, PackFault> {
        let size = millionths(offer.size)?;
        if size == 0 {
            return Err(PackFault::OutOfRange(offer.size));
        }
        Ok(Self {
            size,
            cost: millionths(offer.cost)?,
            place,
        })
    }
}

/// A choice in the making; `counts` runs beside the packs, largest pack first.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
struct Bought {
    cost: i128,
    total: i128,
    count: u64,
    counts: Vec<u64>,
}

impl Bought {
    fn nothing(packs: &[Pack]) -> Self {
        Self {
            counts: vec![0; packs.len()],
            ..Self::default()
        }
    }

    /// Takes `count` more of pack number `at`.
    fn add(&mut self, packs: &[Pack], at: usize, count: u64) {
        if let (Some(pack), Some(slot)) = (packs.get(at), self.counts.get_mut(at)) {
            *slot += count;
            self.count += count;
            self.cost += i128::from(pack.cost) * i128::from(count);
            self.total += i128::from(pack.size) * i128::from(count);
        }
    }

    /// Puts back `count` of pack number `at`.
    fn remove(&mut self, packs: &[Pack], at: usize, count: u64) {
        if let (Some(pack), Some(slot)) = (packs.get(at), self.counts.get_mut(at)) {
            *slot -= count;
            self.count -= count;
            self.cost -= i128::from(pack.cost) * i128::from(count);
            self.total -= i128::from(pack.size) * i128::from(count);
        }
    }

    fn merit(&self) -> (i128, i128, u64) {
        (self.cost, self.total, self.count)
    }

    /// Cheaper, then less left over, then fewer packs, then larger packs.
    fn beats(&self, other: &Self) -> bool {
        (self.merit(), &other.counts) < (other.merit(), &self.counts)
    }
}

/// Chooses packs that hold `divisible` and every one of `pieces`.
///
/// Sizes and needs are integers of millionths. A need from one size is a division; from several sizes it
/// is a search by branches with a lower bound, at most [`STEPS`] steps, and after that a table over at most
/// 200,000 totals, which is exact too. Pieces are placed by branches alone. What neither can finish is
/// [`PackFault::TooLarge`], never a guess.
pub fn choose(
    offers: impl IntoIterator<Item = Offer>,
    divisible: Decimal,
    pieces: &[Decimal],
) -> Result<Choice, PackFault> {
    let mut offers = offers.into_iter();
    let first = offers.next().ok_or(PackFault::NoOffer)?;
    let need = millionths(divisible)?;
    let second = offers.next();
    if second.is_none() && pieces.is_empty() {
        return single(&Pack::new(first, 0)?, need);
    }
    let packs = ordered(std::iter::once(first).chain(second).chain(offers))?;
    let whole = pieces.iter().filter(|piece| !piece.is_zero());
    let mut cuts = whole
        .map(|piece| millionths(*piece))
        .collect::<Result<Vec<_>, _>>()?;
    let largest = packs.first().ok_or(PackFault::NoOffer)?.size;
    if let Some(piece) = cuts.iter().find(|piece| **piece > largest) {
        return Err(PackFault::PieceTooLong {
            piece: decimal(i128::from(*piece))?,
            largest: decimal(i128::from(largest))?,
        });
    }
    let bought = if cuts.is_empty() {
        cover::cheapest(&packs, need, &mut { STEPS }).or_else(|_| table::cheapest(&packs, need))?
    } else {
        cuts.sort_unstable_by_key(|piece| std::cmp::Reverse(*piece));
        pieces::cheapest(&packs, need, &cuts)?
    };
    let counts = packs.iter().zip(&bought.counts).filter(|(_, count)| **count > 0);
    Ok(Choice {
        counts: counts.map(|(pack, count)| (pack.place, *count)).collect(),
        total: decimal(bought.total)?,
        cost: decimal(bought.cost)?,
    })
}

/// [`choose`], except that pieces longer than the largest pack count as divisible, and are told beside the
/// choice: they can only be joined from several packs.
///
/// # Errors
/// Those of [`choose`] but for [`PackFault::PieceTooLong`].
pub fn choose_joined(
    offers: impl IntoIterator<Item = Offer> + Clone,
    divisible: Decimal,
    pieces: &[Decimal],
) -> Result<(Choice, Option<TooLong>), PackFault> {
    let largest = match choose(offers.clone(), divisible, pieces) {
        Err(PackFault::PieceTooLong { largest, .. }) => largest,
        other => return other.map(|choice| (choice, None)),
    };
    let (long, whole): (Vec<_>, Vec<_>) = pieces.iter().copied().partition(|piece| *piece > largest);
    let joined = long
        .iter()
        .try_fold(divisible, |sum, piece| sum.checked_add(*piece))
        .ok_or(PackFault::TooLarge)?;
    let choice = choose(offers, joined, &whole)?;
    let longest = long.iter().copied().max();
    Ok((
        choice,
        longest.map(|piece| TooLong {
            piece,
            count: long.len(),
            largest,
        }),
    ))
}

/// So many of the only pack that `need` takes.
fn single(only: &Pack, need: i64) -> Result<Choice, PackFault> {
    let count = need / only.size + i64::from(need % only.size > 0);
    let of = |one: i64| decimal(i128::from(one) * i128::from(count));
    let counts = u64::try_from(count)
        .ok()
        .filter(|count| *count > 0)
        .map(|count| (only.place, count));
    Ok(Choice {
        counts: counts.into_iter().collect(),
        total: of(only.size)?,
        cost: of(only.cost)?,
    })
}

/// The offers as integers, largest first, one of each size: the cheapest, and of equals the first.
fn ordered(offers: impl Iterator<Item = Offer>) -> Result<Vec<Pack>, PackFault> {
    let packs = offers.enumerate().map(|(place, offer)| Pack::new(offer, place));
    let mut packs = packs.collect::<Result<Vec<_>, _>>()?;
    packs.sort_by_key(|pack| (std::cmp::Reverse(pack.size), pack.cost));
    packs.dedup_by_key(|pack| pack.size);
    Ok(packs)
}

/// A decimal that is not negative as a count of millionths.
fn millionths(value: Decimal) -> Result<i64, PackFault> {
    counted(value)
        .or_else(|| counted(value.normalize()))
        .filter(|counted| (0..=LARGEST).contains(counted))
        .ok_or(PackFault::OutOfRange(value))
}

/// The count, where `value` has no more decimals than that and it fits.
fn counted(value: Decimal) -> Option<i64> {
    if value.scale() > QUANTITY_SCALE {
        return None;
    }
    count(value, QUANTITY_SCALE, Mode::HalfUp)
}

/// A count of millionths as a decimal.
fn decimal(counted: i128) -> Result<Decimal, PackFault> {
    Decimal::try_from_i128_with_scale(counted, QUANTITY_SCALE).map_err(|_| PackFault::TooLarge)
}
