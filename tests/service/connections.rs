//! What a connection answers by itself, and how long it stays: bytes in, bytes out.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use serde_json::Value;
use tallyrule::api::LIMITS;

use crate::harness::{Engine, Office, project};

/// A connection that waits for an answer no longer than this.
fn connect(office: &Office) -> TcpStream {
    let stream = TcpStream::connect(office.address()).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    stream
}

/// One answer: its status, its headers and its body by the length that it tells; `None` where the connection ended first.
fn answer(stream: &mut TcpStream) -> Option<(u16, String, Vec<u8>)> {
    let mut head = Vec::new();
    let mut byte = [0_u8];
    while !head.ends_with(b"\r\n\r\n") {
        if stream.read(&mut byte).unwrap() == 0 {
            assert!(head.is_empty(), "{}", String::from_utf8_lossy(&head));
            return None;
        }
        head.push(byte[0]);
    }
    let head = String::from_utf8(head).unwrap().to_ascii_lowercase();
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    let length = head.split("content-length: ").nth(1).unwrap();
    let length: usize = length.split("\r\n").next().unwrap().parse().unwrap();
    let mut body = vec![0; length];
    stream.read_exact(&mut body).unwrap();
    Some((status, head, body))
}

/// The answer is a problem of this kind with all that a problem has, and the last on its connection.
#[track_caller]
fn refused(stream: &mut TcpStream, status: u16, kind: &str) {
    let (came, head, body) = answer(stream).expect("an answer");
    assert_eq!(came, status, "{head}");
    for header in [
        "content-type: application/problem+json\r\n",
        "x-request-id: ",
        "x-content-type-options: nosniff\r\n",
        "connection: close\r\n",
        "date: ",
    ] {
        assert!(head.contains(header), "{header} in {head}");
    }
    let problem: Value = serde_json::from_slice(&body).unwrap();
    assert_eq!(problem["type"], format!("/problems/{kind}"), "{problem}");
    assert_eq!(problem["status"], status);
    assert!(
        problem["detail"].as_str().is_some_and(|detail| detail.len() > 20),
        "{problem}"
    );
    assert!(answer(stream).is_none(), "the connection goes on");
}

/// Sends as much as is taken.
fn send(stream: &mut TcpStream, text: &str) {
    let _ = stream.write_all(text.as_bytes());
}

const READ: &str = "GET /healthz HTTP/1.1\r\nhost: a\r\n\r\n";

fn most(name: &str) -> usize {
    let limit = LIMITS.iter().find(|limit| limit.name == name).unwrap();
    usize::try_from(limit.most).unwrap()
}

#[test]
fn what_is_no_request_is_answered_by_a_problem() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let header = |count: usize| {
        format!(
            "GET /healthz HTTP/1.1\r\nhost: a\r\n{}\r\n",
            "x: y\r\n".repeat(count - 1)
        )
    };
    let cases = [
        ("\r\nnonsense\r\n\r\n".to_owned(), 400, "malformed-request"),
        ("GET /healthz HTTP/1.1\r\n\r\n".to_owned(), 400, "malformed-request"),
        ("GET /healthz HTTP/7.0\r\nhost: a\r\n\r\n".to_owned(), 400, "malformed-request"),
        ("GET /a b HTTP/1.1\r\nhost: a\r\n\r\n".to_owned(), 400, "malformed-request"),
        ("GET /healthz HTTP/1.1\r\nhost: a\r\n: b\r\n\r\n".to_owned(), 400, "malformed-request"),
        (
            "POST /v1/estimates HTTP/1.1\r\nhost: a\r\ncontent-length: 2\r\ntransfer-encoding: chunked\r\n\r\n".to_owned(),
            400,
            "malformed-request",
        ),
        (format!("GET /{} HTTP/1.1\r\nhost: a\r\n\r\n", "a".repeat(66_000)), 414, "address-too-long"),
        (format!("GET /{}", "a".repeat(3_000_000)), 414, "address-too-long"),
        (format!("{}x: {}", &READ[..READ.len() - 2], "b".repeat(3_000_000)), 431, "headers-too-large"),
        (header(most("header_count") + 1), 431, "headers-too-large"),
    ];
    for (sent, status, kind) in &cases {
        // As the first on its connection, and behind another that was answered.
        for before in [0, 2] {
            let mut stream = connect(&office);
            for _ in 0..before {
                send(&mut stream, READ);
                assert_eq!(answer(&mut stream).unwrap().0, 200);
            }
            send(&mut stream, sent);
            refused(&mut stream, *status, kind);
        }
    }
    let mut stream = connect(&office);
    send(&mut stream, &header(most("header_count")));
    assert_eq!(answer(&mut stream).unwrap().0, 200);
    let counted = office.get("/metrics").text;
    let line = format!("route=\"none\",status=\"431\"}} {}", 2 * 2);
    assert!(counted.contains(&line), "{line} in {counted}");
}

