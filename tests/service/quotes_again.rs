//! Requests that come again: one effect and one answer for one name.

use std::thread;

use serde_json::{Value, json};

use crate::harness::{Answer, Office, PERSON};
use crate::quotes_desk::{draft, issued, new_quote, quote, send};

fn keyed(office: &Office, key: &str, path: &str, body: &Value) -> Answer {
    send(office, PERSON, "POST", path, &[("idempotency-key", key)], body)
}

fn count(office: &Office) -> usize {
    office.get("/v1/quotes").expect(200)["data"]
        .as_array()
        .unwrap()
        .len()
}

on_both_engines! {
    fn the_same_request_again_has_one_effect_and_one_answer(office) {
        let body = new_quote(office, &draft());
        let first = keyed(office, "make-1", "/v1/quotes", &body);
        first.expect(201);
        let again = keyed(office, "make-1", "/v1/quotes", &body);
        assert_eq!((again.status, &again.text, again.header("etag"), again.header("location")),
            (201, &first.text, first.header("etag"), first.header("location")));
        assert_eq!(count(office), 1);
        let path = first.header("location").unwrap();
        let issue = format!("{path}/issue");
        let issued = keyed(office, "issue-1", &issue, &json!({"revision": 1}));
        issued.expect(200);
        // By itself the move would be illegal now; under its name it is the same answer.
        let again = keyed(office, "issue-1", &issue, &json!({"revision": 1}));
        assert_eq!((again.status, &again.text), (200, &issued.text));
        let word = json!({"revision": 1, "accepted_by": "O"});
        let accepted = keyed(office, "accept-1", &format!("{path}/accept"), &word);
        assert_eq!(keyed(office, "accept-1", &format!("{path}/accept"), &word).text, accepted.text);
        assert_eq!(office.get(&format!("{path}/transitions")).expect(200)["data"].as_array().unwrap().len(), 2);
    }

    fn another_request_under_the_same_name_is_refused(office) {
        let body = new_quote(office, &draft());
        let made = keyed(office, "one", "/v1/quotes", &body);
        made.expect(201);
        let mut other = body.clone();
        other["draft"]["exclusions"] = json!(["Paint"]);
        keyed(office, "one", "/v1/quotes", &other).problem(422, "idempotency-key-reused");
        let issue = format!("{}/issue", made.header("location").unwrap());
        keyed(office, "one", &issue, &json!({"revision": 1})).problem(422, "idempotency-key-reused");
        send(office, "Somebody Else", "POST", "/v1/quotes", &[("idempotency-key", "one")], &body)
            .problem(422, "idempotency-key-reused");
        assert_eq!(count(office), 1);
        send(office, PERSON, "POST", "/v1/quotes", &[("idempotency-key", "")], &body).problem(400, "invalid-parameter");
    }

    fn a_refused_request_leaves_its_name_free(office) {
        let path = quote(office, &draft());
        let accept = format!("{path}/accept");
        let word = json!({"revision": 1, "accepted_by": "O"});
        keyed(office, "early", &accept, &word).problem(409, "illegal-move");
        keyed(office, "send", &format!("{path}/issue"), &json!({"revision": 1})).expect(200);
        keyed(office, "early", &accept, &word).expect(200);
    }

    fn of_many_at_the_same_time_there_is_one_effect(office) {
        let other = office.another();
        let body = new_quote(office, &draft());
        let doors = [office, &other, office, &other, office, &other];
        let answers: Vec<Answer> = thread::scope(|scope| {
            let asked = doors.map(|door| { let body = &body; scope.spawn(move || keyed(door, "at-once", "/v1/quotes", body)) });
            asked.into_iter().map(|answer| answer.join().unwrap()).collect()
        });
        assert!(answers.iter().all(|answer| answer.status == 201 && answer.text == answers[0].text));
        assert_eq!(count(office), 1);
        let path = answers[0].header("location").unwrap();
        let issue = format!("{path}/issue");
        let answers: Vec<Answer> = thread::scope(|scope| {
            let asked = doors.map(|door| { let issue = &issue; scope.spawn(move || keyed(door, "issue-once", issue, &json!({"revision": 1}))) });
            asked.into_iter().map(|answer| answer.join().unwrap()).collect()
        });
        assert!(answers.iter().all(|answer| answer.status == 200 && answer.text == answers[0].text),
            "{:?}", answers.iter().map(|answer| (answer.status, &answer.text)).collect::<Vec<_>>());
        assert_eq!(office.get(&format!("{path}/transitions")).expect(200)["data"].as_array().unwrap().len(), 1);
    }

    fn without_a_name_one_of_many_moves_gets_through(office) {
        let path = issued(office, &draft());
        let other = office.another();
        let statuses: Vec<u16> = thread::scope(|scope| {
            let asked = [office, &other, office, &other].map(|door| {
                let place = format!("{path}/accept");
                scope.spawn(move || send(door, PERSON, "POST", &place, &[], &json!({"revision": 1, "accepted_by": "O"})).status)
            });
            asked.into_iter().map(|status| status.join().unwrap()).collect()
        });
        assert_eq!(statuses.iter().filter(|status| **status == 200).count(), 1, "{statuses:?}");
        assert_eq!(statuses.iter().filter(|status| **status == 409).count(), 3, "{statuses:?}");
    }
}
