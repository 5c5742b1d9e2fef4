//! Whatever goes wrong, the answer is a problem (RFC 9457), and no more than that.

use std::io::{Read, Write};
use std::net::TcpStream;

use crate::harness::{BODY_LIMIT, Engine, Office};

const JSON: (&str, &str) = ("content-type", "application/json");
const PRICES: &str = "/v1/items/ANY/prices";

fn office() -> Office {
    Office::open(Engine::Sqlite).unwrap()
}

#[test]
fn text_that_is_no_json_is_told_with_line_and_column() {
    let office = office();
    // What RFC 8259 calls JSON, and what it does not.
    for (body, line, column) in [
        ("{\"a\": 1,\n \"b\": 01}", 2, 8),
        ("{\n\"a\": 1,\n}", 3, 1),
        ("{\"a\": 1, \"a\": 2}", 1, 12),
        ("[1, 2", 1, 5),
        ("{} {}", 1, 4),
        ("{\"a\": NaN}", 1, 7),
        ("", 1, 1),
    ] {
        let problem = office
            .ask("POST", PRICES, &[JSON], body.as_bytes())
            .problem(400, "malformed-body");
        let position = &problem["position"];
        assert_eq!(
            (position["line"].as_u64(), position["column"].as_u64()),
            (Some(line), Some(column)),
            "{body}"
        );
    }
    let deep = format!("{}{}", "[".repeat(5000), "]".repeat(5000));
    office
        .ask("POST", PRICES, &[JSON], deep.as_bytes())
        .problem(400, "malformed-body");
    office
        .ask("POST", PRICES, &[JSON], b"\"\xff\"")
        .problem(400, "malformed-body");
}

#[test]
fn a_body_over_the_limit_is_refused() {
    let office = office();
    let long = "x".repeat(BODY_LIMIT + 1);
    office
        .ask("POST", PRICES, &[JSON], long.as_bytes())
        .problem(413, "content-too-large");
    let fits = format!("\"{}\"", "x".repeat(BODY_LIMIT - 2));
    office
        .ask("POST", PRICES, &[JSON], fits.as_bytes())
        .problem(422, "invalid-input");
}

#[test]
fn a_body_of_unknown_length_is_cut_at_the_limit() {
    let office = office();
    let mut stream = TcpStream::connect(office.address()).unwrap();
    let head = format!(
        "POST {PRICES} HTTP/1.1\r\nhost: a\r\ncontent-type: application/json\r\nauthorization: Bearer {}\r\nacting-person: Ines\r\n",
        office.key()
    );
    stream
        .write_all(format!("{head}transfer-encoding: chunked\r\nconnection: close\r\n\r\n").as_bytes())
        .unwrap();
    let chunk = format!("10000\r\n{}\r\n", "x".repeat(0x10000));
    for _ in 0..4 {
        if stream.write_all(chunk.as_bytes()).is_err() {
            break;
        }
    }
    let mut answer = [0_u8; 64];
    let length = stream.read(&mut answer).unwrap();
    let answer = String::from_utf8_lossy(&answer[..length]);
    assert!(answer.starts_with("HTTP/1.1 413 "), "{answer}");
}

#[test]
fn a_media_type_that_is_not_read_is_told() {
    let office = office();
    for kind in [
        "text/xml",
        "application/x-www-form-urlencoded",
        "json",
        "application/jsonx",
    ] {
        let problem = office
            .ask("POST", PRICES, &[("content-type", kind)], b"{}")
            .problem(415, "unsupported-media-type");
        assert!(problem["detail"].as_str().unwrap().contains("application/json"));
    }
    // Nor is a body that was packed for the way; one that says it was and is not is no exception.
    for (path, kind) in [
        (PRICES, "application/json"),
        ("/v1/rulebooks/check", "application/toml"),
    ] {
        for coding in ["gzip", "identity, br", "x-unknown"] {
            let headers = [("content-type", kind), ("content-encoding", coding)];
            let refused = office.ask("POST", path, &headers, b"{}");
            let problem = refused.problem(415, "unsupported-media-type");
            assert!(
                problem["detail"].as_str().unwrap().contains("Content-Encoding"),
                "{problem}"
            );
        }
    }
    let plain = [
        ("content-type", "application/json"),
        ("content-encoding", "identity"),
    ];
    office
        .ask("POST", PRICES, &plain, b"{}")
        .problem(422, "invalid-input");
    let with_charset = [("content-type", "Application/JSON; charset=utf-8")];
    office
        .ask("POST", PRICES, &with_charset, b"{}")
        .problem(422, "invalid-input");
}