#[test]
fn a_head_over_a_limit_is_refused_and_one_at_it_is_read() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let address = most("address");
    let asked = |length: usize| {
        format!(
            "GET /healthz?{} HTTP/1.1\r\nhost: a\r\n\r\n",
            "a".repeat(length - "/healthz?".len())
        )
    };
    let host = "hosta".len() + 4;
    let headers = |length: usize| {
        let value = "b".repeat(length - host - "x".len() - 4);
        format!("GET /healthz HTTP/1.1\r\nhost: a\r\nx: {value}\r\n\r\n")
    };
    let mut stream = connect(&office);
    for (sent, wanted) in [
        // An address that is read, with a parameter that is none.
        (asked(address), 400),
        (asked(address + 1), 414),
        (headers(most("headers")), 200),
        (headers(most("headers") + 1), 431),
    ] {
        send(&mut stream, &sent);
        let (status, head, body) = answer(&mut stream).unwrap();
        assert_eq!(status, wanted, "{}", String::from_utf8_lossy(&body));
        assert!(head.contains("keep-alive: timeout=75\r\n"), "{head}");
    }
}

#[test]
fn a_head_that_does_not_arrive_is_told_after_its_time() {
    let own = Office::open(Engine::Sqlite).unwrap();
    let office = own.another_limited(|limits| {
        limits.head_time = Duration::from_secs(2);
        limits.idle_time = Duration::from_secs(1);
    });
    for before in [0, 1] {
        let mut stream = connect(&office);
        for _ in 0..before {
            send(&mut stream, READ);
            let (status, head, _) = answer(&mut stream).unwrap();
            assert!(
                status == 200 && head.contains("keep-alive: timeout=1\r\n"),
                "{head}"
            );
        }
        let begun = Instant::now();
        // A byte now and then is not enough.
        for piece in ["GET /healthz HT", "TP/1.1\r\nhost: a\r\n", "x: "] {
            send(&mut stream, piece);
            std::thread::sleep(Duration::from_millis(400));
        }
        refused(&mut stream, 408, "request-timeout");
        assert!(begun.elapsed() >= Duration::from_secs(2), "{:?}", begun.elapsed());
    }
    // Where nothing has come there is nothing to answer.
    let mut silent = connect(&office);
    assert!(answer(&mut silent).is_none());
    let mut idle = connect(&office);
    send(&mut idle, READ);
    assert!(answer(&mut idle).is_some());
    let begun = Instant::now();
    assert!(answer(&mut idle).is_none());
    assert!(
        begun.elapsed() >= Duration::from_millis(900),
        "{:?}",
        begun.elapsed()
    );
}

