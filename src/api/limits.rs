//! Every limit of what is sent: one table, from which docs/limits.md is written. Each figure stands in one place, where it is
//! held; this table names it.

use estimate::job::form::request;
use estimate::pricing;
use estimate::quantity::money;
use estimate::rules::formula;
use estimate::rules::rulebook;
use estimate::sweep;

use super::server::{FRAMING_MOST, HEADERS_MOST};
use super::{head, page};
use crate::config::usual;
use crate::desk::strict_json;

/// Longest line of text, in characters.
pub(super) const LINE: usize = 200;
/// Longest remark, in characters.
pub(super) const PARAGRAPH: usize = 2_000;
/// Most lines of an address.
pub(super) const ADDRESS_LINES: usize = 6;
/// Most alternates that are chosen.
pub(super) const CHOSEN: usize = 20;
/// Most revisions that are bought for together.
pub(super) const BOUGHT_FOR: usize = 200;
/// Largest survey, in bytes.
pub(super) const SURVEY: usize = 131_072;
/// Most surveys on a page.
pub(super) const SURVEYS_A_PAGE: i64 = 100;
/// Longest `Idempotency-Key`, in characters.
pub(super) const REPEAT_KEY: usize = 255;

/// A limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limit {
    /// Its name, by which tests and people speak of it.
    pub name: &'static str,
    /// What is limited.
    pub what: &'static str,
    /// The most.
    pub most: u64,
    /// Of what.
    pub unit: &'static str,
    /// The flag of `serve` that changes it.
    pub flag: Option<&'static str>,
    /// What is answered over it.
    pub over: &'static str,
}

