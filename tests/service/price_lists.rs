//! Suppliers' price lists from outside: mapped, tried, applied, read again and taken back.

use estimate::quantity::Decimal;
use estimate::quantity::decimal::plain;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};
use serde_json::{Value, json};

use crate::database::by_hand;
use crate::harness::{Answer, Engine, Office, PRICE_LIST_LIMIT, project};

const CSV: &str = "text/csv";
const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
const HEAD: &str = "Article;Goods;Pack;Unit;Price\n";

/// The first three items of the demonstration as (code, pack, unit, price on the day, supplier).
struct Goods {
    supplier: String,
    rows: Vec<(String, String, String, String)>,
}

const DAY: &str = "2031-03-01";

/// What the supplier of the first item sells in one pack each, priced on the day.
fn goods(office: &Office) -> Goods {
    let items = office.get("/v1/items?limit=500").expect(200)["data"]
        .as_array()
        .unwrap()
        .clone();
    let supplier = items[0]["supplier"].as_str().unwrap().to_owned();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let of_supplier = items.iter().filter(|item| item["supplier"] == supplier.as_str());
    let rows = of_supplier
        .flat_map(|item| {
            let packs = item["packs"].as_array().unwrap().iter();
            packs.map(|pack| {
                let price = pack["prices"].as_array().unwrap().last().unwrap();
                (
                    text(&item["code"]),
                    text(&pack["size"]),
                    text(&item["unit"]),
                    text(&price["amount"]),
                )
            })
        })
        .collect();
    Goods { supplier, rows }
}

fn mapping(supplier: &str) -> Value {
    json!({
        "id": "house", "title": "The house's own list", "supplier": supplier, "separator": "semicolon",
        "numbers": {"decimal": "comma", "thousands": "point"},
        "columns": {
            "code": {"title": "Article"}, "price": {"title": "Price"}, "pack_size": {"title": "Pack"},
            "unit": {"title": "Unit"}, "description": {"title": "Goods"},
        },
        "units": {"Stk": "each"},
    })
}

fn with_mapping(office: &Office) -> Goods {
    let goods = goods(office);
    office
        .post("/v1/price-list-mappings", &mapping(&goods.supplier))
        .expect(201);
    goods
}

fn send(office: &Office, query: &str, kind: &str, bytes: &[u8]) -> Answer {
    let path = format!("/v1/price-lists?mapping=house&valid_from={DAY}{query}");
    office.ask("POST", &path, &[("content-type", kind)], bytes)
}

fn row(code: &str, pack: &str, unit: &str, price: &str) -> String {
    format!(
        "{code};x;{};{unit};{}\n",
        pack.replace('.', ","),
        price.replace('.', ",")
    )
}

/// The whole list of the supplier, each price through `price`.
fn whole(goods: &Goods, price: impl Fn(usize, &str) -> String) -> String {
    let rows = goods.rows.iter().enumerate();
    let rows = rows.map(|(place, (code, pack, unit, amount))| row(code, pack, unit, &price(place, amount)));
    HEAD.to_owned() + &rows.collect::<String>()
}

fn price_on(office: &Office, code: &str, pack: &str, day: &str) -> Value {
    let prices = office
        .get(&format!("/v1/items/{code}/prices?on={day}"))
        .expect(200);
    let packs = prices["packs"].as_array().unwrap();
    packs.iter().find(|one| one["size"] == pack).unwrap()["price"].clone()
}

