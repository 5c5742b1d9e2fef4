//! The contract against the one that was released last: what breaks a client needs a new version.

use std::fs;

use serde_json::{Value, json};
use tallyrule::api::Contract;

use crate::contract_breaks::breaks;
use crate::harness::project;

/// Whether `to` may break what was written against `from` (Semantic Versioning 2.0.0): another first number that is not
/// 0, and before 1.0.0 another second one.
fn may_break(from: &str, to: &str) -> bool {
    let numbers =
        |version: &str| -> Vec<u32> { version.split('.').map(|part| part.parse().unwrap()).collect() };
    let (from, to) = (numbers(from), numbers(to));
    if from[0] == 0 && to[0] == 0 {
        to[1] > from[1]
    } else {
        to[0] > from[0]
    }
}

/// With `RELEASE=1` in the environment the file is written instead: that is part of a release.
#[test]
fn nothing_breaks_against_the_released_contract_unless_the_version_rises() {
    let file = project().join("openapi/released.json");
    let text = Contract::collect().unwrap().text();
    if std::env::var("RELEASE").is_ok() {
        fs::write(&file, &text).unwrap();
    }
    let released: Value = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    let served: Value = serde_json::from_str(&text).unwrap();
    let version = |document: &Value| document["info"]["version"].as_str().unwrap().to_owned();
    let (from, to) = (version(&released), version(&served));
    let found = breaks(&released, &served);
    assert!(
        found.is_empty() || may_break(&from, &to),
        "{to} would break clients of {from}; raise the version or keep what was:\n{}",
        found.join("\n")
    );
}

#[test]
fn which_versions_may_break() {
    let cases = [
        ("0.1.0", "0.1.0", false),
        ("0.1.0", "0.1.7", false),
        ("0.1.0", "0.2.0", true),
        ("0.9.3", "1.0.0", true),
        ("1.2.0", "1.3.0", false),
        ("1.2.0", "2.0.0", true),
        ("0.2.0", "0.1.0", false),
    ];
    for (from, to, may) in cases {
        assert_eq!(may_break(from, to), may, "{from} to {to}");
    }
}