/// An answer says that the connection stays, or that it ends, and never both.
#[test]
fn a_connection_on_which_a_body_was_left_unread_is_not_said_to_stay() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let asked = "POST /v1/estimates HTTP/1.1\r\nhost: a\r\ncontent-type: application/json\r\n";
    let key = office.key();
    let mut stream = connect(&office);
    let read = format!("{asked}authorization: Bearer {key}\r\ncontent-length: 2\r\n\r\n{{}}");
    send(&mut stream, &read);
    let (status, head, _) = answer(&mut stream).unwrap();
    assert_eq!(status, 422, "{head}");
    assert!(
        head.contains("keep-alive: timeout=75\r\n") && !head.contains("connection: close"),
        "{head}"
    );
    // So many bytes are announced, and nobody without a key has them read.
    send(&mut stream, &format!("{asked}content-length: 5000\r\n\r\n"));
    let (status, head, _) = answer(&mut stream).unwrap();
    assert_eq!(status, 401, "{head}");
    assert!(
        head.contains("connection: close\r\n") && !head.contains("keep-alive"),
        "{head}"
    );
}

#[test]
fn requests_that_come_at_once_are_answered_in_their_order() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let mut stream = connect(&office);
    let lost = "GET /v1/nothing HTTP/1.1\r\nhost: a\r\nconnection: close\r\n\r\n";
    send(&mut stream, &format!("{READ}{READ}{lost}"));
    for wanted in [200, 200, 404] {
        assert_eq!(answer(&mut stream).unwrap().0, wanted);
    }
    assert!(answer(&mut stream).is_none());
}

/// RFC 9112, section 9.6.
#[test]
fn what_comes_behind_a_request_that_ends_the_connection_is_not_carried_out() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let body = r#"{"name": "Wren Aldous", "address": {"lines": ["3 Low Row"]}}"#;
    let write = format!(
        "POST /v1/customers HTTP/1.1\r\nhost: a\r\nauthorization: Bearer {}\r\nacting-person: Orla Finnimore\r\ncontent-type: application/json\r\n\
        content-length: {}\r\n\r\n{body}",
        office.key(),
        body.len()
    );
    let customers = || {
        office.get("/v1/customers").expect(200)["data"]
            .as_array()
            .unwrap()
            .len()
    };
    let mut kept = connect(&office);
    send(&mut kept, &write);
    assert_eq!(answer(&mut kept).unwrap().0, 201);
    assert_eq!(customers(), 1);
    for first in ["/healthz", "/v1/nothing"] {
        let last = format!("GET {first} HTTP/1.1\r\nhost: a\r\nconnection: close\r\n\r\n");
        let mut stream = connect(&office);
        send(&mut stream, &format!("{last}{write}"));
        let (_, head, _) = answer(&mut stream).unwrap();
        assert!(head.contains("connection: close\r\n"), "{head}");
        assert!(!head.contains("keep-alive"), "{head}");
        assert!(answer(&mut stream).is_none(), "a second answer");
    }
    assert_eq!(customers(), 1);
    // Nobody else is held up by those that wait for the end.
    let mut stream = connect(&office);
    send(&mut stream, READ);
    assert_eq!(answer(&mut stream).unwrap().0, 200);
}

#[test]
fn a_body_that_was_left_unread_ends_the_connection_with_its_one_answer() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let head = "POST /v1/customers HTTP/1.1\r\nhost: a\r\ncontent-type: application/json\r\n";
    for (length, pieces) in [
        ("transfer-encoding: chunked", ["2\r\n{ \r\n", "2\r\n}\n\r\n"]),
        ("content-length: 400", ["{ ", "}\n"]),
    ] {
        let mut stream = connect(&office);
        send(&mut stream, &format!("{head}{length}\r\n\r\n"));
        // Longer than the head of a request may take.
        for piece in pieces {
            send(&mut stream, piece);
            std::thread::sleep(Duration::from_millis(1_800));
        }
        let (status, told, _) = answer(&mut stream).unwrap();
        assert_eq!(status, 401, "{told}");
        assert!(told.contains("connection: close\r\n"), "{told}");
        assert!(!told.contains("keep-alive"), "{told}");
        assert!(answer(&mut stream).is_none(), "a second answer");
    }
}

