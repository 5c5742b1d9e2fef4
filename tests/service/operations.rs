//! The service as whoever runs it sees it: its log, its figures, its stop, TLS, answers made smaller, pages of others.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};
use std::{fs, str};

use flate2::read::GzDecoder;
use serde_json::{Value, json};

use crate::command_line::folder;
use crate::harness::{Answer, DEMO_OWNER, Engine, Office, ask, project, try_ask};
use crate::quotes_desk::{draft, issued, quote};

/// The program as it runs, and the lines of its log.
struct Running {
    child: Child,
    address: SocketAddr,
    log: Receiver<String>,
}

impl Running {
    fn start(folder: &Path, arguments: &[&str]) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tallyrule"));
        let seed = project().join("seed-data");
        command
            .args(["serve", "--demo", "--listen", "127.0.0.1:0", "--data"])
            .arg(folder.join("office.sqlite"))
            .args(["--seed", seed.to_str().unwrap()])
            .args(arguments);
        let mut child = command
            .current_dir(folder)
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let (send, log) = channel();
        let lines = BufReader::new(child.stderr.take().unwrap()).lines();
        thread::spawn(move || lines.for_each(|line| drop(send.send(line.unwrap()))));
        let said = loop {
            let line = log.recv_timeout(Duration::from_secs(60)).unwrap();
            if let Some((_, rest)) = line.split_once("listening on http") {
                break rest.trim_start_matches("s").trim_start_matches("://").to_owned();
            }
        };
        let address = said.split(',').next().unwrap().parse().unwrap();
        Self { child, address, log }
    }

    fn signal(&self, name: &str) {
        let number = self.child.id().to_string();
        assert!(
            Command::new("kill")
                .args(["-s", name, &number])
                .status()
                .unwrap()
                .success()
        );
    }

    /// The next line of the log with this in it.
    fn logged(&self, word: &str) -> String {
        loop {
            let line = self.log.recv_timeout(Duration::from_secs(20)).unwrap();
            if line.contains(word) {
                return line;
            }
        }
    }

    /// How it ended, which it does soon.
    fn ended(mut self) -> Option<i32> {
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_secs(30) {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status.code();
            }
            thread::sleep(Duration::from_millis(20));
        }
        panic!("it does not end");
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_log_of_json_has_the_request_and_the_callers_trace() {
    let running = Running::start(&folder(), &["--log-format", "json"]);
    // The example of the W3C recommendation Trace Context, section 3.2.
    let parent = "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01";
    let ask_with = |id: &str, parent: &str| {
        let headers = [
            ("x-request-id", id),
            ("traceparent", parent),
            ("tracestate", "rojo=00f067aa0ba902b7"),
            DEMO_OWNER,
        ];
        ask(running.address, "GET", "/v1/facts", &headers, b"").expect(200);
        let line = running.logged("answered");
        let entry: Value = serde_json::from_str(&line).unwrap_or_else(|_| panic!("{line}"));
        assert_eq!(entry["span"]["id"], id, "{entry}");
        entry
    };
    let entry = ask_with("first", parent);
    assert_eq!(
        entry["span"]["trace_id"], "0af7651916cd43dd8448eb211c80319c",
        "{entry}"
    );
    assert_eq!(entry["span"]["parent_id"], "b7ad6b7169203331");
    assert_eq!(
        (&entry["level"], &entry["path"], &entry["status"]),
        (&json!("INFO"), &json!("/v1/facts"), &json!(200))
    );
    assert!(
        entry["timestamp"].is_string() && entry["milliseconds"].is_number(),
        "{entry}"
    );
    // A later version may say more; what is not as the recommendation has it counts as none.
    let later = ask_with(
        "later",
        &parent.replacen("00", "cc", 1).replace("-01", "-01-what-comes"),
    );
    assert_eq!(
        later["span"]["trace_id"], "0af7651916cd43dd8448eb211c80319c",
        "{later}"
    );
    for wrong in [
        "",
        "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01-more",
        "ff-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01",
        "00-00000000000000000000000000000000-b7ad6b7169203331-01",
        "00-0af7651916cd43dd8448eb211c80319c-0000000000000000-01",
        "00-0AF7651916CD43DD8448EB211C80319C-b7ad6b7169203331-01",
        "00-0af7651916cd43dd8448eb211c80319-b7ad6b7169203331-01",
    ] {
        let entry = ask_with("wrong", wrong);
        assert!(entry["span"].get("trace_id").is_none(), "{wrong}: {entry}");
    }
}

