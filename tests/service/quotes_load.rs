//! Many clients, a program that is killed in the middle of its writes, and long lists. These take minutes and print
//! figures, so they run only when they are asked for; DEVELOPERS.md has the command.
//!
//! `TALLYRULE_PROGRAM` is the program to be tried, such as a release build; `TALLYRULE_QUOTES` how many quotes are
//! issued, `TALLYRULE_KILLS` how often the program is killed.

use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::net::SocketAddr;
use std::process::{Child, Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tallyrule::store::Location;

use crate::harness::{Answer, DEMO_OWNER, Engine, empty_location, project, try_ask};
use crate::quotes_desk::{by_hand, draft};

fn program() -> String {
    std::env::var("TALLYRULE_PROGRAM").unwrap_or_else(|_| env!("CARGO_BIN_EXE_tallyrule").to_owned())
}

pub fn setting(name: &str, usual: usize) -> usize {
    std::env::var(name).map_or(usual, |text| text.parse().unwrap())
}

/// The program as a process; it is killed when this goes.
pub struct Process {
    child: Child,
    pub address: SocketAddr,
}

fn on(command: &mut Command, location: &Location) {
    command.current_dir(project());
    match location {
        Location::File(path) => command
            .env("TALLYRULE_DATA", path)
            .env_remove("TALLYRULE_DATABASE_URL"),
        Location::Server(url) => command.env("TALLYRULE_DATABASE_URL", url),
    };
}

impl Process {
    pub fn start(location: &Location) -> Self {
        let mut command = Command::new(program());
        command.args([
            "serve",
            "--demo",
            "--listen",
            "127.0.0.1:0",
            "--requests-a-minute",
            "0",
        ]);
        on(&mut command, location);
        let mut child = command.stderr(Stdio::piped()).spawn().unwrap();
        let mut lines = BufReader::new(child.stderr.take().unwrap())
            .lines()
            .map(Result::unwrap);
        let said = lines.find_map(|line| Some(line.split_once("listening on http://")?.1.to_owned()));
        let address = said.unwrap().split(',').next().unwrap().parse().unwrap();
        // The rest of the log is read away, so that the pipe never fills.
        thread::spawn(move || lines.for_each(drop));
        Self { child, address }
    }
}

impl Drop for Process {
    fn drop(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

/// Everything that was issued, computed again by the program itself.
pub fn verify(location: &Location) {
    let mut command = Command::new(program());
    command.arg("verify");
    on(&mut command, location);
    let output = command.output().unwrap();
    let said =
        String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    println!("{}", said.trim_end());
}

pub fn post(address: SocketAddr, path: &str, key: &str, body: &Value) -> Option<Answer> {
    let mut headers = vec![("content-type", "application/json"), DEMO_OWNER];
    if !key.is_empty() {
        headers.push(("idempotency-key", key));
    }
    try_ask(address, "POST", path, &headers, body.to_string().as_bytes()).ok()
}

pub fn made(answer: Option<Answer>) -> Value {
    answer.unwrap().expect(201)
}

/// The body that makes a quote of a new customer.
pub fn body(address: SocketAddr) -> Value {
    let place = json!({"lines": ["14 Alderwick Lane"]});
    let customer = made(post(
        address,
        "/v1/customers",
        "",
        &json!({"name": "Odalie Brackwater", "address": place}),
    ));
    let site = json!({"customer": customer["id"], "name": "Closet cellar", "address": place});
    let site = made(post(address, "/v1/sites", "", &site));
    json!({"customer": customer["id"], "site": site["id"], "draft": draft()})
}

pub fn percentile(times: &mut [Duration], percent: usize) -> Duration {
    times.sort_unstable();
    times[(times.len() - 1) * percent / 100]
}

/// `clients` issue `quotes` in all, through every one of `servers`. The time of each issue.
fn issue_many(servers: &[Process], clients: usize, quotes: usize) -> Vec<Duration> {
    let (left, times) = (AtomicUsize::new(quotes), Mutex::new(Vec::new()));
    thread::scope(|scope| {
        for client in 0..clients {
            let address = servers[client % servers.len()].address;
            let (left, times) = (&left, &times);
            scope.spawn(move || {
                let body = body(address);
                let one_less = |left: usize| left.checked_sub(1);
                while left
                    .fetch_update(Ordering::SeqCst, Ordering::SeqCst, one_less)
                    .is_ok()
                {
                    let quote = made(post(address, "/v1/quotes", "", &body));
                    let path = format!("/v1/quotes/{}/issue", quote["id"].as_str().unwrap());
                    let begun = Instant::now();
                    let issued = post(address, &path, "", &json!({"revision": 1}))
                        .unwrap()
                        .expect(200);
                    times.lock().unwrap().push(begun.elapsed());
                    assert_eq!(issued["state"], "issued");
                }
            });
        }
    });
    times.into_inner().unwrap()
}

/// The counters of all quotes, and their keys.
fn listed(address: SocketAddr) -> BTreeSet<usize> {
    let (mut found, mut place) = (BTreeSet::new(), "/v1/quotes?limit=500".to_owned());
    loop {
        let page = try_ask(address, "GET", &place, &[DEMO_OWNER], b"")
            .unwrap()
            .expect(200);
        for row in page["data"].as_array().unwrap() {
            assert!(
                found.insert(row["number"].as_str().unwrap()[5..].parse().unwrap()),
                "a number twice"
            );
        }
        match page["next"].as_str() {
            Some(next) => place = format!("/v1/quotes?limit=500&after={next}"),
            None => return found,
        }
    }
}

fn many_clients(engine: Engine) {
    let Some(location) = empty_location(engine) else {
        return;
    };
    let first = Process::start(&location);
    // A data file belongs to one program; two replicas share a server.
    let servers = match engine {
        Engine::Sqlite => vec![first],
        Engine::Postgresql => vec![first, Process::start(&location)],
    };
    let quotes = setting("TALLYRULE_QUOTES", 5000);
    let begun = Instant::now();
    let mut times = issue_many(&servers, 16, quotes);
    let took = begun.elapsed();
    assert_eq!(listed(servers[0].address), (1..=quotes).collect());
    println!(
        "{engine:?}: {quotes} quotes made and issued by 16 clients in {took:?}; issue p50 {:?}, p99 {:?}",
        percentile(&mut times, 50),
        percentile(&mut times, 99)
    );
    if engine == Engine::Sqlite {
        let mut times = issue_many(&servers, 8, quotes / 5);
        let (half, most) = (percentile(&mut times, 50), percentile(&mut times, 99));
        println!("{engine:?}: issue by 8 clients p50 {half:?}, p99 {most:?}");
    }
    drop(servers);
    verify(&location);
}

/// What was answered before the kill is there after it.
fn killed(engine: Engine) {
    let Some(location) = empty_location(engine) else {
        return;
    };
    let (kills, mut answered) = (setting("TALLYRULE_KILLS", 100), 0);
    for round in 0..kills {
        let process = Process::start(&location);
        let address = process.address;
        let (ended, told) = (AtomicBool::new(false), Mutex::new(Vec::new()));
        let bodies: Vec<Value> = (0..4).map(|_| body(address)).collect();
        thread::scope(|scope| {
            for client in 0..4 {
                let (ended, told, bodies) = (&ended, &told, &bodies);
                scope.spawn(move || {
                    let body = &bodies[client];
                    for turn in 0.. {
                        let key = format!("{round}-{client}-{turn}");
                        let Some(made) = post(address, "/v1/quotes", &key, body) else {
                            break;
                        };
                        let path = format!("/v1/quotes/{}", made.expect(201)["id"].as_str().unwrap());
                        told.lock().unwrap().push((path.clone(), None));
                        let Some(issued) =
                            post(address, &format!("{path}/issue"), "", &json!({"revision": 1}))
                        else {
                            break;
                        };
                        told.lock()
                            .unwrap()
                            .push((path, Some(issued.expect(200)["digest"].clone())));
                        if ended.load(Ordering::SeqCst) {
                            break;
                        }
                    }
                });
            }
            // Everybody is at work, however slow the machine, and at another point of it every time.
            while told.lock().unwrap().len() < 4 {
                thread::sleep(Duration::from_millis(5));
            }
            thread::sleep(Duration::from_millis(50 + (round as u64 * 37) % 200));
            ended.store(true, Ordering::SeqCst);
            drop(process);
        });
        let again = Process::start(&location);
        for (path, digest) in told.into_inner().unwrap() {
            answered += 1;
            let place = format!("{path}/revisions/1");
            let found = try_ask(again.address, "GET", &place, &[DEMO_OWNER], b"")
                .unwrap()
                .expect(200);
            if let Some(digest) = digest {
                assert_eq!((&found["state"], &found["digest"]), (&json!("issued"), &digest));
            }
        }
        let counters = listed(again.address);
        assert_eq!(counters, (1..=counters.len()).collect());
    }
    println!("{engine:?}: killed {kills} times; all {answered} answered writes are there");
    verify(&location);
}

fn median_page(address: SocketAddr, path: &str, rows: usize) -> Duration {
    let mut times: Vec<Duration> = (0..60)
        .map(|_| {
            let begun = Instant::now();
            let page = try_ask(address, "GET", path, &[DEMO_OWNER], b"")
                .unwrap()
                .expect(200);
            assert_eq!(page["data"].as_array().unwrap().len(), rows);
            begun.elapsed()
        })
        .collect();
    percentile(&mut times, 50)
}

/// A list page costs as much among many quotes as among few.
fn long_lists(engine: Engine) {
    let Some(location) = empty_location(engine) else {
        return;
    };
    let process = Process::start(&location);
    let body = body(process.address);
    made(post(process.address, "/v1/quotes", "", &body));
    let mut taken = 1;
    // The rare word stands in the oldest quotes.
    let pages = [
        ("/v1/quotes", 50),
        ("/v1/quotes?state=draft", 50),
        ("/v1/quotes?text=cellar", 50),
        ("/v1/quotes?text=quillfeather", 4),
        ("/v1/quotes?text=quillfeather&state=draft", 4),
        ("/v1/quotes?text=no+such+word", 0),
    ];
    for many in [2_000, 200_000] {
        by_hand(
            &location,
            &format!(
                "WITH RECURSIVE n(i) AS (SELECT {taken} + 1 UNION ALL SELECT i + 1 FROM n WHERE i < {many}) \
                INSERT INTO quotes SELECT id || '-' || i, 'X-' || i, year, i, customer_id, site_id, title, search, state, \
                ends_at, archived, version, created_on, created_at, created_by FROM quotes, n WHERE counter = 1"
            ),
        )
        .unwrap();
        let rare = "UPDATE quotes SET search = search || 'quillfeather' WHERE counter IN (3, 40, 500, 1900) AND search NOT LIKE '%quill%'";
        by_hand(&location, rare).unwrap();
        if engine == Engine::Postgresql {
            by_hand(&location, "ANALYZE quotes").unwrap();
        }
        taken = many;
        for (page, rows) in pages {
            println!(
                "{engine:?}: {page} of {many}: median {:?}",
                median_page(process.address, page, rows)
            );
        }
    }
}

#[test]
#[ignore = "measures for minutes"]
fn many_clients_sqlite() {
    many_clients(Engine::Sqlite);
}

#[test]
#[ignore = "measures for minutes"]
fn many_clients_postgresql() {
    many_clients(Engine::Postgresql);
}

#[test]
#[ignore = "kills the program a hundred times"]
fn killed_sqlite() {
    killed(Engine::Sqlite);
}

#[test]
#[ignore = "kills the program a hundred times"]
fn killed_postgresql() {
    killed(Engine::Postgresql);
}

#[test]
#[ignore = "measures for minutes"]
fn long_lists_sqlite() {
    long_lists(Engine::Sqlite);
}

#[test]
#[ignore = "measures for minutes"]
fn long_lists_postgresql() {
    long_lists(Engine::Postgresql);
}
