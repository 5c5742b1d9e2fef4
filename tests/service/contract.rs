//! The contract: as committed, whole, and with a page that needs nothing from outside.

use std::collections::BTreeSet;
use std::fs;
use std::io::Read;

use flate2::read::GzDecoder;
use serde_json::{Value, json};
use tallyrule::api::Contract;

use crate::harness::{Engine, Office, project, try_ask};

fn contract() -> Value {
    serde_json::from_str(&Contract::collect().unwrap().text()).unwrap()
}

/// With `UPDATE=1` in the environment the file is written instead.
#[test]
fn the_committed_contract_is_the_one_that_is_served() {
    let file = project().join("openapi/openapi.json");
    let text = Contract::collect().unwrap().text();
    if std::env::var("UPDATE").is_ok() {
        fs::write(&file, &text).unwrap();
    }
    let committed = fs::read_to_string(&file).unwrap();
    assert!(
        committed == text,
        "openapi/openapi.json is not what is served: run with UPDATE=1 and look at the change"
    );
    let served = Office::open(Engine::Sqlite)
        .unwrap()
        .get("/openapi.json")
        .expect(200);
    assert_eq!(served, contract());
    assert_eq!(served["openapi"], "3.1.0");
}

#[test]
fn every_operation_is_described_and_may_answer_with_a_problem() {
    let contract = contract();
    let mut ids = BTreeSet::new();
    for (path, item) in contract["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let place = format!("{method} {path}");
            assert!(operation["summary"].is_string(), "{place} has no summary");
            assert!(
                ids.insert(operation["operationId"].as_str().unwrap().to_owned()),
                "{place}: id used twice"
            );
            let responses = operation["responses"].as_object().unwrap();
            assert!(responses.contains_key("default"), "{place} has no problem");
            assert!(
                operation["tags"].as_array().is_some_and(|tags| tags.len() == 1),
                "{place} has no tag"
            );
        }
    }
}

#[test]
fn every_reference_leads_to_a_shape_and_every_shape_is_used() {
    let contract = contract();
    let of = |kind: &'static str| {
        let named = contract["components"][kind].as_object().unwrap();
        named.keys().map(move |name| format!("{kind}/{name}"))
    };
    let shapes: BTreeSet<_> = of("schemas").chain(of("headers")).collect();
    let mut used = BTreeSet::new();
    let mut open = vec![&contract];
    while let Some(value) = open.pop() {
        match value {
            Value::Object(members) => {
                if let Some(reference) = members.get("$ref") {
                    let name = reference.as_str().unwrap().strip_prefix("#/components/").unwrap();
                    used.insert(name.to_owned());
                }
                open.extend(members.values());
            }
            Value::Array(items) => open.extend(items),
            _ => {}
        }
    }
    assert_eq!(used, shapes);
}

/// Every example under a value, with the shape that it is of.
fn examples<'a>(value: &'a Value, found: &mut Vec<(&'a Value, &'a Value)>) {
    match value {
        Value::Object(members) => {
            let listed = members
                .get("examples")
                .and_then(Value::as_array)
                .into_iter()
                .flatten();
            found.extend(
                listed
                    .chain(members.get("example"))
                    .map(|example| (value, example)),
            );
            members
                .iter()
                .filter(|(name, _)| !name.starts_with("example"))
                .for_each(|(_, inner)| examples(inner, found));
        }
        Value::Array(items) => items.iter().for_each(|inner| examples(inner, found)),
        _ => {}
    }
}

#[test]
fn every_body_in_json_has_an_example_and_every_example_is_of_its_shape() {
    let contract = contract();
    let mut found = Vec::new();
    examples(&contract["components"]["schemas"], &mut found);
    assert!(found.len() > 60, "{}", found.len());
    for (shape, example) in found {
        let whole = json!({"allOf": [shape], "components": contract["components"]});
        let fault = jsonschema::draft202012::new(&whole)
            .unwrap()
            .validate(example)
            .map_err(|fault| fault.to_string());
        assert_eq!(fault, Ok(()), "{example}");
    }
    for (path, item) in contract["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let body = &operation["requestBody"]["content"]["application/json"]["schema"];
            let shape = body["$ref"]
                .as_str()
                .map(|reference| contract.pointer(reference.trim_start_matches('#')).unwrap());
            assert!(
                body.is_null() || shape.is_some_and(|shape| shape["examples"].is_array()),
                "{method} {path}"
            );
        }
    }
}