/// The value of a figure with these labels.
fn figure(text: &str, name: &str) -> f64 {
    let line = text
        .lines()
        .find_map(|line| line.strip_prefix(name)?.strip_prefix(' '));
    line.unwrap_or_else(|| panic!("{name} in {text}"))
        .parse()
        .unwrap()
}

on_both_engines! {
    fn figures_are_told_by_address_and_never_by_id(office) {
        let path = issued(office, &draft());
        quote(office, &draft());
        for _ in 0..3 {
            office.get(&path).expect(200);
        }
        office.get("/v1/quotes/01890a5d-ac96-774b-bcce-b302099a8057").problem(404, "not-found");
        office.ask("HEAD", &path, &[], b"");
        office.get("/nowhere/at/all");
        let answer = office.get("/metrics");
        assert_eq!(answer.header("content-type"), Some("text/plain; version=0.0.4"));
        let text = &answer.text;
        let requests = |labels: &str| figure(text, &format!("tallyrule_http_requests_total{{{labels}}}"));
        assert_eq!(requests("method=\"GET\",route=\"/v1/quotes/{id}\",status=\"404\""), 1.0);
        assert!(requests("method=\"GET\",route=\"/v1/quotes/{id}\",status=\"200\"") >= 3.0);
        assert_eq!(requests("method=\"GET\",route=\"none\",status=\"404\""), 1.0);
        let duration = "tallyrule_http_request_duration_seconds";
        let labels = "method=\"GET\",route=\"/v1/quotes/{id}\"";
        let count = figure(text, &format!("{duration}_count{{{labels}}}"));
        assert_eq!(figure(text, &format!("{duration}_bucket{{{labels},le=\"+Inf\"}}")), count);
        assert!(figure(text, &format!("{duration}_bucket{{{labels},le=\"30\"}}")) <= count);
        let classes: Vec<f64> = text
            .lines()
            .filter_map(|line| line.strip_prefix(&format!("{duration}_bucket{{{labels},le=")))
            .map(|rest| rest.split(' ').next_back().unwrap().parse().unwrap())
            .collect();
        assert!(classes.len() == 15 && classes.is_sorted(), "{classes:?}");
        assert!(figure(text, &format!("{duration}_sum{{{labels}}}")) > 0.0);
        assert_eq!(figure(text, "tallyrule_quotes{state=\"issued\"}"), 1.0);
        assert_eq!(figure(text, "tallyrule_quotes{state=\"draft\"}"), 1.0);
        assert_eq!(figure(text, "tallyrule_http_requests_under_way"), 1.0);
        assert_eq!(figure(text, "tallyrule_writers_waiting"), 0.0);
        assert_eq!(figure(text, "tallyrule_database_connections_most"), 4.0);
        assert!(figure(text, "process_resident_memory_bytes") > 1e6);
        let id = path.rsplit('/').next().unwrap();
        assert!(!text.contains(id) && !text.contains("nowhere"), "{text}");
        for line in text.lines().filter(|line| !line.starts_with('#')) {
            let (name, value) = line.rsplit_once(' ').unwrap();
            let known = name.split('{').next().unwrap();
            let base = ["_bucket", "_sum", "_count"].iter().fold(known, |name, end| name.trim_end_matches(end));
            assert!(value.parse::<f64>().is_ok() && text.contains(&format!("# TYPE {base} ")), "{line}");
        }
    }
}

