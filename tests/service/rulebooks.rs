//! The office edits its rules over REST, the short way, and sees the price change.

use std::thread;

use serde_json::{Value, json};

use crate::harness::{Answer, Engine, Office};

const PATH: &str = "/v1/rulebooks/hollowmoor-standard";
const TOML: &str = "application/toml";

fn job() -> Value {
    let mut job = crate::quotes_desk::job("pinfold-basement");
    // Of today: a version that is current from now on prices it.
    job.as_object_mut().unwrap().remove("priced_on");
    job
}

fn put(office: &Office, tag: &str, kind: &str, text: &str) -> Answer {
    office.ask(
        "PUT",
        PATH,
        &[
            ("content-type", kind),
            ("if-match", tag),
            ("acting-person", "Ines Calloway"),
        ],
        text.as_bytes(),
    )
}

/// The demonstration's text with one task twice as long, and the key of the task's line.
fn edited(text: &str) -> String {
    let (before, after) = text.split_once("task = \"walk_through\"").unwrap();
    let (line, rest) = after.split_once("hours = \"").unwrap();
    let (hours, rest) = rest.split_once('"').unwrap();
    without_totals(&format!(
        "{before}task = \"walk_through\"{line}hours = \"({hours}) * 2\"{rest}"
    ))
}

/// The text without what the worked examples add up to, which any change of hours moves.
pub fn without_totals(text: &str) -> String {
    let moved = |line: &&str| line.trim_start().starts_with("{ total");
    text.lines()
        .filter(|line| !moved(line))
        .map(|line| format!("{line}\n"))
        .collect()
}

fn line(estimate: &Value) -> Value {
    let lines = estimate["lines"].as_array().unwrap();
    let is_meant = |line: &&Value| line["key"].as_str().unwrap().ends_with("/walk_through");
    lines.iter().find(is_meant).unwrap().clone()
}

on_both_engines! {
    fn an_edit_of_a_rule_changes_the_price_and_is_a_new_version(office) {
        let before = office.post("/v1/estimates", &job()).expect(200);
        let current = office.get(PATH);
        let tag = current.header("etag").unwrap();
        let rulebook = current.expect(200);
        assert_eq!(rulebook["version"], 1);
        let text = rulebook["text"].as_str().unwrap();
        assert_eq!(text, crate::harness::seed().rulebook, "with the jobs of its examples in it");
        let answer = put(office, tag, TOML, &edited(text));
        let new = answer.expect(200);
        assert_eq!(new["version"], 2);
        let new_tag = answer.header("etag").unwrap();
        assert_ne!(new_tag, tag);
        assert_eq!(office.get(PATH).header("etag"), Some(new_tag));
        let after = office.post("/v1/estimates", &job()).expect(200);
        assert_eq!(after["rulebook"]["version"], 2);
        let (old, new) = (line(&before), line(&after));
        let number = |line: &Value| line["clock_hours"]["value"].as_str().unwrap().parse::<estimate::quantity::Decimal>().unwrap();
        assert_eq!(number(&new), number(&old) + number(&old));
        assert_ne!(before["totals"]["total"], after["totals"]["total"]);
        let other = office.another();
        assert!(other.post("/v1/estimates", &job()).text == office.post("/v1/estimates", &job()).text);
    }

    fn an_edit_needs_the_tag_of_what_was_edited(office) {
        let current = office.get(PATH);
        let tag = current.header("etag").unwrap();
        let rulebook = current.expect(200);
        let text = rulebook["text"].as_str().unwrap();
        let person = ("acting-person", "Ines Calloway");
        office.ask("PUT", PATH, &[("content-type", TOML), person], text.as_bytes()).problem(428, "precondition-required");
        let nobody = [("content-type", TOML), ("if-match", tag)];
        office.ask_by(Some(office.key()), "PUT", PATH, &nobody, text.as_bytes()).problem(400, "acting-person-required");
        put(office, "\"1-other\"", TOML, text).problem(412, "precondition-failed");
        put(office, &format!("W/{tag}"), TOML, text).problem(412, "precondition-failed");
        put(office, tag, TOML, text).expect(200);
        put(office, tag, TOML, text).problem(412, "precondition-failed");
        assert_eq!(office.get(PATH).expect(200)["version"], 2);
    }

    fn of_two_edits_at_once_one_is_told_so(office) {
        let other = office.another();
        let current = office.get(PATH);
        let (tag, rulebook) = (current.header("etag").unwrap().to_owned(), current.expect(200));
        let text = rulebook["text"].as_str().unwrap();
        let statuses: Vec<u16> = thread::scope(|scope| {
            let doors = [office, &other, office, &other];
            let edits = doors.map(|door| { let tag = &tag; scope.spawn(move || put(door, tag, TOML, text).status) });
            edits.into_iter().map(|edit| edit.join().unwrap()).collect()
        });
        assert_eq!(statuses.iter().filter(|status| **status == 200).count(), 1, "{statuses:?}");
        assert_eq!(statuses.iter().filter(|status| **status == 412).count(), 3, "{statuses:?}");
        assert_eq!(other.get(PATH).expect(200)["version"], 2);
    }
}

fn office() -> Office {
    Office::open(Engine::Sqlite).unwrap()
}

