//! Times whole jobs of the demonstration and, on the longest bill, each stage; the rulebook is compiled beforehand.

#[path = "../tests/estimate/demo.rs"]
#[allow(
    dead_code,
    clippy::unwrap_used,
    clippy::panic,
    reason = "shared with the tests, which fail by panicking"
)]
mod demo;

use std::fmt;

use demo::Demo;
use divan::Bencher;
use estimate::bill;
use estimate::estimate::facts;
use estimate::pricing::{Terms, price};
use estimate::rules::RunInput;
use estimate::sizing;
use mimalloc::MiMalloc;

/// As in the program.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

const REFERENCE_JOB: &str = "wickerlamp-restaurant.json";

fn main() {
    divan::main();
}

/// A job of the demonstration with a bill as long as that of a job of some size.
struct LongJob {
    file: String,
    lines: usize,
}

impl LongJob {
    const LEAST_LINES: usize = 80;

    fn all() -> Vec<Self> {
        let demo = Demo::load();
        let counted = demo::job_files().into_iter().filter_map(|file| {
            let request = demo.read(&Demo::job(&file));
            let prices = demo.prices(&request);
            let lines = demo.estimate(&request, &prices, false).ok()?.priced.lines.len();
            Some(Self { file, lines })
        });
        counted.filter(|job| job.lines >= Self::LEAST_LINES).collect()
    }
}

impl fmt::Display for LongJob {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {} lines", self.file.trim_end_matches(".json"), self.lines)
    }
}

/// From the request that was understood to lines, totals and cautions, sizing included.
#[divan::bench(args = LongJob::all())]
fn whole(bencher: Bencher<'_, '_>, job: &LongJob) {
    let demo = Demo::load();
    let request = demo.read(&Demo::job(&job.file));
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

/// Everything after sizing: rules, bill and pricing.
#[divan::bench]
fn after_sizing(bencher: Bencher<'_, '_>) {
    let demo = Demo::load();
    let request = demo.read(&Demo::job(REFERENCE_JOB));
    let prices = demo.prices(&request);
    let report = sizing::size(&request.job.spec, &demo.catalogue);
    let Ok(report) = report else { return };
    let facts = facts(&request, &report, &demo.catalogue);
    let policy = demo.policy(&request);
    let terms = Terms {
        discount: request.discount,
        treatment: request.job.spec.tax.treatment,
    };
    bencher.bench_local(|| {
        let run = RunInput {
            facts: &facts,
            unknown: &[],
            explain: false,
        };
        let outcome = demo.workbook.program().run(run).ok()?;
        let (manual, overrides) = (&request.manual_lines, &request.overrides);
        let bill = bill::assemble(&outcome, &demo.catalogue, &prices, manual, overrides).ok()?;
        price(bill, policy, &terms).ok().map(|priced| priced.totals.total)
    });
}

/// The rules alone.
#[divan::bench]
fn rules(bencher: Bencher<'_, '_>) {
    let demo = Demo::load();
    let request = demo.read(&Demo::job(REFERENCE_JOB));
    let Ok(report) = sizing::size(&request.job.spec, &demo.catalogue) else {
        return;
    };
    let facts = facts(&request, &report, &demo.catalogue);
    bencher.bench_local(|| {
        demo.workbook.program().run(RunInput {
            facts: &facts,
            unknown: &[],
            explain: false,
        })
    });
}

/// The facts of a job that is sized.
#[divan::bench]
fn facts_of_the_job(bencher: Bencher<'_, '_>) {
    let demo = Demo::load();
    let request = demo.read(&Demo::job(REFERENCE_JOB));
    let Ok(report) = sizing::size(&request.job.spec, &demo.catalogue) else {
        return;
    };
    bencher.bench_local(|| facts(&request, &report, &demo.catalogue));
}
