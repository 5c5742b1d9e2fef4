//! The program as a process: it makes its own data file, and an answered write survives being killed.

use std::io::{BufRead, BufReader};
use std::net::SocketAddr;
use std::process::{Child, Command, Stdio};

use serde_json::json;
use tallyrule::store::Location;

use crate::harness::{Answer, DEMO_OWNER, Engine, ask, empty_location, project};

/// A program that serves.
pub struct Process {
    child: Child,
    pub address: SocketAddr,
}

impl Process {
    /// Starts the program on a free port and waits until it says where it listens.
    pub fn start(location: &Location) -> Self {
        Self::start_by(Command::new(env!("CARGO_BIN_EXE_tallyrule")), location)
    }

    /// The same by a command that takes the program's arguments.
    pub fn start_by(mut command: Command, location: &Location) -> Self {
        command
            .args(["serve", "--demo", "--listen", "127.0.0.1:0", "--workers", "1"])
            .current_dir(project());
        match location {
            Location::File(path) => command
                .env("TALLYRULE_DATA", path)
                .env_remove("TALLYRULE_DATABASE_URL"),
            Location::Server(url) => command.env("TALLYRULE_DATABASE_URL", url),
        };
        let mut child = command.stderr(Stdio::piped()).spawn().unwrap();
        let lines = BufReader::new(child.stderr.take().unwrap()).lines();
        let mut lines = lines.map(Result::unwrap);
        let said = lines
            .find_map(|line| Some(line.split_once("listening on http://")?.1.to_owned()))
            .unwrap();
        // The rest of the log is read away, so that the pipe never fills.
        std::thread::spawn(move || lines.for_each(drop));
        let address = said.split(',').next().unwrap().parse().unwrap();
        Self { child, address }
    }

    /// The number of the process.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    pub fn get(&self, path: &str) -> Answer {
        ask(self.address, "GET", path, &[DEMO_OWNER], b"")
    }
}

/// It ends as by a power cut: nothing is written any more.
impl Drop for Process {
    fn drop(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

fn an_answered_write_survives_a_kill(engine: Engine) {
    let Some(location) = empty_location(engine) else {
        return;
    };
    let process = Process::start(&location);
    let item = process.get("/v1/items?limit=1").expect(200)["data"][0].clone();
    let path = format!("/v1/items/{}", item["code"].as_str().unwrap());
    let price = json!({"pack": item["packs"][0]["size"], "valid_from": "2031-03-04", "amount": "5", "source": "offer"});
    let json = [("content-type", "application/json"), DEMO_OWNER];
    let added = ask(
        process.address,
        "POST",
        &format!("{path}/prices"),
        &json,
        price.to_string().as_bytes(),
    )
    .expect(201);
    drop(process);
    let again = Process::start(&location);
    assert_eq!(again.get(&path).expect(200), added);
}

#[test]
fn an_answered_write_survives_a_kill_sqlite() {
    an_answered_write_survives_a_kill(Engine::Sqlite);
}

#[test]
fn an_answered_write_survives_a_kill_postgresql() {
    an_answered_write_survives_a_kill(Engine::Postgresql);
}
