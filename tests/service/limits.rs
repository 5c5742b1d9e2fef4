//! Every limit of the table, tried from outside: what is at it is read, what is over it is refused as the table says.

use std::fs;

use clap::Parser;
use serde_json::{Value, json};
use tallyrule::api::{Kind, LIMITS, Limit, limits_page};
use tallyrule::config::ServeArgs;

use crate::harness::{Answer, Engine, Office, project};
use crate::quotes_desk::{draft, draft_with_alternates, issued, job, post};

#[derive(Parser)]
struct Flags {
    #[command(flatten)]
    serve: ServeArgs,
}

#[test]
fn the_page_of_limits_is_the_table() {
    let file = project().join("docs/limits.md");
    if std::env::var("UPDATE").is_ok() {
        fs::write(&file, limits_page()).unwrap();
    }
    let written = fs::read_to_string(&file).unwrap();
    assert!(
        written == limits_page(),
        "run with UPDATE=1 and look at the change"
    );
}

/// A number of the table; nothing for one that takes minutes to reach.
fn most(limit: &Limit) -> usize {
    usize::try_from(limit.most).unwrap()
}

#[test]
fn the_program_has_the_limits_of_the_table_where_no_flag_is_given() {
    let limits = Flags::parse_from(["serve"]).serve.limits();
    for limit in LIMITS.iter().filter(|limit| limit.flag.is_some()) {
        let held = match limit.name {
            "body" => limits.body as u64,
            "price_list" => limits.price_list as u64,
            "body_time" => limits.body_time.as_secs(),
            "head_time" => limits.head_time.as_secs(),
            "request_time" => limits.request_time.as_secs(),
            "requests_a_minute" => u64::from(limits.requests_a_minute),
            other => panic!("{other} is not held against the flags"),
        };
        assert_eq!(held, limit.most, "{}", limit.name);
    }
}

#[test]
fn what_is_answered_over_a_limit_is_a_kind_of_problem() {
    for limit in LIMITS {
        let (status, rest) = limit.over.split_once(' ').unwrap();
        let name = rest.split([',', ';']).next().unwrap();
        let known = Kind::ALL.iter().map(|kind| kind.row());
        let mut known = known.filter(|(held, kind, _)| held.as_str() == status && *kind == name);
        assert!(known.next().is_some(), "{}", limit.over);
    }
}

fn json_text(office: &Office, path: &str, text: &str) -> Answer {
    office.ask(
        "POST",
        path,
        &[("content-type", "application/json")],
        text.as_bytes(),
    )
}

fn customer(name: &str, lines: usize) -> Value {
    json!({"name": name, "address": {"lines": vec!["7 Pinfold Rise"; lines]}})
}

/// The rulebook of the demonstration with something behind it, checked.
fn checked(office: &Office, more: &str) -> Answer {
    let book = office.ask(
        "GET",
        "/v1/rulebooks/hollowmoor-standard",
        &[("accept", "application/toml")],
        b"",
    );
    let text = format!("{}\n{more}", book.text);
    office.ask(
        "POST",
        "/v1/rulebooks/check",
        &[("content-type", "application/toml")],
        text.as_bytes(),
    )
}

fn formula(office: &Office, formula: &str) -> Answer {
    checked(
        office,
        &format!(
            "[[derived]]\nname = \"of_the_test\"\ntitle = \"t\"\nunit = \"1\"\nformula = \"{formula}\"\n"
        ),
    )
}

/// So many numbers, added in pairs of pairs.
fn pairs(numbers: usize) -> String {
    match numbers {
        1 => "1".to_owned(),
        _ => format!("({}+{})", pairs(numbers / 2), pairs(numbers - numbers / 2)),
    }
}

/// The policy of the demonstration under a new name, with another member.
fn new_policy(office: &Office, member: &str, value: Value) -> Answer {
    let mut policy = office.get("/v1/policies").expect(200)["data"][0].clone();
    for name in ["version", "valid_from", "saved_at"] {
        policy.as_object_mut().unwrap().remove(name);
    }
    policy["id"] = json!(format!("test-{member}"));
    policy[member] = value;
    post(
        office,
        "/v1/policies",
        &json!({"valid_from": "2031-01-01", "policy": policy}),
    )
}

