//! Comparisons with their causes, drafts brought up to date, and the second pair of eyes.

use serde_json::{Value, json};

use crate::harness::Office;
use crate::quotes_desk::{draft, house_policy, issued, job, minor, post, put, quote, send};

/// The steps of a comparison add up from its one side to the other.
#[track_caller]
fn causes(comparison: &Value) -> Vec<String> {
    let mut named = Vec::new();
    for of in ["net", "total"] {
        let mut at = minor(&comparison[of]["from"]);
        for step in comparison["causes"].as_array().unwrap() {
            assert_eq!(minor(&step[of]["from"]), at);
            at += minor(&step[of]["moved"]);
            if of == "net" {
                named.push(step["causes"][0].as_str().unwrap().to_owned());
            }
        }
        assert_eq!(minor(&comparison[of]["to"]), at);
    }
    named
}

/// Today's prices move up, and a rule with them.
fn office_moves_on(office: &Office, estimate: &Value) {
    let lines = estimate["lines"].as_array().unwrap();
    let code = lines.iter().find(|line| line["kind"] == "material").unwrap()["code"]
        .as_str()
        .unwrap();
    let item = office.get(&format!("/v1/items/{code}")).expect(200);
    for pack in item["packs"].as_array().unwrap() {
        let price =
            json!({"pack": pack["size"], "valid_from": "2025-12-01", "amount": "90.50", "source": "offer"});
        office
            .post(&format!("/v1/items/{code}/prices?accept=factor"), &price)
            .expect(201);
    }
    let path = "/v1/rulebooks/hollowmoor-standard";
    let current = office.get(path);
    let text = current.expect(200)["text"].as_str().unwrap().to_owned();
    let (before, after) = text.split_once("task = \"walk_through\"").unwrap();
    let (line, rest) = after.split_once("hours = \"").unwrap();
    let (hours, rest) = rest.split_once('"').unwrap();
    let text = crate::rulebooks::without_totals(&format!(
        "{before}task = \"walk_through\"{line}hours = \"({hours}) * 2\"{rest}"
    ));
    let tag = current.header("etag").unwrap();
    office
        .ask(
            "PUT",
            path,
            &[
                ("content-type", "application/toml"),
                ("if-match", tag),
                ("acting-person", "Ines Calloway"),
            ],
            text.as_bytes(),
        )
        .expect(200);
}