#[test]
fn an_unknown_address_and_an_untaken_method_are_told_apart() {
    let office = office();
    for path in [
        "/",
        "/v1",
        "/v1/nothing",
        "/v1/items/a/b",
        "/V1/items",
        "/v1/items/",
    ] {
        office.get(path).problem(404, "not-found");
    }
    for (method, path, allowed) in [
        ("DELETE", "/v1/items", "GET, HEAD"),
        ("PUT", "/v1/items/ANY", "GET, HEAD"),
        ("GET", "/v1/estimates", "POST"),
        ("HEAD", "/v1/estimates", "POST"),
        ("POST", "/healthz", "GET, HEAD"),
    ] {
        let answer = office.ask(method, path, &[], b"");
        assert_eq!(
            (answer.status, answer.header("allow")),
            (405, Some(allowed)),
            "{method} {path}"
        );
    }
}

/// Every address refuses a parameter that the contract does not name, and tells those that it does.
#[test]
fn a_parameter_that_no_address_has_is_refused_everywhere() {
    let office = office();
    let contract = office.get("/openapi.json").json();
    for (template, item) in contract["paths"].as_object().unwrap() {
        for method in item.as_object().unwrap().keys() {
            let path: Vec<&str> = template
                .split('/')
                .map(|part| if part.starts_with('{') { "1" } else { part })
                .collect();
            let path = format!("{}?colour=red", path.join("/"));
            let answer = office.ask(&method.to_ascii_uppercase(), &path, &[JSON], b"{}");
            let problem = answer.problem(400, "invalid-parameter");
            assert!(
                problem["detail"]
                    .as_str()
                    .unwrap()
                    .contains("no parameter \"colour\""),
                "{path}: {problem}"
            );
        }
    }
}

#[test]
fn every_fault_of_the_parameters_is_told_at_once_in_plain_words() {
    let office = office();
    for (path, told) in [
        (
            "/v1/items?limt=3&limit=0&limit=5",
            "this address has no parameter \"limt\"; did you mean limit? (it takes limit, after); limit is \"0\"; a whole \
             number from 1 to 500 is asked for; limit is given twice",
        ),
        (
            "/v1/items/ANY?x=1",
            "this address has no parameter \"x\" (it takes none)",
        ),
        (
            "/v1/quotes?archived=yes",
            "archived is \"yes\"; true or false is asked for",
        ),
        (
            "/v1/price-lists/x",
            "the address is \"x\"; a whole number from 0 to 4294967295 is asked for",
        ),
    ] {
        let problem = office.get(path).problem(400, "invalid-parameter");
        assert_eq!(problem["detail"], told, "{path}");
    }
    let head = office.ask("HEAD", "/v1/items?colour=red", &[], b"");
    assert_eq!((head.status, head.text.as_str()), (400, ""));
}

#[test]
fn the_type_of_a_problem_is_an_address_that_explains_it() {
    let office = office();
    let problem = office.get("/v1/nothing").problem(404, "not-found");
    let kind = office.get(problem["type"].as_str().unwrap()).expect(200);
    assert_eq!(
        (&kind["title"], &kind["status"]),
        (&problem["title"], &problem["status"])
    );
    office.get("/problems/unheard-of").problem(404, "not-found");
}

#[test]
fn every_answer_has_a_request_id() {
    let office = office();
    let own = office.ask("GET", "/healthz", &[("x-request-id", "phone-17.a_b")], b"");
    assert_eq!(own.header("x-request-id"), Some("phone-17.a_b"));
    let long = "x".repeat(65);
    for unfit in ["", "a b", "a\"b", &long] {
        let answer = office.ask("GET", "/v1/nothing", &[("x-request-id", unfit)], b"");
        let id = answer.header("x-request-id").unwrap();
        assert!(id.len() == 36 && id != unfit, "{id}");
    }
}

on_both_engines! {
    fn an_office_without_data_says_so(office) {
        let engine = match office.location() {
            tallyrule::store::Location::File(_) => Engine::Sqlite,
            tallyrule::store::Location::Server(_) => Engine::Postgresql,
        };
        let empty = Office::empty(engine).unwrap();
        empty.get("/healthz").expect(200);
        empty.get("/v1/items").problem(503, "not-ready");
        let answer = empty.get("/readyz");
        assert!(answer.problem(503, "not-ready")["detail"].as_str().unwrap().contains("tallyrule seed"));
        assert_eq!(answer.header("retry-after"), Some("5"));
        office.get("/readyz").expect(200);
    }
}
