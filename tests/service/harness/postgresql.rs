//! A throw-away PostgreSQL server, started once a run from the binaries that the machine has.

use std::io::{BufRead, BufReader};
use std::net::TcpListener;
use std::os::unix::fs::chown;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Mutex, OnceLock, PoisonError};
use std::time::{Duration, Instant};
use std::{env, fs, thread};

use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection};
use tallyrule::store::Location;

use super::fresh_name;

/// A running server. It stops, and its folder goes, when this process ends and its standard input closes.
pub struct Server {
    port: u16,
    template: Mutex<Option<String>>,
    _running: Child,
}

/// The server of this run; `None`, said loudly, where the machine has no binaries for it. In CI that is a failure.
pub fn server() -> Option<&'static Server> {
    static SERVER: OnceLock<Option<Server>> = OnceLock::new();
    let server = SERVER.get_or_init(|| {
        let Some(binaries) = binaries() else {
            assert!(
                env::var("CI").as_deref() != Ok("true"),
                "CI needs PostgreSQL's server binaries"
            );
            eprintln!(
                "SKIPPED: no PostgreSQL server binaries on this machine; nothing was tried on PostgreSQL"
            );
            return None;
        };
        Some(start(&binaries))
    });
    server.as_ref()
}

/// The folder with `initdb` and `postgres`: on the path, or where Debian keeps them.
fn binaries() -> Option<PathBuf> {
    let on_path = env::split_paths(&env::var_os("PATH")?).collect::<Vec<_>>();
    let debian = fs::read_dir("/usr/lib/postgresql")
        .into_iter()
        .flatten()
        .flatten();
    let mut folders: Vec<PathBuf> = debian.map(|entry| entry.path().join("bin")).collect();
    folders.sort();
    let mut all = on_path.into_iter().chain(folders.into_iter().rev());
    all.find(|folder| folder.join("initdb").exists() && folder.join("postgres").exists())
}

fn output(command: &str, arguments: &[&str]) -> Option<String> {
    let output = Command::new(command).args(arguments).output().ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    output.status.success().then(|| text.trim().to_owned())
}

/// The server refuses to run as root: then another user runs it.
fn other_user() -> Option<(String, u32, u32)> {
    if output("id", &["-u"]).unwrap() != "0" {
        return None;
    }
    let number = |flag: &str, name: &str| output("id", &[flag, name])?.parse::<u32>().ok();
    let found = ["postgres", "nobody"]
        .iter()
        .find_map(|name| Some(((*name).to_owned(), number("-u", name)?, number("-g", name)?)));
    Some(found.expect("a user other than root"))
}

/// Makes a cluster, serves it on a free loopback port, and stops and removes it when the pipe closes.
const SCRIPT: &str = r#"
set -e
"$BIN/initdb" -A trust -U postgres -E UTF8 --locale=C -N -D "$FOLDER/data" >"$FOLDER/initdb.log" 2>&1
"$BIN/postgres" -D "$FOLDER/data" -p "$PORT" -c listen_addresses=127.0.0.1 -c unix_socket_directories= \
    -c fsync=off -c full_page_writes=off -c synchronous_commit=off -c max_connections=200 >"$FOLDER/server.log" 2>&1 &
server=$!
echo started
read -r _ || true
kill -INT "$server"
wait "$server" || true
rm -rf "$FOLDER"
"#;

fn start(binaries: &Path) -> Server {
    let folder = super::folder_of_run("tallyrule-postgresql");
    fs::create_dir_all(&folder).unwrap();
    let port = TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
        .port();
    let mut command = match other_user() {
        None => Command::new("sh"),
        Some((_, user, group)) => {
            chown(&folder, Some(user), Some(group)).unwrap();
            let mut command = Command::new("setpriv");
            command.args([format!("--reuid={user}"), format!("--regid={group}")]);
            command.args(["--clear-groups", "sh"]);
            command
        }
    };
    command
        .args(["-c", SCRIPT])
        .env("BIN", binaries)
        .env("FOLDER", &folder)
        .env("PORT", port.to_string());
    command
        .current_dir(&folder)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped());
    let mut running = command.spawn().unwrap();
    let mut word = String::new();
    BufReader::new(running.stdout.take().unwrap())
        .read_line(&mut word)
        .unwrap();
    assert_eq!(
        word.trim(),
        "started",
        "{}",
        fs::read_to_string(folder.join("initdb.log")).unwrap_or_default()
    );
    let server = Server {
        port,
        template: Mutex::new(None),
        _running: running,
    };
    let begun = Instant::now();
    while PgConnection::establish(&server.url("postgres")).is_err() {
        assert!(
            begun.elapsed() < Duration::from_secs(30),
            "the server does not answer"
        );
        thread::sleep(Duration::from_millis(50));
    }
    server
}

/// Removes a database and whatever is still connected to it, if it can: a test that fails is told by itself.
pub fn remove_database(url: &str) {
    let Some((server, name)) = url.rsplit_once('/') else {
        return;
    };
    if let Ok(mut connection) = PgConnection::establish(&format!("{server}/postgres")) {
        let _ = connection.batch_execute(&format!("DROP DATABASE {name} WITH (FORCE)"));
    }
}

impl Server {
    fn url(&self, database: &str) -> String {
        format!("postgres://postgres@127.0.0.1:{}/{database}", self.port)
    }

    fn administer(&self, statement: &str) {
        let mut connection = PgConnection::establish(&self.url("postgres")).unwrap();
        connection.batch_execute(statement).unwrap();
    }

    /// A new database without anything in it.
    pub fn empty_database(&self) -> String {
        let name = fresh_name("empty");
        self.administer(&format!("CREATE DATABASE {name} TEMPLATE template0"));
        self.url(&name)
    }

    /// A new database, copied from one that `load` fills once.
    pub fn loaded_database(&self, load: impl Fn(&Location)) -> String {
        let mut template = self.template.lock().unwrap_or_else(PoisonError::into_inner);
        if template.is_none() {
            self.administer("CREATE DATABASE loaded TEMPLATE template0");
            load(&Location::Server(self.url("loaded")));
            *template = Some("loaded".to_owned());
        }
        let name = fresh_name("office");
        self.administer(&format!("CREATE DATABASE {name} TEMPLATE loaded"));
        self.url(&name)
    }
}
