//! A place for every label that goes together with those of all others.

use std::collections::VecDeque;

use super::plane::{Area, Line, cross};
use super::spots::Spot;

/// Air between two labels on one line.
const BESIDE: i64 = 200;
/// What it costs to take the place of another label, for each time that it was moved before.
const MOVED: i64 = 2_000;
/// How often a place is looked for, for each label.
const TRIES: usize = 12;
/// Rounds in which every label looks for a better place.
const ROUNDS: usize = 3;

/// For each label which of its places it has; none of one that found none. A label that finds its best places taken may
/// have one of them, and who stood there looks for another; whoever was moved often is moved no more.
pub(super) fn settle(all: &[Vec<Spot>]) -> Vec<Option<usize>> {
    let mut chosen: Vec<Option<usize>> = vec![None; all.len()];
    let mut moved: Vec<i64> = vec![1; all.len()];
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by_key(|at| all.get(*at).map_or(0, Vec::len));
    let mut waiting = VecDeque::from(order);
    for _ in 0..all.len() * TRIES {
        let Some(at) = waiting.pop_front() else { break };
        let spots = all.get(at).map_or(&[][..], Vec::as_slice);
        let Some((spot, in_the_way)) = best(spots, &standing(all, &chosen, at), &moved) else {
            continue;
        };
        for other in in_the_way {
            set(&mut chosen, other, None);
            if let Some(moved) = moved.get_mut(other) {
                *moved += 1;
            }
            waiting.push_back(other);
        }
        set(&mut chosen, at, Some(spot));
    }
    for _ in 0..ROUNDS {
        for (at, spots) in all.iter().enumerate() {
            let others = standing(all, &chosen, at);
            let free = |spot: &Spot| others.iter().all(|(_, other)| !conflict(spot, other));
            if let Some(better) = spots.iter().position(free) {
                set(&mut chosen, at, Some(better));
            }
        }
    }
    chosen
}

fn set(chosen: &mut [Option<usize>], at: usize, spot: Option<usize>) {
    if let Some(place) = chosen.get_mut(at) {
        *place = spot;
    }
}

/// The places that the labels beside `at` have.
fn standing<'s>(all: &'s [Vec<Spot>], chosen: &[Option<usize>], at: usize) -> Vec<(usize, &'s Spot)> {
    let places = all.iter().zip(chosen).enumerate();
    let places = places.filter(|(other, _)| *other != at);
    places
        .filter_map(|(other, (spots, chosen))| Some((other, spots.get((*chosen)?)?)))
        .collect()
}

/// The place that costs least, with what it costs to move who stands in the way, and who that is.
fn best(spots: &[Spot], standing: &[(usize, &Spot)], moved: &[i64]) -> Option<(usize, Vec<usize>)> {
    let mut found: Option<(i64, usize, Vec<usize>)> = None;
    for (at, spot) in spots.iter().enumerate() {
        // They come by their cost.
        if found.as_ref().is_some_and(|(cost, ..)| *cost <= spot.cost) {
            break;
        }
        let in_the_way = standing.iter().filter(|(_, other)| conflict(spot, other));
        let in_the_way: Vec<usize> = in_the_way.map(|(other, _)| *other).collect();
        let moves = in_the_way.iter().filter_map(|other| moved.get(*other));
        let cost = spot.cost + MOVED * moves.sum::<i64>();
        if found.as_ref().is_none_or(|(least, ..)| cost < *least) {
            found = Some((cost, at, in_the_way));
        }
    }
    found.map(|(_, at, in_the_way)| (at, in_the_way))
}

/// Whether two labels cannot stand together: on one another or run together on one line, or with a leader that crosses
/// the other or its leader.
fn conflict(one: &Spot, other: &Spot) -> bool {
    let with_air = Area {
        left: one.area.left - BESIDE,
        right: one.area.right + BESIDE,
        ..one.area
    };
    let crossed = |leader: Option<Line>, area: &Area| leader.is_some_and(|leader| area.is_crossed_by(leader));
    with_air.meets(&other.area)
        || crossed(one.leader, &other.area)
        || crossed(other.leader, &one.area)
        || one
            .leader
            .zip(other.leader)
            .is_some_and(|(one, other)| cross(one, other))
}