/// A request that the service has begun, and whose body comes later.
fn begin(address: SocketAddr, body: &str) -> TcpStream {
    let mut stream = TcpStream::connect(address).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    let (name, value) = DEMO_OWNER;
    let head = format!(
        "POST /v1/customers HTTP/1.1\r\nhost: a\r\n{name}: {value}\r\ncontent-type: application/json\r\n\
         expect: 100-continue\r\ncontent-length: {}\r\n\r\n",
        body.len()
    );
    stream.write_all(head.as_bytes()).unwrap();
    let mut begun = [0_u8; 25];
    stream.read_exact(&mut begun).unwrap();
    assert_eq!(&begun, b"HTTP/1.1 100 Continue\r\n\r\n");
    stream.write_all(&body.as_bytes()[..10]).unwrap();
    stream
}

#[test]
fn a_stop_finishes_what_was_begun_and_lets_nobody_in() {
    for name in ["TERM", "INT"] {
        let folder = folder();
        let running = Running::start(&folder, &[]);
        let body = json!({"name": "Slow", "address": {"lines": ["The Mill"]}}).to_string();
        let mut slow = begin(running.address, &body);
        running.signal(name);
        let begun = Instant::now();
        while TcpStream::connect(running.address).is_ok() {
            assert!(
                begun.elapsed() < Duration::from_secs(10),
                "{name}: it lets others in"
            );
            thread::sleep(Duration::from_millis(20));
        }
        slow.write_all(&body.as_bytes()[10..]).unwrap();
        let mut answer = [0_u8; 12];
        slow.read_exact(&mut answer).unwrap();
        assert_eq!(str::from_utf8(&answer).unwrap(), "HTTP/1.1 201", "{name}");
        drop(slow);
        running.logged("stopped");
        assert_eq!(running.ended(), Some(0), "{name}");
        let again = Running::start(&folder, &[]);
        let listed = ask(again.address, "GET", "/v1/customers", &[DEMO_OWNER], b"").expect(200);
        assert_eq!(listed["data"][0]["name"], "Slow");
        assert!(!folder.join("office.sqlite-journal").exists());
    }
}

#[test]
fn a_second_signal_ends_it_at_once() {
    let running = Running::start(&folder(), &[]);
    let _slow = begin(running.address, &"x".repeat(100));
    running.signal("TERM");
    running.logged("stopping: nobody new is let in");
    running.signal("TERM");
    let begun = Instant::now();
    assert_eq!(running.ended(), Some(1));
    assert!(begun.elapsed() < Duration::from_secs(10), "{:?}", begun.elapsed());
}

/// Held up for longer than a connection is kept, it still reads what had come by then.
#[test]
fn what_came_while_the_server_was_held_up_is_answered() {
    let running = Running::start(&folder(), &["--idle-time", "2", "--head-time", "2"]);
    let asked = b"GET /healthz HTTP/1.1\r\nhost: a\r\n\r\n";
    let mut kept = TcpStream::connect(running.address).unwrap();
    kept.write_all(asked).unwrap();
    let mut piece = [0_u8; 4_096];
    assert!(kept.read(&mut piece).unwrap() > 100);
    let mut fresh = TcpStream::connect(running.address).unwrap();
    thread::sleep(Duration::from_millis(300));
    running.signal("STOP");
    for stream in [&mut kept, &mut fresh] {
        stream.write_all(asked).unwrap();
    }
    thread::sleep(Duration::from_secs(4));
    running.signal("CONT");
    for stream in [&mut kept, &mut fresh] {
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        let length = stream.read(&mut piece).unwrap();
        let answer = String::from_utf8_lossy(&piece[..length]);
        assert!(answer.starts_with("HTTP/1.1 200 "), "{answer}");
    }
}

/// Somebody who trusts this certificate and no other.
fn trusting(certificate: &str) -> ureq::Agent {
    let root = ureq::tls::Certificate::from_pem(certificate.as_bytes());
    let roots = ureq::tls::RootCerts::new_with_certs(&[root.unwrap().to_owned()]);
    let tls = ureq::tls::TlsConfig::builder()
        .root_certs(roots)
        .unversioned_rustls_crypto_provider(Arc::new(rustls::crypto::ring::default_provider()))
        .build();
    ureq::Agent::config_builder().tls_config(tls).build().into()
}

