//! How long the sizing of one job takes, for the demonstration's simplest and hardest job and its catalogue of
//! five classes. `cargo bench -p estimate --bench sizing`.

#![allow(clippy::unwrap_used, reason = "a bench stops when its case is wrong")]

use std::fs;
use std::path::Path;
use std::sync::Arc;

use divan::{Bencher, black_box};
use estimate::catalogue::{Catalogue, Equipment, Item};
use estimate::job::{Form, Spec};
use estimate::sizing::{facts, size};
use serde::Deserialize;
use serde_json::Value;

fn main() {
    divan::main();
}

const JOBS: [&str; 2] = ["alderwick-closet", "wickerlamp-first-scheme"];

#[derive(Deserialize)]
struct Items {
    item: Vec<Item>,
}

#[derive(Deserialize)]
struct Classes {
    equipment: Vec<Equipment>,
}

fn text(file: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../seed-data");
    fs::read_to_string(folder.join(file)).unwrap()
}

fn catalogue() -> Catalogue {
    let items: Items = toml::from_str(&text("items.toml")).unwrap();
    let classes: Classes = toml::from_str(&text("equipment.toml")).unwrap();
    Catalogue::new(items.item, Vec::new(), classes.equipment).unwrap()
}

fn spec(catalogue: &Catalogue, job: &str) -> Spec {
    let mut request: Value = serde_json::from_str(&text(&format!("jobs/{job}.json"))).unwrap();
    request["job"].as_object_mut().unwrap().shift_remove("extra");
    let classes: Vec<Arc<str>> = catalogue
        .equipment()
        .iter()
        .map(|e| e.class.as_str().into())
        .collect();
    Form::new(&classes, &[]).read(&request["job"], &[]).unwrap().spec
}

#[divan::bench(args = JOBS)]
fn report(bencher: Bencher, job: &str) {
    let catalogue = catalogue();
    let spec = spec(&catalogue, job);
    bencher.bench_local(|| size(black_box(&spec), black_box(&catalogue)).unwrap());
}

#[divan::bench]
fn values_of_facts(bencher: Bencher) {
    let catalogue = catalogue();
    let report = size(&spec(&catalogue, JOBS[0]), &catalogue).unwrap();
    bencher.bench_local(|| facts::values(black_box(&report)));
}

#[divan::bench]
fn definitions_of_facts(bencher: Bencher) {
    let catalogue = catalogue();
    bencher.bench_local(|| facts::definitions(black_box(&catalogue)));
}
