//! An office that serves in this process on a free port, over a database of its own with the demonstration data.

mod answer;
mod postgresql;
mod tables;

use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::{Arc, OnceLock, mpsc};
use std::time::Duration;
use std::{fs, thread};

use actix_web::dev::ServerHandle;
use tallyrule::api::{self, Door};
use tallyrule::config::Limits;
use tallyrule::desk::access::{NewAccessKey, Role};
use tallyrule::desk::{Desk, Entrances, Press, SeedFolder};
use tallyrule::store::{Location, Store};

pub use answer::{Answer, ask, contract, try_ask};
pub use tables::{columns, row_counts};

/// Makes two tests of one function: on SQLite and on PostgreSQL.
macro_rules! on_both_engines {
    ($($(#[$attribute:meta])* fn $name:ident($office:ident) $body:block)*) => { $(
        fn $name($office: &$crate::harness::Office) $body

        $(#[$attribute])*
        mod $name {
            #[test]
            fn sqlite() {
                super::$name(&$crate::harness::Office::open($crate::harness::Engine::Sqlite).unwrap());
            }

            #[test]
            fn postgresql() {
                if let Some(office) = $crate::harness::Office::open($crate::harness::Engine::Postgresql) {
                    super::$name(&office);
                }
            }
        }
    )* };
}

/// Which engine an office keeps its data in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    Sqlite,
    Postgresql,
}

/// Largest body that a test's office reads.
pub const BODY_LIMIT: usize = 250_000;
/// Largest price list that a test's office reads.
pub const PRICE_LIST_LIMIT: usize = 10_000_000;

/// What lets the owner of the demonstration in.
pub const DEMO_OWNER: (&str, &str) = ("authorization", "Bearer trk_demo_owner");

/// Who acts, where a test says nothing else.
pub const PERSON: &str = "Ines Calloway";

/// An office that serves. It has an application's key of the role owner, by which a test acts as whomever it names.
pub struct Office {
    key: String,
    address: SocketAddr,
    server: ServerHandle,
    home: Arc<Home>,
}

/// Where the data of an office is. What was made for it goes with the last server that is over it: the tests of one
/// run would fill a disk otherwise.
struct Home {
    location: Location,
    goes: AtomicBool,
}

static NEXT: AtomicU32 = AtomicU32::new(0);

/// The name of a folder of this run. Those of runs that have ended without removing theirs go first.
fn folder_of_run(stem: &str) -> PathBuf {
    let all = std::env::temp_dir();
    for entry in fs::read_dir(&all).unwrap().flatten() {
        let name = entry.file_name();
        let run = name
            .to_str()
            .and_then(|name| name.strip_prefix(stem)?.strip_prefix('-'));
        let ended = |run| Path::new("/proc/self").exists() && !Path::new("/proc").join(run).exists();
        if run.is_some_and(ended) {
            let _ = fs::remove_dir_all(entry.path());
        }
    }
    all.join(format!("{stem}-{}", std::process::id()))
}

/// A folder of this test run.
pub fn scratch() -> &'static Path {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    FOLDER.get_or_init(|| {
        let folder = folder_of_run("tallyrule-tests");
        fs::create_dir_all(&folder).unwrap();
        folder
    })
}

/// The project's own folder.
pub fn project() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A name that no other test of this run has.
pub fn fresh_name(stem: &str) -> String {
    format!("{stem}_{}", NEXT.fetch_add(1, Ordering::Relaxed))
}

/// The demonstration data as it was read.
pub fn seed() -> SeedFolder {
    SeedFolder::read(&project().join("seed-data")).unwrap()
}

/// The press that the program has where it was built with documents.
fn press() -> Option<Press> {
    #[cfg(feature = "documents")]
    return Some(Press {
        print: |paper| papers::print(paper).map_err(|fault| fault.to_string()),
        unprintable: papers::unprintable,
    });
    #[cfg(not(feature = "documents"))]
    return None;
}

fn load(location: &Location) {
    let desk = Desk::new(Store::open(location.clone(), 1, true).unwrap());
    desk.load_seed(seed()).unwrap();
}

/// A data file with the demonstration data, copied from one that is loaded once.
fn sqlite_location() -> Location {
    static TEMPLATE: OnceLock<PathBuf> = OnceLock::new();
    let template = TEMPLATE.get_or_init(|| {
        let path = scratch().join("template.sqlite");
        load(&Location::File(path.clone()));
        path
    });
    let path = scratch().join(fresh_name("office")).with_extension("sqlite");
    fs::copy(template, &path).unwrap();
    Location::File(path)
}

impl Office {
    /// An office with the demonstration data; `None` where there is no such engine on this machine.
    pub fn open(engine: Engine) -> Option<Self> {
        let location = match engine {
            Engine::Sqlite => sqlite_location(),
            Engine::Postgresql => Location::Server(postgresql::server()?.loaded_database(load)),
        };
        Some(Self::made(location))
    }

    /// An office over an empty database.
    pub fn empty(engine: Engine) -> Option<Self> {
        Some(Self::made(empty_location(engine)?))
    }

