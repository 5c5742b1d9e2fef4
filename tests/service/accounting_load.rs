//! The feed measured: a page among many quotes, and a reader beside many writers. These take minutes and print figures,
//! so they run only when they are asked for; DEVELOPERS.md has the command.
//!
//! `TALLYRULE_SECONDS` is how long the reader polls.

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::json;

use crate::harness::{DEMO_OWNER, Engine, empty_location, try_ask};
use crate::quotes_desk::by_hand;
use crate::quotes_load::{Process, body, percentile, post, setting, verify};

/// Puts so many accepted quotes into the database, each like the one that is there.
fn fill(location: &tallyrule::store::Location, many: usize) {
    let numbers = format!("WITH RECURSIVE n(i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n WHERE i < {many})");
    for statement in [
        format!(
            "{numbers} INSERT INTO quotes SELECT id || '-' || i, 'X-' || i, year, i, customer_id, site_id, title, search, state, \
            ends_at, archived, version, created_on, created_at, created_by FROM quotes, n WHERE counter = 1"
        ),
        format!(
            "{numbers} INSERT INTO revisions SELECT quote_id || '-' || i, change_order, revision, state, ends_at, version, '', '', '', \
            created_at, created_by, changed_at, changed_by FROM revisions, n WHERE draft <> ''"
        ),
        format!(
            "{numbers} INSERT INTO transitions SELECT quote_id || '-' || i, position, change_order, revision, event, from_state, \
            to_state, moved_at, moved_by, reason FROM transitions, n WHERE quote_id NOT LIKE '%-____-____-____-%-%'"
        ),
        format!(
            "{numbers} INSERT INTO accounting_feed SELECT (i - 1) * 2 + position, quote_id || '-' || i, transition, change_order, \
            revision, state, at, estimator, currency, net, tax, total FROM accounting_feed, n WHERE position <= 2"
        ),
        "UPDATE accounting_feed_end SET position = (SELECT max(position) FROM accounting_feed)".to_owned(),
    ] {
        by_hand(location, &statement).unwrap();
    }
}

fn pages(engine: Engine) {
    let Some(location) = empty_location(engine) else {
        return;
    };
    let process = Process::start(&location);
    let body = body(process.address);
    let path = format!(
        "/v1/quotes/{}",
        post(process.address, "/v1/quotes", "", &body)
            .unwrap()
            .expect(201)["id"]
            .as_str()
            .unwrap()
    );
    post(
        process.address,
        &format!("{path}/issue"),
        "",
        &json!({"revision": 1}),
    )
    .unwrap()
    .expect(200);
    let word = json!({"revision": 1, "accepted_by": "O"});
    post(process.address, &format!("{path}/accept"), "", &word)
        .unwrap()
        .expect(200);
    let many = setting("TALLYRULE_FEED", 100_000);
    fill(&location, many);
    if engine == Engine::Postgresql {
        by_hand(&location, "ANALYZE").unwrap();
    }
    let mut after = String::new();
    let mut times = Vec::new();
    let mut read = 0;
    loop {
        let begun = Instant::now();
        let query = format!("/v1/accounting/quotes?limit=100{after}");
        let page = try_ask(process.address, "GET", &query, &[DEMO_OWNER], b"").unwrap();
        times.push(begun.elapsed());
        let page = page.expect(200);
        read += page["data"].as_array().unwrap().len();
        after = format!("&after={}", page["next"].as_str().unwrap());
        if page["more"] == json!(false) {
            break;
        }
    }
    assert_eq!(read, many);
    let (slowest, count) = (times.iter().max().copied().unwrap(), times.len());
    println!(
        "{engine:?}: {count} pages of 100 at {many} quotes: median {:?}, p99 {:?}, slowest {slowest:?}",
        percentile(&mut times, 50),
        percentile(&mut times, 99)
    );
    for query in ["states=issued,accepted,declined&limit=100", "limit=500"] {
        let mut times: Vec<Duration> = (0..40)
            .map(|_| {
                let begun = Instant::now();
                try_ask(
                    process.address,
                    "GET",
                    &format!("/v1/accounting/quotes?{query}"),
                    &[DEMO_OWNER],
                    b"",
                )
                .unwrap()
                .expect(200);
                begun.elapsed()
            })
            .collect();
        println!("{engine:?}: {query}: median {:?}", percentile(&mut times, 50));
    }
    for path in [
        "/v1/accounting/without-receipt?days=0&limit=100",
        "/v1/accounting/reconciliation?from=2000-01-01&to=2999-12-31",
    ] {
        let begun = Instant::now();
        try_ask(process.address, "GET", path, &[DEMO_OWNER], b"")
            .unwrap()
            .expect(200);
        println!("{engine:?}: {path}: {:?}", begun.elapsed());
    }
}