/// What is answered at a limit of what a person puts into an estimate by hand, and over it.
fn by_hand(office: &Office, name: &str, most: usize) -> (Option<Answer>, Answer) {
    let priced = |member: &str, value: Value| {
        let mut body = job("pinfold-basement");
        body[member] = value;
        office.post("/v1/estimates", &body)
    };
    let usd =
        |cents: usize| json!({"amount": format!("{}.{:02}", cents / 100, cents % 100), "currency": "USD"});
    let fee = |quantity: usize, cost: Value| {
        json!({"kind": "fee", "description": "Crane", "quantity": {"value": quantity.to_string(), "unit": "each"},
            "unit_cost": cost, "cost_code": "FIN", "tax_category": "goods", "reason": "a test"})
    };
    let work = |hours: usize| {
        json!({"kind": "labour", "description": "Move racks", "hours": {"value": hours.to_string(), "unit": "h"},
            "labour_class": "lead_mechanic", "cost_code": "LAB", "tax_category": "services", "reason": "a test"})
    };
    let lines = |lines: Vec<Value>| priced("manual_lines", json!(lines));
    let price = |cents: usize| {
        let line = json!({"line": "policy:freight", "price": usd(cents), "reason": "a test"});
        priced("overrides", json!([line]))
    };
    match name {
        "manual_lines" => {
            let many = |count: usize| lines(vec![fee(1, usd(100)); count]);
            (Some(many(most)), many(most + 1))
        }
        "overrides" => {
            let line = json!({"line": "policy:freight", "price": usd(100), "reason": "a test"});
            (None, priced("overrides", json!(vec![line; most + 1])))
        }
        "quantity" => {
            let quantity = |quantity: usize| lines(vec![fee(quantity, usd(1))]);
            (Some(quantity(most)), quantity(most + 1))
        }
        "hours" => {
            let hours = |hours: usize| lines(vec![work(hours)]);
            (Some(hours(most)), hours(most + 1))
        }
        "unit_cost" => {
            let cost = |cost: usize| lines(vec![fee(1, usd(cost * 100))]);
            (Some(cost(most)), cost(most + 1))
        }
        "given" => (Some(price(most)), price(most + 1)),
        "estimate" => {
            // Fees of 100,000,000.00 each; the most of an estimate is in cents.
            let each = 10_000_000_000;
            (None, lines(vec![fee(1, usd(each)); most / each + 1]))
        }
        other => panic!("{other} is not tried"),
    }
}

/// What is answered at a limit, where that is quick to reach, and over it.
fn tried(office: &Office, limit: &Limit) -> (Option<Answer>, Answer) {
    let most = most(limit);
    let nested = |levels: usize| {
        json_text(
            office,
            "/v1/customers",
            &format!("{}{}", "[".repeat(levels), "]".repeat(levels)),
        )
    };
    let long = |entries: usize| {
        json_text(
            office,
            "/v1/customers",
            &format!("[{}0]", "0,".repeat(entries - 1)),
        )
    };
    let named = |characters: usize| post(office, "/v1/customers", &customer(&"n".repeat(characters), 1));
    let addressed = |lines: usize| post(office, "/v1/customers", &customer("n", lines));
    let page = |rows: usize| office.get(&format!("/v1/items?limit={rows}"));
    let repeated = |length: usize| {
        let key = "k".repeat(length);
        let headers = [
            ("content-type", "application/json"),
            ("idempotency-key", key.as_str()),
        ];
        office.ask(
            "POST",
            "/v1/customers",
            &headers,
            customer("n", 1).to_string().as_bytes(),
        )
    };
    let remarked = |characters: usize| {
        let word = json!({"revision": 1, "reason": "r".repeat(characters)});
        post(office, &format!("{}/decline", issued(office, &draft())), &word)
    };
    let listed = |revisions: usize| {
        let one = json!({"quote": "0190b6a0-0000-7000-8000-000000000000", "revision": 1});
        office.post("/v1/purchase-lists", &json!({"revisions": vec![one; revisions]}))
    };
    let surveyed = |bytes: usize| {
        let empty = json!({"job": {"title": ""}}).to_string().len();
        post(
            office,
            "/v1/surveys",
            &json!({"job": {"title": "t".repeat(bytes - empty)}}),
        )
    };
    match limit.name {
        "survey" => (Some(surveyed(most)), surveyed(most + 1)),
        "json_depth" => (Some(nested(most)), nested(most + 1)),
        "json_list" => (Some(long(most)), long(most + 1)),
        "text" => (Some(named(most)), named(most + 1)),
        "remark" => (Some(remarked(most)), remarked(most + 1)),
        "address_lines" => (Some(addressed(most)), addressed(most + 1)),
        "chosen" => {
            let names = vec!["long-run"; most + 1];
            let word = json!({"revision": 1, "accepted_by": "O", "alternates": names});
            (
                None,
                post(
                    office,
                    &format!("{}/accept", issued(office, &draft_with_alternates())),
                    &word,
                ),
            )
        }
        "bought_for" => (None, listed(most + 1)),
        "sweep" => {
            let ft = |value: usize| json!({"value": value.to_string(), "unit": "in"});
            let vary = json!([{"answer": "/electrical/panel_length", "from": ft(1), "to": ft(most + 1), "step": ft(1)}]);
            let body = json!({"request": job("pinfold-basement"), "vary": vary});
            (None, office.post("/v1/estimates/sweeps", &body))
        }
        "manual_lines" | "overrides" | "quantity" | "hours" | "unit_cost" | "given" | "estimate" => {
            by_hand(office, limit.name, most)
        }
        "policy_markup" => {
            let markup = |percent: usize| {
                new_policy(
                    office,
                    "profit",
                    json!({"kind": "markup", "percent": percent.to_string()}),
                )
            };
            (Some(markup(most)), markup(most + 1))
        }
        "policy_days" => {
            let days = |days: usize| {
                let part = json!({"label": "All", "share": "100", "due_after_days": days});
                new_policy(office, "schedule", json!([part]))
            };
            (Some(days(most)), days(most + 1))
        }
        "formula_length" => {
            let padded = |length: usize| formula(office, &format!("1{}", " ".repeat(length - 1)));
            (Some(padded(most)), padded(most + 1))
        }
        "formula_parts" => {
            // Numbers added in pairs: of n numbers, 2n - 1 parts and few levels.
            let numbers = most.div_ceil(2);
            let of = |numbers: usize| formula(office, &pairs(numbers));
            (Some(of(numbers)), of(numbers + 1))
        }
        "formula_depth" => {
            let nested =
                |levels: usize| formula(office, &format!("{}1{}", "(".repeat(levels), ")".repeat(levels)));
            (Some(nested(most - 10)), nested(most + 10))
        }
        "rulebook" => {
            let padded = |length: usize| {
                office.ask(
                    "POST",
                    "/v1/rulebooks/check",
                    &[("content-type", "application/toml")],
                    " ".repeat(length).as_bytes(),
                )
            };
            (Some(padded(most)), padded(most + 1))
        }
        "rulebook_list" => {
            let derived = |index: usize| {
                format!("[[derived]]\nname = \"n{index}\"\ntitle = \"t\"\nunit = \"1\"\nformula = \"1\"\n")
            };
            (
                None,
                checked(office, &(0..=most).map(derived).collect::<String>()),
            )
        }
        "page" => (Some(page(most)), page(most + 1)),
        "repeat_key" => (Some(repeated(most)), repeated(most + 1)),
        other => panic!("{other} is not tried"),
    }
}

