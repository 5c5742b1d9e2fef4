//! The life of a quote: drafts under If-Match, issued, superseded, accepted, declined, withdrawn, expired.

use std::thread;

use serde_json::{Value, json};
use tallyrule::desk::Entrances;

use crate::harness::{Engine, Office, PERSON};
use crate::quotes_desk::{
    by_hand, draft, draft_with_alternates, issued, minor, new_quote, post, put, quote, send,
};

#[test]
fn moves_are_told_to_those_who_may_make_them() {
    let own = Office::open(Engine::Sqlite).unwrap();
    let entrances = Entrances {
        demo_keys: true,
        ..Entrances::default()
    };
    let office = own.another_with(entrances);
    let path = format!("{}/revisions/1", issued(&office, &draft()));
    let all = json!(["accept", "decline", "withdraw"]);
    for (role, wanted) in [
        ("estimator", &all),
        ("owner", &all),
        ("accounting", &json!([])),
        ("auditor", &json!([])),
        ("field", &json!([])),
    ] {
        let key = format!("trk_demo_{role}");
        let told = office.ask_by(Some(&key), "GET", &path, &[], b"").expect(200);
        assert_eq!(told["moves"], *wanted, "{role}");
    }
}

on_both_engines! {
    fn a_quote_is_made_edited_issued_and_accepted(office) {
        let made = post(office, "/v1/quotes", &new_quote(office, &draft()));
        let told = made.expect(201);
        let path = made.header("location").unwrap();
        let number = told["number"].as_str().unwrap();
        assert!(number.ends_with("-00001") && number.len() == 10, "{number}");
        assert_eq!((&told["state"], &told["contract"]), (&json!("draft"), &Value::Null));
        let first = office.get(&format!("{path}/revisions/1"));
        let tag = first.header("etag").unwrap();
        assert_eq!(first.expect(200)["moves"], json!(["issue"]));
        let edited = put(office, &format!("{path}/revisions/1"), tag, &draft_with_alternates());
        assert_ne!(edited.header("etag"), Some(tag));
        assert_eq!(edited.expect(200)["content"]["exclusions"][0], "Painting of the ceiling");
        let revision = post(office, &format!("{path}/issue"), &json!({"revision": 1, "reason": "after the visit"}));
        let revision = revision.expect(200);
        assert_eq!(revision["state"], "issued");
        assert_eq!(revision["name"], format!("{number}-R1"));
        let document = office.get(&format!("{path}/revisions/1/document"));
        assert_eq!(document.header("etag").unwrap().trim_matches('"'), revision["digest"]);
        let estimate = office.get(&format!("{path}/revisions/1/estimate")).expect(200);
        assert_eq!(document.json()["estimate"], estimate["estimate"]);
        assert_eq!(estimate["alternates"].as_array().unwrap().len(), 2);
        let word = json!({"revision": 1, "accepted_by": "Odalie Brackwater", "reference": "PO 7", "alternates": ["long-run"]});
        let accepted = post(office, &format!("{path}/accept"), &word).expect(200);
        assert_eq!((&accepted["state"], &accepted["moves"]), (&json!("accepted"), &json!([])));
        assert_eq!(accepted["acceptance"]["reference"], "PO 7");
        let told = office.get(path).expect(200);
        assert_eq!(told["state"], "accepted");
        assert_eq!(told["contract"]["total"], estimate["alternates"][1]["estimate"]["totals"]["total"]);
        let moves = office.get(&format!("{path}/transitions")).expect(200);
        let told: Vec<_> = moves["data"].as_array().unwrap().iter()
            .map(|moved| (moved["event"].as_str().unwrap(), moved["by"].as_str().unwrap(), moved["reason"].clone())).collect();
        assert_eq!(told, [("issue", PERSON, json!("after the visit")), ("accept", PERSON, Value::Null)]);
    }

    fn a_draft_that_cannot_be_priced_is_refused_as_its_estimate_is(office) {
        let pointer = |answer: &crate::harness::Answer| {
            let problem = answer.problem(422, "invalid-input");
            assert_eq!(problem["errors"].as_array().unwrap().len(), 1, "{problem:#}");
            problem["errors"][0]["pointer"].as_str().unwrap().to_owned()
        };
        let mut early = draft_with_alternates();
        early["request"]["priced_on"] = json!("2019-06-01");
        let refused = post(office, "/v1/quotes", &new_quote(office, &early));
        assert_eq!(pointer(&refused), "/draft/request/priced_on");
        let path = format!("{}/revisions/1", quote(office, &draft_with_alternates()));
        let tag = office.get(&path).header("etag").unwrap().to_owned();
        assert_eq!(pointer(&put(office, &path, &tag, &early)), "/request/priced_on");
        // A line that the rulebook can make, and that the job of the alternate does not have.
        let mut astray = draft_with_alternates();
        astray["alternates"][1]["change"]["overrides"] =
            json!([{"line": "material:CT-EXT", "unit_cost": "1", "reason": "a test"}]);
        assert_eq!(pointer(&put(office, &path, &tag, &astray)), "/alternates/1/change/overrides/0/line");
        assert_eq!(office.get(&path).header("etag").unwrap(), tag, "nothing was written");
    }

    fn an_approval_is_told_to_who_asks_again_and_to_who_edits(office) {
        let path = quote(office, &draft());
        let revision = format!("{path}/revisions/1");
        let seen = |tag: &str| office.ask("GET", &revision, &[("if-none-match", tag)], b"");
        let tag = office.get(&revision).header("etag").unwrap().to_owned();
        assert_eq!(seen(&tag).status, 304);
        let note = json!({"revision": 1, "note": "fair"});
        send(office, "Tobin Marsh", "POST", &format!("{path}/approvals"), &[], &note).expect(201);
        let again = seen(&tag);
        assert_eq!(again.expect(200)["approvals"][0]["by"], "Tobin Marsh");
        let approved = again.header("etag").unwrap();
        assert_eq!(seen(approved).status, 304);
        let edit = |tag: &str| put(office, &revision, tag, &draft_with_alternates());
        edit(&tag).problem(412, "precondition-failed");
        assert_eq!(again.json()["approvals"][0]["stands"], true);
        // An edit voids it, and that is told; the same content again is what was approved.
        let edited = edit(approved);
        assert_eq!(edited.expect(200)["approvals"][0]["stands"], false);
        let back = put(office, &revision, edited.header("etag").unwrap(), &draft());
        assert_eq!(back.expect(200)["approvals"][0]["stands"], true);
    }

    fn a_unit_cost_in_money_is_kept_by_its_digits(office) {
        let mut content = draft();
        let cost = json!({"amount": 99.5, "currency": "USD"});
        content["request"]["overrides"] = json!([{"line": "policy:freight", "unit_cost": cost, "reason": "own van"}]);
        let told = office.get(&format!("{}/revisions/1", quote(office, &content))).expect(200);
        assert_eq!(told["content"]["request"]["overrides"][0]["unit_cost"], "99.5");
        content["request"]["overrides"][0]["unit_cost"]["currency"] = json!("EUR");
        let refused = post(office, "/v1/quotes", &new_quote(office, &content)).problem(422, "invalid-input");
        assert_eq!(refused["errors"][0]["pointer"], "/draft/request/overrides/0/unit_cost/currency");
    }

    fn a_draft_beside_an_accepted_revision_goes_nowhere(office) {
        let path = issued(office, &draft());
        post(office, &format!("{path}/revisions"), &json!({"from": 1})).expect(201);
        let moves = || office.get(&format!("{path}/revisions/2")).expect(200)["moves"].clone();
        assert_eq!(moves(), json!(["issue"]));
        post(office, &format!("{path}/accept"), &json!({"revision": 1, "accepted_by": "O"})).expect(200);
        assert_eq!(moves(), json!([]));
        post(office, &format!("{path}/issue"), &json!({"revision": 2})).problem(409, "illegal-move");
    }

    fn two_people_edit_the_same_draft_and_nothing_is_lost(office) {
        let path = format!("{}/revisions/1", quote(office, &draft()));
        let tag = office.get(&path).header("etag").unwrap().to_owned();
        let with = |text: &str| json!({"request": draft()["request"], "exclusions": [text]});
        let won = put(office, &path, &tag, &with("ours"));
        won.expect(200);
        let lost = put(office, &path, &tag, &with("theirs"));
        lost.problem(412, "precondition-failed");
        assert_eq!(lost.header("etag"), won.header("etag"), "the present tag is told");
        assert_eq!(office.get(&path).expect(200)["content"]["exclusions"], json!(["ours"]));
        send(office, PERSON, "PUT", &path, &[], &with("blind")).problem(428, "precondition-required");
        // At the same moment, through two servers: one gets through.
        let other = office.another();
        let tag = won.header("etag").unwrap();
        let statuses: Vec<u16> = thread::scope(|scope| {
            let edits = [office, &other, office, &other].map(|door| {
                let (path, body) = (&path, with("again"));
                scope.spawn(move || put(door, path, tag, &body).status)
            });
            edits.into_iter().map(|edit| edit.join().unwrap()).collect()
        });
        assert_eq!(statuses.iter().filter(|status| **status == 200).count(), 1, "{statuses:?}");
        assert_eq!(statuses.iter().filter(|status| **status == 412).count(), 3, "{statuses:?}");
    }

    fn a_newer_revision_supersedes_the_older_and_only_legal_moves_are_made(office) {
        let path = issued(office, &draft());
        let again = post(office, &format!("{path}/issue"), &json!({"revision": 1})).problem(409, "illegal-move");
        assert_eq!(again["allowed"], json!(["accept", "decline", "withdraw"]));
        let second = post(office, &format!("{path}/revisions"), &json!({"from": 1}));
        assert_eq!(second.expect(201)["revision"], 2);
        assert_eq!(second.header("location"), Some(format!("{path}/revisions/2").as_str()));
        post(office, &format!("{path}/accept"), &json!({"revision": 2, "accepted_by": "O"})).problem(409, "illegal-move");
        let issued = post(office, &format!("{path}/issue"), &json!({"revision": 2})).expect(200);
        let documents = [1, 2].map(|n| office.get(&format!("{path}/revisions/{n}/document")).json());
        assert_eq!(documents[1]["previous"], office.get(&format!("{path}/revisions/1")).expect(200)["digest"]);
        assert_eq!(documents[0]["previous"], Value::Null);
        assert_eq!(issued["state"], "issued");
        assert_eq!(office.get(&format!("{path}/revisions/1")).expect(200)["state"], "superseded");
        for verb in ["decline", "withdraw"] {
            let refused = post(office, &format!("{path}/{verb}"), &json!({"revision": 1}));
            assert_eq!(refused.problem(409, "illegal-move")["allowed"], json!([]));
        }
        post(office, &format!("{path}/decline"), &json!({"revision": 2, "reason": "too dear"})).expect(200);
        assert_eq!(office.get(&path).expect(200)["state"], "declined");
        let third = post(office, &format!("{path}/revisions"), &json!({"from": 1})).expect(201);
        assert_eq!(third["revision"], 3);
        post(office, &format!("{path}/issue"), &json!({"revision": 3})).expect(200);
        post(office, &format!("{path}/withdraw"), &json!({"revision": 3})).expect(200);
        let tag = office.get(&format!("{path}/revisions/3")).header("etag").unwrap().to_owned();
        put(office, &format!("{path}/revisions/3"), &tag, &draft()).problem(409, "conflict");
        post(office, &format!("{path}/issue"), &json!({"revision": 9})).problem(404, "not-found");
    }

    fn after_acceptance_no_revision_is_begun_or_issued(office) {
        let path = issued(office, &draft());
        post(office, &format!("{path}/revisions"), &json!({"from": 1})).expect(201);
        post(office, &format!("{path}/accept"), &json!({"revision": 1, "accepted_by": "O"})).expect(200);
        post(office, &format!("{path}/issue"), &json!({"revision": 2})).problem(409, "illegal-move");
        post(office, &format!("{path}/revisions"), &json!({"from": 1})).problem(409, "conflict");
    }

    fn an_offer_whose_last_day_is_over_has_expired(office) {
        let mut short = draft();
        short["validity_days"] = json!(1);
        let path = quote(office, &short);
        let told = post(office, &format!("{path}/issue"), &json!({"revision": 1})).expect(200);
        // The offer holds to the end of the day in New York, which is 4 or 5 hours after midnight in Greenwich.
        let ends = told["ends_at"].as_str().unwrap();
        let hour = &ends[11..16];
        assert!(hour == "04:00" || hour == "05:00", "{ends}");
        assert!(ends[..10] > *told["valid_until"].as_str().unwrap());
        // Ended long ago, as if time had passed: the row is put back by hand, the document says what it says.
        crate::quotes_desk::tamper(office.location(), "revisions",
            "UPDATE revisions SET ends_at = '2020-01-02T05:00:00.000000Z 2020-01-01 America/New_York'");
        crate::quotes_desk::tamper(office.location(), "quotes",
            "UPDATE quotes SET ends_at = '2020-01-02T05:00:00.000000Z 2020-01-01 America/New_York'");
        assert_eq!(office.get(&format!("{path}/revisions/1")).expect(200)["state"], "expired");
        assert_eq!(office.get(&path).expect(200)["state"], "expired");
        let listed = |state: &str| office.get(&format!("/v1/quotes?state={state}")).expect(200)["data"].as_array().unwrap().len();
        assert_eq!((listed("expired"), listed("issued")), (1, 0));
        let late = json!({"revision": 1, "accepted_by": "O"});
        assert_eq!(post(office, &format!("{path}/accept"), &late).problem(409, "illegal-move")["allowed"], json!([]));
        let desk = tallyrule::desk::Desk::new(tallyrule::store::Store::open(office.location().clone(), 1, false).unwrap());
        assert_eq!(desk.expire().unwrap(), 1);
        assert_eq!(desk.expire().unwrap(), 0);
        let moves = office.get(&format!("{path}/transitions")).expect(200);
        assert_eq!(moves["data"][1]["to"], "expired");
        assert_eq!((listed("expired"), listed("issued")), (1, 0));
    }

    fn what_was_issued_is_never_changed(office) {
        let path = issued(office, &draft());
        post(office, &format!("{path}/accept"), &json!({"revision": 1, "accepted_by": "O"})).expect(200);
        let before = office.get(&format!("{path}/revisions/1")).expect(200);
        for statement in [
            "UPDATE issued_revisions SET document = '{}'", "DELETE FROM issued_revisions",
            "UPDATE acceptances SET document = '{}'", "DELETE FROM acceptances",
            "UPDATE transitions SET moved_by = 'nobody'", "DELETE FROM transitions",
            "UPDATE snapshots SET content = ''", "DELETE FROM snapshots",
            "UPDATE revisions SET draft = '{}'", "UPDATE revisions SET state = 'draft'", "DELETE FROM revisions",
            "UPDATE revisions SET ends_at = NULL", "UPDATE quotes SET number = 'X'", "DELETE FROM quotes",
            "UPDATE quote_counters SET counter = 1", "DELETE FROM quote_counters",
        ] {
            let said = by_hand(office.location(), statement).unwrap_err();
            assert!(said.contains("never"), "{statement}: {said}");
        }
        assert_eq!(office.get(&format!("{path}/revisions/1")).expect(200), before);
    }
}

