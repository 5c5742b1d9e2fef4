//! Times the papers of a job: three pages with a drawing. The typesetter keeps what it laid out, so every paper
//! that is timed is another offer: another number, another customer, another length of every route.

#[path = "../tests/estimate/demo.rs"]
#[allow(
    dead_code,
    clippy::unwrap_used,
    clippy::panic,
    reason = "shared with the tests, which fail by panicking"
)]
mod demo;
#[path = "../tests/papers/offers.rs"]
#[allow(
    dead_code,
    clippy::unwrap_used,
    reason = "shared with the tests, which fail by panicking"
)]
mod offers;

use std::sync::atomic::{AtomicU32, Ordering};

use demo::Demo;
use divan::Bencher;
use estimate::handoff::offer::{Offer, Party};
use estimate::handoff::paper::Paper;
use estimate::handoff::{job_sheet, proposal};
use mimalloc::MiMalloc;
use serde_json::{Value, json};

/// As in the program.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

const JOB: &str = "pinfold-basement.json";

static OFFERS: AtomicU32 = AtomicU32::new(0);

fn main() {
    divan::main();
}

/// From the offer to the file, by one and by two at once.
#[divan::bench(threads = [1, 2], sample_count = 30, sample_size = 1)]
fn proposal_of_another_offer(bencher: Bencher<'_, '_>) {
    bencher
        .with_inputs(another_offer)
        .bench_values(|offer| proposal::proposal(&offer).map(|paper| printed(&paper)));
}

#[divan::bench(threads = [1, 2], sample_count = 30, sample_size = 1)]
fn job_sheet_of_another_offer(bencher: Bencher<'_, '_>) {
    bencher
        .with_inputs(another_offer)
        .bench_values(|offer| job_sheet::job_sheet(&offer).map(|paper| printed(&paper)));
}

/// The same file asked for again.
#[divan::bench(sample_count = 30, sample_size = 1)]
fn proposal_again(bencher: Bencher<'_, '_>) {
    let offer = another_offer();
    bencher.bench_local(|| proposal::proposal(&offer).map(|paper| printed(&paper)));
}

#[allow(clippy::expect_used, reason = "a bench fails by panicking")]
fn printed(paper: &Paper) -> usize {
    papers::print(paper).expect("the paper is printed").bytes.len()
}

fn another_offer() -> Offer {
    let count = OFFERS.fetch_add(1, Ordering::Relaxed);
    let mut request = Demo::job(JOB);
    lengthen(&mut request["job"], &format!(".{:02}", count % 100));
    request["job"]["title"] = json!(format!("Basement cellar {count}"));
    Offer {
        name: Some(format!("2025-{count:05}-R1")),
        customer: Party {
            name: format!("House of the {count} casks"),
            contact: None,
            telephone: None,
            address: vec![format!("{count} Pinfold Rise"), "Nettlemoor".to_owned()],
        },
        ..offers::draft(&request, json!({}))
    }
}

/// Adds some hundredths to every length that is a whole number.
fn lengthen(tree: &mut Value, hundredths: &str) {
    match tree {
        Value::Object(fields) if fields.contains_key("direction") => {
            if let Some(Value::String(length)) = fields["length"].get_mut("value")
                && !length.contains('.')
            {
                length.push_str(hundredths);
            }
        }
        Value::Object(fields) => fields.values_mut().for_each(|field| lengthen(field, hundredths)),
        Value::Array(items) => items.iter_mut().for_each(|item| lengthen(item, hundredths)),
        _ => {}
    }
}