/// Writers on two servers accept offers while a reader polls: it sees each acceptance once, in the order of commits.
fn reader_beside_writers(engine: Engine) {
    let Some(location) = empty_location(engine) else {
        return;
    };
    let first = Process::start(&location);
    let second = Process::start(&location);
    let time = Duration::from_secs(u64::try_from(setting("TALLYRULE_SECONDS", 120)).unwrap());
    // When each acceptance was asked for, and when it was answered.
    let (over, told) = (AtomicBool::new(false), Mutex::new(BTreeMap::new()));
    let started = Instant::now();
    let mut seen = Vec::new();
    let mut polls = 0_u64;
    thread::scope(|scope| {
        let writers: Vec<_> = [first.address, second.address]
            .into_iter()
            .cycle()
            .take(8)
            .map(|address| {
                let (over, told) = (&over, &told);
                scope.spawn(move || {
                    let body = body(address);
                    while !over.load(Ordering::SeqCst) {
                        let made = post(address, "/v1/quotes", "", &body).unwrap().expect(201);
                        let path = format!("/v1/quotes/{}", made["id"].as_str().unwrap());
                        post(address, &format!("{path}/issue"), "", &json!({"revision": 1}))
                            .unwrap()
                            .expect(200);
                        let word = json!({"revision": 1, "accepted_by": "O"});
                        let asked = started.elapsed();
                        post(address, &format!("{path}/accept"), "", &word)
                            .unwrap()
                            .expect(200);
                        let number = made["number"].as_str().unwrap().to_owned();
                        let mut told = told.lock().unwrap();
                        told.insert(number, (asked, started.elapsed()));
                    }
                })
            })
            .collect();
        let begun = Instant::now();
        let mut after = String::new();
        loop {
            over.store(begun.elapsed() >= time, Ordering::SeqCst);
            let last = writers.iter().all(|writer| writer.is_finished());
            let query = format!("/v1/accounting/quotes?limit=100{after}");
            // The reader asks one server and then the other.
            let address = if polls.is_multiple_of(2) {
                first.address
            } else {
                second.address
            };
            let page = try_ask(address, "GET", &query, &[DEMO_OWNER], b"")
                .unwrap()
                .expect(200);
            polls += 1;
            let data = page["data"].as_array().unwrap();
            seen.extend(
                data.iter()
                    .map(|entry| entry["number"].as_str().unwrap().to_owned()),
            );
            after = format!("&after={}", page["next"].as_str().unwrap());
            if last && data.is_empty() {
                break;
            }
        }
    });
    let told = told.into_inner().unwrap();
    assert_eq!(seen.len(), told.len(), "each once");
    let mut sorted = seen.clone();
    sorted.sort();
    assert!(sorted.iter().eq(told.keys()), "and none missed");
    // The order is that of commits: what was answered before another was asked for stands before it.
    let mut latest = Duration::ZERO;
    for number in &seen {
        let (asked, answered) = told[number];
        assert!(
            answered >= latest,
            "{number} was committed before one that stands in front of it"
        );
        latest = latest.max(asked);
    }
    println!(
        "{engine:?}: {polls} polls in {time:?} saw all {} acceptances of 8 writers on 2 servers once",
        seen.len()
    );
    let (mut again, mut after) = (Vec::new(), String::new());
    while again.len() < seen.len() {
        let query = format!("/v1/accounting/quotes?limit=500{after}");
        let page = try_ask(first.address, "GET", &query, &[DEMO_OWNER], b"")
            .unwrap()
            .expect(200);
        let data = page["data"].as_array().unwrap();
        again.extend(
            data.iter()
                .map(|entry| entry["number"].as_str().unwrap().to_owned()),
        );
        after = format!("&after={}", page["next"].as_str().unwrap());
    }
    assert_eq!(again, seen, "in the order in which it is told for ever");
    drop(second);
    drop(first);
    if engine == Engine::Postgresql {
        verify(&location);
    }
}

#[test]
#[ignore = "measures for minutes"]
fn feed_pages_sqlite() {
    pages(Engine::Sqlite);
}

#[test]
#[ignore = "measures for minutes"]
fn feed_pages_postgresql() {
    pages(Engine::Postgresql);
}

#[test]
#[ignore = "writes for two minutes"]
fn reader_beside_writers_postgresql() {
    reader_beside_writers(Engine::Postgresql);
}