on_both_engines! {
    fn what_moved_a_price_is_told_by_cause_and_adds_up(office) {
        let mut undated = draft();
        undated["request"].as_object_mut().unwrap().remove("priced_on");
        let path = issued(office, &undated);
        let first = office.get(&format!("{path}/revisions/1/estimate")).expect(200);
        office_moves_on(office, &first["estimate"]);
        post(office, &format!("{path}/revisions"), &json!({"from": 1})).expect(201);
        let second = format!("{path}/revisions/2");
        // The new revision is estimated as the old one was.
        assert_eq!(office.get(&format!("{second}/estimate")).expect(200)["estimate"], first["estimate"]);
        let mut changed = undated.clone();
        changed["request"]["job"]["electrical"]["panel_length"] = json!({"value": "62.5", "unit": "ft"});
        changed["request"]["discount"] = json!({"percent": "3"});
        let tag = office.get(&second).header("etag").unwrap().to_owned();
        let edited = put(office, &second, &tag, &changed);
        edited.expect(200);
        let comparison = office.get(&format!("{path}/revisions/1/comparison?with=2")).expect(200);
        assert_eq!(causes(&comparison), ["job", "by_hand"]);
        assert_eq!(comparison["made_from"], json!({}));
        assert!(comparison["job"].to_string().contains("/electrical/panel_length"));
        // A preview stores nothing.
        let preview = post(office, &format!("{second}/refresh?preview=true"), &Value::Null).expect(200);
        assert_eq!(causes(&preview), ["rulebook", "prices"]);
        assert_eq!(preview["made_from"]["rulebook"]["to"]["version"], 2);
        assert_eq!(office.get(&second).header("etag"), edited.header("etag"));
        post(office, &format!("{second}/refresh"), &Value::Null).problem(428, "precondition-required");
        let seen = [("if-match", edited.header("etag").unwrap())];
        let refreshed = send(office, "Ines Calloway", "POST", &format!("{second}/refresh"), &seen, &Value::Null);
        assert_eq!(refreshed.expect(200)["made_from"]["rulebook"]["version"], 2);
        post(office, &format!("{path}/issue"), &json!({"revision": 2})).expect(200);
        let comparison = office.get(&format!("{path}/revisions/1/comparison?with=2")).expect(200);
        assert_eq!(causes(&comparison), ["job", "by_hand", "rulebook", "prices"]);
        assert_eq!(comparison["total"]["to"], office.get(&format!("{second}/document")).json()["estimate"]["totals"]["total"]);
        let back = office.get(&format!("{path}/revisions/2/comparison?with=1")).expect(200);
        assert_eq!(minor(&back["net"]["moved"]), -minor(&comparison["net"]["moved"]));
    }

    fn over_a_limit_another_person_has_to_approve(office) {
        let mut dear = json!({"request": job("wickerlamp-restaurant")});
        dear["request"]["discount"] = json!({"percent": "9"});
        let path = quote(office, &dear);
        let estimate = office.get(&format!("{path}/revisions/1/estimate")).expect(200);
        let reasons: Vec<_> = estimate["approval_reasons"].as_array().unwrap().iter().map(|one| one["reason"].clone()).collect();
        assert!(reasons.contains(&json!("discount")), "{reasons:?}");
        let issue = || post(office, &format!("{path}/issue"), &json!({"revision": 1}));
        let problem = issue().problem(409, "approval-needed");
        assert_eq!(problem["reasons"], estimate["approval_reasons"]);
        let approve = |person: &str| send(office, person, "POST", &format!("{path}/approvals"), &[], &json!({"revision": 1, "note": "seen"}));
        approve("Ines Calloway").problem(409, "approval-needed");
        approve("Tobin Marsh").expect(201);
        // An edit voids it, and whoever writes at it is no other person any more.
        let tag = office.get(&format!("{path}/revisions/1")).header("etag").unwrap().to_owned();
        dear["exclusions"] = json!(["Paint"]);
        put(office, &format!("{path}/revisions/1"), &tag, &dear).expect(200);
        assert!(issue().problem(409, "approval-needed")["detail"].as_str().unwrap().contains("changed since Tobin Marsh"));
        approve("Tobin Marsh").expect(201);
        issue().expect(200);
        let document = office.get(&format!("{path}/revisions/1/document")).json();
        assert_eq!(document["approval"]["by"], "Tobin Marsh");
        approve("Tobin Marsh").problem(409, "conflict");
    }

    fn whoever_wrote_what_a_draft_starts_from_is_no_other_person(office) {
        let mut dear = json!({"request": job("wickerlamp-restaurant")});
        dear["request"]["discount"] = json!({"percent": "9"});
        let path = quote(office, &dear);
        send(office, "Tobin Marsh", "POST", &format!("{path}/revisions"), &[], &json!({"from": 1})).expect(201);
        let approve = |person: &str| send(office, person, "POST", &format!("{path}/approvals"), &[], &json!({"revision": 2, "note": "seen"}));
        approve("Ines Calloway").problem(409, "approval-needed");
        approve("Tobin Marsh").problem(409, "approval-needed");
        approve("Sela Orrick").expect(201);
    }

    fn what_the_customer_may_choose_is_held_against_the_limits_too(office) {
        let dear = |name: &str, cost: &str| {
            let line = json!({"kind": "material", "code": format!("rack-{name}"), "description": "Racks",
                "quantity": {"value": "1", "unit": "each"}, "unit_cost": cost, "cost_code": "EQP", "tax_category": "goods", "reason": "asked for"});
            json!({"name": name, "title": "Racks", "change": {"manual_lines": [line]}})
        };
        let offered = |alternates: Value| {
            let mut draft = draft();
            draft["alternates"] = alternates;
            let path = quote(office, &draft);
            let estimate = office.get(&format!("{path}/revisions/1/estimate")).expect(200);
            let reasons = estimate["approval_reasons"].as_array().unwrap().iter().map(|one| one["reason"].clone()).collect::<Vec<_>>();
            (reasons, post(office, &format!("{path}/issue"), &json!({"revision": 1})))
        };
        let (reasons, issued) = offered(json!([dear("one", "300")]));
        assert!(reasons.is_empty(), "{reasons:?}");
        issued.expect(200);
        // One that passes the limit alone, and three that do so together.
        for over in [json!([dear("one", "30000")]), json!([dear("one", "300"), dear("two", "300"), dear("three", "300")])] {
            let (reasons, issued) = offered(over);
            assert!(reasons.contains(&json!("price")), "{reasons:?}");
            issued.problem(409, "approval-needed");
        }
    }

    fn a_draft_that_is_moved_to_another_day_gets_the_prices_and_the_policy_of_that_day(office) {
        let path = format!("{}/revisions/1", quote(office, &draft()));
        let read = office.get(&path);
        let made_from = read.expect(200)["made_from"].clone();
        assert_eq!(made_from["priced_on"], "2025-04-14");
        let estimate = office.get(&format!("{path}/estimate")).expect(200)["estimate"].clone();
        // From the first of December on other prices and another policy hold, and the rules are others at once.
        office_moves_on(office, &estimate);
        let (policy_path, mut policy, tag) = house_policy(office);
        policy["overhead_percent"] = json!("31.5");
        let next = json!({"valid_from": "2025-12-01", "policy": policy});
        send(office, "Ines Calloway", "POST", &format!("{policy_path}/versions?accept=backdated"), &[("if-match", &tag)], &next).expect(201);
        let edit = |day: Option<&str>, feet: &str| {
            let mut other = draft();
            let request = other["request"].as_object_mut().unwrap();
            request.remove("priced_on");
            request.extend(day.map(|day| ("priced_on".to_owned(), json!(day))));
            other["request"]["job"]["electrical"]["panel_length"] = json!({"value": feet, "unit": "ft"});
            let tag = office.get(&path).header("etag").unwrap().to_owned();
            put(office, &path, &tag, &other).expect(200)["made_from"].clone()
        };
        // Another job on the same day, named or not: everything stays as the draft was begun.
        assert_eq!(edit(Some("2025-04-14"), "61"), made_from);
        assert_eq!(edit(None, "62"), made_from);
        // Another day under the same policy: prices as they are known now.
        let earlier = edit(Some("2025-05-02"), "62");
        assert_eq!((&earlier["priced_on"], &earlier["policy"]), (&json!("2025-05-02"), &made_from["policy"]));
        assert_ne!(earlier["catalogue"], made_from["catalogue"]);
        let later = edit(Some("2025-12-01"), "62");
        assert_eq!((&later["priced_on"], &later["policy"]["version"]), (&json!("2025-12-01"), &json!(2)));
        assert_eq!(later["rulebook"], made_from["rulebook"], "rules have no day");
        let moved = office.get(&format!("{path}/estimate")).expect(200)["estimate"].clone();
        assert_eq!(moved["policy"]["version"], json!(2));
        assert!(moved.to_string().contains("90.5"), "the price from December on");
        // A day that is not named any more is the one that the draft has.
        assert_eq!(edit(None, "63"), later);
        // Back again: the policy of that day.
        assert_eq!(edit(Some("2025-04-14"), "62")["policy"], made_from["policy"]);
    }
}
