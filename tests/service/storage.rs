//! Disks that are full, files that cannot be written, files that are damaged: told in words, and nothing is lost.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::json;
use tallyrule::store::Location;

use crate::command_line::{folder, out, run_in, told};
use crate::database::by_hand;
use crate::harness::{Answer, DEMO_OWNER, Engine, Office, ask, project};
use crate::process::Process;
use crate::quotes_desk::{draft, issued};

const PROGRAM: &str = env!("CARGO_BIN_EXE_tallyrule");

/// A place with an end to it.
enum Place {
    /// A disk of its own, where this user may mount one.
    Disk(PathBuf),
    /// Files that may not grow past a limit.
    Limit(PathBuf),
}

/// A customer with a long address.
fn customer(name: &str) -> serde_json::Value {
    let lines = vec!["The long drive behind the orchard, past the second gate"; 6];
    json!({"name": name, "address": {"lines": lines}})
}

fn done(command: &str, arguments: &[&str]) -> bool {
    Command::new(command)
        .args(arguments)
        .output()
        .unwrap()
        .status
        .success()
}

impl Place {
    fn disk(megabytes: u32) -> Option<Self> {
        let folder = folder();
        let size = format!("size={megabytes}m");
        let mounted = done("mount", &["-t", "tmpfs", "-o", &size, "tmpfs", folder.to_str()?]);
        if !mounted {
            eprintln!("SKIPPED: this user may not mount a disk");
        }
        mounted.then_some(Self::Disk(folder))
    }

    fn folder(&self) -> &Path {
        match self {
            Self::Disk(folder) | Self::Limit(folder) => folder,
        }
    }

    fn program(&self, kilobytes: u32) -> Command {
        match self {
            Self::Disk(_) => Command::new(PROGRAM),
            Self::Limit(_) => {
                let mut command = Command::new("sh");
                // A program that writes past the limit is told so instead of being ended.
                let script = format!(
                    "trap '' XFSZ; ulimit -S -f {}; exec {PROGRAM} \"$@\"",
                    kilobytes * 2
                );
                command.args(["-c", &script, "sh"]);
                command
            }
        }
    }

    fn grow(&self, process: &Process) {
        let grown = match self {
            Self::Disk(folder) => done("mount", &["-o", "remount,size=64m", folder.to_str().unwrap()]),
            Self::Limit(_) => done(
                "prlimit",
                &["--pid", &process.id().to_string(), "--fsize=unlimited"],
            ),
        };
        assert!(grown);
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        if let Self::Disk(folder) = self {
            done("umount", &["-l", folder.to_str().unwrap()]);
        }
    }
}

