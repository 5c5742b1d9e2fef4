//! Quotes are begun: for whom, where, under which number, and with which words.

use serde_json::{Value, json};
use tallyrule::desk::Desk;
use tallyrule::store::{Location, Store};

use crate::harness::{Answer, Engine, Office, seed};
use crate::quotes_desk::{by_hand, customer_and_site, draft, new_quote, post, put, quote};

#[track_caller]
fn at(answer: &Answer, pointer: &str, word: &str) {
    let problem = answer.problem(422, "invalid-input");
    let found = problem["errors"]
        .as_array()
        .unwrap()
        .iter()
        .any(|error| error["pointer"] == pointer && error["message"].as_str().unwrap().contains(word));
    assert!(found, "{pointer} {word}: {problem}");
}

fn faults(office: &Office) -> Vec<String> {
    let desk = Desk::new(Store::open(office.location().clone(), 1, false).unwrap());
    desk.verify().unwrap().faults
}

fn set(office: &Office, pattern: &str) -> Answer {
    const PATH: &str = "/v1/company/quote-numbers";
    let tag = office.get(PATH).header("etag").unwrap().to_owned();
    put(office, PATH, &tag, &json!({"pattern": pattern}))
}

fn number(office: &Office) -> String {
    let path = quote(office, &draft());
    office.get(&path).expect(200)["number"]
        .as_str()
        .unwrap()
        .to_owned()
}