    fn made(location: Location) -> Self {
        Self::at(location, true)
    }

    /// A server over a database that is somebody else's and stays.
    pub fn over(location: Location) -> Self {
        Self::at(location, false)
    }

    fn at(location: Location, goes: bool) -> Self {
        let goes = AtomicBool::new(goes);
        let home = Arc::new(Home { location, goes });
        Self::begun(home, Entrances::default(), usual_limits())
    }

    /// Ends it; its data stays until the run ends.
    pub fn close(self) -> Location {
        self.home.goes.store(false, Ordering::Relaxed);
        self.home.location.clone()
    }

    /// One more server over the same database.
    pub fn another(&self) -> Self {
        self.another_with(Entrances::default())
    }

    /// The same, with further ways in.
    pub fn another_with(&self, entrances: Entrances) -> Self {
        Self::begun(Arc::clone(&self.home), entrances, usual_limits())
    }

    /// The same, with other limits.
    pub fn another_limited(&self, change: impl FnOnce(&mut Limits)) -> Self {
        let mut limits = usual_limits();
        change(&mut limits);
        Self::begun(Arc::clone(&self.home), Entrances::default(), limits)
    }

    fn begun(home: Arc<Home>, entrances: Entrances, limits: Limits) -> Self {
        let (send, receive) = mpsc::channel();
        let store = Store::open(home.location.clone(), 4, true).unwrap();
        let desk = Desk::open(store, entrances);
        let key = key_of(&desk, "Test bench", Role::Owner, true);
        thread::spawn(move || {
            let desk = Arc::new(desk.printing_with(press()));
            actix_web::rt::System::new().block_on(async move {
                let door = Door {
                    listen: ([127, 0, 0, 1], 0).into(),
                    tls: None,
                };
                let (server, address) = api::server(desk, door, &limits).unwrap();
                send.send((server.handle(), address)).unwrap();
                server.await.unwrap();
            });
        });
        let (server, address) = receive.recv().unwrap();
        Self {
            key,
            address,
            server,
            home,
        }
    }

    /// Where the data is.
    pub fn location(&self) -> &Location {
        &self.home.location
    }

    /// The address that it listens on.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// GET.
    pub fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &[], &[])
    }

    /// POST of JSON.
    pub fn post(&self, path: &str, body: &serde_json::Value) -> Answer {
        self.ask(
            "POST",
            path,
            &[("content-type", "application/json")],
            body.to_string().as_bytes(),
        )
    }

    /// Any request, by the office's own key and the usual person where the headers say nothing else.
    pub fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
        let bearer = format!("Bearer {}", self.key);
        let mut all = headers.to_vec();
        for (name, usual) in [("authorization", bearer.as_str()), ("acting-person", PERSON)] {
            if headers.iter().all(|(given, _)| *given != name) {
                all.push((name, usual));
            }
        }
        answer::ask(self.address, method, path, &all, body)
    }

    /// Any request by this key, or by none, and nothing but what is said.
    pub fn ask_by(
        &self,
        key: Option<&str>,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: &[u8],
    ) -> Answer {
        let bearer = key.map(|key| format!("Bearer {key}"));
        let mut all = headers.to_vec();
        all.extend(bearer.as_deref().map(|bearer| ("authorization", bearer)));
        answer::ask(self.address, method, path, &all, body)
    }

    /// The office's own key.
    pub fn key(&self) -> &str {
        &self.key
    }
}

/// Nobody asks too often, whoever is slow is told soon.
fn usual_limits() -> Limits {
    Limits {
        body: BODY_LIMIT,
        price_list: PRICE_LIST_LIMIT,
        requests_a_minute: 0,
        request_time: Duration::from_secs(60),
        body_time: Duration::from_secs(3),
        head_time: Duration::from_secs(3),
        idle_time: Duration::from_secs(75),
        workers: 1,
        cors_origins: Vec::new(),
    }
}

/// A new key for somebody.
pub fn key_of(desk: &Desk, person: &str, role: Role, shared: bool) -> String {
    let new = NewAccessKey {
        person: person.to_owned(),
        role,
        shared,
        valid_days: 1,
    };
    desk.create_access_key(&new).unwrap().1.text().to_owned()
}

/// An empty database; `None` where there is no such engine on this machine.
pub fn empty_location(engine: Engine) -> Option<Location> {
    Some(match engine {
        Engine::Sqlite => Location::File(scratch().join(fresh_name("empty")).with_extension("sqlite")),
        Engine::Postgresql => Location::Server(postgresql::server()?.empty_database()),
    })
}

impl Drop for Office {
    fn drop(&mut self) {
        drop(self.server.stop(false));
    }
}

impl Drop for Home {
    fn drop(&mut self) {
        match &self.location {
            _ if !self.goes.load(Ordering::Relaxed) => {}
            Location::Server(url) => postgresql::remove_database(url),
            Location::File(file) => {
                for end in ["", "-wal", "-shm"] {
                    let mut name = file.clone().into_os_string();
                    name.push(end);
                    let _ = fs::remove_file(name);
                }
            }
        }
    }
}
