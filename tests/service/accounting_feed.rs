//! The feed: every move once, in the order in which it was committed, whoever writes meanwhile; and a ledger that is
//! stopped between reading and its receipts.

use std::collections::BTreeMap;
use std::thread;
use std::time::Duration;

use diesel::connection::SimpleConnection;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Text};
use serde_json::{Value, json};
use tallyrule::desk::Desk;
use tallyrule::store::{Location, Store};

use crate::accounting::{number, put_receipt};
use crate::harness::{Engine, Office, project};
use crate::quotes_desk::{accepted, by_hand, draft, issued, post, tamper};

fn page(office: &Office, after: &str, more: &str) -> Value {
    let after = if after.is_empty() {
        String::new()
    } else {
        format!("&after={after}")
    };
    office
        .get(&format!("/v1/accounting/quotes?limit=2{after}{more}"))
        .expect(200)
}

/// Everything in the feed behind a cursor: numbers, and the cursor to go on from.
fn read_all(office: &Office, after: &str, more: &str) -> (Vec<String>, String) {
    let (mut numbers, mut after) = (Vec::new(), after.to_owned());
    loop {
        let page = page(office, &after, more);
        let data = page["data"].as_array().unwrap();
        numbers.extend(
            data.iter()
                .map(|entry| entry["number"].as_str().unwrap().to_owned()),
        );
        after = page["next"].as_str().unwrap().to_owned();
        if page["more"] == json!(false) {
            return (numbers, after);
        }
    }
}

/// The columns of the feed but the position, in its order.
#[derive(QueryableByName, Debug, PartialEq)]
struct Row {
    #[diesel(sql_type = BigInt)]
    position: i64,
    #[diesel(sql_type = Text)]
    told: String,
}

fn rows(location: &Location) -> Vec<Row> {
    let query = "SELECT position, quote_id || ' ' || transition || ' ' || change_order || ' ' || revision || ' ' || state || ' ' \
        || at || ' ' || estimator || ' ' || currency || ' ' || net || ' ' || tax || ' ' || total AS told \
        FROM accounting_feed ORDER BY position";
    match location {
        Location::File(path) => {
            diesel::sql_query(query).load(&mut SqliteConnection::establish(path.to_str().unwrap()).unwrap())
        }
        Location::Server(url) => diesel::sql_query(query).load(&mut PgConnection::establish(url).unwrap()),
    }
    .unwrap()
}