on_both_engines! {
    fn a_quote_is_for_a_customer_at_a_site_of_theirs_and_both_in_use(office) {
        let (customer, site) = customer_and_site(office);
        let (other, _) = customer_and_site(office);
        let make = |customer: &str, site: &str| post(office, "/v1/quotes", &json!({"customer": customer, "site": site, "draft": draft()}));
        at(&make(&other, &site), "/site", "is not one of the customer");
        let put_away = |path: String, away: bool| { post(office, &format!("{path}/archive"), &json!({"archived": away})).expect(200); };
        put_away(format!("/v1/sites/{site}"), true);
        at(&make(&customer, &site), "/site", "is put away");
        put_away(format!("/v1/sites/{site}"), false);
        put_away(format!("/v1/customers/{customer}"), true);
        at(&make(&customer, &site), "/customer", "is put away");
        let body = json!({"customer": customer, "name": "Loft", "address": {"lines": ["1"]}});
        at(&post(office, "/v1/sites", &body), "/customer", "is put away");
        put_away(format!("/v1/customers/{customer}"), false);
        make(&customer, &site).expect(201);
    }

    fn a_quote_names_the_survey_that_it_comes_from(office) {
        let (customer, site) = customer_and_site(office);
        let (_, elsewhere) = customer_and_site(office);
        let survey = |body: Value| post(office, "/v1/surveys", &body).expect(201)["id"].as_str().unwrap().to_owned();
        let own = survey(json!({"site": site, "job": {"title": "Closet"}}));
        let make = |survey: &str| {
            let body = json!({"customer": customer, "site": site, "survey": survey, "draft": draft()});
            post(office, "/v1/quotes", &body)
        };
        at(&make(&survey(json!({"site": elsewhere, "job": {}}))), "/survey", "is of the site");
        at(&make("0190f3a2-7b1c-7cde-8a00-3c5a1f0e9d99"), "/survey", "0190f3a2-7b1c-7cde-8a00-3c5a1f0e9d99");
        at(&make(""), "/survey", "the key of a survey");
        let put_away = |away: bool| { post(office, &format!("/v1/surveys/{own}/archive"), &json!({"archived": away})).expect(200); };
        put_away(true);
        at(&make(&own), "/survey", "is put away");
        put_away(false);
        let made = make(&own);
        assert_eq!(made.expect(201)["survey"], own);
        let path = made.header("location").unwrap().to_owned();
        // One that says no site fits every one, and a quote need not name any.
        let anywhere = survey(json!({"job": {}}));
        make(&anywhere).expect(201);
        assert_eq!(office.get(&quote(office, &draft())).expect(200).get("survey"), None);
        let of = |survey: &str| office.get(&format!("/v1/quotes?survey={survey}")).expect(200)["data"].clone();
        let told = of(&own);
        assert_eq!((told.as_array().unwrap().len(), &told[0]["survey"]), (1, &json!(own)));
        assert_eq!(of(&anywhere).as_array().unwrap().len(), 1);
        assert_eq!(of("nothing"), json!([]));
        // What a quote comes from is not moved to another site.
        let anywhere_path = format!("/v1/surveys/{anywhere}");
        let tag = office.get(&anywhere_path).header("etag").unwrap().to_owned();
        at(&put(office, &anywhere_path, &tag, &json!({"site": elsewhere, "job": {}})), "/site", "comes from this survey");
        put(office, &anywhere_path, &tag, &json!({"site": site, "job": {}})).expect(200);
        // It stays the one that it was, whatever becomes of the quote.
        post(office, &format!("{path}/issue"), &json!({"revision": 1})).expect(200);
        assert_eq!(office.get(&path).expect(200)["survey"], own);
        let other = format!("UPDATE quotes SET survey_id = '{anywhere}'");
        assert!(by_hand(office.location(), &other).unwrap_err().contains("never"));
        assert_eq!(faults(office), Vec::<String>::new());
        let lift = match office.location() {
            Location::File(_) => "DROP TRIGGER quotes_survey_kept",
            Location::Server(_) => "ALTER TABLE quotes DISABLE TRIGGER quotes_survey_kept",
        };
        by_hand(office.location(), &format!("{lift}; {other}")).unwrap();
        let told = faults(office);
        assert!(told.iter().any(|fault| fault.contains("of quotes is not what audit entry")), "{told:?}");
    }

    fn numbers_get_another_pattern_and_stay_gapless_and_unique(office) {
        let first = number(office);
        let year = &first[..4];
        let told = office.get("/v1/company/quote-numbers").expect(200);
        assert_eq!(told, json!({"pattern": "{year}-{counter:5}", "next": format!("{year}-00002")}));
        for (pattern, word) in [("{year}", "must stand in the pattern"), ("{year}-{counter:99}", "1 to 9 digits"), ("{year} {counter:3}", "may not stand")] {
            at(&set(office, pattern), "/pattern", word);
        }
        let stale = put(office, "/v1/company/quote-numbers", "\"other\"", &json!({"pattern": "Q{year}-{counter:4}"}));
        stale.problem(412, "precondition-failed");
        assert_eq!(set(office, "{year}-9{counter:1}").expect(200)["next"], format!("{year}-92"));
        assert_eq!(number(office), format!("{year}-92"));
        // Under this one it would come again, as the number of the year's ninety-second quote.
        at(&set(office, "{year}-{counter:2}"), "/pattern", "would get it again");
        set(office, "{year}-{counter:5}").expect(200);
        assert_eq!(number(office), format!("{year}-00003"));
        assert_eq!(faults(office), Vec::<String>::new());
        let entries = office.get("/v1/audit-entries?subject=company%2Fquote-numbers").expect(200);
        assert_eq!(entries["data"].as_array().unwrap().len(), 2);
    }

    fn a_server_that_knows_the_old_pattern_makes_numbers_of_the_new_one(office) {
        let other = office.another();
        number(&other);
        set(office, "Q{year}-{counter:4}").expect(200);
        assert!(number(&other).starts_with('Q'));
    }

    fn a_period_that_ends_before_it_begins_is_no_empty_list(office) {
        let refused = office.get("/v1/quotes?from=2026-02-01&to=2026-01-31").problem(422, "invalid-input");
        assert!(refused["errors"][0]["message"].as_str().unwrap().contains("ends before it begins"), "{refused}");
        office.get("/v1/quotes?from=2026-02-01&to=2026-02-01").expect(200);
    }
}