on_both_engines! {
    fn a_list_is_tried_applied_read_again_and_taken_back(office) {
        let goods = with_mapping(office);
        let (code, pack, _, before) = goods.rows[0].clone();
        let dearer = plain(before.parse::<Decimal>().unwrap() + Decimal::new(156, 2));
        let list = whole(&goods, |place, amount| if place == 0 { dearer.clone() } else { amount.to_owned() });
        let tried = send(office, "", CSV, list.as_bytes()).expect(200);
        assert_eq!((&tried["dry_run"], &tried["number"], &tried["can_be_applied"]), (&json!(true), &Value::Null, &json!(true)));
        assert_eq!((&tried["counts"]["changed"], &tried["counts"]["unchanged"]), (&json!(1), &json!(goods.rows.len() - 1)));
        let change = &tried["changed"][0];
        assert_eq!((&change["amount"], &change["before"], &change["row"]), (&json!(dearer), &json!(plain(before.parse().unwrap())), &json!(2)));
        assert_eq!(price_on(office, &code, &pack, DAY)["amount"], change["before"], "a dry run writes nothing");
        assert_eq!(office.get("/v1/price-lists").expect(200)["data"], json!([]));

        let agreed = format!("&dry_run=false&agreed={}", tried["comparison"].as_str().unwrap());
        let applied = send(office, &agreed, CSV, list.as_bytes());
        assert_eq!(applied.header("location"), Some("/v1/price-lists/1"));
        let told = applied.expect(201);
        assert_eq!((&told["counts"], &told["comparison"], &told["dry_run"]), (&tried["counts"], &tried["comparison"], &json!(false)));
        let now = price_on(office, &code, &pack, DAY);
        assert_eq!((&now["amount"], &now["valid_from"], &now["age_days"]), (&json!(dearer), &json!(DAY), &json!(0)));
        assert_eq!(price_on(office, &code, &pack, "2031-02-28")["amount"], change["before"]);
        let (other, size, _, _) = &goods.rows[1];
        assert_eq!(price_on(office, other, size, "2031-03-11")["age_days"], json!(10), "a price that is the same is younger");

        let kept = office.get("/v1/price-lists/1").expect(200);
        assert_eq!((&kept["digest"], &kept["mapping"]["version"], &kept["rows"]), (&told["digest"], &json!(1), &json!(goods.rows.len())));
        let differences = office.get("/v1/price-lists/1/differences?kind=changed").expect(200);
        assert_eq!(differences["data"], json!([{
            "row": 2, "kind": "changed", "code": code, "pack": pack, "valid_from": DAY, "amount": dearer, "before": change["before"],
        }]));
        send(office, "&dry_run=false", CSV, list.as_bytes()).problem(409, "conflict");

        let back = |query: &str, day: &str| {
            office.post(&format!("/v1/price-lists/1/take-back{query}"), &json!({"valid_from": day, "reason": "wrong list"}))
        };
        back("", DAY).problem(422, "invalid-input");
        let tried = back("", "2031-04-01").expect(200);
        assert_eq!((&tried["rows"], &tried["unchanged"], &tried["number"]), (&json!(1), &json!(goods.rows.len() - 1), &Value::Null));
        assert_eq!(price_on(office, &code, &pack, "2031-04-01")["amount"], json!(dearer));
        let taken = back("?dry_run=false", "2031-04-01").expect(201);
        assert_eq!(taken["number"], json!(2));
        assert_eq!(price_on(office, &code, &pack, "2031-03-31")["amount"], json!(dearer));
        assert_eq!(price_on(office, &code, &pack, "2031-04-01")["amount"], change["before"]);
        back("?dry_run=false", "2031-05-01").problem(409, "conflict");
        let later = office.get("/v1/price-lists/2").expect(200);
        assert_eq!((&later["takes_back"], &later["reason"]), (&json!(1), &json!("wrong list")));
    }

    fn a_list_in_trouble_is_applied_by_no_row(office) {
        let goods = with_mapping(office);
        let (code, pack, unit, amount) = &goods.rows[0];
        let (twice, size, counted, price) = &goods.rows[1];
        let list = format!(
            "{HEAD}{}{}{}{};x;1;{unit};auf Anfrage\n",
            row(code, pack, unit, "99999"), row(twice, size, counted, price), row(twice, size, counted, price), goods.rows[2].0,
        );
        let tried = send(office, "", CSV, list.as_bytes()).expect(200);
        assert_eq!(tried["can_be_applied"], json!(false));
        let troubles: Vec<_> = tried["troubles"].as_array().unwrap().iter()
            .map(|one| (one["row"].as_u64().unwrap(), one["kind"].as_str().unwrap(), one["cell"].as_str())).collect();
        assert_eq!(troubles, [(2, "factor", Some("E2")), (3, "duplicate", None), (4, "duplicate", None), (5, "number", Some("E5"))]);
        let refused = send(office, "&dry_run=false", CSV, list.as_bytes()).problem(422, "price-list-troubles");
        assert_eq!(refused["troubles"].as_array().unwrap().len(), 4);
        send(office, "&dry_run=false&accept=factor&leave_out=number", CSV, list.as_bytes()).problem(422, "price-list-troubles");
        assert_ne!(price_on(office, code, pack, DAY)["valid_from"], json!(DAY));
        let applied = send(office, "&dry_run=false&accept=factor&leave_out=number,duplicate", CSV, list.as_bytes()).expect(201);
        assert_eq!((&applied["counts"]["changed"], &applied["counts"]["left_out"]), (&json!(1), &json!(3)));
        assert_eq!(price_on(office, code, pack, DAY)["amount"], json!("99999"));
        let kept = office.get("/v1/price-lists/1").expect(200);
        assert_eq!((&kept["accepted_factor"], kept["left_out"].as_array().unwrap().len()), (&json!(true), 3));
        assert!(amount != "99999");
    }

    fn new_items_are_added_with_their_packs_when_the_mapping_says_where_they_belong(office) {
        let goods = goods(office);
        let item = office.get("/v1/items?limit=1").expect(200)["data"][0].clone();
        let mut mapping = mapping(&goods.supplier);
        mapping["new_items"] = json!({"cost_code": "PIQ", "tax_category": "no such"});
        let problem = office.post("/v1/price-list-mappings", &mapping).problem(422, "invalid-input");
        assert_eq!(problem["errors"][0]["pointer"], json!("/new_items/tax_category"));
        assert_eq!(problem["errors"][1]["pointer"], json!("/new_items/cost_code"));
        assert!(problem["errors"][1]["message"].as_str().unwrap().ends_with("did you mean PIP?"), "{problem}");
        mapping["new_items"]["cost_code"] = json!("PIP");
        mapping["new_items"]["tax_category"] = item["tax_category"].clone();
        office.post("/v1/price-list-mappings", &mapping).expect(201);
        let (code, _, unit, _) = &goods.rows[0];
        let list = format!("{HEAD}NEW-1;Brass clip;10;Stk;12,5\nNEW-1;Brass clip;50;Stk;1.060,00\n{code};x;777;{unit};3\n");
        let tried = send(office, "&accept=factor", CSV, list.as_bytes()).expect(200);
        assert_eq!((&tried["counts"]["new_item"], &tried["counts"]["new_pack"]), (&json!(2), &json!(1)));
        assert_eq!((&tried["new"][0]["description"], &tried["new"][0]["unit"]), (&json!("Brass clip"), &json!("each")));
        assert!(tried["counts"]["vanished"].as_u64().unwrap() > 0);
        send(office, "&dry_run=false&accept=factor", CSV, list.as_bytes()).expect(201);
        let added = office.get("/v1/items/NEW-1").expect(200);
        assert_eq!((&added["description"], &added["supplier"], &added["cost_code"]), (&json!("Brass clip"), &json!(goods.supplier), &json!("PIP")));
        assert_eq!(price_on(office, "NEW-1", "50", DAY)["amount"], json!("1060"));
        assert_eq!(price_on(office, code, "777", DAY)["amount"], json!("3"));
        assert_eq!(price_on(office, "NEW-1", "50", "2031-02-28"), Value::Null);
        let back = office.post("/v1/price-lists/1/take-back", &json!({"valid_from": "2031-04-01", "reason": "test"})).expect(200);
        assert_eq!((&back["first_prices"], &back["rows"]), (&json!(3), &json!(0)));
        let back = json!({"valid_from": "2031-04-01", "reason": "test"});
        let refused = office.post("/v1/price-lists/1/take-back?dry_run=false", &back).problem(409, "conflict");
        assert_eq!(refused["detail"], json!(format!(
            "nothing of price list 1 can be taken back: 3 prices are the first of their packs (NEW-1, pack of 10; NEW-1, \
             pack of 50; {code}, pack of 777): there is no earlier price to go back to, and they stay until another price \
             is added, by a list or one by one"
        )));
    }

    fn what_was_agreed_to_is_applied_and_nothing_else(office) {
        let goods = with_mapping(office);
        let (code, pack, _, _) = &goods.rows[0];
        let list = whole(&goods, |_, amount| amount.to_owned());
        let tried = send(office, "", CSV, list.as_bytes()).expect(200);
        let price = json!({"pack": pack, "valid_from": "2031-02-01", "amount": "3.21", "source": "offer"});
        office.post(&format!("/v1/items/{code}/prices?accept=factor"), &price).expect(201);
        let agreed = format!("&dry_run=false&accept=factor&agreed={}", tried["comparison"].as_str().unwrap());
        let refused = send(office, &agreed, CSV, list.as_bytes()).problem(412, "precondition-failed");
        let said = refused["detail"].as_str().unwrap();
        assert!(said.ends_with("repeat the dry run with the same choices and agree to what it comes to"), "{said}");
        assert_eq!(price_on(office, code, pack, DAY)["amount"], json!("3.21"));
    }

    fn two_that_apply_at_once_both_count_and_no_row_is_lost(office) {
        let goods = with_mapping(office);
        let other = office.another();
        let days = ["2031-05-01", "2031-06-01", "2031-07-01", "2031-08-01"];
        std::thread::scope(|scope| {
            for (place, day) in days.into_iter().enumerate() {
                let door = if place % 2 == 0 { office } else { &other };
                let list = whole(&goods, |_, amount| amount.to_owned());
                scope.spawn(move || {
                    let path = format!("/v1/price-lists?mapping=house&valid_from={day}&dry_run=false");
                    // As many files are read at once as may be; the others are told to come again.
                    loop {
                        let answer = door.ask("POST", &path, &[("content-type", CSV)], list.as_bytes());
                        if answer.status != 503 {
                            answer.expect(201);
                            break;
                        }
                        assert!(answer.header("retry-after").is_some());
                    }
                });
            }
        });
        let lists = office.get("/v1/price-lists").expect(200);
        let numbers: Vec<u64> = lists["data"].as_array().unwrap().iter().map(|list| list["number"].as_u64().unwrap()).collect();
        assert_eq!(numbers, [1, 2, 3, 4]);
        for number in numbers {
            let rows = office.get(&format!("/v1/price-lists/{number}/differences?limit=500")).expect(200);
            assert_eq!(rows["data"].as_array().unwrap().len(), goods.rows.len().min(500));
        }
        let page = office.get("/v1/price-lists?limit=3");
        assert_eq!(page.header("link"), Some("</v1/price-lists?limit=3&after=3>; rel=\"next\""));
        let rows = office.get("/v1/price-lists/1/differences?kind=unchanged&limit=2");
        assert_eq!(rows.header("link"), Some("</v1/price-lists/1/differences?kind=unchanged&limit=2&after=3>; rel=\"next\""));
        let last = office.get("/v1/price-lists?after=3").expect(200);
        assert_eq!((last["data"].as_array().unwrap().len(), &last["next"]), (1, &Value::Null));
    }

    fn an_applied_list_can_be_changed_by_nobody(office) {
        let goods = with_mapping(office);
        let list = whole(&goods, |_, amount| amount.to_owned());
        send(office, "&dry_run=false", CSV, list.as_bytes()).expect(201);
        let told = || (office.get("/v1/price-lists/1").expect(200), office.get("/v1/price-lists/1/differences").expect(200));
        let before = told();
        for statement in [
            "UPDATE price_list_mappings SET body = '{}'",
            "DELETE FROM price_list_mappings",
            "UPDATE price_lists SET source = 'another'",
            "DELETE FROM price_lists",
            "UPDATE price_list_rows SET replaced = '1'",
            "DELETE FROM price_list_rows",
        ] {
            let said = by_hand(office.location(), statement).unwrap_err();
            assert!(said.contains("never"), "{statement}: {said}");
        }
        assert_eq!(told(), before);
    }

    fn a_mapping_has_versions_and_one_editor_wins(office) {
        let goods = with_mapping(office);
        office.post("/v1/price-list-mappings", &mapping(&goods.supplier)).problem(409, "already-there");
        let first = office.get("/v1/price-list-mappings/house");
        let tag = first.header("etag").unwrap().to_owned();
        let mut edited = mapping(&goods.supplier);
        edited["title"] = json!("Another title");
        let put = |tag: Option<&str>, body: &Value| {
            let mut headers = vec![("content-type", "application/json")];
            headers.extend(tag.map(|tag| ("if-match", tag)));
            office.ask("PUT", "/v1/price-list-mappings/house", &headers, body.to_string().as_bytes())
        };
        put(None, &edited).problem(428, "precondition-required");
        let second = put(Some(&tag), &edited).expect(200);
        assert_eq!((&second["version"], &second["title"]), (&json!(2), &json!("Another title")));
        put(Some(&tag), &edited).problem(412, "precondition-failed");
        edited["id"] = json!("barn");
        put(Some("*"), &edited).problem(422, "invalid-input");
        let listed = office.get("/v1/price-list-mappings").expect(200);
        assert_eq!(listed["data"], json!([second]));
        office.get("/v1/price-list-mappings/barn").problem(404, "not-found");
    }
}

