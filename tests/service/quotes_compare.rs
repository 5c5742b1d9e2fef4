//! Comparisons with their causes, drafts brought up to date, and the second pair of eyes.

use serde_json::{Value, json};

use crate::harness::{Engine, Office};
use crate::quotes_desk::{draft, issued, job, minor, post, put, quote, send};

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
            .post(&format!("/v1/items/{code}/prices"), &price)
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
}

#[test]
fn a_draft_that_names_another_day_is_priced_on_it() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let path = format!("{}/revisions/1", quote(&office, &draft()));
    let read = office.get(&path);
    assert_eq!(read.expect(200)["made_from"]["priced_on"], "2025-04-14");
    let mut other = draft();
    other["request"]["priced_on"] = json!("2025-05-02");
    let edited = put(&office, &path, read.header("etag").unwrap(), &other).expect(200);
    assert_eq!(edited["made_from"]["priced_on"], "2025-05-02");
}
