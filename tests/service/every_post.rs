//! Every POST that makes or moves something has one effect and one answer for one name. A POST that is new in the contract
//! must stand here, among the cases or among those that change nothing.

use std::collections::{BTreeMap, BTreeSet};
use std::thread;

use estimate::quantity::Decimal;
use serde_json::{Value, json};

use crate::harness::{Answer, Engine, Office, PERSON, contract, fresh_name, row_counts};
use crate::quotes_desk::{accepted, customer_and_site, draft, house_policy, issued, new_quote, post, quote};

/// They compute an answer, and nothing is another after them.
const CHANGE_NOTHING: &[&str] = &[
    "/v1/estimates",
    "/v1/estimates/sweeps",
    "/v1/sizing-reports",
    "/v1/rulebooks/check",
    "/v1/rulebooks/{id}/versions/{version}/impact",
    "/v1/rulebook-drafts/{draft}/impact",
    "/v1/purchase-lists",
    "/v1/price-curves",
];

/// One effect for one name, and a secret in the first answer alone, which is kept nowhere: access.rs has their cases.
const TELL_ONCE: &[&str] = &["/v1/access-keys", "/v1/access-keys/{id}/rotate"];

/// What was done before stays as it was, whoever asks.
const DONE_ONCE: &[&str] = &["/v1/access-keys/{id}/revoke"];

/// A request that is ready to be sent, and another one of the same address.
struct Sent {
    path: String,
    tag: Option<String>,
    kind: &'static str,
    body: Vec<u8>,
    other: Vec<u8>,
}

impl Sent {
    fn json(path: impl Into<String>, body: &Value, other: &Value) -> Self {
        Self {
            path: path.into(),
            tag: None,
            kind: "application/json",
            body: body.to_string().into_bytes(),
            other: other.to_string().into_bytes(),
        }
    }

    fn seen(self, tag: &str) -> Self {
        Self {
            tag: Some(tag.to_owned()),
            ..self
        }
    }

    fn send(&self, office: &Office, person: &str, key: &str, body: &[u8]) -> Answer {
        let mut headers = vec![
            ("content-type", self.kind),
            ("acting-person", person),
            ("idempotency-key", key),
        ];
        headers.extend(self.tag.as_deref().map(|tag| ("if-match", tag)));
        office.ask("POST", &self.path, &headers, body)
    }
}

/// Makes all that a request needs beforehand, anew at each call.
type Ready = fn(&Office) -> Sent;