/// The demonstration's list has one slip, a price ten times what it was, and is applied without it.
#[test]
fn the_list_of_the_demonstration_is_read_by_its_mapping() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let file = |name: &str| std::fs::read(project().join("seed-data/price-lists").join(name)).unwrap();
    let mapping = serde_json::from_slice(&file("larkholt-mapping.json")).unwrap();
    office.post("/v1/price-list-mappings", &mapping).expect(201);
    let list = file("larkholt-september-2025.csv");
    let path = "/v1/price-lists?mapping=larkholt&valid_from=2025-09-01";
    let told = office
        .ask("POST", path, &[("content-type", CSV)], &list)
        .expect(200);
    let counts = &told["counts"];
    assert_eq!(
        (&counts["new_item"], &counts["vanished"], &counts["in_trouble"]),
        (&json!(1), &json!(1), &json!(1))
    );
    assert!(
        counts["changed"].as_u64().unwrap() > 20 && counts["unchanged"].as_u64().unwrap() > 5,
        "{counts}"
    );
    assert_eq!(
        (&told["troubles"][0]["kind"], &told["troubles"][0]["code"]),
        (&json!("factor"), &json!("CT-VIAL"))
    );
    let apply = format!("{path}&dry_run=false&leave_out=factor");
    office
        .ask("POST", &apply, &[("content-type", CSV)], &list)
        .expect(201);
    assert_eq!(
        price_on(&office, "EQ-CU-30", "1", "2025-09-01")["amount"],
        json!("1547.33")
    );
    assert_eq!(
        price_on(&office, "CT-VIAL", "1", "2025-09-01")["amount"],
        json!("12.5")
    );
}

