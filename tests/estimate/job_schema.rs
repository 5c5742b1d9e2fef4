//! The JSON Schema of the form tells of every answer.

use estimate::job::Form;
use serde_json::{Value, json};

use crate::job_samples::form;

/// The schema of an answer, by its pointer with `*` for an entry of a list.
fn at<'a>(schema: &'a Value, pointer: &str) -> &'a Value {
    pointer
        .split('/')
        .skip(1)
        .fold(schema, |schema, token| match token {
            "*" => &schema["items"],
            name => &schema["properties"][name],
        })
}

#[test]
fn every_answer_has_a_title_and_a_kind() {
    let form = form();
    let schema = form.schema();
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    for pointer in form.answers() {
        let answer = at(&schema, &pointer);
        assert!(
            answer["title"].as_str().is_some_and(|title| !title.is_empty()),
            "{pointer}"
        );
        let kinds = ["type", "oneOf", "enum", "$ref"];
        assert!(
            kinds.iter().any(|kind| answer.get(*kind).is_some()),
            "{pointer}: {answer}"
        );
    }
}

#[test]
fn bounds_words_defaults_and_needs_are_told() {
    let schema = form().schema();
    let route = at(&schema, "/controller/cable_route");
    assert_eq!(route["x-unit"], "ft");
    assert_eq!(route["x-maximum"], "1000");
    assert_eq!(route["x-needed"], true);
    assert_eq!(
        route["properties"]["unit"]["examples"],
        json!(["ft", "in", "m", "cm", "mm"])
    );
    assert_eq!(at(&schema, "/unit/mounting")["oneOf"][2]["const"], "flush");
    assert_eq!(
        at(&schema, "/unit/class")["enum"],
        json!(["auto", "C30", "C60", "C90"])
    );
    assert_eq!(
        at(&schema, "/cellar/air_temperature")["default"],
        json!({"value": "55", "unit": "degF"})
    );
    assert_eq!(
        at(&schema, "/unit/ceiling_void")["x-needed"],
        json!({"when": "mounting", "is": ["partly_recessed", "flush"]})
    );
    assert_eq!(
        at(&schema, "/line_set/legs/*/bends"),
        &json!({"title": "Right-angle bends on it", "x-order": 4, "type": "integer", "minimum": 0, "maximum": 50, "default": 0,
            "x-needed": false})
    );
    assert_eq!(
        at(&schema, "/extra/rack_height")["default"],
        json!({"value": "6", "unit": "ft"})
    );
    // An answer may be unknown and so be left out; the title may not, nor what an entry of basis needs.
    assert_eq!(schema["required"], json!(["title"]));
    assert_eq!(at(&schema, "/electrical").get("required"), None);
    assert_eq!(at(&schema, "/basis/*")["required"], json!(["answer", "known"]));
}

#[test]
fn the_request_holds_the_job() {
    let form: Form = form();
    let schema = form.request_schema();
    assert_eq!(at(&schema, "/job")["$ref"], "#/$defs/job");
    assert_eq!(schema["required"], json!(["job"]));
    assert_eq!(
        at(&schema["$defs"]["job"], "/unit/mounting"),
        at(&form.schema(), "/unit/mounting")
    );
    let line = at(&schema, "/manual_lines/*");
    assert_eq!(
        line["required"],
        json!(["kind", "description", "cost_code", "tax_category", "reason"])
    );
    assert_eq!(line["allOf"][0]["then"]["required"], json!(["quantity"]));
}

/// Every question and every group of them says whether and when it is needed, in answers of its own kind.
#[test]
fn what_is_needed_is_told_of_every_question() {
    let schema = form().schema();
    for (pointer, needed) in [
        ("/title", json!(true)),
        ("/customer", json!(false)),
        ("/cellar", json!(true)),
        ("/cellar/lights", json!(true)),
        ("/cellar/people/count", json!(true)),
        ("/cellar/infiltration_air", json!(false)),
        ("/cellar/length", json!({"unless": ["volume"]})),
        ("/cellar/volume", json!({"unless": ["length", "width", "height"]})),
        ("/cellar/construction", json!({"unless": ["surfaces"]})),
        ("/cellar/construction/door", json!(true)),
        (
            "/cellar/construction/door/r_value",
            json!({"unless": ["u_value"]}),
        ),
        ("/cellar/construction/glazing", json!(false)),
        ("/cellar/construction/glazing/area", json!(true)),
        ("/cellar/surfaces/*/kind", json!(true)),
        ("/line_set/legs/*/bends", json!(false)),
        // Left out, a probe is wanted, and then its route is missing.
        ("/controller/probe", json!(true)),
        ("/controller/probe/wanted", json!(false)),
        ("/controller/probe/route", json!({"when": "wanted", "is": [true]})),
        ("/humidity", json!(false)),
        ("/humidity/supply_length", json!({"when": "wanted", "is": [true]})),
        ("/finishes/ceiling_patch", json!(false)),
        ("/tax", json!(false)),
        ("/extra/rack_height", json!(false)),
        ("/basis", json!(false)),
        ("/basis/*/answer", json!(true)),
    ] {
        assert_eq!(at(&schema, pointer)["x-needed"], needed, "{pointer}");
    }
    for pointer in form().answers() {
        let told = &at(&schema, &pointer)["x-needed"];
        assert!(
            pointer.ends_with("/*") || told.is_boolean() || told.is_object(),
            "{pointer}: {told}"
        );
    }
    assert_eq!(
        at(&schema, "/cellar/construction")["x-not-beside"],
        json!(["surfaces", "volume"])
    );
}