const CASES: &[(&str, Ready)] = &[
    ("/v1/customers", |_| {
        let body = |name: &str| json!({"name": name, "address": {"lines": ["14 Alderwick Lane"]}});
        Sent::json("/v1/customers", &body("O"), &body("P"))
    }),
    ("/v1/sites", |office| {
        let (customer, _) = customer_and_site(office);
        let body = |name: &str| json!({"customer": customer, "name": name, "address": {"lines": ["1"]}});
        Sent::json("/v1/sites", &body("Loft"), &body("Annexe"))
    }),
    ("/v1/customers/{id}/archive", |office| {
        archive(&format!("/v1/customers/{}", customer_and_site(office).0))
    }),
    ("/v1/sites/{id}/archive", |office| {
        archive(&format!("/v1/sites/{}", customer_and_site(office).1))
    }),
    ("/v1/surveys", |_| {
        let body = |title: &str| json!({"job": {"title": title}});
        Sent::json("/v1/surveys", &body("Loft"), &body("Annexe"))
    }),
    ("/v1/surveys/{id}/archive", |office| {
        let made = office.post("/v1/surveys", &json!({"job": {}})).expect(201);
        archive(&format!("/v1/surveys/{}", made["id"].as_str().unwrap()))
    }),
    ("/v1/items/{code}/prices", price),
    ("/v1/labour-classes", |office| {
        let mut class = office.get("/v1/labour-classes/lead_mechanic").expect(200);
        class["code"] = json!(fresh_name("class"));
        for rate in class["rates"].as_array_mut().unwrap() {
            rate.as_object_mut()
                .unwrap()
                .retain(|name, _| name != "loaded" && name != "hour");
        }
        let mut other = class.clone();
        other["title"] = json!("Another");
        Sent::json("/v1/labour-classes", &class, &other)
    }),
    ("/v1/labour-classes/{code}/rates", |office| {
        let path = "/v1/labour-classes/lead_mechanic";
        let read = office.get(path);
        let day = unused_day(read.expect(200)["rates"].as_array().unwrap().len());
        let rate = |wage: &str| {
            json!({"valid_from": day, "wage": wage, "paid_hours": "2080", "source": "example",
            "burden": [], "non_productive": []})
        };
        Sent::json(format!("{path}/rates"), &rate("30"), &rate("31")).seen(read.header("etag").unwrap())
    }),
    ("/v1/policies", |office| {
        let (_, mut policy, _) = house_policy(office);
        policy["id"] = json!(fresh_name("policy").replace('_', "-"));
        let body = |day: &str| json!({"valid_from": day, "policy": policy});
        Sent::json("/v1/policies", &body("2031-01-01"), &body("2031-01-02"))
    }),
    ("/v1/policies/{id}/versions", |office| {
        let (path, policy, tag) = house_policy(office);
        let versions = office.get(&format!("{path}/versions")).expect(200);
        let day = unused_day(versions["data"].as_array().unwrap().len());
        let body = |day: &str| json!({"valid_from": day, "policy": policy});
        Sent::json(
            format!("{path}/versions"),
            &body(&day),
            &body(&day.replace("-01-01", "-01-02")),
        )
        .seen(&tag)
    }),
    ("/v1/rulebook-drafts", |_| {
        Sent::json("/v1/rulebook-drafts", &json!({}), &json!({"version": 1}))
    }),
    ("/v1/rulebook-drafts/{draft}/format", |office| {
        let (path, tag) = rules(office);
        // It has no body: another person is the other request.
        Sent {
            body: Vec::new(),
            other: Vec::new(),
            ..Sent::json(format!("{path}/format"), &json!(null), &json!(null))
        }
        .seen(&tag)
    }),
    ("/v1/rulebook-drafts/{draft}/examples", |office| {
        let (path, tag) = rules(office);
        Sent::json(format!("{path}/examples"), &json!({}), &json!({"examples": []})).seen(&tag)
    }),
    ("/v1/rulebook-drafts/{draft}/publish", |office| {
        let (path, tag) = rules(office);
        Sent::json(format!("{path}/publish"), &json!({}), &json!({"instead_of": 1})).seen(&tag)
    }),
    ("/v1/rulebooks/{id}/calendar", |office| {
        let versions = office
            .get("/v1/rulebooks/hollowmoor-standard/versions")
            .expect(200);
        let day = unused_day(versions["calendar"].as_array().unwrap().len());
        let body = |day: &str| json!({"version": 1, "current_from": day});
        let other = day.replace("-01-01", "-01-02");
        Sent::json(
            "/v1/rulebooks/hollowmoor-standard/calendar",
            &body(&day),
            &body(&other),
        )
    }),
    ("/v1/rulebooks/{id}/versions/{version}/retire", |office| {
        // The next version takes the place of one that nothing else here names.
        for _ in 0..2 {
            let (path, tag) = rules(office);
            let publish = Sent::json(format!("{path}/publish"), &json!({}), &json!({})).seen(&tag);
            publish
                .send(office, PERSON, &fresh_name("rules"), &publish.body)
                .expect(200);
        }
        let versions = "/v1/rulebooks/hollowmoor-standard/versions";
        let newest = office.get(versions).expect(200)["versions"]
            .as_array()
            .unwrap()
            .len();
        let body = |reason: &str| json!({"reason": reason});
        Sent::json(
            format!("{versions}/{}/retire", newest - 1),
            &body("old"),
            &body("older"),
        )
    }),
    ("/v1/price-list-mappings", |office| {
        let mapping = |title: &str| mapping(office, title);
        let (mut one, mut other) = (mapping("List"), mapping("Another list"));
        let id = fresh_name("list").replace('_', "-");
        (one["id"], other["id"]) = (json!(id), json!(id));
        Sent::json("/v1/price-list-mappings", &one, &other)
    }),
    ("/v1/price-lists", list),
    ("/v1/price-lists/{number}/take-back", |office| {
        let sent = list(office);
        let applied = sent
            .send(office, PERSON, &fresh_name("list"), &sent.body)
            .expect(201);
        let day = applied["valid_from"].as_str().unwrap().replace("-01-", "-07-");
        let body = |reason: &str| json!({"valid_from": day, "reason": reason});
        let path = format!("/v1/price-lists/{}/take-back?dry_run=false", applied["number"]);
        Sent::json(path, &body("a slip"), &body("a mistake"))
    }),
    ("/v1/quotes", |office| {
        let body = new_quote(office, &draft());
        let mut other = body.clone();
        other["draft"]["exclusions"] = json!(["Paint"]);
        Sent::json("/v1/quotes", &body, &other)
    }),
    ("/v1/quotes/{id}/archive", |office| {
        archive(&quote(office, &draft()))
    }),
    ("/v1/quotes/{id}/revisions", |office| {
        let path = issued(office, &draft());
        post(office, &format!("{path}/revisions"), &json!({"from": 1})).expect(201);
        Sent::json(
            format!("{path}/revisions"),
            &json!({"from": 1}),
            &json!({"from": 2}),
        )
    }),
    ("/v1/quotes/{id}/revisions/{revision}/refresh", |office| {
        let path = format!("{}/revisions/1", quote(office, &draft()));
        let tag = office.get(&path).header("etag").unwrap().to_owned();
        // It has no body: another person is the other request.
        Sent {
            body: Vec::new(),
            other: Vec::new(),
            ..Sent::json(format!("{path}/refresh"), &json!(null), &json!(null))
        }
        .seen(&tag)
    }),
    ("/v1/quotes/{id}/approvals", |office| {
        note(&quote(office, &draft()), "approvals", "note")
    }),
    ("/v1/quotes/{id}/issue", |office| {
        note(&quote(office, &draft()), "issue", "reason")
    }),
    ("/v1/quotes/{id}/accept", |office| {
        accept(&issued(office, &draft()))
    }),
    ("/v1/quotes/{id}/decline", |office| {
        note(&issued(office, &draft()), "decline", "reason")
    }),
    ("/v1/quotes/{id}/withdraw", |office| {
        note(&issued(office, &draft()), "withdraw", "reason")
    }),
    ("/v1/quotes/{id}/change-orders", |office| {
        Sent::json(
            format!("{}/change-orders", accepted(office, &draft())),
            &order("60"),
            &order("70"),
        )
    }),
    ("/v1/quotes/{id}/change-orders/{order}/revisions", |office| {
        let path = ordered(office);
        Sent::json(
            format!("{path}/revisions"),
            &json!({"from": 1}),
            &json!({"from": 2}),
        )
    }),
    ("/v1/quotes/{id}/change-orders/{order}/approvals", |office| {
        note(&ordered(office), "approvals", "note")
    }),
    ("/v1/quotes/{id}/change-orders/{order}/issue", |office| {
        note(&ordered(office), "issue", "reason")
    }),
    ("/v1/quotes/{id}/change-orders/{order}/accept", |office| {
        accept(&order_issued(office))
    }),
    ("/v1/quotes/{id}/change-orders/{order}/decline", |office| {
        note(&order_issued(office), "decline", "reason")
    }),
    ("/v1/quotes/{id}/change-orders/{order}/withdraw", |office| {
        note(&order_issued(office), "withdraw", "reason")
    }),
];