fn office() -> (Office, Goods) {
    let office = Office::open(Engine::Sqlite).unwrap();
    let goods = with_mapping(&office);
    (office, goods)
}

/// Written by another library; the binary numbers are those of IEEE 754: 0.1 + 0.2 is told as 0.30000000000000004.
#[test]
fn a_workbook_is_read_by_the_shortest_digits_of_its_numbers() {
    let (office, goods) = office();
    let mut mapping = mapping(&goods.supplier);
    mapping["id"] = json!("book");
    mapping["sheet"] = json!("Prices");
    mapping["title_row"] = json!(3);
    mapping["columns"]["valid_from"] = json!({"letters": "F"});
    office.post("/v1/price-list-mappings", &mapping).expect(201);
    let mut book = Workbook::new();
    book.add_worksheet().write(0, 0, "another sheet").unwrap();
    let sheet = book.add_worksheet();
    sheet.set_name("Prices").unwrap();
    sheet.write(0, 0, "The house").unwrap();
    for (column, title) in ["Article", "Goods", "Pack", "Unit", "Price"]
        .into_iter()
        .enumerate()
    {
        sheet.write(2, u16::try_from(column).unwrap(), title).unwrap();
    }
    let date = Format::new().set_num_format("yyyy-mm-dd");
    let prices = [0.1 + 0.2, 1234.56, 9.0, 0.070_000_01];
    for (line, price) in (4..).zip(prices) {
        let (code, pack, unit, _) = &goods.rows[usize::try_from(line).unwrap() - 4];
        sheet.write(line, 0, code).unwrap();
        sheet.write(line, 2, pack.parse::<f64>().unwrap()).unwrap();
        sheet.write(line, 3, unit).unwrap();
        sheet.write(line, 4, price).unwrap();
    }
    sheet
        .write_with_format(4, 5, ExcelDateTime::from_ymd(2031, 4, 5).unwrap(), &date)
        .unwrap();
    sheet.write(8, 0, goods.rows[4].0.as_str()).unwrap();
    sheet.write(8, 4, true).unwrap();
    let bytes = book.save_to_buffer().unwrap();
    let path = "/v1/price-lists?mapping=book&valid_from=2031-03-01&accept=factor";
    let told = office
        .ask("POST", path, &[("content-type", XLSX)], &bytes)
        .expect(200);
    let mut changed = told["changed"].as_array().unwrap().clone();
    changed.sort_by_key(|entry| entry["row"].as_u64());
    let read: Vec<_> = changed
        .iter()
        .map(|entry| {
            (
                entry["row"].as_u64().unwrap(),
                entry["amount"].as_str().unwrap(),
                entry["rounded_from"].as_str(),
            )
        })
        .collect();
    assert_eq!(
        read,
        [
            (5, "0.3", Some("0.30000000000000004")),
            (6, "1234.56", None),
            (7, "9", None),
            (8, "0.07", Some("0.07000001")),
        ]
    );
    assert_eq!(changed[0]["valid_from"], "2031-04-05");
    assert_eq!(
        (&told["troubles"][0]["cell"], &told["troubles"][0]["kind"]),
        (&json!("E9"), &json!("number"))
    );
    let wrong = |sheet: Value| {
        let mut other = mapping.clone();
        other["sheet"] = sheet;
        office
            .ask(
                "PUT",
                "/v1/price-list-mappings/book",
                &[("content-type", "application/json"), ("if-match", "*")],
                other.to_string().as_bytes(),
            )
            .expect(200);
        office
            .ask("POST", path, &[("content-type", XLSX)], &bytes)
            .problem(422, "invalid-input")
    };
    let problem = wrong(json!("Prizes"));
    assert!(
        problem["errors"][0]["message"]
            .as_str()
            .unwrap()
            .contains("Prices"),
        "{problem}"
    );
}