fn office() -> Office {
    Office::open(Engine::Sqlite).unwrap()
}

#[test]
fn a_draft_with_faults_is_refused_with_every_one() {
    let office = office();
    let mut body = new_quote(&office, &draft_with_alternates());
    body["draft"]["request"]["job"]["cellar"]["length"] = json!("long");
    body["draft"]["colour"] = json!("red");
    body["draft"]["request"]["policy"] = json!("nobody");
    body["draft"]["request"]["overrides"] =
        json!([{"line": "material:NONE", "unit_cost": "1", "reason": "a test"}]);
    let problem = post(&office, "/v1/quotes", &body).problem(422, "invalid-input");
    let pointers: Vec<_> = problem["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|error| error["pointer"].as_str().unwrap())
        .collect();
    assert!(
        pointers.contains(&"/draft/request/job/cellar/length"),
        "{pointers:?}"
    );
    for place in [
        "/draft/colour",
        "/draft/request/policy",
        "/draft/request/overrides/0/line",
    ] {
        assert!(pointers.contains(&place), "{place}: {pointers:?}");
    }
    let nobody =
        json!({"customer": "0190f3a2-7b1c-7cde-8a00-3c5a1f0e9d11", "site": body["site"], "draft": draft()});
    let problem = post(&office, "/v1/quotes", &nobody).problem(422, "invalid-input");
    assert_eq!(problem["errors"][0]["pointer"], "/customer");
    assert_eq!(
        office.get("/v1/quotes").expect(200)["data"],
        json!([]),
        "a refused quote takes no number"
    );
    post(&office, "/v1/quotes", &new_quote(&office, &draft())).expect(201);
    assert!(
        office.get("/v1/quotes").expect(200)["data"][0]["number"]
            .as_str()
            .unwrap()
            .ends_with("-00001")
    );
}

#[test]
fn every_write_needs_a_person() {
    let office = office();
    let body = new_quote(&office, &draft());
    let json = [("content-type", "application/json")];
    for (path, body) in [("/v1/quotes", &body), ("/v1/items/ANY/prices", &json!({}))] {
        let body = body.to_string();
        office
            .ask_by(Some(office.key()), "POST", path, &json, body.as_bytes())
            .problem(400, "acting-person-required");
    }
    send(&office, " ", "POST", "/v1/quotes", &[], &body).problem(400, "acting-person-required");
}

#[test]
fn an_offer_with_a_stop_does_not_go_out() {
    let office = office();
    let stopped = json!({"request": crate::quotes_desk::job("wickerlamp-first-scheme")});
    let path = quote(&office, &stopped);
    let problem =
        post(&office, &format!("{path}/issue"), &json!({"revision": 1})).problem(409, "stop-stands");
    assert!(!problem["reasons"].as_array().unwrap().is_empty());
    assert_eq!(office.get(&path).expect(200)["state"], "draft");
}

#[test]
fn accepted_alternates_are_estimated_as_one_job() {
    let office = office();
    let path = issued(&office, &draft_with_alternates());
    let word = |names: Value| json!({"revision": 1, "accepted_by": "O", "alternates": names});
    let accept = format!("{path}/accept");
    post(&office, &accept, &word(json!(["attic"]))).problem(422, "invalid-input");
    post(&office, &accept, &word(json!(["conduit", "conduit"]))).problem(422, "invalid-input");
    let offered = office.get(&format!("{path}/revisions/1/estimate")).expect(200);
    let accepted = post(&office, &accept, &word(json!(["long-run", "conduit"]))).expect(200);
    let accepted = &accepted["acceptance"];
    assert_eq!(accepted["chosen"], json!(["conduit", "long-run"]));
    let base = minor(&offered["estimate"]["totals"]["total"]);
    let singles: i64 = [0, 1]
        .iter()
        .map(|n| minor(&offered["alternates"][n]["moved"]["total"]["moved"]))
        .sum();
    let beyond = &accepted["beyond_single_differences"]["total"];
    assert_eq!(minor(&beyond["from"]), base + singles);
    assert_eq!(minor(&beyond["to"]), minor(&accepted["totals"]["total"]));
    assert_ne!(minor(&beyond["moved"]), 0, "the two changes act on one another");
    // The combined job, priced by itself, comes to the same.
    let mut combined = draft()["request"].clone();
    combined["job"]["electrical"]["method"] = json!("conduit");
    combined["job"]["electrical"]["panel_length"] = json!({"value": "95", "unit": "ft"});
    let priced = office.post("/v1/estimates", &combined).expect(200);
    assert_eq!(priced["totals"]["total"], accepted["totals"]["total"]);
}
