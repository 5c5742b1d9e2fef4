//! Change orders: additions to and omissions from an accepted quote.

use serde_json::{Value, json};
use tallyrule::desk::Desk;
use tallyrule::store::Store;

use crate::quotes_desk::{accepted, draft, issued, job, minor, post, put, quote, send};

fn order(feet: &str) -> Value {
    json!({"title": "Panel moved", "change": {"job": {"electrical": {"panel_length": {"value": feet, "unit": "ft"}}}}})
}

on_both_engines! {
    fn a_change_order_is_priced_issued_and_revises_the_contract(office) {
        let path = accepted(office, &draft());
        let before = office.get(&path).expect(200)["contract"].clone();
        assert_eq!(before["original"], before["total"]);
        let begun = post(office, &format!("{path}/change-orders"), &order("75"));
        let told = begun.expect(201);
        let place = begun.header("location").unwrap().to_owned();
        assert_eq!(place, format!("{path}/change-orders/1/revisions/1"));
        assert!(told["name"].as_str().unwrap().ends_with("-C1-R1"));
        let estimate = office.get(&format!("{place}/estimate")).expect(200);
        let moved = &estimate["change"]["total"];
        assert_eq!(moved["from"], before["total"]);
        let track = format!("{path}/change-orders/1");
        // Under edit, begun anew, compared, superseded: as any offer.
        put(office, &place, begun.header("etag").unwrap(), &order("60")).expect(200);
        post(office, &format!("{track}/issue"), &json!({"revision": 1})).expect(200);
        assert_eq!(post(office, &format!("{track}/revisions"), &json!({"from": 1})).expect(201)["revision"], 2);
        let second = format!("{track}/revisions/2");
        let tag = office.get(&second).header("etag").unwrap().to_owned();
        put(office, &second, &tag, &order("80")).expect(200);
        let comparison = office.get(&format!("{track}/revisions/1/comparison?with=2")).expect(200);
        assert_eq!(comparison["causes"][0]["causes"], json!(["job"]));
        post(office, &format!("{track}/issue"), &json!({"revision": 2})).expect(200);
        let document = office.get(&format!("{second}/document")).json();
        assert_eq!(document["change"]["total_before"], before["total"]);
        assert_eq!(document["previous"], office.get(&format!("{track}/revisions/1")).expect(200)["digest"]);
        post(office, &format!("{track}/accept"), &json!({"revision": 2, "accepted_by": "O"})).expect(200);
        let contract = office.get(&path).expect(200)["contract"].clone();
        let change = &contract["changes"][0];
        assert_eq!(minor(&contract["original"]) + minor(&change["moved"]), minor(&contract["total"]));
        assert_eq!(contract["total"], document["estimate"]["totals"]["total"]);
        // An omission on top of it.
        let less = post(office, &format!("{path}/change-orders"), &order("20")).expect(201);
        assert_eq!(less["change_order"], 2);
        let estimate = office.get(&format!("{path}/change-orders/2/revisions/1/estimate")).expect(200);
        assert!(minor(&estimate["change"]["total"]["moved"]) < 0);
        let desk = Desk::new(Store::open(office.location().clone(), 1, false).unwrap());
        assert_eq!(desk.verify().unwrap().faults, Vec::<String>::new());
    }

    fn a_figure_replaced_by_one_order_stays_when_the_next_replaces_that_of_another_line(office) {
        let path = accepted(office, &draft());
        let lines = |place: &str| office.get(&format!("{place}/estimate")).expect(200)["estimate"]["lines"].as_array().unwrap().clone();
        let before = lines(&format!("{path}/revisions/1"));
        let keys: Vec<_> = before.iter().map(|line| line["key"].as_str().unwrap()).filter(|key| key.starts_with("material:")).take(2).collect();
        let order = |number: usize, key: &str| {
            let change = json!({"overrides": [{"line": key, "unit_cost": "0.75", "reason": "as bought"}]});
            post(office, &format!("{path}/change-orders"), &json!({"title": "As bought", "change": change})).expect(201);
            format!("{path}/change-orders/{number}")
        };
        let first = order(1, keys[0]);
        post(office, &format!("{first}/issue"), &json!({"revision": 1})).expect(200);
        post(office, &format!("{first}/accept"), &json!({"revision": 1, "accepted_by": "O"})).expect(200);
        let second = order(2, keys[1]);
        let (after, then) = (lines(&format!("{first}/revisions/1")), lines(&format!("{second}/revisions/1")));
        let moved = |from: &[Value], to: &[Value]| -> Vec<Value> {
            let moved = from.iter().zip(to).filter(|(from, to)| from["cost"] != to["cost"]);
            let keys = moved.map(|(from, _)| from["key"].clone());
            // The policy's own lines follow the materials.
            keys.filter(|key| !key.as_str().unwrap().starts_with("policy:")).collect()
        };
        assert_eq!((moved(&before, &after), moved(&after, &then)), (vec![json!(keys[0])], vec![json!(keys[1])]));
    }

    fn a_change_order_on_a_contract_that_changed_is_refused(office) {
        let path = accepted(office, &draft());
        for feet in ["60", "70"] {
            post(office, &format!("{path}/change-orders"), &order(feet)).expect(201);
        }
        for number in [1, 2] {
            post(office, &format!("{path}/change-orders/{number}/issue"), &json!({"revision": 1})).expect(200);
        }
        let word = json!({"revision": 1, "accepted_by": "O"});
        post(office, &format!("{path}/change-orders/1/accept"), &word).expect(200);
        let refused = post(office, &format!("{path}/change-orders/2/accept"), &word).problem(409, "conflict");
        assert!(refused["detail"].as_str().unwrap().contains("price it anew"), "{refused}");
        post(office, &format!("{path}/change-orders/2/withdraw"), &json!({"revision": 1})).expect(200);
        assert_eq!(post(office, &format!("{path}/change-orders/2/revisions"), &json!({"from": 1})).expect(201)["state"], "draft");
        post(office, &format!("{path}/change-orders/2/issue"), &json!({"revision": 2})).expect(200);
        post(office, &format!("{path}/change-orders/2/decline"), &json!({"revision": 2})).expect(200);
    }

    fn a_change_order_needs_approval_for_what_it_does_and_not_for_what_was_approved(office) {
        // The offer is over the limits, and another person let it out.
        let mut dear = json!({"request": job("wickerlamp-restaurant")});
        dear["request"]["discount"] = json!({"percent": "9"});
        let path = quote(office, &dear);
        post(office, &format!("{path}/issue"), &json!({"revision": 1})).problem(409, "approval-needed");
        send(office, "Tobin Marsh", "POST", &format!("{path}/approvals"), &[], &json!({"revision": 1})).expect(201);
        post(office, &format!("{path}/issue"), &json!({"revision": 1})).expect(200);
        post(office, &format!("{path}/accept"), &json!({"revision": 1, "accepted_by": "O"})).expect(200);
        // A small addition at the same discount goes out by itself.
        let feet = |feet: &str| json!({"panel_length": {"value": feet, "unit": "ft"}});
        let small = json!({"title": "Panel moved", "change": {"job": {"electrical": feet("150")}}});
        let begun = post(office, &format!("{path}/change-orders"), &small);
        let place = begun.header("location").unwrap().to_owned();
        let estimate = office.get(&format!("{place}/estimate")).expect(200);
        assert!(minor(&estimate["change"]["net"]["moved"]) > 0, "{}", estimate["change"]["net"]);
        assert_eq!(estimate["approval_reasons"], json!([]));
        post(office, &format!("{path}/change-orders/1/issue"), &json!({"revision": 1})).expect(200);
        // One whose own price is over the limit does not.
        let line = json!({"kind": "fee", "description": "Lift over the roof", "quantity": {"value": "1", "unit": "each"},
            "unit_cost": "45000", "cost_code": "PER", "tax_category": "pass_through", "reason": "no other way in"});
        let more = json!({"title": "Roof", "change": {"manual_lines": [line]}});
        let begun = post(office, &format!("{path}/change-orders"), &more);
        let place = begun.header("location").unwrap().to_owned();
        let reasons = office.get(&format!("{place}/estimate")).expect(200)["approval_reasons"].clone();
        assert_eq!(reasons[0]["reason"], "price");
        let problem = post(office, &format!("{path}/change-orders/2/issue"), &json!({"revision": 1})).problem(409, "approval-needed");
        assert_eq!(problem["reasons"], reasons);
        send(office, "Tobin Marsh", "POST", &format!("{path}/change-orders/2/approvals"), &[], &json!({"revision": 1})).expect(201);
        post(office, &format!("{path}/change-orders/2/issue"), &json!({"revision": 1})).expect(200);
    }

    fn a_change_order_needs_an_accepted_offer(office) {
        let path = issued(office, &draft());
        post(office, &format!("{path}/change-orders"), &order("60")).problem(409, "conflict");
        let path = accepted(office, &draft());
        let faulty = json!({"title": "Nothing", "change": {"job": {"electrical": {"panel_length": "far"}}}});
        let problem = post(office, &format!("{path}/change-orders"), &faulty).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/change/job/electrical/panel_length");
        office.get(&format!("{path}/change-orders/3/revisions/1")).problem(404, "not-found");
    }
}
