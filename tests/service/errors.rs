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

/// By which of two headers something is done would be left to chance; and a tag without its quotation marks is none.
#[test]
fn headers_that_cannot_be_meant_are_refused() {
    let office = office();
    let ask = |headers: &[(&str, &str)]| {
        let headers: Vec<_> = headers
            .iter()
            .copied()
            .chain([JSON, ("acting-person", "Ines")])
            .collect();
        office.ask("PUT", "/v1/customers/x", &headers, b"{}")
    };
    for (name, one, other) in [
        ("idempotency-key", "a", "b"),
        ("idempotency-key", "a", "a"),
        ("if-match", "\"1\"", "\"2\""),
        ("content-type", "application/json", "text/plain"),
        ("acting-person", "Ines", "Wim"),
    ] {
        let headers: Vec<_> = match name {
            "content-type" | "acting-person" => vec![(name, other), ("if-match", "*")],
            _ => vec![(name, one), (name, other)],
        };
        let told = ask(&headers).problem(400, "invalid-parameter");
        assert_eq!(told["detail"], format!("{name} is given more than once"));
    }
    for tag in [
        "abc",
        "",
        "\"a",
        "a\"",
        "\"a\" \"b\"",
        "\"a\",",
        "*, \"a\"",
        "w/\"a\"",
    ] {
        let told = ask(&[("if-match", tag)]).problem(400, "invalid-parameter");
        assert!(
            told["detail"].as_str().unwrap().contains("in quotation marks"),
            "{told}"
        );
    }
    for tag in ["*", "\"a\"", "W/\"a\"", "\"a\" ,\"b\""] {
        ask(&[("if-match", tag)]).problem(422, "invalid-input");
    }
}

/// No body is unpacked here, and one that says that it is packed is told so whatever is in it (RFC 9110, section 15.5.16).
#[test]
fn a_packed_body_is_refused_as_such() {
    let office = office();
    for (path, kind, codings) in [
        (PRICES, "application/json", ["gzip", "br"]),
        ("/v1/surveys", "application/json", ["GZIP", "identity, deflate"]),
        ("/v1/rulebooks/check", "application/toml", ["gzip", "x-unknown"]),
    ] {
        for coding in codings {
            let headers = [
                ("content-type", kind),
                ("content-encoding", coding),
                ("acting-person", "Ines"),
            ];
            let told = office.ask("POST", path, &headers, b"{\"job\": {}}");
            assert!(
                told.problem(415, "unsupported-media-type")["detail"]
                    .as_str()
                    .unwrap()
                    .contains("Content-Encoding")
            );
            assert_eq!(told.header("accept-encoding"), Some("identity"));
        }
    }
    let plain = [JSON, ("content-encoding", "identity"), ("acting-person", "Ines")];
    office
        .ask("POST", "/v1/surveys", &plain, b"{\"job\": {}}")
        .expect(201);
    office
        .ask("GET", "/v1/items?limit=1", &[("content-encoding", "gzip")], b"")
        .expect(200);
}

/// One number has one spelling.
#[test]
fn another_spelling_of_a_number_is_refused() {
    let office = office();
    for limit in ["01", "%2B1", "+1", "1.0", "1e0", "%201", "0x1"] {
        for path in ["/v1/items", "/v1/surveys"] {
            let told = office
                .get(&format!("{path}?limit={limit}"))
                .problem(400, "invalid-parameter");
            assert!(
                told["detail"]
                    .as_str()
                    .unwrap()
                    .contains("a whole number from 1 to 500"),
                "{told}"
            );
        }
    }
    office.get("/v1/surveys?limit=10").expect(200);
}

/// What is no page of the documentation is told as of every other address.
#[test]
fn the_documentation_answers_as_all_else_does() {
    let office = office();
    for path in ["/docs/nothing", "/docs/a/b", "/docs/%2e%2e/x"] {
        office.get(path).problem(404, "not-found");
    }
    for method in ["POST", "PUT", "DELETE"] {
        for path in ["/docs/", "/docs/nothing"] {
            let answer = office.ask(method, path, &[], b"");
            answer.problem(405, "method-not-allowed");
            assert_eq!(answer.header("allow"), Some("GET, HEAD"), "{method} {path}");
        }
    }
    assert_eq!(office.get("/docs/").status, 200);
    assert_eq!(office.ask("HEAD", "/docs/", &[], b"").status, 200);
}
