//! An office that serves in this process on a free port, over a database of its own with the demonstration data.

mod answer;
mod postgresql;
mod tables;

use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, OnceLock, mpsc};
use std::{fs, thread};

use actix_web::dev::ServerHandle;
use tallyrule::api;
use tallyrule::config::Limits;
use tallyrule::desk::{Desk, Print, SeedFolder};
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
pub const BODY_LIMIT: usize = 200_000;
/// Largest price list that a test's office reads.
pub const PRICE_LIST_LIMIT: usize = 10_000_000;

/// An office that serves.
pub struct Office {
    address: SocketAddr,
    server: ServerHandle,
    location: Location,
}

static NEXT: AtomicU32 = AtomicU32::new(0);

/// A folder of this test run.
pub fn scratch() -> &'static Path {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    FOLDER.get_or_init(|| {
        let folder = std::env::temp_dir().join(format!("tallyrule-tests-{}", std::process::id()));
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
fn press() -> Option<Print> {
    #[cfg(feature = "documents")]
    return Some(|paper| papers::print(paper).map_err(|fault| fault.to_string()));
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
        Some(Self::over(location))
    }

    /// An office over an empty database.
    pub fn empty(engine: Engine) -> Option<Self> {
        Some(Self::over(empty_location(engine)?))
    }

    /// One more server over a database that is there.
    pub fn over(location: Location) -> Self {
        let (send, receive) = mpsc::channel();
        let place = location.clone();
        thread::spawn(move || {
            let store = Store::open(place, 4, true).unwrap();
            let desk = Arc::new(Desk::new(store).printing_with(press()));
            let limits = Limits {
                body: BODY_LIMIT,
                price_list: PRICE_LIST_LIMIT,
                workers: 1,
            };
            actix_web::rt::System::new().block_on(async move {
                let (server, address) = api::server(desk, ([127, 0, 0, 1], 0).into(), &limits).unwrap();
                send.send((server.handle(), address)).unwrap();
                server.await.unwrap();
            });
        });
        let (server, address) = receive.recv().unwrap();
        Self {
            address,
            server,
            location,
        }
    }

    /// Where the data is.
    pub fn location(&self) -> &Location {
        &self.location
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

    /// Any request.
    pub fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
        answer::ask(self.address, method, path, headers, body)
    }
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