/// A draft of the rulebook: its address and the tag of it.
fn rules(office: &Office) -> (String, String) {
    let made = post(office, "/v1/rulebook-drafts", &json!({}));
    let path = format!("/v1/rulebook-drafts/{}", made.expect(201)["id"].as_str().unwrap());
    (path, made.header("etag").unwrap().to_owned())
}

fn archive(path: &str) -> Sent {
    Sent::json(
        format!("{path}/archive"),
        &json!({"archived": true}),
        &json!({"archived": false}),
    )
}

fn note(path: &str, verb: &str, member: &str) -> Sent {
    let body = |text: &str| json!({"revision": 1, member: text});
    Sent::json(format!("{path}/{verb}"), &body("as agreed"), &body("otherwise"))
}

fn accept(path: &str) -> Sent {
    let body = |name: &str| json!({"revision": 1, "accepted_by": name});
    Sent::json(format!("{path}/accept"), &body("O"), &body("P"))
}

fn order(feet: &str) -> Value {
    json!({"title": "Panel moved", "change": {"job": {"electrical": {"panel_length": {"value": feet, "unit": "ft"}}}}})
}

/// A change order in draft: its address.
fn ordered(office: &Office) -> String {
    let path = accepted(office, &draft());
    post(office, &format!("{path}/change-orders"), &order("60")).expect(201);
    format!("{path}/change-orders/1")
}

