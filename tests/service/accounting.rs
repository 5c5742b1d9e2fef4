//! Hand-off to accounting: documents, journal, invoices, receipts, settings, the report of a period.

use serde_json::{Value, json};
use tallyrule::desk::Desk;
use tallyrule::store::Store;

use crate::harness::{Answer, Office, contract};
use crate::quotes_desk::{
    PERSON, accepted, by_hand, draft, draft_with_alternates, issued, job, minor, post, send, tamper,
};

/// The number of the quote at this address.
pub fn number(office: &Office, path: &str) -> String {
    office.get(path).expect(200)["number"]
        .as_str()
        .unwrap()
        .to_owned()
}

/// A draft on which tax is charged.
fn taxed() -> Value {
    let mut request = job("alderwick-closet");
    request["job"]["tax"] = json!({"treatment": "tax_on_sale"});
    request["discount"] = json!({"percent": "3.5"});
    json!({"request": request})
}

/// Asks for a format.
fn as_format(office: &Office, path: &str, format: &str) -> Answer {
    office.ask("GET", path, &[("accept", format)], b"")
}

fn order(feet: &str) -> Value {
    json!({"title": "Panel moved", "change": {"job": {"electrical": {"panel_length": {"value": feet, "unit": "ft"}}}}})
}

/// Begins, issues and accepts a change order.
fn change(office: &Office, path: &str, number: u32, feet: &str) {
    post(office, &format!("{path}/change-orders"), &order(feet)).expect(201);
    let track = format!("{path}/change-orders/{number}");
    post(office, &format!("{track}/issue"), &json!({"revision": 1})).expect(200);
    post(
        office,
        &format!("{track}/accept"),
        &json!({"revision": 1, "accepted_by": "O"}),
    )
    .expect(200);
}

/// Puts a receipt.
pub fn put_receipt(office: &Office, number: &str, reference: &str, total: &Value) -> Answer {
    let body = json!({"reference": reference, "total": total});
    send(
        office,
        "ledger",
        "PUT",
        &format!("/v1/accounting/quotes/{number}/receipt"),
        &[],
        &body,
    )
}

/// An amount with two decimals as it is written.
fn cents(minor: i64) -> String {
    format!("{}.{:02}", minor / 100, minor % 100)
}

fn tagged(office: &Office, path: &str) -> String {
    office.get(path).header("etag").unwrap().to_owned()
}