/// Together with its head or after it, and for whoever is let in and whoever is not.
#[test]
fn a_broken_chunk_is_told() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let key = format!(
        "authorization: Bearer {}\r\nacting-person: Orla Finnimore\r\n",
        office.key()
    );
    for (key, status, kind) in [
        (key.as_str(), 400, "/problems/mal"),
        ("", 401, "/problems/unauthorized"),
    ] {
        let head = format!(
            "POST /v1/estimates HTTP/1.1\r\nhost: a\r\n{key}content-type: application/json\r\ntransfer-encoding: chunked\r\n\r\n"
        );
        for chunks in ["ZZ\r\nabc\r\n", "2\r\n{ \r\nZZ\r\nabc\r\n"] {
            for apart in [false, true] {
                let mut stream = connect(&office);
                send(
                    &mut stream,
                    &if apart {
                        head.clone()
                    } else {
                        format!("{head}{chunks}")
                    },
                );
                if apart {
                    std::thread::sleep(Duration::from_millis(500));
                    send(&mut stream, chunks);
                }
                let (came, told, body) = answer(&mut stream).expect("an answer");
                let body = String::from_utf8(body).unwrap();
                assert_eq!(came, status, "{told}{body}");
                assert!(
                    body.contains(kind) && told.contains("connection: close\r\n"),
                    "{told}{body}"
                );
                assert!(answer(&mut stream).is_none(), "a second answer");
            }
        }
    }
}

#[test]
fn a_head_that_ends_in_the_middle_is_told() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let mut stream = connect(&office);
    send(&mut stream, "GET /hea");
    stream.shutdown(std::net::Shutdown::Write).unwrap();
    refused(&mut stream, 400, "malformed-request");
    // Who has begun nothing, or has all, is owed nothing or the answer.
    let mut stream = connect(&office);
    stream.shutdown(std::net::Shutdown::Write).unwrap();
    assert!(answer(&mut stream).is_none());
    let mut stream = connect(&office);
    send(&mut stream, READ);
    stream.shutdown(std::net::Shutdown::Write).unwrap();
    assert_eq!(answer(&mut stream).unwrap().0, 200);
}

#[test]
fn what_connect_names_is_told_as_no_address() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let mut stream = connect(&office);
    send(
        &mut stream,
        "CONNECT cellar.example:443 HTTP/1.1\r\nhost: cellar.example\r\n\r\n",
    );
    let (status, _, body) = answer(&mut stream).unwrap();
    assert_eq!(status, 404);
    let body = String::from_utf8(body).unwrap();
    assert!(body.contains("\"cellar.example:443 is not an address"), "{body}");
}

/// Who asks and takes nothing of the answers loses the connection, and the service its burden.
#[test]
fn a_connection_whose_answers_nobody_takes_is_closed() {
    let own = Office::open(Engine::Sqlite).unwrap();
    let office = own.another_limited(|limits| limits.idle_time = Duration::from_secs(1));
    let asked = "GET /openapi.json HTTP/1.1\r\nhost: a\r\n\r\n";
    let mut stream = connect(&office);
    send(&mut stream, asked);
    let (_, head, body) = answer(&mut stream).unwrap();
    // More than two kernels' buffers hold: so much is asked for before anything is taken.
    let wanted = 64 * 1024 * 1024 / body.len();
    for _ in 0..wanted {
        send(&mut stream, asked);
    }
    // Once no more are answered, it is stuck; a second later it is given up.
    let answered = || {
        let told = office.get("/metrics").text;
        let line = told.lines().find(|line| {
            line.starts_with("tallyrule_http_requests_total") && line.contains("\"/openapi.json\"")
        });
        line.map(str::to_owned)
    };
    let mut before = None;
    loop {
        std::thread::sleep(Duration::from_secs(3));
        let now = answered();
        if now == before {
            break;
        }
        before = now;
    }
    let mut taken = 0;
    let mut piece = vec![0; 1_048_576];
    while let Ok(length) = stream.read(&mut piece)
        && length > 0
    {
        taken += length;
    }
    let all = wanted * (head.len() + body.len());
    assert!(taken < all, "{taken} of {all} bytes were sent");
    let stays = answer(&mut {
        let mut other = connect(&office);
        send(&mut other, READ);
        other
    });
    assert_eq!(stays.unwrap().0, 200);
}