fn order_issued(office: &Office) -> String {
    let path = ordered(office);
    post(office, &format!("{path}/issue"), &json!({"revision": 1})).expect(200);
    path
}

/// A first day after those of `count` prices, with room behind it.
fn unused_day(count: usize) -> String {
    format!("{}-01-01", 2100 + 2 * count)
}

fn item(office: &Office) -> Value {
    office.get("/v1/items?limit=1").expect(200)["data"][0].clone()
}

fn price(office: &Office) -> Sent {
    let item = item(office);
    let pack = &item["packs"][0];
    let day = unused_day(pack["prices"].as_array().unwrap().len());
    let body =
        |amount: &str| json!({"pack": pack["size"], "valid_from": day, "amount": amount, "source": "offer"});
    Sent::json(
        format!("/v1/items/{}/prices", item["code"].as_str().unwrap()),
        &body("7"),
        &body("8"),
    )
}

fn mapping(office: &Office, title: &str) -> Value {
    json!({
        "id": "every-post", "title": title, "supplier": item(office)["supplier"], "separator": "comma",
        "numbers": {"decimal": "point"},
        "columns": {"code": {"title": "Code"}, "price": {"title": "Price"}, "pack_size": {"title": "Pack"},
            "unit": {"title": "Unit"}},
    })
}

/// A list of one row, with a price and a day of its own.
fn list(office: &Office) -> Sent {
    let item = item(office);
    let pack = &item["packs"][0];
    let day = unused_day(pack["prices"].as_array().unwrap().len());
    let newest = pack["prices"].as_array().unwrap().last().unwrap()["amount"]
        .as_str()
        .unwrap();
    let text = |cents: i64| {
        let price = newest.parse::<Decimal>().unwrap() + Decimal::new(cents, 2);
        let word = |value: &Value| value.as_str().unwrap().to_owned();
        format!(
            "Code,Pack,Unit,Price\n{},{},{},{price}\n",
            word(&item["code"]),
            word(&pack["size"]),
            word(&item["unit"])
        )
    };
    // There may be one from the call before.
    office.post("/v1/price-list-mappings", &mapping(office, "List"));
    Sent {
        path: format!("/v1/price-lists?mapping=every-post&dry_run=false&valid_from={day}"),
        tag: None,
        kind: "text/csv",
        body: text(1).into_bytes(),
        other: text(2).into_bytes(),
    }
}

/// Members of an example that name what one office has and another has not: a case has its own.
const OWN: &[&str] = &[
    "id",
    "code",
    "customer",
    "site",
    "pack",
    "valid_from",
    "version",
    "current_from",
    "supplier",
];

