//! Papers, drawings, lists and house styles from outside.

use serde_json::{Value, json};

use crate::harness::{Answer, Office};
use crate::quotes_desk::{draft, draft_with_alternates, issued, quote};

const STYLE: &str = "/v1/house-styles/standard";

fn put_style(office: &Office, tag: Option<&str>, style: &Value) -> Answer {
    let mut headers = vec![("content-type", "application/json")];
    headers.extend(tag.map(|tag| ("if-match", tag)));
    office.ask("PUT", STYLE, &headers, style.to_string().as_bytes())
}

fn pdf(office: &Office, path: &str) -> Vec<u8> {
    let answer = office.get(path);
    assert_eq!(answer.status, 200, "{}", answer.text);
    assert_eq!(answer.header("content-type"), Some("application/pdf"));
    assert!(answer.bytes.starts_with(b"%PDF-"));
    answer.bytes
}

fn key(path: &str) -> &str {
    path.rsplit('/').next().unwrap()
}

on_both_engines! {
    #[cfg(feature = "documents")]
    fn papers_of_an_issued_revision_stay_the_same_bytes(office) {
        let path = issued(office, &draft_with_alternates());
        let (proposal, sheet) = (format!("{path}/revisions/1/proposal"), format!("{path}/revisions/1/job-sheet"));
        let before = (pdf(office, &proposal), pdf(office, &sheet));
        assert_ne!(before.0, before.1);
        let tag = office.get(STYLE).header("etag").unwrap().to_owned();
        let style = json!({"paper": "a4", "language": "es", "prices": "lump_sum"});
        put_style(office, Some(&tag), &style).expect(200);
        assert_eq!((pdf(office, &proposal), pdf(office, &sheet)), before);
        let anew = pdf(office, &format!("{proposal}?style=standard&style_version=1"));
        assert_ne!(anew, before.0);
        office.get(&format!("{proposal}?style=other")).problem(404, "not-found");
        office.get(&format!("{proposal}?styl=other")).problem(400, "invalid-parameter");
        office.get(&format!("{path}/revisions/2/proposal")).problem(404, "not-found");
    }

    #[cfg(feature = "documents")]
    fn a_draft_is_printed_as_one_and_a_picture_that_is_none_is_told(office) {
        let path = quote(office, &draft());
        pdf(office, &format!("{path}/revisions/1/proposal"));
        let tag = office.get(STYLE).header("etag").unwrap().to_owned();
        // The head of a PNG of 2 by 2, and nothing behind it.
        let data = "iVBORw0KGgoAAAANSUhEUgAAAAIAAAACCAYAAABytg0k";
        let style = json!({"logo": {"media_type": "image/png", "data": data, "alt": "A gate"}});
        put_style(office, Some(&tag), &style).expect(200);
        office.get(&format!("{path}/revisions/1/proposal")).problem(422, "cannot-be-printed");
    }

    fn drawing_and_charts_are_pictures(office) {
        let path = issued(office, &draft());
        for name in ["drawing", "cost-breakdown", "cellar-load"] {
            let answer = office.get(&format!("{path}/revisions/1/{name}"));
            assert_eq!((answer.status, answer.header("content-type")), (200, Some("image/svg+xml")), "{name}");
            assert!(answer.text.starts_with("<svg ") && answer.text.ends_with("</svg>\n"), "{name}");
        }
        let drawing = office.get(&format!("{path}/revisions/1/drawing?style=standard&style_version=0"));
        assert!(drawing.text.contains("Ceiling unit"), "{}", drawing.text);
        let mut sweep = json!({"request": draft()["request"], "vary": [{"answer": "/electrical/panel_length",
            "values": [{"value": "20", "unit": "ft"}, {"value": "40", "unit": "ft"}, {"value": "120", "unit": "ft"}]}]});
        let drawn = office.post("/v1/price-curves", &sweep);
        assert_eq!((drawn.status, drawn.header("content-type")), (200, Some("image/svg+xml")), "{}", drawn.text);
        let points = office.post("/v1/estimates/sweeps", &sweep).expect(200);
        let dearest = points["points"][2]["total"]["amount"].as_str().unwrap();
        assert!(drawn.text.contains(&format!(">{}</text>", estimate::handoff::figure::grouped(dearest))), "{}", drawn.text);
        let more = json!({"answer": "/controller/cable_route", "values": [{"value": "20", "unit": "ft"}]});
        sweep["vary"].as_array_mut().unwrap().push(more);
        let problem = office.post("/v1/price-curves", &sweep).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/vary");
    }

    fn several_quotes_are_bought_for_together(office) {
        let (one, other) = (issued(office, &draft()), issued(office, &draft()));
        let alone = office.get(&format!("{one}/revisions/1/purchase-list")).expect(200);
        let body = json!({"revisions": [
            {"quote": key(&one), "revision": 1}, {"quote": key(&other), "revision": 1}]});
        let merged = office.post("/v1/purchase-lists", &body).expect(200);
        let bought = |list: &Value| -> u64 {
            let lines = list["lines"].as_array().unwrap().iter();
            let packs = lines.flat_map(|line| line["packs"].as_array().unwrap());
            packs.map(|pack| pack["count"].as_u64().unwrap()).sum()
        };
        assert_eq!(merged["quotes"].as_array().unwrap().len(), 2);
        assert!(bought(&merged) < 2 * bought(&alone), "no pack was saved");
        let csv = office.post("/v1/purchase-lists?format=csv", &body);
        assert_eq!(csv.header("content-type"), Some("text/csv; charset=utf-8"));
        assert!(csv.text.starts_with("Supplier,Part number,Code,"), "{}", csv.text);
        let book = office.get(&format!("{one}/revisions/1/purchase-list?format=xlsx&language=es"));
        assert!(book.bytes.starts_with(b"PK"), "no workbook");
        office.get(&format!("{one}/revisions/1/purchase-list?format=xml")).problem(400, "invalid-parameter");
        let wrong = json!({"revisions": [{"quote": key(&one)}, {"quote": 7, "revision": 0, "extra": 1}]});
        let problem = office.post("/v1/purchase-lists", &wrong).problem(422, "invalid-input");
        assert_eq!(problem["errors"].as_array().unwrap().len(), 4, "{problem}");
    }

    fn a_house_style_is_edited_by_one_and_told_whole_when_it_is_wrong(office) {
        let first = office.get(STYLE);
        assert_eq!(first.expect(200)["version"], 0);
        let tag = first.header("etag").unwrap().to_owned();
        let style = json!({"prices": "all_lines", "accent": "#102030", "wording": {"warranty": ["One year."]}});
        put_style(office, None, &style).problem(428, "precondition-required");
        let saved = put_style(office, Some(&tag), &style).expect(200);
        assert_eq!((&saved["version"], &saved["style"]["paper"]), (&json!(1), &json!("letter")));
        put_style(office, Some(&tag), &style).problem(412, "precondition-failed");
        let wrong = json!({"paper": "a3", "accent": "red", "logo": {"media_type": "image/png", "data": "AAAA", "alt": "x"}, "colour": 1});
        let problem = put_style(office, Some(&tag), &wrong).problem(422, "invalid-input");
        let pointers: Vec<&str> = problem["errors"].as_array().unwrap().iter().map(|error| error["pointer"].as_str().unwrap()).collect();
        for wanted in ["/paper", "/accent", "/logo/data", "/colour"] {
            assert!(pointers.contains(&wanted), "{wanted}: {pointers:?}");
        }
        let trade = |headers: &[(&str, &str)]| {
            let headers = [&[("content-type", "application/json")], headers].concat();
            office.ask("PUT", "/v1/house-styles/trade", &headers, style.to_string().as_bytes())
        };
        trade(&[("if-match", "\"x\"")]).problem(412, "precondition-failed");
        assert_eq!(trade(&[]).expect(201)["version"], 1);
        trade(&[]).problem(428, "precondition-required");
        let named = office.ask("PUT", "/v1/house-styles/No%20name", &[("content-type", "application/json")], b"{}");
        named.problem(400, "invalid-parameter");
        let listed = office.get("/v1/house-styles").expect(200);
        let ids: Vec<_> = listed["data"].as_array().unwrap().iter().map(|one| (one["id"].clone(), one["version"].clone())).collect();
        assert_eq!(ids, [(json!("standard"), json!(1)), (json!("trade"), json!(1))]);
        assert_eq!(office.get(&format!("{STYLE}?version=0")).expect(200)["version"], 0);
        office.get("/v1/house-styles/none").problem(404, "not-found");
    }
}
