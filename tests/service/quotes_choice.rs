//! Alternates that act on one another: what clashes, what takes away nothing, and what together goes beyond an approval.

use serde_json::{Value, json};

use crate::harness::{Engine, Office};
use crate::quotes_desk::{draft, draft_with_alternates, house_policy, issued, minor, post, put, quote, send};

fn offer(changes: &[(&str, Value)]) -> Value {
    let mut draft = draft();
    let alternates = changes
        .iter()
        .map(|(name, change)| json!({"name": name, "title": name, "change": change}));
    draft["alternates"] = alternates.collect();
    draft
}

fn wiring(method: &str) -> Value {
    json!({"job": {"electrical": {"method": method}}})
}

fn word(names: Value) -> Value {
    json!({"revision": 1, "accepted_by": "O", "alternates": names})
}

/// `patch` made to `target`, member by member.
fn merge(target: &mut Value, patch: &Value) {
    match patch {
        Value::Object(members) => members
            .iter()
            .for_each(|(name, value)| merge(&mut target[name], value)),
        other => *target = other.clone(),
    }
}

/// The policy of the house with other limits, from now on.
fn limited(office: &Office, limits: &Value) {
    let (path, mut policy, tag) = house_policy(office);
    policy["approval"] = limits.clone();
    let next = json!({"valid_from": "2025-04-01", "policy": policy});
    send(
        office,
        "Ines Calloway",
        "POST",
        &format!("{path}/versions?accept=backdated"),
        &[("if-match", &tag)],
        &next,
    )
    .expect(201);
}