#[test]
fn a_pattern_that_is_none_is_found_when_the_seed_is_loaded() {
    let location = crate::harness::empty_location(Engine::Sqlite).unwrap();
    let desk = tallyrule::desk::Desk::new(tallyrule::store::Store::open(location, 1, true).unwrap());
    let mut data = seed();
    data.company.quote_numbers = "{year}".to_owned();
    let told = desk.load_seed(data).unwrap_err().to_string();
    assert!(
        told.starts_with("company, quote_numbers: {counter:N} must stand"),
        "{told}"
    );
}

#[test]
fn what_cannot_be_seen_is_refused_wherever_a_person_writes() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let (customer, site) = customer_and_site(&office);
    let bad = "A\u{1b}[2JB";
    let party = |name: &str, line: &str| json!({"name": name, "address": {"lines": [line]}});
    at(
        &post(&office, "/v1/customers", &party(bad, "1")),
        "/name",
        "control characters",
    );
    at(
        &post(&office, "/v1/customers", &party("A\nB", "1")),
        "/name",
        "control characters",
    );
    post(&office, "/v1/customers", &party("A", bad)).problem(422, "invalid-input");
    let mut contact = party("A", "1");
    contact["contact"] = json!(bad);
    at(
        &post(&office, "/v1/customers", &contact),
        "/contact",
        "control characters",
    );
    let place = json!({"customer": customer, "name": bad, "address": {"lines": ["1"]}});
    at(&post(&office, "/v1/sites", &place), "/name", "control characters");
    let with = |place: &str, text: &str| {
        let mut body =
            json!({"customer": customer, "site": site, "draft": crate::quotes_desk::draft_with_alternates()});
        *body["draft"].pointer_mut(place).unwrap() = json!(text);
        body
    };
    for place in [
        "/request/job/title",
        "/alternates/0/title",
        "/exclusions/0",
        "/wording/introduction",
    ] {
        at(
            &post(&office, "/v1/quotes", &with(place, bad)),
            &format!("/draft{place}"),
            "control characters",
        );
    }
    // A title is a line; wording may have several.
    at(
        &post(&office, "/v1/quotes", &with("/request/job/title", "A\nB")),
        "/draft/request/job/title",
        "control",
    );
    post(&office, "/v1/quotes", &with("/wording/introduction", "A\nB")).expect(201);
    let path = quote(&office, &draft());
    let moved = |why: &str| json!({"revision": 1, "reason": why});
    at(
        &post(&office, &format!("{path}/issue"), &moved(bad)),
        "/reason",
        "control characters",
    );
    post(&office, &format!("{path}/issue"), &moved("two\nlines")).expect(200);
    let accept = format!("{path}/accept");
    at(
        &post(&office, &accept, &json!({"revision": 1, "accepted_by": bad})),
        "/accepted_by",
        "control",
    );
    let word: Value = json!({"revision": 1, "accepted_by": "O", "reference": bad});
    at(&post(&office, &accept, &word), "/reference", "control characters");
}

#[test]
fn a_fault_of_what_a_draft_names_is_told_where_it_stands() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let named = |name: &str, value: Value| {
        let mut draft = draft();
        draft["request"][name] = value;
        draft
    };
    for (name, value) in [
        ("policy", json!("nobody")),
        ("rulebook", json!("nobody")),
        ("rulebook_version", json!(99)),
    ] {
        let body = new_quote(&office, &named(name, value.clone()));
        let made = post(&office, "/v1/quotes", &body);
        at(&made, &format!("/draft/request/{name}"), "");
        let path = format!("{}/revisions/1", quote(&office, &draft()));
        let tag = office.get(&path).header("etag").unwrap().to_owned();
        at(
            &put(&office, &path, &tag, &named(name, value)),
            &format!("/request/{name}"),
            "",
        );
    }
}