/// A small contract, to be changed.
fn sample() -> Value {
    json!({
        "paths": {
            "/jobs": {
                "get": {
                    "operationId": "list_jobs", "security": [], "x-roles": ["field", "owner"],
                    "parameters": [
                        {"name": "limit", "in": "query", "required": false,
                            "schema": {"type": "integer", "minimum": 1, "maximum": 500, "default": 50}},
                        {"name": "after", "in": "query", "required": false, "schema": {"type": "string"}},
                    ],
                    "responses": {
                        "200": {
                            "headers": {"ETag": {"schema": {"type": "string"}}},
                            "content": {
                                "application/json": {"schema": {"type": "array", "items": {"$ref": "#/components/schemas/Job"}}},
                                "text/csv": {"schema": {"type": "string"}},
                            },
                        },
                        "404": {"description": "none"},
                    },
                },
                "post": {
                    "operationId": "make_job", "security": [{"bearer": []}],
                    "requestBody": {"required": false, "content": {
                        "application/json": {"schema": {"$ref": "#/components/schemas/NewJob"}},
                        "application/toml": {"schema": {"type": "string"}},
                    }},
                    "responses": {"201": {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/Job"}}}}},
                },
            },
        },
        "components": {"schemas": {
            "Job": {
                "type": "object", "required": ["title", "state", "parts"], "additionalProperties": false,
                "properties": {
                    "title": {"type": "string"},
                    "state": {"type": "string", "enum": ["open", "done"]},
                    "note": {"type": ["string", "null"]},
                    "size": {"anyOf": [{"type": "string"}, {"type": "integer"}]},
                    "parts": {"type": "array", "items": {"$ref": "#/components/schemas/Job"}},
                },
            },
            "NewJob": {
                "type": "object", "required": ["title"],
                "properties": {
                    "title": {"type": "string", "minLength": 1, "maxLength": 60},
                    "kind": {"type": "string", "enum": ["flush", "exposed"]},
                    "length": {"type": ["string", "number"], "pattern": "^[0-9]+$"},
                    "size": {"oneOf": [{"type": "string"}, {"type": "integer"}]},
                    "legs": {"type": "array", "maxItems": 30, "items": {"type": "object", "properties": {"rise": {"type": "string"}}}},
                },
            },
        }},
    })
}

/// A place of the sample, what is put there (or nothing, where it is taken away), and what that breaks.
type Case = (&'static str, Option<Value>, Option<&'static str>);

const LIST: &str = "/paths/~1jobs/get";
const MAKE: &str = "/paths/~1jobs/post";
const JOB: &str = "/components/schemas/Job";
const NEW: &str = "/components/schemas/NewJob";

/// `{L}` is the list, `{M}` the making, `{J}` the job, `{N}` the new job.
fn cases() -> Vec<Case> {
    let text = || Some(json!({"type": "string"}));
    vec![
        // Routes.
        ("/paths/~1jobs", None, Some("GET /jobs is gone")),
        ("{M}", None, Some("POST /jobs is gone")),
        (
            "/paths/~1sites",
            Some(json!({"get": {"operationId": "list_sites"}})),
            None,
        ),
        (
            "{L}/operationId",
            Some(json!("jobs")),
            Some("GET /jobs: its operationId is another"),
        ),
        // Who may come in.
        (
            "{L}/security",
            Some(json!([{"bearer": []}])),
            Some("GET /jobs: another key is needed"),
        ),
        (
            "{M}/security",
            Some(json!([{"mutual": []}])),
            Some("POST /jobs: another key is needed"),
        ),
        (
            "{M}/security",
            Some(json!([{"bearer": []}, {"mutual": []}])),
            None,
        ),
        ("{M}/security", Some(json!([])), None),
        (
            "{L}/x-roles",
            Some(json!(["owner"])),
            Some("GET /jobs: no longer for field"),
        ),
        ("{L}/x-roles", Some(json!(["auditor", "field", "owner"])), None),
        // Parameters.
        ("{L}/parameters/1", None, Some("GET /jobs, query after is gone")),
        (
            "{L}/parameters/1/required",
            Some(json!(true)),
            Some("GET /jobs, query after is needed now"),
        ),
        (
            "{L}/parameters/0/schema/maximum",
            Some(json!(100)),
            Some("GET /jobs, query limit: maximum is narrower"),
        ),
        ("{L}/parameters/0/schema/maximum", Some(json!(900)), None),
        ("{L}/parameters/0/schema/maximum", None, None),
        (
            "{L}/parameters/0/schema/minimum",
            Some(json!(5)),
            Some("GET /jobs, query limit: minimum is narrower"),
        ),
        (
            "{L}/parameters/0/schema/default",
            Some(json!(20)),
            Some("GET /jobs, query limit has another default"),
        ),
        (
            "{L}/parameters/0/schema/type",
            Some(json!("boolean")),
            Some("GET /jobs, query limit: no longer takes integer (type)"),
        ),
        (
            "{L}/parameters/-",
            Some(json!({"name": "sort", "in": "query", "required": false, "schema": {}})),
            None,
        ),
        (
            "{L}/parameters/-",
            Some(json!({"name": "sort", "in": "query", "required": true, "schema": {}})),
            Some("GET /jobs, query sort is new and needed"),
        ),
        // Bodies.
        (
            "{M}/requestBody/required",
            Some(json!(true)),
            Some("POST /jobs: a body is needed now"),
        ),
        (
            "{M}/requestBody/content/application~1toml",
            None,
            Some("POST /jobs: no application/toml any more"),
        ),
        (
            "{N}/required",
            Some(json!(["title", "kind"])),
            Some("POST /jobs application/json: needs kind now"),
        ),
        ("{N}/required", Some(json!([])), None),
        (
            "{N}/properties/kind",
            None,
            Some("POST /jobs application/json/kind is gone"),
        ),
        ("{N}/properties/colour", text(), None),
        (
            "{N}/additionalProperties",
            Some(json!(false)),
            Some("POST /jobs application/json: takes no other members now"),
        ),
        (
            "{N}/properties/kind/enum",
            Some(json!(["flush"])),
            Some("POST /jobs application/json/kind: no longer takes exposed (enum)"),
        ),
        (
            "{N}/properties/kind/enum",
            Some(json!(["flush", "exposed", "partly"])),
            None,
        ),
        ("{N}/properties/kind/enum", None, None),
        (
            "{N}/properties/title/enum",
            Some(json!(["a"])),
            Some("POST /jobs application/json/title: no longer takes what else was (enum)"),
        ),
        (
            "{N}/properties/length/type",
            Some(json!("string")),
            Some("POST /jobs application/json/length: no longer takes number (type)"),
        ),
        (
            "{N}/properties/length/pattern",
            Some(json!("^[1-9]+$")),
            Some("POST /jobs application/json/length: pattern is narrower"),
        ),
        ("{N}/properties/length/pattern", None, None),
        (
            "{N}/properties/title/maxLength",
            Some(json!(20)),
            Some("POST /jobs application/json/title: maxLength is narrower"),
        ),
        ("{N}/properties/title/minLength", Some(json!(0)), None),
        (
            "{N}/properties/kind/format",
            Some(json!("uuid")),
            Some("POST /jobs application/json/kind: format is narrower"),
        ),
        (
            "{N}/properties/legs/maxItems",
            Some(json!(3)),
            Some("POST /jobs application/json/legs: maxItems is narrower"),
        ),
        (
            "{N}/properties/legs/items/required",
            Some(json!(["rise"])),
            Some("POST /jobs application/json/legs/*: needs rise now"),
        ),
        (
            "{N}/properties/size/oneOf",
            Some(json!([{"type": "string"}])),
            Some("POST /jobs application/json/size: another set of shapes"),
        ),
        (
            "{N}/properties/size/oneOf",
            Some(json!([{"type": "string"}, {"type": "boolean"}])),
            Some("POST /jobs application/json/size: another set of shapes"),
        ),
        (
            "{N}/properties/size/oneOf/-",
            Some(json!({"type": "boolean"})),
            None,
        ),
        (
            "{M}/requestBody/content/application~1json/schema",
            text(),
            Some("POST /jobs application/json: no longer takes object (type)"),
        ),
        // Answers.
        ("{L}/responses/404", None, Some("GET /jobs 404 is gone")),
        ("{L}/responses/410", Some(json!({"description": "gone"})), None),
        (
            "{L}/responses/200/headers/ETag",
            None,
            Some("GET /jobs 200: no header etag any more"),
        ),
        (
            "{L}/responses/200/content/text~1csv",
            None,
            Some("GET /jobs 200: no text/csv any more"),
        ),
        (
            "{L}/responses/200/content/application~1xml",
            Some(json!({})),
            None,
        ),
        (
            "{J}/properties/note",
            None,
            Some("GET /jobs 200 application/json/*/note is gone"),
        ),
        ("{J}/properties/colour", text(), None),
        (
            "{J}/required",
            Some(json!(["title", "parts"])),
            Some("GET /jobs 200 application/json/*: may lack state now"),
        ),
        (
            "{J}/required",
            Some(json!(["title", "state", "parts", "note"])),
            None,
        ),
        (
            "{J}/properties/state/enum",
            Some(json!(["open", "done", "lost"])),
            Some("GET /jobs 200 application/json/*/state: may answer now lost (enum)"),
        ),
        ("{J}/properties/state/enum", Some(json!(["open"])), None),
        (
            "{J}/properties/note/type",
            Some(json!(["string", "null", "integer"])),
            Some("GET /jobs 200 application/json/*/note: may answer now integer (type)"),
        ),
        ("{J}/properties/note/type", Some(json!("string")), None),
        (
            "{J}/properties/size/anyOf/-",
            Some(json!({"type": "boolean"})),
            Some("GET /jobs 200 application/json/*/size: another set of shapes"),
        ),
        ("{J}/properties/size/anyOf/1", None, None),
        // Words change as they like.
        ("{J}/description", Some(json!("A job.")), None),
    ]
}

/// Puts something at a JSON Pointer whose parent is there, or takes it away.
fn changed(document: &mut Value, place: &str, with: Option<Value>) {
    let (parent, name) = place.rsplit_once('/').unwrap();
    let name = name.replace("~1", "/");
    match (document.pointer_mut(parent).unwrap(), with) {
        (Value::Array(entries), Some(value)) if name == "-" => entries.push(value),
        (Value::Array(entries), None) => drop(entries.remove(name.parse().unwrap())),
        (Value::Object(members), Some(value)) => drop(members.insert(name, value)),
        (Value::Object(members), None) => drop(members.remove(&name).unwrap()),
        (other, _) => panic!("{place}: {other}"),
    }
}

#[test]
fn what_breaks_and_what_does_not() {
    assert_eq!(breaks(&sample(), &sample()), Vec::<String>::new());
    for (place, with, told) in cases() {
        let place = [("{L}", LIST), ("{M}", MAKE), ("{J}", JOB), ("{N}", NEW)]
            .iter()
            .fold(place.to_owned(), |place, (short, long)| {
                place.replace(short, long)
            });
        let mut after = sample();
        changed(&mut after, &place, with.clone());
        let found = breaks(&sample(), &after);
        match told {
            None => assert_eq!(found, Vec::<String>::new(), "{place} {with:?}"),
            Some(told) => assert!(
                found.iter().any(|one| one.starts_with(told)),
                "{place} {with:?}: {found:#?}"
            ),
        }
    }
}