#[test]
fn the_example_of_the_contract_is_priced() {
    let example = contract()["components"]["schemas"]["EstimateRequest"]["examples"][0].clone();
    let office = Office::open(Engine::Sqlite).unwrap();
    office.post("/v1/estimates", &example).expect(200);
    office.post("/v1/sizing-reports", &example).expect(200);
}

/// Whoever has what everybody may read is told so, and to who takes it smaller it goes so; each time the same bytes.
#[test]
fn what_everybody_may_read_is_told_once() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let kinds = [
        ("/openapi.json", "application/json"),
        ("/docs/", "text/html; charset=utf-8"),
        ("/docs/index.html", "text/html; charset=utf-8"),
        ("/docs/swagger-ui.css", "text/css; charset=utf-8"),
        ("/docs/swagger-ui-bundle.js", "text/javascript; charset=utf-8"),
    ];
    for (path, kind) in kinds {
        let ask = |headers: &[(&str, &str)]| try_ask(office.address(), "GET", path, headers, b"").unwrap();
        let plain = ask(&[]);
        let packed = || ask(&[("accept-encoding", "gzip")]);
        let smaller = packed();
        assert_eq!(
            (plain.status, plain.header("content-type")),
            (200, Some(kind)),
            "{path}"
        );
        for answer in [&plain, &smaller] {
            let tag = answer
                .header("etag")
                .unwrap_or_else(|| panic!("{path} has no tag"));
            let known = ask(&[("if-none-match", tag)]);
            assert_eq!((known.status, known.bytes.len()), (304, 0), "{path}");
        }
        if plain.bytes.len() > 1_400 {
            assert_eq!(smaller.header("content-encoding"), Some("gzip"), "{path}");
            assert!(smaller.bytes.len() * 2 < plain.bytes.len(), "{path}");
            assert_eq!(smaller.bytes, packed().bytes, "{path}");
            let mut whole = Vec::new();
            GzDecoder::new(smaller.bytes.as_slice())
                .read_to_end(&mut whole)
                .unwrap();
            assert_eq!(whole, plain.bytes, "{path}");
        }
    }
    office.get("/docs/nothing.js").problem(404, "not-found");
    for path in ["/docs/", "/docs/swagger-ui.css"] {
        let refused = office.ask("DELETE", path, &[], b"");
        refused.problem(405, "method-not-allowed");
        assert_eq!(refused.header("allow"), Some("GET, HEAD"));
    }
}

#[test]
fn the_documentation_page_needs_nothing_from_outside() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let redirect = office.ask("GET", "/docs", &[], b"");
    assert_eq!(
        (redirect.status, redirect.header("location")),
        (307, Some("/docs/"))
    );
    let page = office.get("/docs/");
    assert_eq!(page.status, 200);
    let start = office.get("/docs/swagger-initializer.js");
    assert!(start.text.contains("/openapi.json"), "{}", start.text);
    assert!(
        start.text.contains("\"validatorUrl\": \"none\""),
        "{}",
        start.text
    );
    for text in [&page.text, &start.text] {
        assert!(
            !text.contains("http://") && !text.contains("https://") && !text.contains("src=\"//"),
            "{text}"
        );
    }
    for part in page
        .text
        .split(['"'])
        .filter(|part| part.ends_with(".js") || part.ends_with(".css"))
    {
        assert_eq!(
            office
                .get(&format!("/docs/{}", part.trim_start_matches("./")))
                .status,
            200,
            "{part}"
        );
    }
}

/// Every operation that answers 428 says so where it takes the tag, and answers it to who sends none.
#[test]
fn what_is_needed_of_if_match_is_told() {
    let contract = contract();
    let mut told = 0;
    for (path, item) in contract["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let mut taken = operation["parameters"].as_array().into_iter().flatten();
            let tag = taken.find(|one| one["name"] == "If-Match");
            assert_eq!(
                tag.is_some(),
                operation["responses"]["428"].is_object(),
                "{method} {path}"
            );
            if let Some(tag) = tag {
                let says = tag["description"].as_str().unwrap();
                assert!(
                    says.contains("needed") && says.contains("the answer is 428"),
                    "{method} {path}: {says}"
                );
                told += 1;
            }
        }
    }
    assert!(told >= 20, "{told}");
}
