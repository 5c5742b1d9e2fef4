//! The form of the job spec as another team follows it: by what the contract says of it and by nothing else.

use std::collections::BTreeSet;

use serde_json::{Map, Value, json};
use tallyrule::desk::Desk;
use tallyrule::desk::access::Role;
use tallyrule::store::Store;

use crate::harness::{Answer, Engine, Office, contract, key_of};
use crate::quotes_desk::post;

const FORM: &str = "/v1/job-spec-form";

/// Choices at random, the same each time.
struct Chance(u64);

impl Chance {
    /// A number below `end`.
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        usize::try_from((self.0 >> 33) % u64::try_from(end).unwrap()).unwrap()
    }

    fn pick<'a>(&mut self, all: &'a [Value]) -> &'a Value {
        &all[self.below(all.len())]
    }
}

/// A client that has the form and nothing else.
struct Client<'a> {
    form: &'a Value,
    chance: Chance,
    /// Answers in whose place others are given.
    passed_over: &'static [&'static str],
    /// What the form called needed, as pointers; of each, whether it is an answer of its own.
    needed: Vec<(String, bool)>,
}

fn words(list: &Value) -> Vec<&str> {
    list.as_array()
        .into_iter()
        .flatten()
        .map(|word| word.as_str().unwrap())
        .collect()
}

/// Whether a question has questions in it; the parts of a quantity or an amount are none.
fn is_group(question: &Value) -> bool {
    let parts = question["properties"].as_object();
    parts.is_some_and(|parts| parts.values().all(|part| part["x-order"].is_u64()))
}

/// Whether the form needs an answer beside those that are given.
fn is_needed(need: &Value, questions: &Map<String, Value>, given: &Map<String, Value>) -> bool {
    match need {
        Value::Bool(needed) => *needed,
        need if need["unless"].is_array() => words(&need["unless"])
            .iter()
            .all(|other| !given.contains_key(*other)),
        need => {
            let other = need["when"].as_str().unwrap();
            let answer = given.get(other).or_else(|| questions[other].get("default"));
            answer.is_some_and(|answer| need["is"].as_array().unwrap().contains(answer))
        }
    }
}

impl Client<'_> {
    fn group(&mut self, group: &Value, place: &str) -> Value {
        let questions = group["properties"].as_object().unwrap();
        let mut in_order: Vec<_> = questions.iter().collect();
        in_order.sort_by_key(|(_, question)| question["x-order"].as_u64().unwrap());
        let mut given = Map::new();
        for (name, question) in in_order {
            let excluded = words(&question["x-not-beside"])
                .iter()
                .any(|other| given.contains_key(*other));
            let need = &question["x-needed"];
            if excluded || !is_needed(need, questions, &given) {
                continue;
            }
            // Of those that stand in for one another, one that comes later is given at times.
            if need["unless"].is_array() && self.passed_over.contains(&name.as_str()) {
                continue;
            }
            let place = format!("{place}/{name}");
            self.needed.push((place.clone(), !is_group(question)));
            let answer = self.answer(question, &place);
            given.insert(name.clone(), answer);
        }
        Value::Object(given)
    }

    fn answer(&mut self, question: &Value, place: &str) -> Value {
        if is_group(question) {
            return self.group(question, place);
        }
        if let Some(choices) = question["oneOf"].as_array() {
            return self.chance.pick(choices)["const"].clone();
        }
        if let Some(choices) = question["enum"].as_array() {
            return self.chance.pick(choices).clone();
        }
        let bound = ["minimum", "maximum"][self.chance.below(2)];
        if let Some(unit) = question["x-unit"].as_str() {
            return json!({"value": question[format!("x-{bound}")], "unit": unit});
        }
        match &question["type"] {
            Value::String(kind) => match kind.as_str() {
                "boolean" => json!(self.chance.below(2) == 0),
                "integer" => question[bound].clone(),
                "array" => {
                    let fewest = usize::try_from(question["minItems"].as_u64().unwrap()).unwrap();
                    let count = fewest + self.chance.below(3);
                    (0..count)
                        .map(|entry| self.answer(&question["items"], &format!("{place}/{entry}")))
                        .collect()
                }
                "string" => json!("Cellar at the corner"),
                other => panic!("{place}: {other}"),
            },
            _ => json!(question[bound].to_string()),
        }
    }
}

