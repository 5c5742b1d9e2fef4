//! Papers, drawings, lists and house styles from outside.

use calamine::{Data, Reader as _, Xlsx};
use serde_json::{Value, json};

use crate::harness::{Answer, Office};
use crate::quotes_desk::{accepted, draft, draft_with_alternates, issued, job, post, quote};

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

/// What a paper says; none where the machine has no tool to read it.
pub fn said(pdf: &[u8]) -> Option<String> {
    use std::io::Write as _;
    use std::process::{Command, Stdio};
    let tool = Command::new("pdftotext")
        .args(["-layout", "-", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn();
    let Ok(mut tool) = tool else {
        assert!(std::env::var_os("CI").is_none(), "pdftotext is needed");
        return None;
    };
    tool.stdin.take().unwrap().write_all(pdf).unwrap();
    Some(String::from_utf8(tool.wait_with_output().unwrap().stdout).unwrap())
}

/// The rows of a workbook's first sheet, as a reader of workbooks has them.
fn rows_of(book: &[u8]) -> Vec<Vec<Data>> {
    let mut book: Xlsx<_> = Xlsx::new(std::io::Cursor::new(book)).unwrap();
    let sheet = book.worksheet_range_at(0).unwrap().unwrap();
    sheet.rows().map(<[Data]>::to_vec).collect()
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
        // The seed data's own version held at issue; the one that was saved after it, and a younger style, are refused.
        assert_eq!(pdf(office, &format!("{proposal}?style=standard&style_version=1")), before.0);
        for later in ["style_version=2", "style_version=0"] {
            let problem = office.get(&format!("{proposal}?{later}")).problem(409, "conflict");
            assert!(problem["detail"].as_str().unwrap().contains("version 1"), "{problem}");
        }
        office.ask("PUT", "/v1/house-styles/young", &[("content-type", "application/json")], b"{}").expect(201);
        office.get(&format!("{proposal}?style=young")).problem(409, "conflict");
        office.get(&format!("{path}/revisions/1/drawing?style=young")).problem(409, "conflict");
        let drafted = quote(office, &draft());
        pdf(office, &format!("{drafted}/revisions/1/proposal?style=standard&style_version=0"));
        office.get(&format!("{proposal}?style=other")).problem(404, "not-found");
        let problem = office.get(&format!("{proposal}?style_version=99")).problem(404, "not-found");
        assert!(problem["detail"].as_str().unwrap().contains("version of the house style standard with the number 99"), "{problem}");
        office.get(&format!("{proposal}?styl=other")).problem(400, "invalid-parameter");
        office.get(&format!("{path}/revisions/2/proposal")).problem(404, "not-found");
    }

    #[cfg(feature = "documents")]
    fn a_draft_is_printed_as_one_and_a_picture_that_is_none_is_told(office) {
        let path = quote(office, &draft());
        let before = pdf(office, &format!("{path}/revisions/1/proposal"));
        let tag = office.get(STYLE).header("etag").unwrap().to_owned();
        // The head of a PNG of 2 by 2, and nothing behind it.
        let data = "iVBORw0KGgoAAAANSUhEUgAAAAIAAAACCAYAAABytg0k";
        let style = json!({"logo": {"media_type": "image/png", "data": data, "alt": "A gate"}});
        let problem = put_style(office, Some(&tag), &style).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/logo/data", "{problem}");
        assert!(problem["errors"][0]["message"].as_str().unwrap().contains("cannot be printed"), "{problem}");
        let svg = json!({"logo": {"media_type": "image/svg+xml", "data": "PHN2ZyA8PDw+", "alt": "A gate"}});
        put_style(office, Some(&tag), &svg).problem(422, "invalid-input");
        assert_eq!(pdf(office, &format!("{path}/revisions/1/proposal")), before);
        // An older program took it: papers say so and go without.
        let body = json!({"paper": "letter", "language": "en", "prices": "by_section", "accent": "#27424f",
            "logo": style["logo"], "wording": {}});
        let insert = format!("INSERT INTO house_styles (id, version, created_at, body) VALUES \
            ('standard', 2, '2025-01-01T00:00:00.000Z', '{body}')");
        crate::quotes_desk::by_hand(office.location(), &insert).unwrap();
        let printed = office.get(&format!("{path}/revisions/1/proposal"));
        assert_eq!(printed.status, 200, "{}", printed.text);
        assert!(printed.header("x-paper-notes").unwrap().contains("logo was left out"));
    }

    #[cfg(feature = "documents")]
    fn letters_that_no_font_has_are_told(office) {
        let tag = office.get(STYLE).header("etag").unwrap().to_owned();
        let saved = put_style(office, Some(&tag), &json!({"wording": {"terms": ["漢字"]}}));
        saved.expect(200);
        assert!(saved.header("x-paper-notes").unwrap().contains("U+6F22"), "{:?}", saved.header("x-paper-notes"));
        let path = quote(office, &draft());
        let proposal = format!("{path}/revisions/1/proposal");
        for asked in ["", "?unprintable=refuse"] {
            let problem = office.get(&format!("{proposal}{asked}")).problem(422, "cannot-be-printed");
            let detail = problem["detail"].as_str().unwrap();
            for wanted in ["漢 U+6F22, 字 U+5B57", "in the terms", "“漢字”"] {
                assert!(detail.contains(wanted), "{detail}");
            }
        }
        let printed = office.get(&format!("{proposal}?unprintable=replace"));
        assert_eq!(printed.status, 200, "{}", printed.text);
        assert!(printed.header("x-paper-notes").unwrap().contains("U+5B57"));
        let plain = office.get(&format!("{path}/revisions/1/job-sheet"));
        assert_eq!(plain.header("x-paper-notes"), None);
        // Whoever issues it hears of it before anybody prints, and each time that the same request is sent.
        let issue = || crate::quotes_desk::send(office, crate::quotes_desk::PERSON, "POST", &format!("{path}/issue"), &[("idempotency-key", "once")], &json!({"revision": 1}));
        let told = issue().expect(200);
        let notes = told["paper_notes"].as_array().unwrap();
        assert_eq!((&told["state"], notes.len()), (&json!("issued"), 1), "{told}");
        let message = notes[0].as_str().unwrap();
        for wanted in ["the proposal: no font of the papers has 漢 U+6F22, 字 U+5B57", "in the terms", "with unprintable=replace"] {
            assert!(message.contains(wanted), "{message}");
        }
        assert_eq!(issue().expect(200), told);
        let problem = office.get(&proposal).problem(422, "cannot-be-printed");
        let (_, why) = problem["detail"].as_str().unwrap().split_once(": ").unwrap();
        assert!(message.contains(why), "{message}: {problem}");
        let tag = office.get(STYLE).header("etag").unwrap().to_owned();
        put_style(office, Some(&tag), &json!({"language": "es"})).expect(200);
        let other = quote(office, &draft_with_alternates());
        let whole = post(office, &format!("{other}/issue"), &json!({"revision": 1})).expect(200);
        assert_eq!(whole.get("paper_notes"), None, "{whole}");
        // A word of the offer itself, on both papers.
        let mut strange = draft();
        strange["exclusions"] = json!(["Painting \u{1f3a8}"]);
        let strange = quote(office, &strange);
        let told = post(office, &format!("{strange}/issue"), &json!({"revision": 1})).expect(200);
        let message = told["paper_notes"][0].as_str().unwrap();
        assert!(message.starts_with("the proposal and the job sheet: ") && message.contains("U+1F3A8"), "{message}");
        assert_eq!(told["paper_notes"].as_array().unwrap().len(), 1, "{told}");
    }

    /// Before and after it was issued, and whatever the office says in its rules since then.
    #[cfg(feature = "documents")]
    fn a_job_in_metres_is_told_its_rules_in_metres(office) {
        let mut request = job("quarrow-metric");
        let leg = |direction: &str, length: &str| json!({"direction": direction, "length": {"value": length, "unit": "m"}, "space": "open", "bends": 1});
        request["job"]["drain"] = json!({"legs": [leg("rise", "1.5"), leg("level", "4"), leg("drop", "2.4")], "discharge": "floor_drain"});
        let path = quote(office, &json!({"request": request}));
        let sheet = format!("{path}/revisions/1/job-sheet");
        let drafted = pdf(office, &sheet);
        post(office, &format!("{path}/issue"), &json!({"revision": 1})).expect(200);
        let before = pdf(office, &sheet);
        let book = "/v1/rulebooks/hollowmoor-standard";
        let stored = office.ask("GET", book, &[("accept", "application/toml")], b"");
        let sentence = "without the anti-siphon device at {drain.antisiphon_height} above the outlet of the pan";
        let other = stored.text.replace(sentence, "without its device, {drain.antisiphon_height} up,");
        assert_ne!(other, stored.text);
        let tag = stored.header("etag").unwrap();
        let headers = [("content-type", "application/toml"), ("if-match", tag), ("acting-person", crate::quotes_desk::PERSON)];
        office.ask("PUT", book, &headers, other.as_bytes()).expect(200);
        assert_eq!(pdf(office, &sheet), before);
        for paper in [drafted, before] {
            let Some(text) = said(&paper) else { return };
            let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(words.contains("without the anti-siphon device at 1.5 m above the outlet of the pan"), "{text}");
            assert!(words.contains("shield what can burn within 35 ft"), "{text}");
        }
    }

    #[cfg(feature = "documents")]
    fn a_draft_prints_its_alternates_and_a_change_order_what_it_changes(office) {
        let path = quote(office, &draft_with_alternates());
        if let Some(text) = said(&pdf(office, &format!("{path}/revisions/1/proposal"))) {
            for wanted in ["Alternates", "Wiring in conduit", "Panel in the annexe", "Draft: not an offer"] {
                assert!(text.contains(wanted), "{wanted} is missing:\n{text}");
            }
        }
        let path = accepted(office, &draft());
        let order = json!({"title": "Panel moved", "change": {"job": {"electrical": {"panel_length": {"value": "95", "unit": "ft"}}}}});
        post(office, &format!("{path}/change-orders"), &order).expect(201);
        let paper = format!("{path}/change-orders/1/revisions/1/proposal");
        let drafted = said(&pdf(office, &paper));
        post(office, &format!("{path}/change-orders/1/issue"), &json!({"revision": 1})).expect(200);
        let issued = said(&pdf(office, &paper));
        for text in [drafted, issued].into_iter().flatten() {
            for wanted in ["Change order", "Panel moved", "What this change does", "Changed", "Contract so far", "Contract with this change"] {
                assert!(text.contains(wanted), "{wanted} is missing:\n{text}");
            }
        }
    }

    fn drawing_and_charts_are_pictures(office) {
        let path = issued(office, &draft());
        for name in ["drawing", "cost-breakdown", "cellar-load"] {
            let answer = office.get(&format!("{path}/revisions/1/{name}"));
            assert_eq!((answer.status, answer.header("content-type")), (200, Some("image/svg+xml")), "{name}");
            assert!(answer.text.starts_with("<svg ") && answer.text.ends_with("</svg>\n"), "{name}");
        }
        let drawing = office.get(&format!("{path}/revisions/1/drawing?style=standard&style_version=1"));
        assert!(drawing.text.contains("Ceiling unit"), "{}", drawing.text);
        let mut sweep = json!({"request": draft()["request"], "vary": [{"answer": "/electrical/panel_length",
            "values": [{"value": "20", "unit": "ft"}, {"value": "40", "unit": "ft"}, {"value": "120", "unit": "ft"}]}]});
        let drawn = office.post("/v1/price-curves", &sweep);
        assert_eq!((drawn.status, drawn.header("content-type")), (200, Some("image/svg+xml")), "{}", drawn.text);
        let points = office.post("/v1/estimates/sweeps", &sweep).expect(200);
        let dearest = points["points"][2]["total"]["amount"].as_str().unwrap();
        assert!(drawn.text.contains(&format!(">{}</text>", estimate::handoff::figure::grouped(dearest))), "{}", drawn.text);
        assert!(drawn.text.contains(">Total with tax, USD</text>"), "{}", drawn.text);
        assert!(drawn.text.contains(">Price curve: ") && !drawn.text.contains("/electrical"), "{}", drawn.text);
        assert!(!drawn.text.contains("No price"), "{}", drawn.text);
        // A unit above the ceiling needs to be told the depth there, an exposed one does not.
        let mut request = job("pinfold-basement");
        request["job"]["unit"]["mounting"] = json!("exposed");
        request["job"]["unit"].as_object_mut().unwrap().remove("ceiling_void");
        let refused = json!({"request": request, "vary": [{"answer": "/unit/mounting", "values": ["exposed", "partly_recessed"]}]});
        let drawn = office.post("/v1/price-curves", &refused);
        assert_eq!(drawn.status, 200, "{}", drawn.text);
        assert!(drawn.text.contains("No price: ") && drawn.text.contains(">Partly recessed into the ceiling<"), "{}", drawn.text);
        let drawn = office.post("/v1/price-curves?language=es", &refused);
        assert!(drawn.text.contains(">Curva de precios: Montaje<") && drawn.text.contains(">Parcialmente empotrada en el techo<"), "{}", drawn.text);
        let tag = office.get(STYLE).header("etag").unwrap().to_owned();
        put_style(office, Some(&tag), &json!({"language": "es"})).expect(200);
        assert!(office.post("/v1/price-curves", &refused).text.contains(">Curva de precios: Montaje<"));
        let english = office.post("/v1/price-curves?style=standard&style_version=1&language=en", &refused);
        assert!(english.text.contains(">Price curve: Mounting<"), "{}", english.text);
        office.post("/v1/price-curves?style=nobody", &refused).problem(404, "not-found");
        office.post("/v1/price-curves?language=fr", &refused).problem(400, "invalid-parameter");
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
        let twice = json!({"revisions": [{"quote": key(&one), "revision": 1}, {"quote": key(&other), "revision": 1}, {"quote": key(&one), "revision": 1}]});
        let problem = office.post("/v1/purchase-lists", &twice).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/revisions/2", "{problem}");
        let csv = office.post("/v1/purchase-lists?format=csv", &body);
        assert_eq!(csv.header("content-type"), Some("text/csv; charset=utf-8"));
        assert!(csv.text.starts_with("Supplier,Part number,Code,"), "{}", csv.text);
        let book = office.get(&format!("{one}/revisions/1/purchase-list?format=xlsx&language=es"));
        let rows = rows_of(&book.bytes);
        let lines = alone["lines"].as_array().unwrap();
        assert_eq!((rows.len(), &rows[0][2]), (lines.len() + 1, &Data::String("Código".to_owned())));
        for (row, line) in rows[1..].iter().zip(lines) {
            assert_eq!(row[2], Data::String(line["code"].as_str().unwrap().to_owned()));
            let needed: f64 = line["needed"]["value"].as_str().unwrap().parse().unwrap();
            assert_eq!(row[4], Data::Float(needed), "{line}");
        }
        let problem = office.get(&format!("{one}/revisions/1/purchase-list?format=pdf")).problem(400, "invalid-parameter");
        assert_eq!(problem["detail"], "format is \"pdf\"; one of json, csv, xlsx is asked for");
        let wrong = json!({"revisions": [{"quote": key(&one)}, {"quote": 7, "revision": 0, "extra": 1}]});
        let problem = office.post("/v1/purchase-lists", &wrong).problem(422, "invalid-input");
        assert_eq!(problem["errors"].as_array().unwrap().len(), 4, "{problem}");
    }

    fn a_house_style_is_edited_by_one_and_told_whole_when_it_is_wrong(office) {
        let first = office.get(STYLE);
        assert_eq!(first.expect(200)["version"], 1);
        assert!(first.expect(200)["style"]["wording"]["warranty"][0].is_string(), "the demonstration warrants nothing");
        let tag = first.header("etag").unwrap().to_owned();
        let style = json!({"prices": "all_lines", "accent": "#102030", "wording": {"warranty": ["One year."]}});
        put_style(office, None, &style).problem(428, "precondition-required");
        let saved = put_style(office, Some(&tag), &style).expect(200);
        assert_eq!((&saved["version"], &saved["style"]["paper"]), (&json!(2), &json!("letter")));
        put_style(office, Some(&tag), &style).problem(412, "precondition-failed");
        let current = office.get(STYLE).header("etag").unwrap().to_owned();
        let empty = json!({"logo": {"media_type": "image/svg+xml", "alt": "x", "data": "PHN2ZyB4bWxucz0iaHR0cDovL3d3dy53My5vcmcvMjAwMC9zdmciPjwvc3ZnPg=="}});
        let problem = put_style(office, Some(&current), &empty).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], "/logo/data", "{problem}");
        let mut own = style.clone();
        own["cautions"] = json!([{"code": "hot-work", "text": "Soldadura."}, {"code": "hanging.framing", "text": "Techo."}, {"code": "no-such", "text": "Nunca."}]);
        let problem = put_style(office, Some(&current), &own).problem(422, "invalid-input");
        let errors = problem["errors"].as_array().unwrap();
        assert_eq!((errors.len(), &errors[0]["pointer"]), (1, &json!("/cautions/2/code")), "{problem}");
        own["cautions"].as_array_mut().unwrap().pop();
        put_style(office, Some(&current), &own).expect(200);
        let current = office.get(STYLE).header("etag").unwrap().to_owned();
        let pale = put_style(office, Some(&current), &json!({"accent": "#FFFFFF"})).problem(422, "invalid-input");
        assert_eq!(pale["errors"][0]["pointer"], "/accent", "{pale}");
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
        assert_eq!(ids, [(json!("standard"), json!(3)), (json!("trade"), json!(1))]);
        assert_eq!(office.get(&format!("{STYLE}?version=0")).expect(200)["version"], 0);
        office.get("/v1/house-styles/none").problem(404, "not-found");
    }
}