on_both_engines! {
    fn an_accepted_quote_is_handed_over_in_every_format(office) {
        let path = issued(office, &draft_with_alternates());
        let word = json!({"revision": 1, "accepted_by": "O", "reference": "PO 7", "alternates": ["long-run"]});
        post(office, &format!("{path}/accept"), &word).expect(200);
        let number = number(office, &path);
        let place = format!("/v1/accounting/quotes/{number}");
        let told = office.get(&place).expect(200);
        let estimate = office.get(&format!("{path}/revisions/1/estimate")).expect(200);
        // What was accepted is the job with the chosen alternate in it.
        assert_eq!(told["totals"]["total"], estimate["alternates"][1]["estimate"]["totals"]["total"]);
        assert_eq!(told["amounts"]["total"], told["totals"]["total"]);
        assert_eq!((&told["number"], &told["chosen"], &told["receipt"]), (&json!(number), &json!(["long-run"]), &Value::Null));
        let xml = as_format(office, &place, "application/xml");
        assert_eq!((xml.status, xml.header("content-type"), xml.header("vary")), (200, Some("application/xml"), Some("Accept, accept-encoding")));
        assert!(xml.text.contains(&format!("<cbc:ID>{number}-R1</cbc:ID>")), "{}", xml.text);
        assert!(xml.text.contains("Hollowmoor Cellar Cooling"));
        let csv = as_format(office, &place, "text/csv;q=0.9, application/json;q=0.1");
        assert_eq!(csv.header("content-type"), Some("text/csv; charset=utf-8; header=present"));
        assert_eq!(csv.text.matches("\r\n").count(), told["lines"].as_array().unwrap().len() + 1);
        let tag = xml.header("etag").unwrap();
        assert_eq!(office.ask("GET", &place, &[("accept", "application/xml"), ("if-none-match", tag)], b"").status, 304);
        let header = csv.text.lines().next().unwrap().replace(',', ", ");
        let described = contract()["paths"]["/v1/accounting/quotes/{number}"]["get"]["description"].as_str().unwrap();
        assert!(described.replace('\n', " ").contains(&header), "{described}");
        as_format(office, &place, "image/png, text/*;q=0").problem(406, "not-acceptable");
        assert_eq!(as_format(office, &place, "*/*").header("content-type"), Some("application/json"));
        for nothing in ["2031-99999", &format!("{number}-C1"), &format!("{number}-R1")] {
            office.get(&format!("/v1/accounting/quotes/{nothing}")).problem(404, "not-found");
        }
        let open = issued(office, &draft());
        let open = self::number(office, &open);
        office.get(&format!("/v1/accounting/quotes/{open}")).problem(404, "not-found");
    }

    fn a_change_order_is_handed_over_as_what_it_moves(office) {
        let path = accepted(office, &taxed());
        let number = number(office, &path);
        change(office, &path, 1, "75");
        change(office, &path, 2, "20");
        let totals: Vec<i64> = ["", "-C1", "-C2"].iter().map(|mark| {
            let told = office.get(&format!("/v1/accounting/quotes/{number}{mark}")).expect(200);
            let invoices = office.get(&format!("/v1/accounting/quotes/{number}{mark}/invoices")).expect(200);
            assert_eq!(invoices["sums"]["payable"], told["amounts"]["total"]);
            let journal = office.get(&format!("/v1/accounting/quotes/{number}{mark}/journal")).expect(200);
            for proof in journal["proof"].as_array().unwrap() {
                assert_eq!(proof["whole"], proof["parts"], "{proof}");
            }
            minor(&told["amounts"]["total"])
        }).collect();
        assert!(totals[1] > 0 && totals[2] < 0, "{totals:?}");
        let contract = office.get(&path).expect(200)["contract"]["total"].clone();
        assert_eq!(totals.iter().sum::<i64>(), minor(&contract));
        let feed = office.get("/v1/accounting/quotes").expect(200);
        let told: Vec<_> = feed["data"].as_array().unwrap().iter().map(|entry| minor(&entry["amounts"]["total"])).collect();
        assert_eq!(told, totals);
        // The Quotation, the feed and the receipt say one figure, to the cent.
        for (mark, total) in ["", "-C1", "-C2"].iter().zip(&totals) {
            let place = format!("/v1/accounting/quotes/{number}{mark}");
            let xml = as_format(office, &place, "application/xml").text;
            let amount = office.get(&place).expect(200)["amounts"]["total"].clone();
            assert_eq!(minor(&amount), *total);
            let payable = format!(">{}</cbc:PayableAmount>", amount["amount"].as_str().unwrap());
            assert!(xml.contains(&payable), "{xml}");
            put_receipt(office, &format!("{number}{mark}"), &format!("GL-{mark}"), &amount).expect(201);
        }
        let xml = as_format(office, &format!("/v1/accounting/quotes/{number}-C2"), "application/xml");
        let note = format!("with it the contract {number} comes to {} USD", contract["amount"].as_str().unwrap());
        assert!(xml.text.contains("Change order: Panel moved.") && xml.text.contains(&note), "{}", xml.text);
        let back = office.get(&format!("/v1/accounting/quotes/{number}-C2/invoices")).expect(200);
        for one in back["invoices"].as_array().unwrap() {
            assert_eq!((&one["document"], &one["type_code"]), (&json!("credit_note"), &json!("381")));
            let xml = as_format(office, &format!("/v1/accounting/quotes/{number}-C2/invoices/{}", one["instalment"]), "application/xml");
            let positive = one["amount"]["amount"].as_str().unwrap().trim_start_matches('-');
            assert!(xml.text.contains("<CreditNote ") && xml.text.contains(&format!(">{positive}</cbc:PayableAmount>")), "{}", xml.text);
        }
    }

    fn invoices_are_read_one_by_one(office) {
        let number = number(office, &accepted(office, &taxed()));
        let place = format!("/v1/accounting/quotes/{number}/invoices");
        let told = office.get(&place).expect(200);
        let kinds: Vec<_> = told["invoices"].as_array().unwrap().iter().map(|one| one["kind"].as_str().unwrap()).collect();
        assert_eq!(kinds, ["deposit", "progress", "final"]);
        // The deposit falls due with the order; the others when something comes about, on a day that somebody has to say.
        let accepted_on = office.get(&format!("/v1/accounting/quotes/{number}")).expect(200)["accepted_on"].clone();
        let due: Vec<_> = told["invoices"].as_array().unwrap().iter().map(|one| one["due_on"].clone()).collect();
        assert_eq!(due, [accepted_on.clone(), Value::Null, Value::Null]);
        let deposit = as_format(office, &format!("{place}/1"), "application/xml").text;
        assert!(deposit.contains(&format!("<cbc:IssueDate>{}</cbc:IssueDate>", accepted_on.as_str().unwrap())), "{deposit}");
        let open = as_format(office, &format!("{place}/2"), "application/xml").problem(409, "cannot-be-handed-over");
        assert!(open["detail"].as_str().unwrap().contains("issued_on"), "{open}");
        let early = as_format(office, &format!("{place}/2?issued_on=2001-01-01"), "application/xml").problem(400, "invalid-parameter");
        assert!(early["detail"].as_str().unwrap().contains(accepted_on.as_str().unwrap()), "{early}");
        as_format(office, &format!("{place}/2?issued_on=soon"), "application/xml").problem(400, "invalid-parameter");
        for one in told["invoices"].as_array().unwrap() {
            let xml = as_format(office, &format!("{place}/{}?issued_on=2999-12-31", one["instalment"]), "application/xml");
            assert_eq!(xml.status, 200, "{}", xml.text);
            assert!(xml.text.contains("<cbc:IssueDate>2999-12-31</cbc:IssueDate>"), "{}", xml.text);
            let payable = format!(">{}</cbc:PayableAmount>", one["amount"]["amount"].as_str().unwrap());
            assert!(xml.text.contains(&payable), "{}", xml.text);
        }
        office.get(&format!("{place}/4")).problem(404, "not-found");
        office.get(&format!("{place}/first")).problem(400, "invalid-parameter");
        as_format(office, &format!("{place}/1"), "application/json").problem(406, "not-acceptable");
        // The list is JSON alone, and so is a receipt: a table of another format is refused, and not answered as JSON.
        as_format(office, &place, "text/csv").problem(406, "not-acceptable");
        as_format(office, &place, "text/csv, */*;q=0.1").expect(200);
        as_format(office, &format!("/v1/accounting/quotes/{number}/receipt"), "text/csv").problem(406, "not-acceptable");
    }

    fn a_receipt_is_one_however_often_it_comes(office) {
        let number = number(office, &accepted(office, &draft()));
        let place = format!("/v1/accounting/quotes/{number}/receipt");
        office.get(&place).problem(404, "not-found");
        let total = office.get(&format!("/v1/accounting/quotes/{number}")).expect(200)["amounts"]["total"].clone();
        let differs = json!({"amount": "1.00", "currency": "USD"});
        let refused = put_receipt(office, &number, "GL-1", &differs).problem(409, "receipt-differs");
        assert_eq!(refused["reasons"], json!([{"accepted": total, "ledger": differs}]));
        put_receipt(office, &number, "GL-1", &json!({"amount": total["amount"], "currency": "EUR"})).problem(409, "receipt-differs");
        office.get(&place).problem(404, "not-found");
        let first = put_receipt(office, &number, "GL-1", &total).expect(201);
        assert_eq!(put_receipt(office, &number, "GL-1", &total).expect(200), first);
        assert_eq!(office.get(&place).expect(200), first);
        assert_eq!((&first["reference"], &first["received_by"]), (&json!("GL-1"), &json!("ledger")));
        let other = put_receipt(office, &number, "GL-2", &total).problem(409, "conflict");
        assert!(other["detail"].as_str().unwrap().contains("GL-1"), "{other}");
        put_receipt(office, &number, "GL-1", &differs).problem(409, "receipt-differs");
        assert_eq!(office.get(&format!("/v1/accounting/quotes/{number}")).expect(200)["receipt"], first);
        put_receipt(office, "2031-99999", "GL-1", &total).problem(404, "not-found");
        // Both figures are told of a total that has another form, too.
        let figure = format!("{} USD", total["amount"].as_str().unwrap());
        for (faulty, told) in [
            (json!({"amount": format!("{}0", total["amount"].as_str().unwrap()), "currency": "USD"}), "more decimals than USD has (2)"),
            (json!({"amount": "1,5", "currency": "USD"}), "1,5 is no amount"),
            (json!({"amount": "1.50", "currency": "ZZZ"}), "ZZZ is no currency"),
            (json!("1.50"), "its currency"),
        ] {
            let problem = put_receipt(office, &number, "GL-1", &faulty).problem(422, "invalid-input");
            let message = problem["errors"][0]["message"].as_str().unwrap();
            assert_eq!(problem["errors"][0]["pointer"], "/total");
            assert!(message.contains(told) && message.contains(&figure), "{message}");
        }
        let faulty = json!({"reference": "a\nb", "total": {"amount": 1.5, "currency": "USD"}, "note": "x"});
        let faults = send(office, PERSON, "PUT", &place, &[], &faulty).problem(422, "invalid-input");
        let pointers: Vec<_> = faults["errors"].as_array().unwrap().iter().map(|fault| fault["pointer"].as_str().unwrap()).collect();
        assert_eq!(pointers, ["/reference", "/total", "/note"]);
        office.ask_by(Some(office.key()), "PUT", &place, &[("content-type", "application/json")], b"{}").problem(400, "acting-person-required");
        for statement in ["UPDATE accounting_receipts SET total = 0", "DELETE FROM accounting_receipts",
            "UPDATE accounting_refusals SET total = 0", "DELETE FROM accounting_refusals",
            "UPDATE accounting_references SET reference = 'x'", "DELETE FROM accounting_references",
            "UPDATE accounting_feed SET total = 0, net = 0, tax = 0", "DELETE FROM accounting_feed",
            "UPDATE accounting_feed_end SET position = 0", "DELETE FROM accounting_feed_end"] {
            assert!(by_hand(office.location(), statement).is_err(), "{statement}");
        }
    }

    fn a_taken_reference_that_was_written_by_hand_is_told(office) {
        let desk = Desk::new(Store::open(office.location().clone(), 1, false).unwrap());
        let numbers: Vec<String> = (0..3).map(|_| number(office, &accepted(office, &draft()))).collect();
        let total = office.get(&format!("/v1/accounting/quotes/{}", numbers[0])).expect(200)["amounts"]["total"].clone();
        for (place, number) in numbers.iter().enumerate() {
            put_receipt(office, number, &format!("GL-{place}"), &total).expect(201);
        }
        assert_eq!(desk.verify().unwrap().faults, Vec::<String>::new());
        tamper(office.location(), "accounting_references",
            "DELETE FROM accounting_references WHERE reference = 'GL-0';
             UPDATE accounting_references SET reference = 'x' WHERE reference = 'GL-1'");
        let faults = desk.verify().unwrap().faults.join("\n");
        for word in ["GL-0 of accounting_references, which", "GL-1 of accounting_references, which", "x of accounting_references is of"] {
            assert!(faults.contains(&format!("the row {word}")), "{faults}");
        }
        assert_eq!(faults.lines().count(), 3, "{faults}");
    }

    fn a_reference_is_the_receipt_of_one_acceptance(office) {
        let numbers: Vec<String> = (0..2).map(|_| number(office, &accepted(office, &draft()))).collect();
        let total = office.get(&format!("/v1/accounting/quotes/{}", numbers[0])).expect(200)["amounts"]["total"].clone();
        put_receipt(office, &numbers[0], "GL-1", &total).expect(201);
        let used = put_receipt(office, &numbers[1], "GL-1", &total).problem(409, "conflict");
        assert!(used["detail"].as_str().unwrap().contains(&format!("is that of {}", numbers[0])), "{used}");
        office.get(&format!("/v1/accounting/quotes/{}/receipt", numbers[1])).problem(404, "not-found");
        for spelled in ["  GL-1 ", "GL-1\u{a0}", "\u{2003}GL-1"] {
            put_receipt(office, &numbers[1], spelled, &total).problem(409, "conflict");
            assert_eq!(put_receipt(office, &numbers[0], spelled, &total).expect(200)["reference"], "GL-1");
        }
        put_receipt(office, &numbers[1], " GL-1/2  b ", &total).expect(201);
        assert_eq!(put_receipt(office, &numbers[1], "GL-1/2 b", &total).expect(200)["reference"], "GL-1/2 b");
        put_receipt(office, &numbers[0], "GL-1", &total).expect(200);
        // Of many that say the same at once, one has it.
        let more: Vec<String> = (0..4).map(|_| number(office, &accepted(office, &draft()))).collect();
        let new = std::thread::scope(|scope| {
            let sent: Vec<_> = more.iter().map(|number| scope.spawn(|| put_receipt(office, number, "GL-9", &total).status)).collect();
            sent.into_iter().map(|one| one.join().unwrap()).collect::<Vec<_>>()
        });
        assert_eq!((new.iter().filter(|status| **status == 201).count(), new.iter().filter(|status| **status == 409).count()), (1, 3));
    }

    fn what_has_no_receipt_is_listed_and_reported(office) {
        let numbers: Vec<String> = (0..3).map(|_| number(office, &accepted(office, &draft()))).collect();
        let total = office.get(&format!("/v1/accounting/quotes/{}", numbers[0])).expect(200)["amounts"]["total"].clone();
        put_receipt(office, &numbers[0], "GL-1", &total).expect(201);
        put_receipt(office, &numbers[1], "GL-2", &json!({"amount": "1.00", "currency": "USD"})).problem(409, "receipt-differs");
        let listed = |query: &str| -> Vec<String> {
            let page = office.get(&format!("/v1/accounting/without-receipt{query}")).expect(200);
            page["data"].as_array().unwrap().iter().map(|entry| entry["number"].as_str().unwrap().to_owned()).collect()
        };
        assert_eq!(listed(""), Vec::<String>::new(), "a receipt may take seven days");
        assert_eq!(listed("?days=0"), numbers[1..]);
        let first = office.get("/v1/accounting/without-receipt?days=0&limit=1").expect(200);
        assert_eq!((&first["data"][0]["number"], &first["more"]), (&json!(numbers[1]), &json!(true)));
        assert_eq!(listed(&format!("?days=0&after={}", first["next"].as_str().unwrap())), numbers[2..]);
        office.get("/v1/accounting/without-receipt?days=4000").problem(400, "invalid-parameter");
        let year = &numbers[0][..4];
        let report = office.get(&format!("/v1/accounting/reconciliation?from={year}-01-01&to={year}-12-31")).expect(200);
        let of = |table: &str, name: &str, state: &str| {
            let rows = report[table].as_array().unwrap();
            let row = rows.iter().find(|row| row["name"] == name && row["state"] == state);
            row.map(|row| (row["count"].as_u64().unwrap(), minor(&row["total"]))).unwrap()
        };
        let each = minor(&total);
        assert_eq!(of("states", "accepted", "accepted"), (3, 3 * each));
        assert_eq!(of("states", "issued", "issued"), (3, 3 * each));
        assert_eq!(of("estimators", PERSON, "accepted"), (3, 3 * each));
        for name in ["with_receipt", "without_receipt", "refused"] {
            assert_eq!(of("receipts", name, "accepted"), (1, each));
        }
        let csv = as_format(office, &format!("/v1/accounting/reconciliation?from={year}-01-01&to={year}-12-31"), "text/csv");
        assert_eq!((csv.status, csv.header("vary")), (200, Some("Accept")));
        assert!(csv.text.starts_with("by,name,state,count,net,tax,total,currency\r\nstate,"), "{}", csv.text);
        let rows: usize = ["states", "months", "estimators", "receipts"].iter().map(|table| report[*table].as_array().unwrap().len()).sum();
        assert_eq!(csv.text.matches("\r\n").count(), rows + 1);
        let of_all = format!("state,accepted,accepted,3,{0},0.00,{0},USD", cents(3 * each));
        assert!(csv.text.contains(&of_all), "{} {of_all}", csv.text);
        let to_the_end = format!("/v1/accounting/reconciliation?from={year}-01-01&to=9999-12-31");
        assert_eq!(office.get(&to_the_end).expect(200)["states"], report["states"]);
        let empty = office.get("/v1/accounting/reconciliation?from=2019-01-01&to=2019-12-31").expect(200);
        assert_eq!(empty["states"], json!([]));
        for query in ["", "?from=2019-01-01", "?from=2019-1-1&to=2019-12-31"] {
            office.get(&format!("/v1/accounting/reconciliation{query}")).problem(400, "invalid-parameter");
        }
        office.get("/v1/accounting/reconciliation?from=2019-01-01&to=2018-01-01").problem(422, "invalid-input");
    }

    fn amounts_of_three_decimals_go_out_as_json_and_csv_alone(office) {
        for table in ["company", "policies"] {
            let lift = match office.location() {
                tallyrule::store::Location::File(_) => format!("DROP TRIGGER IF EXISTS {table}_kept_on_update"),
                tallyrule::store::Location::Server(_) => format!("ALTER TABLE {table} DISABLE TRIGGER USER"),
            };
            by_hand(office.location(), &lift).unwrap();
            by_hand(office.location(), &format!("UPDATE {table} SET body = replace(body, 'USD', 'KWD')")).unwrap();
        }
        by_hand(office.location(), "UPDATE catalogue_state SET revision = revision + 1").unwrap();
        let number = number(office, &accepted(office, &draft()));
        let place = format!("/v1/accounting/quotes/{number}");
        let told = office.get(&place).expect(200);
        assert_eq!(told["currency"], "KWD");
        assert_eq!(as_format(office, &place, "text/csv").status, 200);
        for path in [place.clone(), format!("{place}/invoices/1")] {
            let fine = as_format(office, &path, "application/xml").problem(409, "cannot-be-handed-over");
            let detail = fine["detail"].as_str().unwrap();
            assert!(detail.contains("KWD have 3 decimals") && detail.contains("JSON and CSV"), "{detail}");
        }
        assert_eq!(as_format(office, &format!("{place}/journal"), "text/csv").status, 200);
        put_receipt(office, &number, "GL-1", &told["amounts"]["total"]).expect(201);
    }

    fn accounts_are_edited_in_versions(office) {
        let place = "/v1/accounting/settings";
        let number = number(office, &accepted(office, &taxed()));
        // The demonstration's come with its seed data; here begins one that has said nothing.
        assert_eq!((&office.get(place).expect(200)["version"], &office.get(place).expect(200)["country"]), (&json!(1), &json!("US")));
        send(office, PERSON, "PUT", place, &[("if-match", tagged(office, place).as_str())], &json!({})).expect(200);
        let bare = office.get(place).expect(200);
        assert_eq!((&bare["version"], &bare["receipt_days"], &bare["tax_scheme"]), (&json!(2), &json!(7), &json!("VAT")));
        let lacks = as_format(office, &format!("/v1/accounting/quotes/{number}/invoices/1"), "application/xml");
        let lacks = lacks.problem(409, "cannot-be-handed-over");
        assert!(lacks["detail"].as_str().unwrap().contains("save country and tax_registration"), "{lacks}");
        let journal = office.get(&format!("/v1/accounting/quotes/{number}/journal")).expect(200);
        assert!(journal["without_account"].as_array().unwrap().contains(&json!("receivable")));
        let settings = json!({
            "receivable": "1200", "sales": {"otherwise": "4000"}, "tax": {"otherwise": "2300"}, "cost": {"otherwise": "5000"},
            "receipt_days": 3, "country": "US", "tax_registration": "HM 42-0001", "tax_scheme": "STT",
        });
        let save = |tag: &str, body: &Value| send(office, PERSON, "PUT", place, &[("if-match", tag)], body);
        let tag = tagged(office, place);
        send(office, PERSON, "PUT", place, &[], &settings).problem(428, "precondition-required");
        let saved = save(&tag, &settings);
        assert_eq!(saved.expect(200)["version"], 3);
        save(&tag, &settings).problem(412, "precondition-failed");
        assert_eq!(office.get(place).expect(200), saved.json());
        let journal = office.get(&format!("/v1/accounting/quotes/{number}/journal")).expect(200);
        assert_eq!((&journal["settings_version"], &journal["without_account"]), (&json!(3), &json!([])));
        assert_eq!(journal["postings"][0]["account"], "1200");
        let csv = as_format(office, &format!("/v1/accounting/quotes/{number}/journal"), "text/csv").text;
        assert!(csv.starts_with("number,accepted_on,account,purpose,name,debit,credit,currency\r\n"), "{csv}");
        assert_eq!(csv.matches("\r\n").count(), journal["postings"].as_array().unwrap().len() + 1);
        let receivable = journal["postings"][0]["debit"]["amount"].as_str().unwrap();
        assert!(csv.contains(&format!(",1200,receivable,,{receivable},0.00,USD")), "{csv}");
        let xml = as_format(office, &format!("/v1/accounting/quotes/{number}"), "application/xml");
        assert!(xml.text.contains("<cbc:ID>STT</cbc:ID>") && xml.text.contains("HM 42-0001"), "{}", xml.text);
        let tag = tagged(office, place);
        let faults = save(&tag, &json!({"receipt_days": 0, "country": "usa"})).problem(422, "invalid-input");
        assert_eq!(faults["errors"].as_array().unwrap().len(), 2);
        let faulty = json!({
            "receivable": 1200, "sales": {"by_name": {"EQP": "=1", "a/b": ""}, "other": "1"}, "tax": "2300",
            "country": "ZZ", "receipt_days": "7", "tax_scheme": "PST", "colour": "red",
        });
        let faults = save(&tag, &faulty).problem(422, "invalid-input");
        let told: Vec<_> = faults["errors"].as_array().unwrap().iter().map(|fault| fault["pointer"].as_str().unwrap()).collect();
        assert_eq!(told, ["/sales/by_name/EQP", "/sales/by_name/a~1b", "/sales/other", "/tax", "/receivable", "/receipt_days",
            "/tax_scheme", "/colour", "/country"]);
        let words = faults.to_string();
        assert!(words.contains("is ZZ, and must be the two letters of a country in ISO 3166-1"), "{words}");
        for raw in ["invalid type", "expected", "unknown variant", "u32"] {
            assert!(!words.contains(raw), "{raw}: {words}");
        }
        let strange = json!({
            "labour_sales": {"by_name": {"lead_mechanik": "1", "lead_mechanic": "2"}}, "tax": {"by_name": {"godos": "3"}},
            "sales": {"by_name": {"eqp": "4", "BRAND-NEW": "5"}}, "cost": {"by_name": {"EQP": "6"}},
        });
        let faults = save(&tag, &strange).problem(422, "invalid-input");
        let told: Vec<_> = faults["errors"].as_array().unwrap().iter()
            .map(|fault| (fault["pointer"].as_str().unwrap(), fault["message"].as_str().unwrap())).collect();
        assert_eq!(told, [
            ("/labour_sales/by_name/lead_mechanik", "there is no labour class lead_mechanik; did you mean lead_mechanic?"),
            ("/tax/by_name/godos", "there is no tax category godos; did you mean goods?"),
            ("/sales/by_name/eqp", "there is no cost code eqp; did you mean EQP?"),
        ]);
        let signed = json!({"receivable": "-1200", "sales": {"otherwise": "4000", "by_name": {"EQP": "-4010"}}});
        let faults = save(&tag, &signed).problem(422, "invalid-input");
        let told: Vec<_> = faults["errors"].as_array().unwrap().iter()
            .map(|fault| (fault["pointer"].as_str().unwrap(), fault["message"].as_str().unwrap())).collect();
        assert_eq!(told, [
            ("/receivable", "is -1200, and must begin with a letter or a digit"),
            ("/sales/by_name/EQP", "is -4010, and must begin with a letter or a digit"),
        ]);
        assert_eq!(save(&tag, &json!({})).expect(200)["version"], 4);
        assert_eq!(office.get(&format!("{place}?version=3")).expect(200), saved.json());
        office.get(&format!("{place}?version=9")).problem(404, "not-found");
        assert!(by_hand(office.location(), "UPDATE accounting_settings SET body = '{}'").is_err());
    }
}
