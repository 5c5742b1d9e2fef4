//! Papers of the work: of the job that was accepted, by the catalogue that it was made from.

use calamine::{Reader as _, Xlsx};
use serde_json::{Value, json};

use crate::harness::Office;
use crate::quotes_desk::{by_hand, draft, issued, post, quote};

const STYLE: &str = "/v1/house-styles/standard";

/// A job with a probe, and an alternate without it.
fn offered() -> Value {
    let mut offered = draft();
    let change = json!({"job": {"controller": {"probe": {"wanted": false, "route": null}}}});
    offered["alternates"] = json!([{"name": "no-probe", "title": "No probe", "change": change}]);
    offered
}

fn list(office: &Office, path: &str) -> Value {
    office
        .get(&format!("{path}/revisions/1/purchase-list"))
        .expect(200)
}

fn buys_a_probe(list: &Value) -> bool {
    let lines = list["lines"].as_array().unwrap();
    lines.iter().any(|line| line["code"] == "CT-PROBE")
}

fn accept(office: &Office, path: &str, chosen: Value) {
    let word = json!({"revision": 1, "accepted_by": "Odalie Brackwater", "alternates": chosen});
    post(office, &format!("{path}/accept"), &word).expect(200);
}

fn one_price_more(office: &Office) {
    let pack = office.get("/v1/items/CT-PROBE").expect(200)["packs"][0]["size"].clone();
    let price = json!({"pack": pack, "valid_from": "2031-03-04", "amount": "99", "source": "offer 17"});
    office.post("/v1/items/CT-PROBE/prices", &price).expect(201);
}

on_both_engines! {
    fn the_crew_and_the_buyer_get_the_job_that_was_accepted(office) {
        let (path, other) = (issued(office, &offered()), issued(office, &draft()));
        let drawn = || office.get(&format!("{path}/revisions/1/drawing")).text;
        let probes = || {
            let key = |path: &str| json!({"quote": path.rsplit('/').next().unwrap(), "revision": 1});
            let list = office.post("/v1/purchase-lists", &json!({"revisions": [key(&path), key(&other)]})).expect(200);
            let lines = list["lines"].as_array().unwrap();
            lines.iter().find(|line| line["code"] == "CT-PROBE").unwrap()["shares"].as_array().unwrap().len()
        };
        assert!(buys_a_probe(&list(office, &path)) && drawn().contains(">Probe"), "{}", drawn());
        assert_eq!(probes(), 2);
        accept(office, &path, json!(["no-probe"]));
        assert!(!buys_a_probe(&list(office, &path)), "a probe is bought that nobody wants");
        assert!(!drawn().contains(">Probe"), "{}", drawn());
        assert_eq!(probes(), 1);
        let plain = issued(office, &offered());
        let offer = list(office, &plain);
        accept(office, &plain, json!([]));
        assert_eq!(list(office, &plain), offer);
    }

    #[cfg(feature = "documents")]
    fn the_job_sheet_is_of_the_accepted_job_and_the_proposal_stays(office) {
        let path = issued(office, &offered());
        let paper = |name: &str| {
            let answer = office.get(&format!("{path}/revisions/1/{name}"));
            assert_eq!(answer.status, 200, "{}", answer.text);
            answer.bytes
        };
        let proposal = paper("proposal");
        accept(office, &path, json!(["no-probe"]));
        assert_eq!(paper("proposal"), proposal);
        let buys = crate::papers::said(&paper("job-sheet")).map(|text| text.contains("CT-PROBE"));
        assert_ne!(buys, Some(true), "a probe is loaded that nobody wants");
    }

    fn the_list_of_one_revision_stays_as_it_is(office) {
        let path = issued(office, &offered());
        let book = |path: &str| office.get(&format!("{path}/revisions/1/purchase-list?format=xlsx"));
        let before = (list(office, &path), book(&path).bytes);
        let number = "UPDATE items SET body = replace(body, '\"code\":\"CT-PROBE\",', '\"code\":\"CT-PROBE\",\"part_number\":\"OTHER-77\",') WHERE code = 'CT-PROBE'";
        by_hand(office.location(), number).unwrap();
        one_price_more(office);
        let tag = office.get(STYLE).header("etag").unwrap().to_owned();
        let spanish = office.ask("PUT", STYLE, &[("content-type", "application/json"), ("if-match", &tag)], br#"{"language": "es"}"#);
        spanish.expect(200);
        assert_eq!(office.get("/v1/items/CT-PROBE").expect(200)["part_number"], "OTHER-77");
        assert_eq!((list(office, &path), book(&path).bytes), before);
        // A list of today has the number of today, and the language that the house style has by now.
        let drafted = quote(office, &draft());
        let now = list(office, &drafted);
        let probe = now["lines"].as_array().unwrap().iter().find(|line| line["code"] == "CT-PROBE").unwrap();
        assert_eq!(probe["part_number"], "OTHER-77");
        assert_eq!(now["day"], draft()["request"]["priced_on"]);
        let answer = book(&drafted);
        let day = now["day"].as_str().unwrap();
        assert!(answer.header("content-disposition").unwrap().contains(&format!("purchase-list-{day}.xlsx")));
        let sheets = Xlsx::new(std::io::Cursor::new(answer.bytes)).unwrap().sheet_names();
        assert_eq!(sheets, [format!("Lista de compra {day}")]);
        let csv = office.get(&format!("{drafted}/revisions/1/purchase-list?format=csv"));
        assert!(csv.text.starts_with("Proveedor,"), "{}", csv.text);
        let csv = office.get(&format!("{drafted}/revisions/1/purchase-list?format=csv&language=en"));
        assert!(csv.text.starts_with("Supplier,"), "{}", csv.text);
    }
}
