//! Customers, sites and quotes in lists; numbers without gaps.

use std::collections::BTreeSet;
use std::thread;

use serde_json::json;
use tallyrule::desk::Desk;
use tallyrule::store::Store;

use crate::harness::{Engine, Office};
use crate::quotes_desk::{customer_and_site, draft, issued, new_quote, post, put, quote};

on_both_engines! {
    fn numbers_have_no_gap_though_many_write_and_some_are_refused(office) {
        let other = office.another();
        let bodies: Vec<_> = (0..6).map(|_| new_quote(office, &draft())).collect();
        thread::scope(|scope| {
            for (place, body) in bodies.iter().enumerate() {
                let door = if place % 2 == 0 { office } else { &other };
                scope.spawn(move || {
                    for turn in 0..4 {
                        let mut body = body.clone();
                        body["id"] = json!(format!("0190f3a2-7b1c-7cde-8a00-0000000{place}000{}", turn / 2));
                        // Every second one is refused in the middle of its transaction: its key is taken.
                        let wanted = if turn % 2 == 0 { 201 } else { 409 };
                        post(door, "/v1/quotes", &body).expect(wanted);
                    }
                });
            }
        });
        let numbers: BTreeSet<u32> = office.get("/v1/quotes?limit=500").expect(200)["data"].as_array().unwrap().iter()
            .map(|row| row["number"].as_str().unwrap()[5..].parse().unwrap()).collect();
        assert_eq!(numbers, (1..=12).collect());
    }

    fn pages_stay_right_while_others_write(office) {
        let paths: Vec<_> = (0..5).map(|_| quote(office, &draft())).collect();
        let first = office.get("/v1/quotes?limit=2");
        let page = first.expect(200);
        quote(office, &draft());
        let next = first.header("link").unwrap();
        let place = next.trim_start_matches('<').split('>').next().unwrap();
        assert!(place.contains("limit=2") && place.contains(&format!("after={}", page["next"].as_str().unwrap())));
        let second = office.get(place).expect(200);
        let ids: Vec<_> = [&page, &second].iter().flat_map(|page| page["data"].as_array().unwrap()).map(|row| row["id"].clone()).collect();
        let made: Vec<_> = paths.iter().rev().take(4).map(|path| json!(path.trim_start_matches("/v1/quotes/"))).collect();
        assert_eq!(ids, made);
        let last = office.get(&format!("/v1/quotes?limit=2&after={}", second["next"].as_str().unwrap())).expect(200);
        assert_eq!((last["data"].as_array().unwrap().len(), &last["next"]), (1, &json!(null)));
    }

    fn quotes_are_found_by_state_customer_number_day_and_text(office) {
        let path = issued(office, &draft());
        quote(office, &draft());
        let told = office.get(&path).expect(200);
        let found = |query: &str| office.get(&format!("/v1/quotes?{query}")).expect(200)["data"].as_array().unwrap().len();
        let (customer, number, day) = (told["customer"].as_str().unwrap(), told["number"].as_str().unwrap(), told["created_on"].as_str().unwrap());
        assert_eq!([found("state=issued"), found("state=draft"), found("state=accepted")], [1, 1, 0]);
        assert_eq!([found(&format!("customer={customer}")), found(&format!("number={number}"))], [1, 1]);
        assert_eq!([found(&format!("from={day}&to={day}")), found("to=2019-12-31")], [2, 0]);
        assert_eq!([found("text=BRACKWATER"), found(&format!("text={number}")), found("text=%25")], [2, 1, 0]);
        office.get("/v1/quotes?state=lost").problem(400, "invalid-parameter");
        office.get("/v1/quotes?limit=501").problem(400, "invalid-parameter");
        office.get("/v1/quotes?after=x").problem(400, "invalid-parameter");
        post(office, &format!("{path}/archive"), &json!({"archived": true})).expect(200);
        assert_eq!([found("state=issued"), found("archived=true")], [0, 1]);
        assert_eq!(post(office, &format!("{path}/archive"), &json!({"archived": false})).expect(200)["archived"], false);
    }

    fn a_quote_is_called_and_found_as_the_revision_that_speaks_for_it(office) {
        let called = |title: &str| { let mut draft = draft(); draft["request"]["job"]["title"] = json!(title); draft };
        let path = quote(office, &called("Pantry"));
        let found = |text: &str| office.get(&format!("/v1/quotes?text={text}")).expect(200)["data"].as_array().unwrap().len();
        let write = |number: u32, title: &str| {
            let place = format!("{path}/revisions/{number}");
            let tag = office.get(&place).header("etag").unwrap().to_owned();
            put(office, &place, &tag, &called(title)).expect(200);
        };
        write(1, "Undercroft");
        assert_eq!([found("pantry"), found("undercroft")], [0, 1]);
        assert_eq!(office.get(&path).expect(200)["title"], "Undercroft");
        post(office, &format!("{path}/issue"), &json!({"revision": 1})).expect(200);
        post(office, &format!("{path}/revisions"), &json!({"from": 1})).expect(201);
        write(2, "Vault");
        assert_eq!([found("vault"), found("undercroft")], [0, 1], "the first is with the customer");
        let customer = office.get(&path).expect(200)["customer"].as_str().unwrap().to_owned();
        let customer = format!("/v1/customers/{customer}");
        let tag = office.get(&customer).header("etag").unwrap().to_owned();
        put(office, &customer, &tag, &json!({"name": "Maris Thornquill", "address": {"lines": ["2 Quay"]}})).expect(200);
        post(office, &format!("{path}/issue"), &json!({"revision": 2})).expect(200);
        assert_eq!([found("vault"), found("undercroft"), found("thornquill"), found("brackwater")], [1, 0, 1, 0]);
        let desk = Desk::new(Store::open(office.location().clone(), 1, false).unwrap());
        assert_eq!(desk.verify().unwrap().faults, Vec::<String>::new());
    }

    fn a_text_is_found_wherever_it_stands_and_nothing_else(office) {
        let mut bodies: Vec<_> = ["Tarn-Hestley \"Loft\"", "Tarnhest", "50% off_season", "Éamon Ó Søren"].iter().map(|title| {
            let mut draft = draft();
            draft["request"]["job"]["title"] = json!(title);
            new_quote(office, &draft)
        }).collect();
        bodies.push(new_quote(office, &draft()));
        bodies.iter().for_each(|body| { post(office, "/v1/quotes", body).expect(201); });
        let found = |text: &str| {
            let text: String = text.bytes().map(|byte| format!("%{byte:02X}")).collect();
            office.get(&format!("/v1/quotes?text={text}")).expect(200)["data"].as_array().unwrap().len()
        };
        // Parts of words, either case, signs that stand for themselves, and texts too short for an index.
        for (text, wanted) in [
            ("tarn-hest", 1), ("arnhes", 1), ("TARN", 2), ("rn", 2), ("\"loft\"", 1), ("50% off_season", 1), ("50%x", 0), ("f_s", 1),
            ("fxs", 0), ("éamon ó s", 1), ("ÉAMON", 1), ("cellar", 5), ("brackwater", 5), ("hestley loft", 0),
            ("AND", 0), ("NEAR(tarn hest)", 0), ("søren", 1), ("a text that is nowhere and longer than any that an index is asked for", 0),
        ] {
            assert_eq!(found(text), wanted, "{text}");
        }
        for path in ["/v1/quotes?text=tarn%00", "/v1/customers?text=%00", "/v1/customers/%00", "/v1/items/A%00"] {
            office.get(path).problem(400, "invalid-parameter");
        }
        let name = json!({"name": "A\u{0}B", "address": {"lines": ["1"]}});
        post(office, "/v1/customers", &name).problem(422, "invalid-input");
    }

    fn customers_and_sites_are_written_under_their_tag(office) {
        let (customer, site) = customer_and_site(office);
        let path = format!("/v1/customers/{customer}");
        let read = office.get(&path);
        let changed = json!({"name": "Odalie Brackwater-Finch", "address": {"lines": ["2 Quay"]}});
        let answer = put(office, &path, read.header("etag").unwrap(), &changed);
        assert_eq!(answer.expect(200)["name"], "Odalie Brackwater-Finch");
        let stale = put(office, &path, read.header("etag").unwrap(), &changed);
        stale.problem(412, "precondition-failed");
        assert_eq!(stale.header("etag"), answer.header("etag"));
        assert_eq!(office.get("/v1/customers?text=FINCH").expect(200)["data"][0]["id"], customer);
        assert_eq!(office.get(&format!("/v1/sites?customer={customer}")).expect(200)["data"][0]["id"], site);
        assert_eq!(office.get(&format!("/v1/sites/{site}")).expect(200)["customer"], customer);
        let (other, _) = customer_and_site(office);
        let place = format!("/v1/sites/{site}");
        let tag = office.get(&place).header("etag").unwrap().to_owned();
        let moved = json!({"customer": other, "name": "Closet", "address": {"lines": ["1"]}});
        put(office, &place, &tag, &moved).problem(409, "conflict");
        assert_eq!(post(office, &format!("{path}/archive"), &json!({"archived": true})).expect(200)["archived"], true);
        assert_eq!(office.get("/v1/customers").expect(200)["data"].as_array().unwrap().len(), 1);
        let key = json!({"id": customer, "name": "Twice", "address": {"lines": ["1"]}});
        post(office, "/v1/customers", &key).problem(409, "already-there");
    }
}

#[test]
fn a_customer_with_faults_is_refused_with_every_one() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let body = json!({"id": "7", "name": "", "address": {"lines": []}, "phone": "1"});
    let problem = post(&office, "/v1/customers", &body).problem(422, "invalid-input");
    let mut pointers: Vec<_> = problem["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|error| error["pointer"].as_str().unwrap())
        .collect();
    pointers.sort_unstable();
    assert_eq!(pointers, ["/address", "/id", "/name", "/phone"]);
    let nowhere =
        json!({"customer": "0190f3a2-7b1c-7cde-8a00-3c5a1f0e9d11", "name": "X", "address": {"lines": ["1"]}});
    let problem = post(&office, "/v1/sites", &nowhere).problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["pointer"], "/customer");
    office.get("/v1/customers/nobody").problem(404, "not-found");
    office
        .get("/v1/customers?after=&limit=0")
        .problem(400, "invalid-parameter");
}