on_both_engines! {
    fn the_feed_is_read_on_from_a_cursor_for_ever(office) {
        let empty = page(office, "", "");
        assert_eq!((&empty["data"], &empty["more"]), (&json!([]), &json!(false)));
        let beginning = empty["next"].as_str().unwrap();
        let paths: Vec<String> = (0..3).map(|_| accepted(office, &draft())).collect();
        let numbers: Vec<String> = paths.iter().map(|path| number(office, path)).collect();
        let (all, end) = read_all(office, beginning, "");
        assert_eq!(all, numbers);
        assert_eq!(read_all(office, "", "").0, numbers, "starting from nothing gives everything");
        assert_eq!(read_all(office, &end, "").0, Vec::<String>::new());
        let first = page(office, "", "");
        let entry = &first["data"][0];
        assert_eq!(read_all(office, entry["cursor"].as_str().unwrap(), "").0, numbers[1..]);
        let answer = office.get("/v1/accounting/quotes?limit=2");
        let link = format!("</v1/accounting/quotes?states=accepted&limit=2&after={}>; rel=\"next\"", first["next"].as_str().unwrap());
        assert_eq!(answer.header("link"), Some(link.as_str()));
        let tag = answer.header("etag").unwrap();
        assert_eq!(office.ask("GET", "/v1/accounting/quotes?limit=2", &[("if-none-match", tag)], b"").status, 304);
        let told = office.get(&paths[0]).expect(200);
        assert_eq!((&entry["state"], &entry["customer"], &entry["title"]), (&json!("accepted"), &told["customer"], &told["title"]));
        assert_eq!(entry["amounts"]["total"], told["contract"]["total"]);
        // Another reads on from the same place after the service was begun anew.
        let again = office.another();
        accepted(&again, &draft());
        assert_eq!(read_all(&again, &end, "").0.len(), 1);
    }

    fn other_states_are_told_on_request(office) {
        let declined = issued(office, &draft());
        post(office, &format!("{declined}/decline"), &json!({"revision": 1})).expect(200);
        let withdrawn = issued(office, &draft());
        post(office, &format!("{withdrawn}/withdraw"), &json!({"revision": 1})).expect(200);
        let replaced = issued(office, &draft());
        post(office, &format!("{replaced}/revisions"), &json!({"from": 1})).expect(201);
        post(office, &format!("{replaced}/issue"), &json!({"revision": 2})).expect(200);
        let of = |states: &str| -> Vec<String> {
            let page = office.get(&format!("/v1/accounting/quotes?states={states}")).expect(200);
            page["data"].as_array().unwrap().iter().map(|entry| {
                format!("{} {}", &entry["name"].as_str().unwrap()[9..], entry["state"].as_str().unwrap())
            }).collect()
        };
        assert_eq!(of("declined,withdrawn"), ["1-R1 declined", "2-R1 withdrawn"]);
        assert_eq!(of("issued,superseded"), ["1-R1 issued", "2-R1 issued", "3-R1 issued", "3-R2 issued", "3-R1 superseded"]);
        assert_eq!(of("accepted"), Vec::<String>::new());
        let rows = rows(office.location());
        assert!(rows.iter().map(|row| row.position).eq(1..=7), "{rows:?}");
    }

    fn a_cursor_that_was_not_given_out_is_refused(office) {
        accepted(office, &draft());
        let next = page(office, "", "")["next"].as_str().unwrap().to_owned();
        for garbage in ["", "1", "zz", "2031-00001", &next.to_uppercase(), &next[1..], &format!("{next}0"),
            &next.replace(&next[..16], "00000000000000ff")] {
            let answer = office.get(&format!("/v1/accounting/quotes?after={garbage}"));
            if *garbage == next {
                continue;
            }
            answer.problem(400, "invalid-parameter");
        }
        for query in ["limit=0", "limit=501", "limit=x", "states=draft", "states=", "states=accepted,gone", "before=1"] {
            office.get(&format!("/v1/accounting/quotes?{query}")).problem(400, "invalid-parameter");
        }
        // A database that was set back has less than the reader knows.
        tamper(office.location(), "accounting_feed_end", "SELECT 1");
        let lift = match office.location() {
            Location::File(_) => "DROP TRIGGER accounting_feed_end_forward",
            Location::Server(_) => "SELECT 1",
        };
        by_hand(office.location(), lift).unwrap();
        by_hand(office.location(), "UPDATE accounting_feed_end SET position = 1").unwrap();
        office.get(&format!("/v1/accounting/quotes?after={next}")).problem(409, "conflict");
    }

    fn quotes_of_before_get_their_rows_when_the_schema_moves(office) {
        let path = accepted(office, &draft());
        let order = json!({"title": "Panel moved", "change": {"job": {"electrical": {"panel_length": {"value": "75", "unit": "ft"}}}}});
        post(office, &format!("{path}/change-orders"), &order).expect(201);
        post(office, &format!("{path}/change-orders/1/issue"), &json!({"revision": 1})).expect(200);
        post(office, &format!("{path}/change-orders/1/accept"), &json!({"revision": 1, "accepted_by": "O"})).expect(200);
        let taken = issued(office, &crate::quotes_desk::draft_with_alternates());
        let word = json!({"revision": 1, "accepted_by": "O", "alternates": ["long-run"]});
        post(office, &format!("{taken}/accept"), &word).expect(200);
        let declined = issued(office, &draft());
        post(office, &format!("{declined}/decline"), &json!({"revision": 1})).expect(200);
        let before = rows(office.location());
        assert_eq!(before.len(), 8);
        let engine = if matches!(office.location(), Location::File(_)) { "sqlite" } else { "postgresql" };
        let down = project().join("migrations").join(engine).join("0005_accounting/down.sql");
        by_hand(office.location(), &std::fs::read_to_string(down).unwrap()).unwrap();
        by_hand(office.location(), "DELETE FROM __diesel_schema_migrations WHERE version = '0005'").unwrap();
        drop(Store::open(office.location().clone(), 1, false).unwrap());
        assert_eq!(rows(office.location()), before);
    }

    fn verifying_finds_a_feed_that_was_tampered_with(office) {
        let path = accepted(office, &draft());
        let number = number(office, &path);
        let faults = || {
            let desk = Desk::new(Store::open(office.location().clone(), 1, false).unwrap());
            desk.verify().unwrap().faults
        };
        assert_eq!(faults(), Vec::<String>::new());
        for (statement, fault) in [
            ("UPDATE accounting_feed SET net = net + 1, total = total + 1 WHERE position = 2", "comes to another amount"),
            ("UPDATE accounting_feed SET state = 'declined' WHERE position = 2", "otherwise than it was made"),
            ("DELETE FROM accounting_feed WHERE position = 2", "is not in the feed"),
        ] {
            tamper(office.location(), "accounting_feed", "SELECT 1");
            if let Location::File(_) = office.location() {
                by_hand(office.location(), "DROP TRIGGER IF EXISTS accounting_feed_kept_on_delete").unwrap();
            }
            by_hand(office.location(), statement).unwrap();
            let found = faults();
            assert!(found.iter().any(|told| told.starts_with(&number) && told.contains(fault)), "{fault}: {found:?}");
        }
        assert!(faults().contains(&"the feed ends at 1 and says 2".to_owned()));
    }

    fn a_ledger_stopped_between_page_and_receipt_books_nothing_twice(office) {
        let numbers: Vec<String> = (0..5).map(|_| number(office, &accepted(office, &draft()))).collect();
        let (mut ledger, mut turn) = (Ledger::default(), 0);
        // It is stopped after every step in turn: what it had not written down is lost.
        while ledger.run(office, Some(turn)) {
            turn += 1;
        }
        assert!(turn >= 4);
        // However often it began anew and said so again: one receipt is new for each number, under one reference.
        assert_eq!(ledger.new_receipts, numbers.iter().map(|number| (number.clone(), 1)).collect());
        for number in &numbers {
            office.get(&format!("/v1/accounting/quotes/{number}/receipt")).expect(200);
        }
    }

    fn every_acceptance_is_read_once_while_others_write(office) {
        let other = office.another();
        let (mut seen, mut after) = (Vec::new(), String::new());
        thread::scope(|scope| {
            let writers: Vec<_> = [office, &other, office, &other].into_iter().map(|door| {
                scope.spawn(move || (0..3).map(|_| number(door, &accepted(door, &draft()))).collect::<Vec<_>>())
            }).collect();
            let done = |writers: &[thread::ScopedJoinHandle<'_, _>]| writers.iter().all(|writer| writer.is_finished());
            loop {
                let last = done(&writers);
                let (numbers, next) = read_all(office, &after, "");
                seen.extend(numbers);
                after = next;
                if last {
                    break;
                }
                thread::sleep(Duration::from_millis(5));
            }
            let mut written: Vec<String> = writers.into_iter().flat_map(|writer| writer.join().unwrap()).collect();
            assert_eq!(seen, read_all(office, "", "").0, "in the order in which it is told for ever");
            let mut read = seen.clone();
            read.sort();
            written.sort();
            assert_eq!(read, written);
        });
    }
}

/// A ledger: what it has written down survives when it is stopped.
#[derive(Default)]
struct Ledger {
    cursor: String,
    /// How often a receipt of a number was new to the service.
    new_receipts: BTreeMap<String, u32>,
}

impl Ledger {
    /// Reads on, sends receipts, and is stopped after so many steps. Whether it was.
    fn run(&mut self, office: &Office, stop_after: Option<usize>) -> bool {
        let mut steps = 0;
        let mut stopped = || {
            steps += 1;
            stop_after.is_some_and(|most| steps > most)
        };
        loop {
            let page = page(office, &self.cursor, "");
            if stopped() {
                return true;
            }
            for entry in page["data"].as_array().unwrap() {
                let number = entry["number"].as_str().unwrap();
                let answer = put_receipt(
                    office,
                    number,
                    &format!("GL-{number}"),
                    &entry["amounts"]["total"],
                );
                assert!(matches!(answer.status, 200 | 201), "{}", answer.text);
                if answer.status == 201 {
                    *self.new_receipts.entry(number.to_owned()).or_default() += 1;
                }
                if stopped() {
                    return true;
                }
            }
            self.cursor = page["next"].as_str().unwrap().to_owned();
            if page["more"] == json!(false) {
                return false;
            }
        }
    }
}

/// A transaction that moves a quote and then does not commit for a while, as a slow server's would.
fn slow_move(connection: &mut PgConnection, quote: &str, take_position: bool) {
    connection
        .batch_execute(&format!(
            "INSERT INTO transitions SELECT quote_id, 99, change_order, revision, event, from_state, to_state, moved_at, \
            'a slow server', reason FROM transitions WHERE quote_id = '{quote}' AND to_state = 'accepted'"
        ))
        .unwrap();
    if take_position {
        connection
            .batch_execute(&format!(
                "UPDATE accounting_feed_end SET position = position + 1; INSERT INTO accounting_feed \
                SELECT (SELECT position FROM accounting_feed_end), quote_id, 99, change_order, revision, state, at, \
                'a slow server', currency, net, tax, total FROM accounting_feed WHERE quote_id = '{quote}' AND state = 'accepted'"
            ))
            .unwrap();
    }
}

/// On PostgreSQL many write at once. A slow transaction beside a fast one hides nothing from a reader: who has taken a
/// position holds the others up until it has committed, and who has not takes a later one.
#[test]
fn a_slow_transaction_beside_a_fast_one_hides_nothing() {
    let Some(office) = Office::open(Engine::Postgresql) else {
        return;
    };
    let Location::Server(url) = office.location() else {
        panic!("a server");
    };
    let path = accepted(&office, &draft());
    let (first, quote) = (
        number(&office, &path),
        path.rsplit('/').next().unwrap().to_owned(),
    );
    let open = || {
        let path = issued(&office, &draft());
        (number(&office, &path), format!("{path}/accept"))
    };
    let word = json!({"revision": 1, "accepted_by": "O"});
    let (seen, after) = read_all(&office, "", "");
    assert_eq!(seen, [first.as_str()]);

    // The slow one has its position before the fast one asks for one.
    let (fast, accept) = open();
    let mut slow = PgConnection::establish(url).unwrap();
    slow.batch_execute("BEGIN").unwrap();
    slow_move(&mut slow, &quote, true);
    let after = thread::scope(|scope| {
        let waiting = scope.spawn(|| post(&office, &accept, &word));
        thread::sleep(Duration::from_millis(400));
        assert!(!waiting.is_finished(), "nobody overtakes who has a position");
        assert_eq!(read_all(&office, &after, "").0, Vec::<String>::new());
        slow.batch_execute("COMMIT").unwrap();
        waiting.join().unwrap().expect(200);
        let (seen, next) = read_all(&office, &after, "");
        assert_eq!(seen, [first.as_str(), fast.as_str()]);
        next
    });

    // The slow one has begun, and has not asked for a position yet: the fast one does not wait.
    let (fast, accept) = open();
    by_hand(
        office.location(),
        "ALTER TABLE transitions DISABLE TRIGGER USER; ALTER TABLE accounting_feed DISABLE TRIGGER USER; \
        DELETE FROM accounting_feed WHERE transition = 99; DELETE FROM transitions WHERE position = 99",
    )
    .unwrap();
    slow.batch_execute("BEGIN").unwrap();
    slow_move(&mut slow, &quote, false);
    post(&office, &accept, &word).expect(200);
    let (seen, after) = read_all(&office, &after, "");
    assert_eq!(seen, [fast.as_str()]);
    slow.batch_execute(&format!(
        "UPDATE accounting_feed_end SET position = position + 1; INSERT INTO accounting_feed \
        SELECT (SELECT position FROM accounting_feed_end), quote_id, 99, change_order, revision, state, at, 'a slow server', \
        currency, net, tax, total FROM accounting_feed WHERE quote_id = '{quote}' AND state = 'accepted'; COMMIT"
    ))
    .unwrap();
    assert_eq!(read_all(&office, &after, "").0, [first.as_str()]);
}