#[test]
fn every_limit_is_held() {
    let usual = Office::open(Engine::Sqlite).unwrap();
    let office = usual.another_limited(|limits| limits.body = 3_000_000);
    for limit in LIMITS {
        match limit.name {
            "body" => {
                let office = usual.another_limited(|limits| limits.body = 1_000);
                assert_ne!(
                    json_text(&office, "/v1/customers", &" ".repeat(1_000)).status,
                    413
                );
                json_text(&office, "/v1/customers", &" ".repeat(1_001)).problem(413, "content-too-large");
                continue;
            }
            // The list of prices, slow bodies, slow requests and callers who ask too often: price_lists.rs, problems.rs.
            "price_list" | "body_time" | "request_time" | "requests_a_minute" => continue,
            // What can be said only over a bare connection: connections.rs.
            "framing" | "address" | "headers" | "header_count" | "head_time" => continue,
            _ => {}
        }
        let (at, over) = tried(&office, limit);
        let name = limit.name;
        let (status, kind) = limit.over.split_once(' ').unwrap();
        // A check of a rulebook answers with its findings.
        if let Some(kind) = kind.strip_suffix("; a check tells it as well") {
            assert_eq!((status, kind), ("422", "rulebook-findings"));
            let word = match name {
                "formula_parts" | "formula_depth" => format!("{} {}", limit.most, limit.unit),
                _ => format!("at most {}", limit.most),
            };
            assert!(
                over.text.contains(&word),
                "{name}: {}",
                &over.text[..over.text.len().min(2_000)]
            );
            assert!(
                at.is_none_or(|at| !at.text.contains(&word)),
                "{name} at its limit"
            );
            continue;
        }
        over.problem(status.parse().unwrap(), kind);
        if let Some(at) = at {
            let malformed = status == "400" && at.status == 400;
            assert!(
                !malformed && (status != "422" || at.status < 300),
                "{name} at its limit: {}",
                at.text
            );
        }
    }
}

/// What is told of JSON that is too deep or too long says so, and where.
#[test]
fn json_without_end_is_told_in_words() {
    let office = Office::open(Engine::Sqlite).unwrap();
    let deep = json_text(
        &office,
        "/v1/customers",
        &format!("{}{{\"a\":[]}}{}", "[".repeat(63), "]".repeat(63)),
    );
    let problem = deep.problem(400, "malformed-body");
    assert!(
        problem["detail"].as_str().unwrap().contains("more than 64 deep"),
        "{problem}"
    );
    assert_eq!(problem["position"]["line"], 1);
    let long = json_text(&office, "/v1/customers", &format!("[{}0]", "0,".repeat(50_000)));
    let problem = long.problem(400, "malformed-body");
    assert!(
        problem["detail"]
            .as_str()
            .unwrap()
            .contains("more than 50000 entries"),
        "{problem}"
    );
}