/// Writes until it is full, frees room, writes again, ends as by a power cut. What was answered is there.
fn full(place: &Place, kilobytes: u32) {
    let file = place.folder().join("office.sqlite");
    let location = Location::File(file.clone());
    let process = Process::start_by(place.program(kilobytes), &location);
    let json = [("content-type", "application/json"), DEMO_OWNER];
    let send = |name: &str| {
        let body = self::customer(name);
        ask(
            process.address,
            "POST",
            "/v1/customers",
            &json,
            body.to_string().as_bytes(),
        )
    };
    let mut answered = Vec::new();
    let fault = loop {
        let answer = send(&format!("Customer {}", answered.len()));
        if answer.status != 201 {
            break answer;
        }
        answered.push(answer.json());
        assert!(answered.len() < 6_000, "it is never full");
    };
    let told = fault.problem(507, "storage");
    let detail = told["detail"].as_str().unwrap();
    assert!(
        detail.contains("disk") && detail.ends_with("nothing of this was stored"),
        "{detail}"
    );
    assert!(answered.len() > 10, "{}", answered.len());
    if let Place::Disk(_) = place {
        // Room that was found is believed for two seconds.
        std::thread::sleep(std::time::Duration::from_millis(2_100));
        let ready = process.get("/readyz").problem(503, "not-ready");
        assert!(ready["detail"].as_str().unwrap().contains("full"), "{ready}");
    }
    // It goes on reading, and refuses again.
    let path = |customer: &serde_json::Value| format!("/v1/customers/{}", customer["id"].as_str().unwrap());
    assert_eq!(
        &process.get(&path(answered.last().unwrap())).expect(200),
        answered.last().unwrap()
    );
    // A log that was carried into the file begins anew, so there may be room again.
    let again = send("Once more");
    let refused = again.status != 201;
    if refused {
        again.problem(507, "storage");
    } else {
        answered.push(again.json());
    }
    let backup = place
        .program(64)
        .args(["backup", "full.backup", "--data"])
        .arg(&file)
        .current_dir(place.folder())
        .output()
        .unwrap();
    assert_eq!(backup.status.code(), Some(1));
    assert!(
        crate::command_line::told(&backup).contains("full.backup: "),
        "{}",
        crate::command_line::told(&backup)
    );
    let left: Vec<_> = fs::read_dir(place.folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    assert!(
        left.iter().all(|name| !name.to_str().unwrap().contains("backup")),
        "{left:?}"
    );
    place.grow(&process);
    process.get("/readyz").expect(200);
    answered.push(send("When there was room").expect(201));
    drop(process);
    let verified = run_in(place.folder(), &["verify", "--data", "office.sqlite"]);
    assert!(
        out(&verified).contains("every byte is as it was"),
        "{}",
        crate::command_line::told(&verified)
    );
    let process = Process::start_by(Command::new(PROGRAM), &location);
    for customer in &answered {
        assert_eq!(&process.get(&path(customer)).expect(200), customer);
    }
    let listed = process.get("/v1/customers?limit=500").expect(200);
    assert_eq!(refused, !listed.to_string().contains("Once more"));
}

#[test]
fn a_full_disk_is_told_and_nothing_is_lost() {
    if let Some(place) = Place::disk(8) {
        full(&place, 8_192);
    }
}

/// Without room for the index of its log, SQLite says only that it cannot write.
#[test]
fn a_disk_that_was_full_before_is_told_as_full() {
    let Some(place) = Place::disk(4) else { return };
    let folder = place.folder();
    let job = project().join("seed-data/jobs/alderwick-closet.json");
    let seed = project().join("seed-data");
    let load = ["seed", seed.to_str().unwrap(), "--data", "office.sqlite"];
    let loaded = run_in(folder, &load);
    assert!(loaded.status.success(), "{}", told(&loaded));
    let mode = |name: &str| fs::metadata(folder.join(name)).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode("office.sqlite"), 0o600, "only its owner reads it");
    let mut ballast = fs::File::create(folder.join("ballast")).unwrap();
    while std::io::Write::write_all(&mut ballast, &[7; 4_096]).is_ok() {}
    for arguments in [
        ["price", job.to_str().unwrap(), "--data", "office.sqlite"].as_slice(),
        ["serve", "--listen", "127.0.0.1:0", "--data", "office.sqlite"].as_slice(),
    ] {
        let said = run_in(folder, arguments);
        assert!(!said.status.success(), "{}", out(&said));
        assert!(
            told(&said).contains("the disk of the data is full"),
            "{}",
            told(&said)
        );
    }
}

#[test]
fn a_file_at_its_limit_is_told_and_nothing_is_lost() {
    full(&Place::Limit(folder()), 5_120);
}

/// The program that lies in the folder, as a user who may read and not write there.
fn as_reader(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = if done("sh", &["-c", "test $(id -u) = 0"]) {
        let mut command = Command::new("setpriv");
        command.args(["--reuid=65534", "--regid=65534", "--clear-groups", "./tallyrule"]);
        command
    } else {
        Command::new(folder.join("tallyrule"))
    };
    command.args(arguments).current_dir(folder).output().unwrap()
}

#[test]
fn a_file_that_cannot_be_written_is_told_by_every_command() {
    // That user may not see where the project lies.
    let (folder, seed) = (folder(), "seed-data");
    let from = project().join(seed);
    assert!(done(
        "cp",
        &["-r", from.to_str().unwrap(), folder.to_str().unwrap()]
    ));
    fs::copy(PROGRAM, folder.join("tallyrule")).unwrap();
    let seeded = run_in(&folder, &["seed", seed, "--data", "office.sqlite"]);
    assert!(seeded.status.success(), "{}", told(&seeded));
    let file = folder.join("office.sqlite");
    let before = fs::read(&file).unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o444)).unwrap();
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o555)).unwrap();
    let keys: &[&str] = &["access-key", "create", "--person", "Orla", "--role", "owner"];
    let serve: &[&str] = &["serve", "--listen", "127.0.0.1:0"];
    for command in [
        &["verify"],
        keys,
        serve,
        &["seed", seed],
        &["backup", "/tmp/none.backup"],
    ] {
        let output = as_reader(&folder, &[command, &["--data", "office.sqlite"]].concat());
        assert_eq!(output.status.code(), Some(1), "{command:?}: {}", told(&output));
        assert!(
            told(&output).contains("office.sqlite: "),
            "{command:?}: {}",
            told(&output)
        );
        assert!(
            told(&output).contains("read-only for this program"),
            "{command:?}: {}",
            told(&output)
        );
    }
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
    assert!(fs::read(&file).unwrap() == before, "the file is as it was");
}