/// A certificate is changed while it serves; one that cannot be used changes nothing.
fn renewed(running: &Running, folder: &Path, before: &str, address: &str) {
    let new = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
    fs::write(folder.join("certificate.pem"), new.cert.pem()).unwrap();
    running.signal("HUP");
    running.logged(
        "goes on with the certificate that it has: the certificate and the key cannot be used together",
    );
    assert!(trusting(before).get(address).call().is_ok());
    fs::write(folder.join("key.pem"), new.signing_key.serialize_pem()).unwrap();
    running.signal("HUP");
    running.logged("read the certificate and its key anew");
    assert!(trusting(&new.cert.pem()).get(address).call().is_ok());
    assert!(trusting(before).get(address).call().is_err());
}

#[test]
fn it_serves_over_tls() {
    let folder = folder();
    let made = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
    fs::write(folder.join("certificate.pem"), made.cert.pem()).unwrap();
    fs::write(folder.join("key.pem"), made.signing_key.serialize_pem()).unwrap();
    let tls = ["--tls-certificate", "certificate.pem", "--tls-key", "key.pem"];
    let running = Running::start(&folder, &tls);
    let address = format!("https://localhost:{}/healthz", running.address.port());
    let told = trusting(&made.cert.pem())
        .get(&address)
        .call()
        .unwrap()
        .body_mut()
        .read_to_string()
        .unwrap();
    assert_eq!(told, r#"{"status":"ok"}"#);
    let other = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
    assert!(trusting(&other.cert.pem()).get(&address).call().is_err());
    assert!(
        try_ask(running.address, "GET", "/healthz", &[], b"").is_err(),
        "nothing goes in the clear"
    );
    renewed(&running, &folder, &made.cert.pem(), &address);
    drop(running);
    fs::write(folder.join("other.pem"), other.signing_key.serialize_pem()).unwrap();
    fs::write(folder.join("empty.pem"), "").unwrap();
    for (certificate, key, expected) in [
        ("nowhere.pem", "key.pem", "nowhere.pem: cannot be read: "),
        ("empty.pem", "key.pem", "empty.pem: it has no certificate in PEM"),
        (
            "certificate.pem",
            "empty.pem",
            "empty.pem: it has no private key in PEM",
        ),
        (
            "certificate.pem",
            "other.pem",
            "the certificate and the key cannot be used together",
        ),
    ] {
        let arguments = [
            "serve",
            "--data",
            "new.sqlite",
            "--tls-certificate",
            certificate,
            "--tls-key",
            key,
        ];
        let output = crate::command_line::run_in(&folder, &arguments);
        assert_eq!(output.status.code(), Some(1));
        let told = crate::command_line::told(&output);
        assert!(told.contains(expected), "{expected}: {told}");
    }
}

fn asked(office: &Office, path: &str, headers: &[(&str, &str)]) -> Answer {
    let bearer = format!("Bearer {}", office.key());
    let mut all = vec![("authorization", bearer.as_str())];
    all.extend(headers);
    try_ask(office.address(), "GET", path, &all, b"").unwrap()
}

#[test]
fn answers_are_made_smaller_for_who_takes_it() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let plain = asked(&office, "/v1/facts", &[]);
    assert_eq!(
        (plain.header("content-encoding"), plain.header("vary")),
        (None, Some("accept-encoding"))
    );
    let packed = asked(&office, "/v1/facts", &[("accept-encoding", "br, gzip;q=0.8")]);
    assert_eq!(packed.header("content-encoding"), Some("gzip"));
    assert!(
        packed.bytes.len() * 3 < plain.bytes.len(),
        "{} of {}",
        packed.bytes.len(),
        plain.bytes.len()
    );
    let mut whole = Vec::new();
    GzDecoder::new(packed.bytes.as_slice())
        .read_to_end(&mut whole)
        .unwrap();
    assert!(whole == plain.bytes);
    // Another sequence of bytes has another strong tag, and either is known again.
    let (plain_tag, packed_tag) = (plain.header("etag").unwrap(), packed.header("etag").unwrap());
    assert_ne!(plain_tag, packed_tag);
    for tag in [plain_tag, packed_tag] {
        for takes in ["gzip", "identity"] {
            let again = asked(
                &office,
                "/v1/facts",
                &[("if-none-match", tag), ("accept-encoding", takes)],
            );
            assert_eq!((again.status, again.bytes.len()), (304, 0), "{tag} {takes}");
        }
    }
    for takes in ["identity", "gzip;q=0", "br", "*;q=0, br", "gzip; q=0.000"] {
        assert_eq!(
            asked(&office, "/v1/facts", &[("accept-encoding", takes)]).header("content-encoding"),
            None,
            "{takes}"
        );
    }
    let tiny = asked(&office, "/healthz", &[("accept-encoding", "gzip")]);
    assert_eq!(
        (tiny.header("content-encoding"), tiny.header("vary")),
        (None, None)
    );
    // What was read packed is changed under its own tag.
    let lines: Vec<String> = (0..6)
        .map(|line| format!("{line}{}", "a long line of an address ".repeat(3)))
        .collect();
    let contact = "Somebody at the house ".repeat(5);
    let body = json!({"name": "N".repeat(100), "contact": contact.trim(), "address": {"lines": lines}});
    let made = office.post("/v1/customers", &body).expect(201);
    let path = format!("/v1/customers/{}", made["id"].as_str().unwrap());
    let read = asked(&office, &path, &[("accept-encoding", "gzip")]);
    let tag = read.header("etag").unwrap();
    let headers = [("content-type", "application/json"), ("if-match", tag)];
    let changed = office.ask("PUT", &path, &headers, body.to_string().as_bytes());
    assert_eq!(changed.status, 200, "{tag}: {}", changed.text);
}