#[test]
fn a_faulty_edit_is_refused_with_every_finding_and_its_place() {
    let office = office();
    let current = office.get(PATH);
    let (tag, rulebook) = (current.header("etag").unwrap(), current.expect(200));
    let text = rulebook["text"].as_str().unwrap();
    let faulty = edited(text).replace(") * 2\"", ") * line_set.lenght\"");
    let at = faulty.lines().position(|line| line.contains("lenght")).unwrap() + 1;
    for (kind, body) in [
        (TOML, faulty.clone()),
        ("application/json", json!({"text": faulty}).to_string()),
    ] {
        let problem = put(&office, tag, kind, &body).problem(422, "rulebook-findings");
        let findings = problem["findings"].as_array().unwrap();
        let finding = findings
            .iter()
            .find(|finding| finding["line"] == json!(at))
            .unwrap();
        assert!(
            finding.to_string().contains("line_set.length"),
            "the nearest name is told: {finding}"
        );
    }
    assert_eq!(office.get(PATH).expect(200)["version"], 1);
    put(&office, tag, TOML, "not = [toml").problem(422, "rulebook-findings");
    put(&office, tag, "application/json", "{\"txt\": \"\"}").problem(422, "invalid-input");
    put(&office, tag, "application/json", "{").problem(400, "malformed-body");
    put(&office, tag, "text/html", "").problem(415, "unsupported-media-type");
    let renamed = text.replace("id = \"hollowmoor-standard\"", "id = \"another\"");
    put(&office, tag, TOML, &renamed).problem(422, "invalid-input");
    let elsewhere = [
        ("content-type", TOML),
        ("if-match", "*"),
        ("acting-person", "Ines Calloway"),
    ];
    office
        .ask("PUT", "/v1/rulebooks/another", &elsewhere, text.as_bytes())
        .problem(404, "not-found");
}

/// A labour class whose first rate is still to come: rules that use it are well formed, and cannot be priced yet.
#[test]
fn rules_that_use_a_class_without_a_rate_today_are_told_and_not_published() {
    let office = office();
    let class = json!({
        "code": "rigger", "title": "Rigger", "cost_code": "LAB", "tax_category": "services",
        "rates": [{
            "valid_from": "2999-01-01", "wage": "28.00", "paid_hours": "2080", "source": "offer",
            "burden": [], "non_productive": [],
        }],
    });
    office.post("/v1/labour-classes", &class).expect(201);
    let current = office.get(PATH);
    let (tag, rulebook) = (current.header("etag").unwrap().to_owned(), current.expect(200));
    let text = format!(
        "{}\n[[assembly]]\ncode = \"RIGGING\"\ntitle = \"Rigging\"\nsection = \"Unit\"\n\n[[assembly.line]]\n\
         kind = \"labour\"\ntask = \"rig\"\ntitle = \"Rig\"\nclass = \"rigger\"\nhours = \"1 h\"\n",
        rulebook["text"].as_str().unwrap()
    );
    let check = office.ask(
        "POST",
        "/v1/rulebooks/check",
        &[("content-type", TOML)],
        text.as_bytes(),
    );
    let told = check.expect(200);
    assert_eq!(told["publishable"], false);
    let [finding] = told["findings"].as_array().unwrap().as_slice() else {
        panic!("{told}");
    };
    assert_eq!(finding["code"], "no_rate");
    assert_eq!(finding["part"], "assembly RIGGING, line 1");
    assert_eq!(finding["field"], "class");
    put(&office, &tag, TOML, &text).problem(422, "rulebook-findings");
}

#[test]
fn a_check_publishes_nothing() {
    let office = office();
    let rulebook = office.get(PATH).expect(200);
    let text = rulebook["text"].as_str().unwrap();
    let check = |text: &str| {
        office
            .ask(
                "POST",
                "/v1/rulebooks/check",
                &[("content-type", TOML)],
                text.as_bytes(),
            )
            .expect(200)
    };
    let sound = check(text);
    assert_eq!(sound["publishable"], true, "{sound}");
    let faulty = check(&edited(text).replace(") * 2\"", ") * 2 ft\""));
    assert_eq!(faulty["publishable"], false);
    assert!(
        faulty["findings"]
            .as_array()
            .unwrap()
            .iter()
            .any(|finding| finding["severity"] == "error")
    );
    assert_eq!(office.get(PATH).expect(200)["version"], 1);
}

#[test]
fn facts_and_the_form_are_those_of_the_rulebook() {
    let office = office();
    let facts = office.get("/v1/facts").expect(200);
    let facts = facts["data"].as_array().unwrap();
    let fact = |name: &str| {
        facts
            .iter()
            .find(|fact| fact["name"] == name)
            .unwrap_or_else(|| panic!("no {name}"))
    };
    assert_eq!(fact("line_set.length")["unit"], "ft");
    assert_eq!(fact("site.occupied")["kind"], "flag");
    assert!(
        fact("unit.mounting")["words"]
            .as_array()
            .unwrap()
            .contains(&json!("flush"))
    );
    for source in ["job", "sizing", "equipment", "input"] {
        assert!(facts.iter().any(|fact| fact["source"] == source), "{source}");
    }
    office.get("/v1/facts?rulebook=nobody").problem(404, "not-found");
    let form = office.get("/v1/job-spec-form").expect(200);
    let validator = jsonschema::draft202012::new(&form).unwrap();
    assert!(
        validator.is_valid(&job()),
        "the demonstration's job fits the form"
    );
    assert!(!validator.is_valid(&json!({"jobb": {}})));
}

#[test]
fn rulebooks_are_listed() {
    let page = office().get("/v1/rulebooks").expect(200);
    assert_eq!(page["data"][0]["id"], "hollowmoor-standard");
    assert!(page["data"][0]["formulas"].as_u64().unwrap() >= 150);
    assert!(page["data"][0]["lines"].as_u64().unwrap() >= 80);
}