/// What is answered where a text is none any more.
pub fn damaged_row() -> Answer {
    let office = Office::open(Engine::Sqlite).unwrap();
    let made = office.post("/v1/customers", &customer("Before")).expect(201);
    by_hand(
        office.location(),
        "UPDATE customers SET body = CAST(x'FF' AS TEXT)",
    )
    .unwrap();
    office.get(&format!("/v1/customers/{}", made["id"].as_str().unwrap()))
}

#[test]
fn a_server_that_only_reads_is_told_and_the_service_goes_on_when_it_writes_again() {
    let Some(office) = Office::open(Engine::Postgresql) else {
        return;
    };
    let restart = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
        WHERE datname = current_database() AND pid <> pg_backend_pid()";
    let database = "DO $$ BEGIN EXECUTE format('ALTER DATABASE %I SET default_transaction_read_only = ";
    let set = |value: &str| {
        let statement =
            format!("BEGIN READ WRITE; {database}{value}', current_database()); END $$; COMMIT; {restart}");
        by_hand(office.location(), &statement).unwrap();
    };
    office.post("/v1/customers", &customer("Before")).expect(201);
    set("on");
    let answer = office.post("/v1/customers", &customer("Meanwhile"));
    assert!(
        answer.problem(507, "storage")["detail"]
            .as_str()
            .unwrap()
            .contains("read-only")
    );
    office.get("/v1/customers").expect(200);
    let ready = office.get("/readyz").problem(503, "not-ready");
    assert!(ready["detail"].as_str().unwrap().contains("read-only"), "{ready}");
    set("off");
    office.get("/readyz").expect(200);
    office.post("/v1/customers", &customer("After")).expect(201);
}

/// Every page of a data file in turn gets a few bytes of noise at its beginning. No command takes it for whole.
#[test]
fn a_damaged_page_is_told_and_nothing_is_made_worse() {
    let office = Office::open(Engine::Sqlite).unwrap();
    issued(&office, &draft());
    let Location::File(file) = office.close() else {
        panic!()
    };
    by_hand(
        &Location::File(file.clone()),
        "PRAGMA wal_checkpoint(TRUNCATE); VACUUM",
    )
    .unwrap();
    let whole = fs::read(&file).unwrap();
    let page = usize::from(u16::from_be_bytes([whole[16], whole[17]]));
    let pages = whole.len() / page;
    assert!(pages > 100, "{pages}");
    let folder = folder();
    for number in (0..pages).step_by(pages / 24) {
        let mut damaged = whole.clone();
        damaged[number * page..number * page + 8].fill(0xA5);
        fs::write(folder.join("office.sqlite"), &damaged).unwrap();
        let verified = run_in(&folder, &["verify", "--data", "office.sqlite"]);
        assert_eq!(
            verified.status.code(),
            Some(1),
            "page {number}: {}",
            out(&verified)
        );
        assert!(
            told(&verified).contains("the data file is damaged"),
            "page {number}: {}",
            told(&verified)
        );
        let backed_up = run_in(&folder, &["backup", "office.backup", "--data", "office.sqlite"]);
        if !backed_up.status.success() {
            assert!(
                told(&backed_up).contains("the data file is damaged"),
                "page {number}: {}",
                told(&backed_up)
            );
            assert!(!folder.join("office.backup").exists());
        }
        let _ = fs::remove_file(folder.join("office.backup"));
        assert!(
            fs::read(folder.join("office.sqlite")).unwrap() == damaged,
            "page {number}: the file is as it was"
        );
    }
}
