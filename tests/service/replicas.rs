//! Replicas on one PostgreSQL that start at the same moment, before anything is in it.

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::thread;

use tallyrule::store::Location;

use crate::harness::{Engine, empty_location};
use crate::process::Process;

const REPLICAS: usize = 3;

/// A server without the demonstration, and what it said until it listened.
fn begun(url: &str) -> (Child, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_tallyrule"))
        .args(["serve", "--listen", "127.0.0.1:0", "--workers", "1"])
        .env("TALLYRULE_DATABASE_URL", url)
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = String::new();
    for line in BufReader::new(child.stderr.take().unwrap()).lines() {
        said.push_str(&line.unwrap());
        said.push('\n');
        if said.contains("listening on") {
            break;
        }
    }
    (child, said)
}

fn at_once<T: Send>(start: impl Fn() -> T + Sync) -> Vec<T> {
    thread::scope(|scope| {
        let all: Vec<_> = (0..REPLICAS).map(|_| scope.spawn(&start)).collect();
        all.into_iter().map(|one| one.join().unwrap()).collect()
    })
}

#[test]
fn replicas_that_start_at_once_on_an_empty_database_all_come_up_and_one_hands_out_the_key() {
    let Some(Location::Server(url)) = empty_location(Engine::Postgresql) else {
        return;
    };
    let mut keys = 0;
    for (mut child, said) in at_once(|| begun(&url)) {
        assert!(said.contains("listening on"), "{said}");
        keys += usize::from(said.contains("This is the owner's"));
        child.kill().unwrap();
        child.wait().unwrap();
    }
    assert_eq!(keys, 1);
}

#[test]
fn replicas_that_load_the_demonstration_at_once_load_it_once() {
    let Some(location) = empty_location(Engine::Postgresql) else {
        return;
    };
    let all = at_once(|| Process::start(&location));
    let told: Vec<_> = all
        .iter()
        .map(|one| {
            one.get("/readyz").expect(200);
            one.get("/v1/audit-entries").expect(200)["data"]
                .as_array()
                .unwrap()
                .len()
        })
        .collect();
    assert_eq!(told, [1; REPLICAS]);
}