on_both_engines! {
    fn of_two_that_clash_one_is_taken(office) {
        let cable = wiring("cable");
        let two = offer(&[("conduit", wiring("conduit")), ("cable", cable), ("long", json!({"job": {"electrical": {"panel_length": {"value": "95", "unit": "ft"}}}}))]);
        let path = quote(office, &two);
        let told = office.get(&format!("{path}/revisions/1")).expect(200)["notices"].clone();
        assert_eq!((&told[0]["code"], &told[0]["pointer"]), (&json!("alternates_clash"), &json!("/alternates/1/change")));
        assert!(told[0]["message"].as_str().unwrap().contains("/job/electrical/method"), "{told}");
        post(office, &format!("{path}/issue"), &json!({"revision": 1})).expect(200);
        let accept = |names: Value| post(office, &format!("{path}/accept"), &word(names));
        let problem = accept(json!(["conduit", "cable"])).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/alternates");
        assert!(problem["errors"][0]["message"].as_str().unwrap().contains("conduit and cable cannot be taken together"), "{problem}");
        assert_eq!(accept(json!(["long", "conduit", "long"])).problem(422, "invalid-input")["errors"][0]["pointer"], "/alternates/2");
        assert_eq!(accept(json!(["long", "attic"])).problem(422, "invalid-input")["errors"][0]["pointer"], "/alternates/1");
        accept(json!(["long", "conduit"])).expect(200);
    }

    fn together_they_may_not_pass_a_limit_that_none_passes_alone(office) {
        // More feet of conduit cost more than the differences of both add up to.
        let offered = draft_with_alternates();
        let net = |changes: &[usize]| {
            let mut request = offered["request"].clone();
            for place in changes {
                merge(&mut request["job"], &offered["alternates"][place]["change"]["job"]);
            }
            minor(&office.post("/v1/estimates", &request).expect(200)["totals"]["net"])
        };
        let (sum, together) = (net(&[0]) + net(&[1]) - net(&[]), net(&[0, 1]));
        assert!(together > sum, "{together} {sum}");
        limited(office, &json!({"price_over": format!("{}.{:02}", sum / 100, sum % 100)}));
        let path = issued(office, &offered);
        let accept = |names: Value| post(office, &format!("{path}/accept"), &word(names));
        let problem = accept(json!(["conduit", "long-run"])).problem(409, "approval-needed");
        assert_eq!(problem["reasons"][0]["reason"], "price");
        assert!(problem["detail"].as_str().unwrap().contains("begin a revision"), "{problem}");
        accept(json!(["long-run"])).expect(200);
    }

    fn the_thinnest_choice_is_approved_before_the_offer_goes_out(office) {
        let line = |kind: &str, cost: &str| json!({"kind": kind, "description": "Racks", "quantity": {"value": "1", "unit": "each"},
            "unit_cost": cost, "cost_code": "EQP", "tax_category": "goods", "reason": "asked for"});
        // Goods earn less than the work of others, which has a markup of its own.
        let racks = || { let mut line = line("material", "1500"); line["code"] = json!("rack"); json!({"manual_lines": [line]}) };
        let mut offered = offer(&[("one", racks()), ("two", racks())]);
        offered["request"]["manual_lines"] = json!([line("subcontract", "3000")]);
        let margin = |more: usize| {
            let mut request = offered["request"].clone();
            let lines = request["manual_lines"].as_array_mut().unwrap();
            lines.extend((0..more).map(|_| racks()["manual_lines"][0].clone()));
            let totals = office.post("/v1/estimates", &request).expect(200)["totals"].clone();
            100.0 * (1.0 - minor(&totals["cost"]) as f64 / minor(&totals["net"]) as f64)
        };
        let margins = [0, 1, 2].map(margin);
        assert!(margins.is_sorted_by(|more, less| more > less), "{margins:?}");
        // A limit that one alone keeps, and both together miss.
        limited(office, &json!({"margin_under_percent": format!("{:.2}", (margins[1] + margins[2]) / 2.0)}));
        let path = quote(office, &offered);
        let problem = post(office, &format!("{path}/issue"), &json!({"revision": 1})).problem(409, "approval-needed");
        assert_eq!(problem["reasons"][0]["reason"], "margin");
        send(office, "Tobin Marsh", "POST", &format!("{path}/approvals"), &[], &json!({"revision": 1})).expect(201);
        post(office, &format!("{path}/issue"), &json!({"revision": 1})).expect(200);
        post(office, &format!("{path}/accept"), &word(json!(["one", "two"]))).expect(200);
    }

    fn a_fixed_day_is_told_and_one_to_come_is_not_issued(office) {
        let day = |day: &str| { let mut fixed = draft(); fixed["request"]["priced_on"] = json!(day); fixed };
        let path = quote(office, &day("2025-04-14"));
        let revision = format!("{path}/revisions/1");
        let codes = || -> Vec<Value> {
            let told = office.get(&revision).expect(200);
            told["notices"].as_array().unwrap().iter().map(|notice| notice["code"].clone()).collect()
        };
        assert_eq!(codes(), ["day_fixed", "price_age"]);
        let preview = post(office, &format!("{revision}/refresh?preview=true"), &Value::Null).expect(200);
        let fixed = &preview["fixed_day"];
        assert_eq!(fixed["priced_on"], "2025-04-14");
        assert_eq!(fixed["with_today"]["made_from"]["priced_on"]["to"], fixed["today"]);
        assert_eq!(preview["made_from"].get("priced_on"), None);
        let tag = office.get(&revision).header("etag").unwrap().to_owned();
        let refreshed = send(office, "Ines Calloway", "POST", &format!("{revision}/refresh"), &[("if-match", &tag)], &Value::Null);
        let refreshed = refreshed.expect(200);
        assert_eq!((&refreshed["made_from"]["priced_on"], &refreshed["notices"][0]["code"]), (&json!("2025-04-14"), &json!("day_fixed")));
        let tag = office.get(&revision).header("etag").unwrap().to_owned();
        put(office, &revision, &tag, &day("2199-01-01")).expect(200);
        assert_eq!(codes(), ["day_to_come"]);
        let problem = post(office, &format!("{path}/issue"), &json!({"revision": 1})).problem(409, "conflict");
        assert!(problem["detail"].as_str().unwrap().contains("2199-01-01, which has not come"), "{problem}");
        assert_eq!(problem["title"], "What stands does not allow it");
        let mut free = draft();
        free["request"].as_object_mut().unwrap().remove("priced_on");
        let free = quote(office, &free);
        assert_eq!(office.get(&format!("{free}/revisions/1")).expect(200)["notices"], json!([]));
        let preview = post(office, &format!("{free}/revisions/1/refresh?preview=true"), &Value::Null).expect(200);
        assert_eq!(preview.get("fixed_day"), None);
    }
}

#[test]
fn what_takes_away_a_name_that_nothing_has_is_a_fault() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let make = |change: Value| {
        post(
            &office,
            "/v1/quotes",
            &crate::quotes_desk::new_quote(&office, &offer(&[("one", change)])),
        )
    };
    for (change, pointer, hint) in [
        (
            json!({"job": {"cellr": null}}),
            "/draft/alternates/0/change/job/cellr",
            "cellar",
        ),
        (
            json!({"job": {"electrical": {"methd": null}}}),
            "/draft/alternates/0/change/job/electrical/methd",
            "method",
        ),
        (
            json!({"extra": {"labour_cover_yaers": null}}),
            "/draft/alternates/0/change/extra/labour_cover_yaers",
            "labour_cover_years",
        ),
    ] {
        let problem = make(change).problem(422, "invalid-input");
        let error = &problem["errors"][0];
        assert_eq!(error["pointer"], pointer, "{problem}");
        assert!(error["message"].as_str().unwrap().contains(hint), "{problem}");
    }
    // An answer that is known and was not given is taken away without harm.
    let harmless = json!({"job": {"electrical": {"method": "conduit"}, "site_name": null}});
    make(harmless).expect(201);
}