/// Sizes, extensions and trailers of chunks are no content, and no way past the limits either.
#[test]
fn what_comes_of_a_body_in_chunks_beside_its_content_has_an_end() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let mapping = project().join("seed-data/price-lists/larkholt-mapping.json");
    let mapping = serde_json::from_slice(&std::fs::read(mapping).unwrap()).unwrap();
    office.post("/v1/price-list-mappings", &mapping).expect(201);
    let key = format!(
        "authorization: Bearer {}\r\nacting-person: Orla Finnimore\r\n",
        office.key()
    );
    let most = most("framing");
    let framed = |bytes: usize| {
        [
            format!("2;{}\r\n{{}}\r\n0\r\n\r\n", "a".repeat(bytes)),
            format!(
                "{}2\r\n{{}}\r\n0\r\n\r\n",
                format!("1;{}\r\n \r\n", "a".repeat(90)).repeat(bytes / 97)
            ),
            format!("2\r\n{{}}\r\n0\r\nx: {}\r\n\r\n", "a".repeat(bytes)),
            format!("2\r\n{{}}\r\n0\r\n{}\r\n", "x: y\r\n".repeat(bytes / 6)),
        ]
    };
    for (path, kind) in [
        ("/v1/estimates", "application/json"),
        ("/v1/price-lists?mapping=larkholt", "text/csv"),
    ] {
        let head = |key: &str| {
            format!(
                "POST {path} HTTP/1.1\r\nhost: a\r\n{key}content-type: {kind}\r\ntransfer-encoding: chunked\r\n\r\n"
            )
        };
        for chunks in framed(most / 2) {
            let mut stream = connect(&office);
            send(&mut stream, &format!("{}{chunks}", head(&key)));
            let (status, told, body) = answer(&mut stream).unwrap();
            assert_eq!(status, 422, "{told}{}", String::from_utf8_lossy(&body));
            send(&mut stream, READ);
            assert_eq!(answer(&mut stream).unwrap().0, 200);
        }
        for chunks in framed(most + 400_000) {
            let mut stream = connect(&office);
            send(&mut stream, &format!("{}{chunks}", head(&key)));
            refused(&mut stream, 413, "content-too-large");
            let mut stream = connect(&office);
            send(&mut stream, &format!("{}{chunks}", head("")));
            refused(&mut stream, 401, "unauthorized");
        }
    }
}

/// Nor is time won by them: one that sends a byte now and then is told when the body's time is over.
#[test]
fn chunks_without_an_end_are_late() {
    let own = Office::open(Engine::Sqlite).unwrap();
    let office = own.another_limited(|limits| limits.body_time = Duration::from_secs(1));
    let head = format!(
        "POST /v1/estimates HTTP/1.1\r\nhost: a\r\nauthorization: Bearer {}\r\nacting-person: O\r\n\
        content-type: application/json\r\ntransfer-encoding: chunked\r\n\r\n",
        office.key()
    );
    for begun in ["2;", "2\r\n{}\r\n0\r\nx:"] {
        let mut stream = connect(&office);
        send(&mut stream, &format!("{head}{begun}"));
        for _ in 0..6 {
            std::thread::sleep(Duration::from_millis(250));
            send(&mut stream, "a");
        }
        refused(&mut stream, 408, "request-timeout");
    }
}
