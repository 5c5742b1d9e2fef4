//! What a choice can be, and which cells of a table its keys can lead to.

use super::super::program::{Choice, ChoiceOp, Grid, GridKey, KeyValue};
use super::case::{Allowed, Case};
use super::numbers::band;
use super::{Decider, each};
use crate::quantity::fact::{FactKind, WordNumber};

/// So many cells of a table are followed one by one; of more, only what their keys have in common.
const CELLS_APART: usize = 16;

impl Decider<'_> {
    fn word_count(&self, fact: usize) -> usize {
        match self.program.facts.get(fact).map(|def| &def.kind) {
            Some(FactKind::Choice(domain)) => domain.words.len(),
            _ => 0,
        }
    }

    /// Of each word, whether the choice can be it in this case; words beyond the list cannot.
    pub(super) fn words(&self, node: &Choice, case: &Case) -> Vec<bool> {
        let mut possible = Vec::new();
        self.add_words(node, case, &mut possible);
        possible
    }

    fn add_words(&self, node: &Choice, case: &Case, to: &mut Vec<bool>) {
        match &node.op {
            ChoiceOp::Given(word) => add(to, word.place()),
            ChoiceOp::Fact(fact) => match case.words(*fact) {
                Some(words) => {
                    let places = words.iter().enumerate().filter(|(_, possible)| **possible);
                    places.for_each(|(place, _)| add(to, place));
                }
                None => (0..self.word_count(*fact)).for_each(|place| add(to, place)),
            },
            ChoiceOp::Derived(slot) => {
                if let Some(derived) = self.program.derived.choices.get(*slot) {
                    self.add_words(&derived.formula.tree, case, to);
                }
            }
            ChoiceOp::If(condition, branches) => {
                let steps_left = self.step();
                for (wanted, branch) in [true, false].into_iter().zip(branches.iter()) {
                    if !steps_left {
                        self.add_words(branch, case, to);
                        continue;
                    }
                    for case in self.flag(condition, wanted, vec![case.clone()]) {
                        self.add_words(branch, &case, to);
                    }
                }
            }
            ChoiceOp::Cell(table, keys) => {
                if let Some(table) = self.program.tables.choices.get(*table) {
                    let values = self.values(&table.grid, keys, &table.values, case);
                    values.into_iter().for_each(|word| add(to, word.place()));
                }
            }
        }
    }

    /// Of this case, what is left where the choice is one of the allowed words.
    pub(super) fn choice(&self, node: &Choice, allowed: Allowed<'_>, case: Case) -> Vec<Case> {
        if !self.step() {
            return vec![case];
        }
        let is_allowed = |word: WordNumber| allowed.has(word.place());
        match &node.op {
            ChoiceOp::Given(word) if is_allowed(*word) => vec![case],
            ChoiceOp::Given(_) => Vec::new(),
            ChoiceOp::Fact(fact) => {
                let count = self.word_count(*fact);
                case.with_words(*fact, count, allowed).into_iter().collect()
            }
            ChoiceOp::Derived(slot) => match self.program.derived.choices.get(*slot) {
                Some(derived) => self.choice(&derived.formula.tree, allowed, case),
                None => vec![case],
            },
            ChoiceOp::If(condition, branches) => self.branches(
                condition,
                vec![case],
                |cases| each(cases, |case| self.choice(&branches[0], allowed, case)),
                |cases| each(cases, |case| self.choice(&branches[1], allowed, case)),
            ),
            ChoiceOp::Cell(table, keys) => match self.program.tables.choices.get(*table) {
                Some(table) => {
                    let fits = |row: usize| table.values.get(row).is_some_and(|word| is_allowed(*word));
                    self.cells(&table.grid, keys, fits, case)
                }
                None => vec![case],
            },
        }
    }

    /// The values of all rows that the keys can lead to.
    pub(super) fn values<V: Copy>(
        &self,
        grid: &Grid,
        keys: &[KeyValue],
        values: &[V],
        case: &Case,
    ) -> Vec<V> {
        let possible = self.possible(grid, keys, case);
        let mut rows: Vec<usize> = cells(grid, &possible).map(|(_, row)| row).collect();
        rows.sort_unstable();
        rows.dedup();
        rows.into_iter()
            .filter_map(|row| values.get(row).copied())
            .collect()
    }

    /// Of this case, what is left where the look-up leads to a row that `fits`.
    pub(super) fn cells(
        &self,
        grid: &Grid,
        keys: &[KeyValue],
        fits: impl Fn(usize) -> bool,
        case: Case,
    ) -> Vec<Case> {
        let possible = self.possible(grid, keys, &case);
        let mut all = 0_usize;
        let mut fitting: Vec<Vec<usize>> = Vec::new();
        for (places, row) in cells(grid, &possible) {
            all += 1;
            if fits(row) {
                fitting.push(places);
            }
        }
        if fitting.len() == all {
            return vec![case];
        }
        // What the fitting cells have in common of each key.
        let mut common: Vec<Vec<bool>> = possible.iter().map(|places| vec![false; places.len()]).collect();
        for cell in &fitting {
            for (places, place) in common.iter_mut().zip(cell) {
                add(places, *place);
            }
        }
        if fitting.is_empty() {
            return Vec::new();
        }
        if keys.len() == 1 || fitting.len() > CELLS_APART {
            return self.keys(grid, keys, &common, case);
        }
        let only = |cell: &Vec<usize>| -> Vec<Vec<bool>> {
            let one = |place: &usize| {
                let mut places = Vec::new();
                add(&mut places, *place);
                places
            };
            cell.iter().map(one).collect()
        };
        let apart = fitting.iter().map(only);
        apart
            .flat_map(|cell| self.keys(grid, keys, &cell, case.clone()))
            .collect()
    }

    /// Of each key, the places that it can lead to.
    fn possible(&self, grid: &Grid, keys: &[KeyValue], case: &Case) -> Vec<Vec<bool>> {
        let of = |(key, value): (&GridKey, &KeyValue)| match (value, key) {
            (KeyValue::Choice(choice), key) => {
                let mut words = self.words(choice, case);
                words.resize(key.size(), false);
                words
            }
            (KeyValue::Flag(flag), _) => [false, true]
                .map(|wanted| !self.flag(flag, wanted, vec![case.clone()]).is_empty())
                .to_vec(),
            (KeyValue::Number(_), GridKey::Bands(ends)) => self.bands(value, ends, case),
            (KeyValue::Number(_), GridKey::Words(count)) => vec![true; *count],
        };
        grid.keys.iter().zip(keys).map(of).collect()
    }

    /// Of this case, what is left where each key leads to one of its allowed places.
    fn keys(&self, grid: &Grid, keys: &[KeyValue], allowed: &[Vec<bool>], case: Case) -> Vec<Case> {
        let mut cases = vec![case];
        for ((key, value), allowed) in grid.keys.iter().zip(keys).zip(allowed) {
            cases = each(cases, |case| self.key(key, value, allowed, case));
        }
        cases
    }

    fn key(&self, key: &GridKey, value: &KeyValue, allowed: &[bool], case: Case) -> Vec<Case> {
        match (value, key) {
            (KeyValue::Choice(choice), _) => self.choice(choice, Allowed::only(allowed), case),
            (KeyValue::Flag(flag), _) => match (allowed.first(), allowed.get(1)) {
                (Some(true), Some(true)) => vec![case],
                (Some(true), _) => self.flag(flag, false, vec![case]),
                _ => self.flag(flag, true, vec![case]),
            },
            (KeyValue::Number(number), GridKey::Bands(ends)) => {
                let first = allowed.iter().position(|allowed| *allowed).unwrap_or(0);
                let last = allowed.iter().rposition(|allowed| *allowed).unwrap_or(ends.len());
                self.number(number, band(ends, first, last), case)
            }
            (KeyValue::Number(_), GridKey::Words(_)) => vec![case],
        }
    }
}

fn add(places: &mut Vec<bool>, place: usize) {
    if places.len() <= place {
        places.resize(place + 1, false);
    }
    if let Some(possible) = places.get_mut(place) {
        *possible = true;
    }
}

/// Every cell that possible places of the keys lead to: the places, and the row that applies.
fn cells<'g>(grid: &'g Grid, possible: &'g [Vec<bool>]) -> impl Iterator<Item = (Vec<usize>, usize)> + 'g {
    let places = |at: usize| {
        let mut rest = at;
        let mut places: Vec<usize> = grid
            .keys
            .iter()
            .rev()
            .map(|key| {
                let size = key.size().max(1);
                let place = rest % size;
                rest /= size;
                place
            })
            .collect();
        places.reverse();
        places
    };
    grid.cells.iter().enumerate().filter_map(move |(at, row)| {
        let places = places(at);
        let can_be = places
            .iter()
            .zip(possible)
            .all(|(place, possible)| possible.get(*place).copied().unwrap_or(false));
        can_be.then_some((places, *row as usize))
    })
}
