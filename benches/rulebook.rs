//! Times the check of a rulebook of 10,000 lines and a sweep of 1,000 points of the reference job.

#[path = "../tests/estimate/demo.rs"]
#[allow(
    dead_code,
    clippy::unwrap_used,
    clippy::panic,
    reason = "shared with the tests, which fail by panicking"
)]
mod demo;

use chrono::NaiveDate;
use demo::Demo;
use divan::Bencher;
use estimate::catalogue::prices::PriceBook;
use estimate::rules::comparison::RulebookComparison;
use estimate::rules::parse_toml;
use estimate::sweep::{Ask, SweepInputs, sweep};
use estimate::workbook::Workbook;
use mimalloc::MiMalloc;
use serde_json::{Value, json};

/// As in the program.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

const REFERENCE_JOB: &str = "wickerlamp-restaurant.json";
const LINES: usize = 10_000;

fn main() {
    divan::main();
}

/// The demonstration's rulebook with its assemblies, tables, derived values, factors and checks again and again
/// under other names, until it has so many lines: the worst case for what is bought twice.
fn large() -> String {
    let seed = demo::text("rulebook.toml");
    let mut text = seed.clone();
    let mut copy = 2;
    while text.lines().count() < LINES {
        let mut kept = false;
        for line in seed.lines() {
            if let Some(head) = line.strip_prefix("[[") {
                let whole = [
                    "assembly]]",
                    "assembly.line]]",
                    "derived]]",
                    "table]]",
                    "check]]",
                    "factor]]",
                ];
                kept = whole.contains(&head);
            }
            if !kept {
                continue;
            }
            let renamed = ["code = \"", "name = \""].iter().find_map(|field| {
                let name = line.strip_prefix(field)?.strip_suffix('"')?;
                let joint = if *field == "code = \"" { '-' } else { '_' };
                Some(format!("{field}{name}{joint}{copy}\""))
            });
            text.push_str(renamed.as_deref().unwrap_or(line));
            text.push('\n');
            if text.len() > 1_900_000 {
                return text;
            }
        }
        copy += 1;
    }
    text
}

/// From the text to a program: reading, names, types, units, tables, and what is decided over choices and bounds.
#[divan::bench(sample_count = 10)]
fn check_of_10_000_lines(bencher: Bencher<'_, '_>) {
    let catalogue = demo::catalogue();
    let text = large();
    let checked = Workbook::compile(&text, 1, &catalogue, &[]);
    let told = match &checked {
        Ok(workbook) => workbook.warnings(),
        Err(findings) => findings,
    };
    eprintln!(
        "{} lines, {} KB, compiles: {}, {} findings",
        text.lines().count(),
        text.len() / 1000,
        checked.is_ok(),
        told.len()
    );
    bencher.bench_local(|| Workbook::compile(&text, 1, &catalogue, &[]).is_ok());
}

/// The demonstration's own rulebook.
#[divan::bench(sample_count = 10)]
fn check_of_the_demonstration(bencher: Bencher<'_, '_>) {
    let catalogue = demo::catalogue();
    let text = demo::text("rulebook.toml");
    bencher.bench_local(|| Workbook::compile(&text, 1, &catalogue, &[]).is_ok());
}

/// What of the 10,000 lines has no price.
#[divan::bench(sample_count = 10)]
fn unpriced_of_10_000_lines(bencher: Bencher<'_, '_>) {
    let catalogue = demo::catalogue();
    let Ok(workbook) = Workbook::compile(&large(), 1, &catalogue, &[]) else {
        return;
    };
    let prices = PriceBook::on(NaiveDate::MAX, &catalogue);
    bencher.bench_local(|| workbook.unpriced(&prices));
}

/// Two rulebooks of 10,000 lines compared, of which every hour differs.
#[divan::bench(sample_count = 10)]
fn comparison_of_10_000_lines(bencher: Bencher<'_, '_>) {
    let text = large();
    let other = text.replace("hours = \"", "hours = \"1 h + ");
    let (Ok(before), Ok(after)) = (parse_toml(&text), parse_toml(&other)) else {
        return;
    };
    bencher.bench_local(|| RulebookComparison::between(&before, &after));
}

fn feet(value: &str) -> Value {
    json!({"value": value, "unit": "ft"})
}

fn swept(bencher: Bencher<'_, '_>, answer: &str, breaks: bool) {
    let demo = Demo::load();
    let request = Demo::job(REFERENCE_JOB);
    let read = demo.read(&request);
    let prices = demo.prices(&read);
    let body = json!({
        "request": request,
        "vary": [{"answer": answer, "from": feet("5"), "to": feet("104.9"), "step": feet("0.1")}],
        "breaks": breaks,
    });
    let Ok(ask) = Ask::read(demo.workbook.form(), &body) else {
        return;
    };
    let inputs = SweepInputs {
        workbook: &demo.workbook,
        catalogue: &demo.catalogue,
        prices: &prices,
        policy: demo.policy(&read),
        policy_version: 1,
    };
    if let Ok(made) = sweep(&ask, inputs) {
        eprintln!(
            "{answer}: {} points, {} breaks",
            made.points.len(),
            made.breaks.len()
        );
    }
    bencher.bench_local(|| sweep(&ask, inputs).map(|made| made.breaks.len()));
}

/// A thousand points of the reference job.
#[divan::bench(sample_count = 10, args = ["/electrical/panel_length", "/line_set/legs/0/length"])]
fn sweep_of_1_000_points(bencher: Bencher<'_, '_>, answer: &str) {
    swept(bencher, answer, false);
}

/// The same, and the exact place of every break.
#[divan::bench(sample_count = 10, args = ["/electrical/panel_length", "/line_set/legs/0/length"])]
fn sweep_of_1_000_points_with_breaks(bencher: Bencher<'_, '_>, answer: &str) {
    swept(bencher, answer, true);
}