#[test]
fn files_that_are_no_list_are_told_and_do_no_harm() {
    let (office, goods) = office();
    let list = whole(&goods, |_, amount| amount.to_owned());
    for (kind, bytes, word) in [
        (CSV, &b"\xff\xfeA;B\n"[..], "UTF-8"),
        (CSV, b"", "no rows"),
        (CSV, b"Article;Pack\nA;1\n", "no column called `Price`"),
        (CSV, b"Article;Goods;Pack;Unit;Price\n\"A;1\n", "A2"),
        (XLSX, b"PK\x03\x04 no workbook", "cannot be read"),
        (XLSX, list.as_bytes(), "cannot be read"),
        (XLSX, b"", "cannot be read"),
    ] {
        let problem = send(&office, "", kind, bytes).problem(422, "invalid-input");
        let message = problem["errors"][0]["message"].as_str().unwrap();
        assert!(message.contains(word), "{message}");
    }
    send(&office, "", "application/pdf", b"x").problem(415, "unsupported-media-type");
    let wide = format!("A;{};1;each;1\n", "x".repeat(900_000));
    let long = HEAD.to_owned() + &wide.repeat(PRICE_LIST_LIMIT / wide.len() + 1);
    send(&office, "", CSV, long.as_bytes()).problem(413, "content-too-large");
    for query in [
        "&dry_run=maybe",
        "&accept=unit",
        "&leave_out=weather",
        "&show=5001",
        "&sauce=x",
        "&source=%20",
    ] {
        send(&office, query, CSV, list.as_bytes()).problem(400, "invalid-parameter");
    }
    for path in [
        "/v1/price-lists?mapping=house&valid_from=2031-02-30",
        "/v1/price-lists?valid_from=2031-02-01",
    ] {
        office
            .ask("POST", path, &[("content-type", CSV)], list.as_bytes())
            .problem(400, "invalid-parameter");
    }
    office
        .ask(
            "POST",
            "/v1/price-lists?mapping=barn",
            &[("content-type", CSV)],
            b"x",
        )
        .problem(404, "not-found");
    for path in [
        "/v1/price-lists/1",
        "/v1/price-lists/1/differences",
        "/v1/price-lists/4294967295",
    ] {
        office.get(path).problem(404, "not-found");
    }
    office.get("/v1/price-lists/x").problem(400, "invalid-parameter");
    office
        .get("/v1/price-lists?after=x")
        .problem(400, "invalid-parameter");
    office
        .get("/v1/price-lists/1/differences?kind=x")
        .problem(400, "invalid-parameter");
    // After all of that the places for files are free again.
    send(&office, "", CSV, list.as_bytes()).expect(200);
}

