//! What the office knows, read over REST, and prices that are added.

use serde_json::{Value, json};

use crate::harness::{Engine, Office};

fn every_page(office: &Office, path: &str, key: &str, limit: usize) -> Vec<String> {
    let mut keys = Vec::new();
    let mut next = Some(format!("{path}?limit={limit}"));
    while let Some(address) = next {
        let answer = office.get(&address);
        let page = answer.expect(200);
        let rows = page["data"].as_array().unwrap();
        assert!(rows.len() <= limit && !rows.is_empty());
        keys.extend(rows.iter().map(|row| row[key].as_str().unwrap().to_owned()));
        next = answer.header("link").map(|link| {
            let (address, relation) = link.split_once(">; ").unwrap();
            assert_eq!(relation, "rel=\"next\"");
            address.trim_start_matches('<').to_owned()
        });
        assert_eq!(next.is_some(), !page["next"].is_null());
    }
    keys
}

on_both_engines! {
    fn pages_of_a_list_join_up_to_the_whole(office) {
        let whole = every_page(office, "/v1/items", "code", 500);
        assert!(whole.len() > 50, "the demonstration has more items than one usual page");
        assert!(whole.is_sorted());
        assert_eq!(every_page(office, "/v1/items", "code", 7), whole);
        for (path, key) in [("/v1/equipment", "class"), ("/v1/labour-classes", "code"), ("/v1/policies", "id")] {
            assert_eq!(every_page(office, path, key, 1), every_page(office, path, key, 500), "{path}");
        }
    }

    fn one_of_a_list_reads_as_in_the_list(office) {
        for (path, key) in [
            ("/v1/items", "code"), ("/v1/equipment", "class"), ("/v1/labour-classes", "code"), ("/v1/policies", "id"),
        ] {
            let row = office.get(path).expect(200)["data"][0].clone();
            assert_eq!(office.get(&format!("{path}/{}", row[key].as_str().unwrap())).expect(200), row);
            office.get(&format!("{path}/no-such")).problem(404, "not-found");
        }
    }

    fn a_page_out_of_bounds_is_told(office) {
        for query in ["limit=0", "limit=501", "limit=-1", "limit=x", "size=5", "limit=1&limit=2"] {
            office.get(&format!("/v1/items?{query}")).problem(400, "invalid-parameter");
        }
        assert_eq!(office.get("/v1/items?after=~~~").expect(200), json!({"data": [], "next": null}));
    }

    fn what_is_unchanged_is_not_sent_again(office) {
        let first = office.get("/v1/items?limit=3");
        let tag = first.header("etag").unwrap();
        assert!(tag.starts_with('"') && tag.ends_with('"'), "a strong tag: {tag}");
        for known in [tag, &format!("W/{tag}"), &format!("\"other\", {tag}"), "*"] {
            let again = office.ask("GET", "/v1/items?limit=3", &[("if-none-match", known)], b"");
            assert_eq!((again.status, again.text.as_str(), again.header("etag")), (304, "", Some(tag)), "{known}");
        }
        assert_eq!(office.ask("GET", "/v1/items?limit=3", &[("if-none-match", "\"other\"")], b"").status, 200);
        // What is written is told, whatever the caller knows.
        let headers = [("content-type", "application/json"), ("acting-person", "Ines Calloway"), ("if-none-match", "*")];
        let made = office.ask("POST", "/v1/customers", &headers, br#"{"name": "Orlop and Sons", "address": {"lines": ["1"]}}"#);
        assert_eq!(made.expect(201)["name"], "Orlop and Sons");
    }

    fn head_answers_as_get_without_a_body(office) {
        let get = office.get("/v1/items/");
        let head = office.ask("HEAD", "/v1/items/", &[], b"");
        assert_eq!((head.status, head.text.as_str()), (get.status, ""));
        let (get, head) = (office.get("/v1/policies"), office.ask("HEAD", "/v1/policies", &[], b""));
        assert_eq!((head.status, head.text.as_str()), (200, ""));
        assert_eq!(head.header("etag"), get.header("etag"));
    }

    fn a_price_is_added_and_never_overwritten(office) {
        let item = office.get("/v1/items?limit=1").expect(200)["data"][0].clone();
        let path = format!("/v1/items/{}", item["code"].as_str().unwrap());
        let pack = &item["packs"][0];
        let tag = office.get(&path).header("etag").unwrap().to_owned();
        let price = json!({"pack": pack["size"], "valid_from": "2031-03-04", "amount": "12.345678", "source": "offer 17"});
        let added = office.post(&format!("{path}/prices"), &price);
        assert_eq!(added.header("location"), Some(path.as_str()));
        let mut wanted = item.clone();
        let dated = json!({"valid_from": "2031-03-04", "amount": "12.345678", "source": "offer 17"});
        wanted["packs"][0]["prices"].as_array_mut().unwrap().push(dated);
        assert_eq!(added.expect(201), wanted);
        let after = office.get(&path);
        assert_ne!(after.header("etag"), Some(tag.as_str()));
        assert_eq!(after.expect(200), wanted);
        let again = json!({"pack": pack["size"], "valid_from": "2031-03-04", "amount": "1", "source": "offer 18"});
        office.post(&format!("{path}/prices"), &again).problem(409, "already-there");
        assert_eq!(office.get(&path).expect(200), wanted);
    }

    fn another_replica_sees_a_new_price_at_once(office) {
        let other = office.another();
        let item = other.get("/v1/items?limit=1").expect(200)["data"][0].clone();
        let path = format!("/v1/items/{}", item["code"].as_str().unwrap());
        let price = json!({"pack": item["packs"][0]["size"], "valid_from": "2031-01-01", "amount": "7", "source": "offer"});
        let added = office.post(&format!("{path}/prices"), &price).expect(201);
        assert_eq!(other.get(&path).expect(200), added);
    }

    fn every_fault_of_a_new_price_is_told_at_once(office) {
        let item = office.get("/v1/items?limit=1").expect(200)["data"][0].clone();
        let path = format!("/v1/items/{}/prices", item["code"].as_str().unwrap());
        let body = json!({"pack": "0", "valid_from": "2031-02-30", "amount": "-1", "sauce": "offer"});
        let problem = office.post(&path, &body).problem(422, "invalid-input");
        let told: Vec<_> = problem["errors"].as_array().unwrap().iter()
            .map(|error| (error["pointer"].as_str().unwrap(), error["code"].as_str().unwrap())).collect();
        assert_eq!(told, [
            ("/pack", "not_allowed"), ("/valid_from", "not_allowed"), ("/amount", "not_allowed"),
            ("/source", "missing"), ("/sauce", "unknown_field"),
        ]);
        let beyond = json!({"pack": item["packs"][0]["size"], "valid_from": "2031-02-03", "amount": "1000000000.01", "source": "offer"});
        let problem = office.post(&format!("{path}?accept=factor"), &beyond).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/amount");
        let message = "1000000000.01 is more than any pack costs; at most 1000000000.00 USD is taken";
        assert_eq!(problem["errors"][0]["message"], message);
        let no_pack = json!({"pack": "99999", "valid_from": "2031-02-03", "amount": "1", "source": "offer"});
        office.post(&path, &no_pack).problem(404, "not-found");
        office.post(&path, &json!([])).problem(422, "invalid-input");
    }
}

#[test]
fn a_price_keeps_the_digits_that_a_binary_float_would_lose() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let item = office.get("/v1/items?limit=1").expect(200)["data"][0].clone();
    let path = format!("/v1/items/{}/prices", item["code"].as_str().unwrap());
    let size = item["packs"][0]["size"].as_str().unwrap();
    let body = |amount: &str| {
        format!(r#"{{"pack":"{size}","valid_from":"2032-01-01","amount":{amount},"source":"offer"}}"#)
    };
    let ask = |amount: &str| {
        office.ask(
            "POST",
            &format!("{path}?accept=factor"),
            &[("content-type", "application/json")],
            body(amount).as_bytes(),
        )
    };
    // The exact value of the binary double nearest to 0.1, from IEEE 754: more decimals than a price keeps.
    ask("0.1000000000000000055511151231257827").problem(422, "invalid-input");
    ask("1e2").problem(422, "invalid-input");
    let added = ask("987654321.123457").expect(201);
    let prices = added["packs"][0]["prices"].as_array().unwrap();
    assert_eq!(prices.last().unwrap()["amount"], Value::from("987654321.123457"));
}