/// A limit that nobody changes.
const fn fixed(
    name: &'static str,
    what: &'static str,
    (most, unit): (u64, &'static str),
    over: &'static str,
) -> Limit {
    Limit {
        name,
        what,
        most,
        unit,
        flag: None,
        over,
    }
}

const TOO_LARGE: &str = "413 content-too-large";
const HEADERS: &str = "431 headers-too-large";
const MALFORMED: &str = "400 malformed-body";
const INVALID: &str = "422 invalid-input";
const MINOR: &str = "minor units of the currency, such as cents";
const FINDING: &str = "422 rulebook-findings; a check tells it as well";

/// Every limit.
pub const LIMITS: &[Limit] = &[
    Limit {
        flag: Some("--body-limit"),
        ..fixed(
            "body",
            "Body of a request",
            (usual::BODY as u64, "bytes"),
            TOO_LARGE,
        )
    },
    Limit {
        flag: Some("--price-list-limit"),
        ..fixed(
            "price_list",
            "A supplier's price list",
            (usual::PRICE_LIST as u64, "bytes"),
            TOO_LARGE,
        )
    },
    fixed("survey", "A survey", (SURVEY as u64, "bytes"), TOO_LARGE),
    fixed(
        "framing",
        "What comes of a body in chunks beside its content: sizes, extensions, the trailer",
        (FRAMING_MOST, "bytes"),
        TOO_LARGE,
    ),
    fixed(
        "address",
        "Address of a request, with its query",
        (head::ADDRESS as u64, "bytes"),
        "414 address-too-long",
    ),
    fixed(
        "headers",
        "Headers of a request together; each counts four bytes more than its name and value",
        (head::HEADERS as u64, "bytes"),
        HEADERS,
    ),
    fixed(
        "header_count",
        "Headers of a request",
        (HEADERS_MOST as u64, "headers"),
        HEADERS,
    ),
    Limit {
        flag: Some("--head-time"),
        ..fixed(
            "head_time",
            "Time in which the head of a request arrives, from its first byte",
            (usual::HEAD_SECONDS, "seconds"),
            "408 request-timeout",
        )
    },
    Limit {
        flag: Some("--body-time"),
        ..fixed(
            "body_time",
            "Time in which a body arrives",
            (usual::BODY_SECONDS, "seconds"),
            "408 request-timeout",
        )
    },
    Limit {
        flag: Some("--request-time"),
        ..fixed(
            "request_time",
            "Time that a request takes",
            (usual::REQUEST_SECONDS, "seconds"),
            "503 not-ready, Retry-After",
        )
    },
    Limit {
        flag: Some("--requests-a-minute"),
        ..fixed(
            "requests_a_minute",
            "Requests of one key; of one address without a key or with one that is none. `/healthz` and `/readyz` do not count",
            (usual::REQUESTS_A_MINUTE as u64, "a minute"),
            "429 too-many-requests, Retry-After",
        )
    },
    fixed(
        "json_depth",
        "Objects and lists in one another in JSON",
        (strict_json::MOST_DEEP as u64, "levels"),
        MALFORMED,
    ),
    fixed(
        "json_list",
        "One list or object in JSON",
        (strict_json::MOST_LONG as u64, "entries"),
        MALFORMED,
    ),
    fixed(
        "text",
        "A name or another line of text",
        (LINE as u64, "characters"),
        INVALID,
    ),
    fixed(
        "remark",
        "A remark or a reason",
        (PARAGRAPH as u64, "characters"),
        INVALID,
    ),
    fixed(
        "address_lines",
        "An address",
        (ADDRESS_LINES as u64, "lines"),
        INVALID,
    ),
    fixed(
        "chosen",
        "Alternates that a customer chooses",
        (CHOSEN as u64, "names"),
        INVALID,
    ),
    fixed(
        "bought_for",
        "Revisions that are bought for together",
        (BOUGHT_FOR as u64, "revisions"),
        INVALID,
    ),
    fixed(
        "sweep",
        "Points of a sweep",
        (sweep::MOST_POINTS as u64, "points"),
        INVALID,
    ),
    fixed(
        "manual_lines",
        "Lines put in by hand",
        (request::MANUAL_LINES as u64, "lines"),
        INVALID,
    ),
    fixed(
        "overrides",
        "Figures replaced by hand",
        (request::OVERRIDES as u64, "figures"),
        INVALID,
    ),
    fixed(
        "quantity",
        "A quantity given by hand",
        (request::QUANTITY_MOST as u64, "of its unit"),
        INVALID,
    ),
    fixed(
        "hours",
        "Hours given by hand",
        (request::HOURS_MOST as u64, "h"),
        INVALID,
    ),
    fixed(
        "unit_cost",
        "Cost of one unit given by hand",
        (request::UNIT_COST_MOST as u64, "of the currency"),
        INVALID,
    ),
    fixed(
        "given",
        "A price or discount given by hand; the cost of a line with a figure given by hand; the price of a pack",
        (money::GIVEN_MOST as u64, MINOR),
        INVALID,
    ),
    fixed(
        "estimate",
        "Cost, price and total of a job",
        (money::ESTIMATE_MOST as u64, MINOR),
        INVALID,
    ),
    fixed(
        "policy_markup",
        "A markup in a policy; other percentages of it are less than 100",
        (pricing::MARKUP_MOST as u64, "percent"),
        INVALID,
    ),
    fixed(
        "policy_days",
        "Days after which an instalment of a policy falls due",
        (pricing::MOST_DUE_DAYS as u64, "days"),
        INVALID,
    ),
    fixed(
        "formula_length",
        "A formula",
        (formula::MAX_LENGTH as u64, "bytes"),
        FINDING,
    ),
    fixed(
        "formula_parts",
        "Parts of a formula: numbers, names, operators and calls",
        (formula::MAX_NODES as u64, "parts"),
        FINDING,
    ),
    fixed(
        "formula_depth",
        "Parts of a formula in one another",
        (formula::MAX_DEPTH as u64, "levels"),
        FINDING,
    ),
    fixed(
        "rulebook",
        "The text of a rulebook",
        (rulebook::MAX_FILE as u64, "bytes"),
        FINDING,
    ),
    fixed(
        "rulebook_list",
        "One list of a rulebook",
        (rulebook::MAX_ENTRIES as u64, "entries"),
        FINDING,
    ),
    fixed(
        "page",
        "A page of a list",
        (page::MOST as u64, "rows"),
        "400 invalid-parameter",
    ),
    fixed(
        "repeat_key",
        "Idempotency-Key",
        (REPEAT_KEY as u64, "characters"),
        "400 invalid-parameter",
    ),
];

/// What the table does not say.
const BEHIND: &str = "\nA connection on which nothing has come for 75 seconds (`--idle-time`) is closed; `Keep-Alive` on each answer says \
    so. Where a\nconnection cannot be read on (a request that is none, a head over the limits or late), the problem is the last that is \
    answered on it.\nA broken request that was sent behind another before that was answered gets its bare status.\n\nA page of \
    surveys ends after 100, whatever is asked for; `next` goes on.\n";

/// The page of all limits, as Markdown.
pub fn limits_page() -> String {
    let mut out = "# Limits\n\nWhat may be sent, and what is answered over it. A problem (RFC 9457) says which limit it was. This page is \
        written by the program;\n`UPDATE=1 cargo test --test service limits` writes it anew.\n\n\
        | what | most | flag of `serve` | over it |\n|---|---|---|---|\n"
        .to_owned();
    for limit in LIMITS {
        let flag = limit.flag.map(|flag| format!("`{flag}`")).unwrap_or_default();
        let most = grouped(limit.most);
        out.push_str(&format!(
            "| {} | {most} {} | {flag} | {} |\n",
            limit.what, limit.unit, limit.over
        ));
    }
    out.push_str(BEHIND);
    out
}

/// A number with a comma before every three digits.
fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}