#[test]
fn a_workbook_that_is_cut_off_or_overwritten_anywhere_is_told() {
    let (office, goods) = office();
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for (column, title) in ["Article", "Goods", "Pack", "Unit", "Price"]
        .into_iter()
        .enumerate()
    {
        sheet.write(0, u16::try_from(column).unwrap(), title).unwrap();
    }
    sheet.write(1, 0, goods.rows[0].0.as_str()).unwrap();
    sheet.write(1, 4, 12).unwrap();
    let bytes = book.save_to_buffer().unwrap();
    send(&office, "", XLSX, &bytes).expect(200);
    for cut in (0..bytes.len()).step_by(bytes.len() / 40) {
        let told = send(&office, "", XLSX, &bytes[..cut]);
        assert_eq!(told.status, 422, "cut at {cut}: {}", told.text);
        let mut torn = bytes.clone();
        torn[cut] ^= 0x55;
        let told = send(&office, "", XLSX, &torn);
        assert!([200, 422].contains(&told.status), "torn at {cut}: {}", told.text);
    }
}

/// A part that is all zeros packs a thousandfold.
#[test]
fn a_workbook_that_unpacks_without_end_is_refused() {
    use std::io::Write;
    let (office, _) = office();
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let zeros = vec![0_u8; 1_048_576];
    archive
        .start_file("xl/workbook.xml", zip::write::SimpleFileOptions::default())
        .unwrap();
    for _ in 0..200 {
        archive.write_all(&zeros).unwrap();
    }
    let bytes = archive.finish().unwrap().into_inner();
    assert!(bytes.len() < 1_000_000);
    let problem = send(&office, "", XLSX, &bytes).problem(422, "invalid-input");
    assert!(
        problem["errors"][0]["message"]
            .as_str()
            .unwrap()
            .contains("unpacks to more than"),
        "{problem}"
    );
}