#[test]
fn pages_of_other_origins_call_only_where_they_are_named() {
    let own = Office::open(Engine::Sqlite).unwrap();
    let office = own.another_limited(|limits| {
        limits.cors_origins = vec!["https://office.example".to_owned()];
    });
    let preflight = |office: &Office, origin: &str| {
        let headers = [
            ("origin", origin),
            ("access-control-request-method", "PUT"),
            ("access-control-request-headers", "authorization,if-match"),
        ];
        try_ask(office.address(), "OPTIONS", "/v1/customers/x", &headers, b"").unwrap()
    };
    let asked_first = preflight(&office, "https://office.example");
    assert_eq!((asked_first.status, asked_first.text.as_str()), (204, ""));
    assert_eq!(
        asked_first.header("access-control-allow-origin"),
        Some("https://office.example")
    );
    assert!(
        asked_first
            .header("access-control-allow-methods")
            .unwrap()
            .contains("PUT")
    );
    for header in ["authorization", "if-match", "idempotency-key", "acting-person"] {
        assert!(
            asked_first
                .header("access-control-allow-headers")
                .unwrap()
                .contains(header)
        );
    }
    for (path, status) in [("/v1/items?limit=1", 200), ("/v1/nothing", 404)] {
        let answer = asked(&office, path, &[("origin", "https://office.example")]);
        assert_eq!(answer.status, status);
        assert_eq!(
            answer.header("access-control-allow-origin"),
            Some("https://office.example")
        );
        assert!(
            answer
                .header("access-control-expose-headers")
                .is_some_and(|read| read.contains("etag") && read.contains("x-paper-notes"))
        );
        assert!(answer.header("access-control-allow-credentials").is_none());
    }
    let nobody = try_ask(
        office.address(),
        "GET",
        "/v1/items",
        &[("origin", "https://office.example")],
        b"",
    )
    .unwrap();
    assert_eq!(
        (nobody.status, nobody.header("access-control-allow-origin")),
        (401, Some("https://office.example"))
    );
    for (office, origin) in [
        (&office, "https://office.example.evil.example"),
        (&office, "null"),
        (&own, "https://office.example"),
    ] {
        assert_eq!(preflight(office, origin).status, 405, "{origin}");
        let answer = asked(office, "/v1/items?limit=1", &[("origin", origin)]);
        assert_eq!(
            (answer.status, answer.header("access-control-allow-origin")),
            (200, None),
            "{origin}"
        );
    }
}