fn pointers(told: &Value) -> BTreeSet<String> {
    let told = told.as_array().unwrap().iter();
    told.map(|fault| fault["pointer"].as_str().unwrap().to_owned())
        .collect()
}

/// A phone that fills in what the form calls needed, and no more, is never told that something must be given; and of that
/// each answer is: without it, it is told.
#[test]
fn what_the_form_calls_needed_is_all_that_is_needed() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let form = office.get(FORM).expect(200);
    let (mut with_volume, mut lacking) = (0, BTreeSet::new());
    let others: [&'static [&'static str]; 4] = [
        &[],
        &["construction", "r_value"],
        &["length", "width", "height"],
        &["u_value"],
    ];
    for (seed, passed_over) in (0..80).zip(others.iter().cycle()) {
        let (chance, needed) = (Chance(seed), Vec::new());
        let mut client = Client {
            form: &form,
            chance,
            passed_over,
            needed,
        };
        let form = client.form;
        let job = client.group(&form["$defs"]["job"], "/job");
        let survey = post(&office, "/v1/surveys", &json!({"job": job})).expect(201);
        assert_eq!(survey["missing"], json!([]), "{job:#}");
        with_volume += usize::from(job["cellar"]["volume"].is_object());
        // Take one answer away.
        let answers: Vec<_> = client.needed.iter().filter(|(_, own)| *own).collect();
        let (place, _) = answers[client.chance.below(answers.len())];
        let mut less = json!({"job": job});
        let (group, name) = place.rsplit_once('/').unwrap();
        less.pointer_mut(group)
            .unwrap()
            .as_object_mut()
            .unwrap()
            .shift_remove(name)
            .unwrap();
        let missing = pointers(&post(&office, "/v1/surveys", &less).expect(201)["missing"]);
        let or_group = [place.as_str(), group];
        // A size that lacks a side is no size; it is told as what contradicts the other sides.
        let is_side = ["length", "width", "height"].contains(&name);
        assert!(
            is_side || or_group.iter().any(|place| missing.contains(*place)),
            "{place}: {missing:?}"
        );
        lacking.insert(place.clone());
    }
    assert!(with_volume > 5, "{with_volume}");
    assert!(lacking.len() > 20, "{lacking:?}");
}

/// Every member of the form that is none of JSON Schema's own, with how often it is used.
fn annotations(value: &Value, found: &mut BTreeSet<String>) {
    match value {
        Value::Object(members) => {
            found.extend(members.keys().filter(|name| name.starts_with("x-")).cloned());
            members.values().for_each(|inner| annotations(inner, found));
        }
        Value::Array(entries) => entries.iter().for_each(|inner| annotations(inner, found)),
        _ => {}
    }
}

#[test]
fn the_contract_explains_every_member_of_the_form() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let form = office.get(FORM).expect(200);
    let shapes = &contract()["components"]["schemas"];
    let answered =
        &contract()["paths"][FORM]["get"]["responses"]["200"]["content"]["application/json"]["schema"];
    assert_eq!(answered["$ref"], "#/components/schemas/JobSpecForm");
    let question = shapes["JobSpecFormQuestion"]["properties"].as_object().unwrap();
    let mut used = BTreeSet::new();
    annotations(&form, &mut used);
    let explained: BTreeSet<String> = question
        .keys()
        .filter(|name| name.starts_with("x-"))
        .cloned()
        .collect();
    assert_eq!(used, explained);
    for (name, told) in question {
        let shape = told["$ref"]
            .as_str()
            .map_or(told, |to| contract().pointer(to.trim_start_matches('#')).unwrap());
        let said = shape["description"].as_str().unwrap_or_default();
        assert!(said.len() > 15, "{name}");
    }
    // What else the form says of an answer is of JSON Schema, and of no more than these words.
    let plain = [
        "$ref",
        "additionalProperties",
        "allOf",
        "anyOf",
        "examples",
        "format",
        "minLength",
        "pattern",
        "required",
    ];
    let mut open = vec![&form["$defs"]["job"]];
    open.extend(form["properties"].as_object().unwrap().values());
    while let Some(one) = open.pop() {
        for name in one.as_object().unwrap().keys() {
            assert!(
                question.contains_key(name) || plain.contains(&name.as_str()),
                "{name}: {one}"
            );
        }
        open.extend(one["properties"].as_object().into_iter().flat_map(Map::values));
        open.extend(one.get("items"));
    }
}