#[test]
fn a_list_of_an_older_code_page_is_read_when_the_mapping_says_so() {
    let (office, goods) = office();
    let mut old = mapping(&goods.supplier);
    old["id"] = json!("old");
    old["encoding"] = json!("windows_1252");
    old["numbers"] = json!({"decimal": "comma", "currency_sign": "€"});
    old["columns"]["code"] = json!({"title": "Prüfnummer"});
    office.post("/v1/price-list-mappings", &old).expect(201);
    let (code, pack, unit, _) = &goods.rows[0];
    // WHATWG Encoding Standard, windows-1252: 0xFC is ü, 0x80 is the euro sign.
    let mut bytes = b"Pr\xfcfnummer;Goods;Pack;Unit;Price\n".to_vec();
    bytes.extend_from_slice(format!("{code};x;{pack};{unit};12,50 ").as_bytes());
    bytes.extend_from_slice(b"\x80\n");
    let path = "/v1/price-lists?mapping=old&valid_from=2031-03-01&accept=factor";
    let told = office
        .ask(
            "POST",
            path,
            &[("content-type", "text/csv; charset=windows-1252")],
            &bytes,
        )
        .expect(200);
    assert_eq!(told["changed"][0]["amount"], json!("12.5"));
}

#[test]
fn every_fault_of_a_mapping_is_told_with_its_place() {
    let (office, goods) = office();
    let told = |body: &Value| {
        let problem = office
            .post("/v1/price-list-mappings", body)
            .problem(422, "invalid-input");
        let errors = problem["errors"].as_array().unwrap().iter();
        errors
            .map(|error| error["pointer"].as_str().unwrap().to_owned())
            .collect::<Vec<_>>()
    };
    let mut wrong = mapping(&goods.supplier);
    wrong["id"] = json!("A House");
    wrong["discount_percent"] = json!("100");
    wrong["columns"]["price"] = json!({"letters": "XFE"});
    assert_eq!(told(&wrong), ["/id", "/discount_percent", "/columns/price"]);
    let mut shape = mapping(&goods.supplier);
    shape["columns"]["price"] = json!({"letter": "B"});
    assert_eq!(told(&shape), ["/columns/price"]);
    let mut shape = mapping(&goods.supplier);
    shape["units"]["FT"] = json!("parsec");
    assert_eq!(told(&shape), ["/units/FT"]);
    assert_eq!(told(&json!([])), [""]);
}