#[test]
fn the_example_of_each_post_does_what_it_says() {
    let mut done = 0;
    for (place, ready) in CASES {
        // An office of its own: what one example brings about stands in the way of another.
        let office = Office::open(Engine::Sqlite).unwrap();
        let sent = ready(&office);
        let shape = &contract()["paths"][place]["post"]["requestBody"]["content"]["application/json"]["schema"]
            ["$ref"];
        let Some(reference) = shape.as_str() else { continue };
        let mut body = contract()
            .pointer(&format!("{}/examples/0", &reference[1..]))
            .unwrap()
            .clone();
        let own: Value = serde_json::from_slice(&sent.body).unwrap();
        for name in OWN {
            if let (Some(open), Some(own)) = (body.get_mut(*name), own.get(*name)) {
                *open = own.clone();
            }
        }
        if place.starts_with("/v1/policies/") || *place == "/v1/policies" {
            body["policy"]["id"] = own["policy"]["id"].clone();
        }
        let person = if place.ends_with("approvals") {
            "Another Person"
        } else {
            PERSON
        };
        let answer = sent.send(
            &office,
            person,
            &fresh_name("example"),
            body.to_string().as_bytes(),
        );
        assert!(
            [200, 201].contains(&answer.status),
            "{place} {body}: {}",
            answer.text
        );
        done += 1;
    }
    assert!(done > 25, "{done}");
}

#[test]
fn every_post_of_the_contract_has_a_case_or_changes_nothing() {
    let paths = contract()["paths"].as_object().unwrap();
    let posts = paths
        .iter()
        .filter_map(|(path, item)| Some((path.as_str(), item.get("post")?)));
    let posts: BTreeMap<&str, &Value> = posts.collect();
    let cases: BTreeSet<&str> = CASES.iter().map(|(path, _)| *path).collect();
    let known: BTreeSet<&str> = cases
        .iter()
        .chain(CHANGE_NOTHING)
        .chain(TELL_ONCE)
        .chain(DONE_ONCE)
        .copied()
        .collect();
    assert_eq!(posts.keys().copied().collect::<BTreeSet<_>>(), known);
    for (path, operation) in posts {
        let parameters = operation["parameters"].as_array();
        let named = parameters.is_some_and(|all| all.iter().any(|one| one["name"] == "Idempotency-Key"));
        assert_eq!(named, cases.contains(path) || TELL_ONCE.contains(&path), "{path}");
    }
}

on_both_engines! {
    fn every_post_has_one_effect_and_one_answer_for_one_name(office) {
        let elsewhere = office.another();
        for (place, ready) in CASES {
            let sent = ready(office);
            let person = if place.ends_with("approvals") { "Another Person" } else { PERSON };
            let key = fresh_name("one");
            let before = row_counts(office.location());
            let first = sent.send(office, person, &key, &sent.body);
            assert!([200, 201].contains(&first.status), "{place}: {}", first.text);
            let after = row_counts(office.location());
            let again = sent.send(&elsewhere, person, &key, &sent.body);
            let told = |answer: &Answer| (answer.status, answer.text.clone(), answer.header("etag").map(str::to_owned),
                answer.header("location").map(str::to_owned));
            assert_eq!(told(&again), told(&first), "{place}");
            let (other, body) = if sent.other.is_empty() { ("Somebody Else", &sent.body) } else { (person, &sent.other) };
            sent.send(office, other, &key, body).problem(422, "idempotency-key-reused");
            assert_eq!(row_counts(office.location()), after, "{place}");

            let (sent, key) = (ready(office), fresh_name("at-once"));
            let start = row_counts(office.location());
            let answers: Vec<Answer> = thread::scope(|scope| {
                let asked = [office, &elsewhere, office, &elsewhere].map(|door| {
                    let (sent, key) = (&sent, &key);
                    scope.spawn(move || sent.send(door, person, key, &sent.body))
                });
                asked.into_iter().map(|answer| answer.join().unwrap()).collect()
            });
            for answer in &answers {
                assert_eq!(told(answer), told(&answers[0]), "{place}");
            }
            assert_eq!(answers[0].status, first.status, "{place}: {}", answers[0].text);
            let end = row_counts(office.location());
            let grown = |from: &BTreeMap<String, i64>, to: &BTreeMap<String, i64>| -> BTreeMap<String, i64> {
                to.iter().map(|(table, rows)| (table.clone(), rows - from.get(table).copied().unwrap_or_default()))
                    // What an estimate is made from is kept once, whoever needs it first; a year has one counter.
                    .filter(|(table, _)| !table.starts_with("snapshot") && table != "quote_counters")
                    .collect()
            };
            assert_eq!(grown(&start, &end), grown(&before, &after), "{place}");
        }
    }
}