/// Whether all that `part` says is said by `whole`.
fn is_part_of(part: &Value, whole: &Value) -> bool {
    match (part, whole) {
        (Value::Object(part), Value::Object(whole)) => part
            .iter()
            .all(|(name, inner)| whole.get(name).is_some_and(|whole| is_part_of(inner, whole))),
        (part, whole) => part == whole,
    }
}

#[test]
fn the_example_in_the_contract_is_of_the_form_that_is_served() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let form = office.get(FORM).expect(200);
    let example = &contract()["components"]["schemas"]["JobSpecForm"]["examples"][0];
    assert!(example.is_object());
    assert!(is_part_of(example, &form), "{example:#}");
    let mut shown = BTreeSet::new();
    annotations(example, &mut shown);
    let all = [
        "x-left-out",
        "x-matters",
        "x-maximum",
        "x-minimum",
        "x-needed",
        "x-not-beside",
        "x-order",
        "x-unit",
        "x-unit-shown",
    ];
    assert_eq!(shown, all.map(str::to_owned).into());
}

/// The form has what the asking role may send, and nothing that is refused to it.
#[test]
fn a_role_is_asked_for_what_it_may_send() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let desk = Desk::new(Store::open(office.location().clone(), 1, false).unwrap());
    let key = |role| key_of(&desk, "Wim Tarrant", role, false);
    let (field, estimator) = (key(Role::Field), key(Role::Estimator));
    let read = |key: &str, tag: &str| office.ask_by(Some(key), "GET", FORM, &[("if-none-match", tag)], b"");
    let asked = |answer: &Answer| -> BTreeSet<String> {
        let names: Vec<String> = answer.expect(200)["properties"]
            .as_object()
            .unwrap()
            .keys()
            .cloned()
            .collect();
        names.into_iter().collect()
    };
    let (part, whole) = (read(&field, "\"none\""), read(&estimator, "\"none\""));
    let (own, all) = (asked(&part), asked(&whole));
    assert_eq!(own, ["job", "priced_on", "rulebook"].map(str::to_owned).into());
    let form = part.json();
    let mut places: Vec<_> = form["properties"]
        .as_object()
        .unwrap()
        .values()
        .map(|one| one["x-order"].as_u64())
        .collect();
    places.sort_unstable();
    assert_eq!(places, [Some(1), Some(2), Some(3)]);
    for name in all {
        let body = json!({"job": {}, (name.clone()): {}}).to_string();
        let headers = [("content-type", "application/json")];
        let told = office
            .ask_by(Some(&field), "POST", "/v1/estimates", &headers, body.as_bytes())
            .expect(422);
        let refused = told["errors"]
            .as_array()
            .unwrap()
            .iter()
            .any(|error| error["code"] == "not_for_role");
        assert_eq!(refused, !own.contains(&name), "{name}: {told}");
    }
    // Each has a tag of its own, and says what it goes by.
    let (tag, other) = (part.header("etag").unwrap(), whole.header("etag").unwrap());
    assert_ne!(tag, other);
    assert_eq!((read(&field, tag).status, read(&field, other).status), (304, 200));
    for answer in [&part, &whole, &read(&field, tag)] {
        assert!(
            answer.header("vary").unwrap().contains("authorization"),
            "{:?}",
            answer.header("vary")
        );
    }
}

/// A person can read everything that is asked: titles as sentences, words of choices with theirs, units that are known.
#[test]
fn whatever_is_asked_can_be_read() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let form = office.get(FORM).expect(200);
    let mut open = vec![("/job".to_owned(), &form["$defs"]["job"]), (String::new(), &form)];
    while let Some((place, group)) = open.pop() {
        let mut titles = BTreeSet::new();
        for (name, question) in group["properties"].as_object().unwrap() {
            let place = format!("{place}/{name}");
            let title = question["title"].as_str().unwrap();
            assert!(
                title.starts_with(char::is_uppercase) && title != name,
                "{place}: {title}"
            );
            assert!(titles.insert(title), "{place}: {title} is asked twice");
            for word in question["oneOf"].as_array().into_iter().flatten() {
                assert!(
                    word["title"].as_str().is_some_and(|title| title.len() > 1),
                    "{place}: {word}"
                );
            }
            let inner = question.get("items").unwrap_or(question);
            if is_group(inner) {
                open.push((place, inner));
            }
        }
    }
}