/// The most memory that this process has had, in MiB, where the system tells.
fn peak_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<u64>().ok()? / 1024)
}

/// Says how long a list of 100,000 rows takes, first as new items and then as changed prices, as CSV and as a workbook.
fn measure(engine: Engine) {
    const ROWS: u32 = 100_000;
    let Some(office) = Office::open(engine) else {
        return;
    };
    let mut mapping = mapping("Measured House");
    let category = office.get("/v1/items?limit=1").expect(200)["data"][0]["tax_category"].clone();
    mapping["new_items"] = json!({"cost_code": "PIP", "tax_category": category});
    office.post("/v1/price-list-mappings", &mapping).expect(201);
    let list = |cents: u32| {
        let row = |number: u32| {
            format!(
                "M-{number:06};Measured goods {number};50;ft;{},{cents:02}\n",
                10 + number % 900
            )
        };
        HEAD.to_owned() + &(0..ROWS).map(row).collect::<String>()
    };
    let timed = |what: &str, query: &str, kind: &str, bytes: &[u8]| {
        let path = format!("/v1/price-lists?mapping=house&{query}");
        let begun = std::time::Instant::now();
        let answer = office.ask("POST", &path, &[("content-type", kind)], bytes);
        let took = begun.elapsed();
        let peak = peak_memory().map_or_else(String::new, |peak| format!(", peak memory {peak} MiB"));
        println!("{engine:?}: {what}: {took:.2?} for {} bytes{peak}", bytes.len());
        answer
    };
    let counted = |answer: &Answer, status: u16, word: &str| {
        assert_eq!(answer.expect(status)["counts"][word], json!(ROWS));
    };
    let (first, second) = (list(5), list(30));
    let new = "valid_from=2031-01-01";
    counted(
        &timed("dry run, all new", new, CSV, first.as_bytes()),
        200,
        "new_item",
    );
    counted(
        &timed(
            "apply, all new",
            &format!("{new}&dry_run=false"),
            CSV,
            first.as_bytes(),
        ),
        201,
        "new_item",
    );
    let changed = "valid_from=2031-02-01";
    counted(
        &timed(
            "dry run, all changed, the catalogue read anew",
            changed,
            CSV,
            second.as_bytes(),
        ),
        200,
        "changed",
    );
    counted(
        &timed("dry run, all changed", changed, CSV, second.as_bytes()),
        200,
        "changed",
    );
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for (line, text) in (0..).zip(second.lines()) {
        for (column, cell) in (0..).zip(text.split(';')) {
            match cell.replace(',', ".").parse::<f64>() {
                Ok(number) if line > 0 && column > 1 => sheet.write(line, column, number).unwrap(),
                _ => sheet.write(line, column, cell).unwrap(),
            };
        }
    }
    let bytes = book.save_to_buffer().unwrap();
    counted(
        &timed("dry run, all changed, workbook", changed, XLSX, &bytes),
        200,
        "changed",
    );
    counted(
        &timed(
            "apply, all changed",
            &format!("{changed}&dry_run=false"),
            CSV,
            second.as_bytes(),
        ),
        201,
        "changed",
    );
    let begun = std::time::Instant::now();
    office.get("/v1/policies").expect(200);
    println!("{engine:?}: the catalogue read anew: {:.2?}", begun.elapsed());
}

#[test]
#[ignore = "measures; run it in release with --nocapture"]
fn measure_a_list_of_a_hundred_thousand_rows_sqlite() {
    measure(Engine::Sqlite);
}

#[test]
#[ignore = "measures; run it in release with --nocapture"]
fn measure_a_list_of_a_hundred_thousand_rows_postgresql() {
    measure(Engine::Postgresql);
}
