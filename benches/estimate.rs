//! Times the reference job: the longest bill of the demonstration, once the rulebook is compiled.

#[path = "../tests/estimate/demo.rs"]
#[allow(
    dead_code,
    clippy::unwrap_used,
    clippy::panic,
    reason = "shared with the tests, which fail by panicking"
)]
mod demo;

use demo::Demo;
use divan::Bencher;
use estimate::sizing;

const REFERENCE_JOB: &str = "wickerlamp-restaurant.json";

fn main() {
    divan::main();
}

/// From the request that was understood to lines, totals and cautions, sizing included.
#[divan::bench]
fn whole(bencher: Bencher<'_, '_>) {
    let demo = Demo::load();
    let request = demo.read(&Demo::job(REFERENCE_JOB));
    let prices = demo.prices(&request);
    bencher.bench_local(|| demo.estimate(&request, &prices, false));
}

/// The same, every line explained.
#[divan::bench]
fn whole_explained(bencher: Bencher<'_, '_>) {
    let demo = Demo::load();
    let request = demo.read(&Demo::job(REFERENCE_JOB));
    let prices = demo.prices(&request);
    bencher.bench_local(|| demo.estimate(&request, &prices, true));
}

/// The sizing report alone.
#[divan::bench]
fn sizing_report(bencher: Bencher<'_, '_>) {
    let demo = Demo::load();
    let request = demo.read(&Demo::job(REFERENCE_JOB));
    bencher.bench_local(|| sizing::size(&request.job.spec, &demo.catalogue));
}

/// Reading the request: form, contradictions, typed spec.
#[divan::bench]
fn reading(bencher: Bencher<'_, '_>) {
    let demo = Demo::load();
    let request = Demo::job(REFERENCE_JOB);
    bencher.bench_local(|| demo.workbook.read(&request));
}
