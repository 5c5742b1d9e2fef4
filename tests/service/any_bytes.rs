//! Whatever strangers send is taken or refused; nothing else happens. The functions and the seeds are those of the fuzz
//! targets (`.ci/fuzz`), which go further and need a fuzzer.

use std::fs;
use std::path::PathBuf;

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::Index;

use crate::doors::{self, project};

/// A change of a seed.
#[derive(Debug, Clone)]
enum Change {
    Put(Index, u8),
    Insert(Index, Vec<u8>),
    Remove(Index, Index),
    Repeat(Index, Index),
    /// A piece of another seed.
    Graft(Index, Index, Index, Index),
}

fn change() -> impl Strategy<Value = Change> {
    // Signs that mean something to one reader or another, among all the others.
    let telling = prop::sample::select(b"\0\"'(){}[]<>=,;.:-+*/&#0919eE \n\r\tPK\xff\xef".to_vec());
    let byte = prop_oneof![any::<u8>(), telling];
    prop_oneof![
        (any::<Index>(), byte.clone()).prop_map(|(at, byte)| Change::Put(at, byte)),
        (any::<Index>(), vec(byte, 1..8)).prop_map(|(at, bytes)| Change::Insert(at, bytes)),
        (any::<Index>(), any::<Index>()).prop_map(|(from, to)| Change::Remove(from, to)),
        (any::<Index>(), any::<Index>()).prop_map(|(from, to)| Change::Repeat(from, to)),
        (any::<Index>(), any::<Index>(), any::<Index>(), any::<Index>())
            .prop_map(|(at, seed, from, to)| Change::Graft(at, seed, from, to)),
    ]
}

/// Where two places of `length` bytes lie, the lesser first.
fn between(length: usize, one: &Index, other: &Index) -> (usize, usize) {
    let (one, other) = (one.index(length + 1), other.index(length + 1));
    (one.min(other), one.max(other))
}

fn changed(mut bytes: Vec<u8>, changes: &[Change], seeds: &[Vec<u8>]) -> Vec<u8> {
    for change in changes {
        match change {
            Change::Put(at, byte) if !bytes.is_empty() => {
                let at = at.index(bytes.len());
                bytes[at] = *byte;
            }
            Change::Put(..) => {}
            Change::Insert(at, new) => insert(&mut bytes, at, new),
            Change::Remove(from, to) => {
                let (from, to) = between(bytes.len(), from, to);
                bytes.drain(from..to.min(from + 64));
            }
            Change::Repeat(from, to) => {
                let (from, to) = between(bytes.len(), from, to);
                let piece = bytes[from..to.min(from + 4096)].to_vec();
                bytes.splice(to..to, piece);
            }
            Change::Graft(at, seed, from, to) => {
                let seed = seed.get(seeds);
                let (from, to) = between(seed.len(), from, to);
                insert(&mut bytes, at, &seed[from..to]);
            }
        }
    }
    bytes
}

fn insert(bytes: &mut Vec<u8>, at: &Index, new: &[u8]) {
    let at = at.index(bytes.len() + 1);
    bytes.splice(at..at, new.iter().copied());
}

/// The seeds of these folders, in the order of their names.
fn seeds(folders: &[&str]) -> Vec<Vec<u8>> {
    let files = folders
        .iter()
        .flat_map(|folder| fs::read_dir(project().join(folder)).unwrap());
    let mut files: Vec<PathBuf> = files.map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files.iter().map(|file| fs::read(file).unwrap()).collect()
}

/// Gives a door every seed as it is, seeds that were changed, and bytes that are like none.
fn try_door(door: fn(&[u8]), folders: &[&str]) {
    let seeds = seeds(folders);
    assert!(!seeds.is_empty());
    doors::open();
    seeds.iter().for_each(|seed| door(seed));
    let tried = prop_oneof![
        4 => (any::<Index>(), vec(change(), 1..6)).prop_map({
            let seeds = seeds.clone();
            move |(seed, changes)| changed(seed.get(&seeds).clone(), &changes, &seeds)
        }),
        1 => vec(any::<u8>(), 0..400),
        1 => "[ -~]{0,120}".prop_map(String::into_bytes),
    ];
    proptest!(ProptestConfig::with_cases(500), |(bytes in tried)| door(&bytes));
}

#[test]
fn a_formula() {
    try_door(doors::formula, &["fuzz/seeds/formula"]);
}

#[test]
fn an_estimate_request() {
    try_door(doors::job, &["fuzz/seeds/job", "seed-data/jobs"]);
}

#[test]
fn a_price_list_as_csv() {
    try_door(
        doors::price_list_csv,
        &["fuzz/seeds/price_list_csv", "seed-data/price-lists"],
    );
}

#[test]
fn a_price_list_as_workbook() {
    try_door(doors::price_list_workbook, &["fuzz/seeds/price_list_workbook"]);
}

#[test]
fn a_place_in_the_feed() {
    try_door(doors::cursor, &["fuzz/seeds/cursor"]);
}

#[test]
fn what_lets_somebody_in() {
    try_door(doors::token, &["fuzz/seeds/token"]);
}
