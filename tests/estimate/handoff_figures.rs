//! Journal, instalments, CSV, the report of a period, and the figures of accepted offers.

use estimate::handoff::accepted::{entry_number, read_entry_number};
use estimate::handoff::amounts::Amounts;
use estimate::handoff::codes::InvoiceKind;
use estimate::handoff::csv::{COLUMNS, lines};
use estimate::handoff::fault::HandoffFault;
use estimate::handoff::instalments::instalments;
use estimate::handoff::journal::{Purpose, journal};
use estimate::handoff::ledger::LedgerSettings;
use estimate::handoff::reconciliation::{Happening, ReceiptStanding, reconcile};
use estimate::handoff::sheet::Sheet;
use estimate::pricing::CheckedPolicy;
use estimate::pricing::policy::{Policy, Retainage};
use estimate::quantity::{Currency, Decimal, Money};
use estimate::quote::canonical::Frozen;
use estimate::quote::life::State;
use estimate::quote::number::RevisionName;
use estimate::quote::validity::Zone;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::bill_case::{dec, plain_policy, usd};
use crate::handoff_case::{accepted, changed, day, made_up, taxed_job};
use crate::pricing::{fees, instalments as schedule, paid};
use crate::quote_office::job;

fn longer() -> Value {
    json!({"job": {"electrical": {"panel_length": {"value": "75", "unit": "ft"}}}})
}

fn settings() -> LedgerSettings {
    serde_json::from_value(json!({
        "receivable": "1200",
        "labour_sales": {"by_name": {"lead_mechanic": "4110"}},
        "sales": {"otherwise": "4000", "by_name": {"EQP": "4010"}},
        "tax": {"otherwise": "2300"},
        "cost": {"otherwise": "5000"},
    }))
    .unwrap()
}

#[test]
fn what_was_accepted_is_what_the_estimate_says_and_sums_are_checked() {
    let offer = accepted(&taxed_job());
    assert_eq!(
        (offer.number.as_str(), offer.accepted_on),
        ("2031-00042", day("2031-03-04"))
    );
    assert_eq!(offer.amounts.total, offer.sheet.totals.total);
    let mut tree = serde_json::to_value(&offer.sheet).unwrap();
    assert_eq!(Sheet::read(&tree).unwrap(), offer.sheet);
    tree["lines"][0]["discount"]["amount"] = json!("9999.99");
    assert!(matches!(
        Sheet::read(&tree),
        Err(HandoffFault::Sum { what: "discount", .. })
    ));
    let mut tree = serde_json::to_value(&offer.sheet).unwrap();
    let base = tree["totals"]["taxes"][0]["base"]["amount"].clone();
    tree["totals"]["taxes"][0]["base"] = tree["totals"]["taxes"][1]["base"].clone();
    tree["totals"]["taxes"][1]["base"]["amount"] = base;
    assert!(matches!(
        Sheet::read(&tree),
        Err(HandoffFault::Sum {
            what: "base of a tax",
            ..
        })
    ));
}

#[test]
fn a_change_order_is_what_it_moves() {
    let (offer, order) = changed(&taxed_job(), longer());
    assert_eq!(order.number, "2031-00042-C1");
    let change = order.change.as_ref().unwrap();
    assert_eq!(change.before, offer.amounts);
    assert_eq!(offer.amounts.plus(order.amounts), Ok(change.after));
    let sum = |of: fn(&estimate::handoff::accepted::MovedLine<'_>) -> Money| {
        Money::sum(order.currency(), order.lines().unwrap().iter().map(of)).unwrap()
    };
    assert_eq!(sum(|line| line.net_moved), order.amounts.net);
    assert_eq!(sum(|line| line.net), change.after.net);
    let taxes = order.taxes().unwrap();
    assert_eq!(
        Money::sum(order.currency(), taxes.iter().map(|tax| tax.amount)),
        Ok(order.amounts.tax)
    );
    assert_eq!(
        Money::sum(order.currency(), taxes.iter().map(|tax| tax.base)),
        Ok(order.amounts.net)
    );
}

#[test]
fn amounts_are_read_from_documents_alone() {
    let money = |amount: &str| json!({"amount": amount, "currency": "USD"});
    let totals = json!({"net": money("110.00"), "tax": money("6.05"), "total": money("116.05"), "cost": money("1.00")});
    let offer = json!({"format": 1, "estimate": {"totals": totals, "lines": []}}).to_string();
    let read = Amounts::of_document(&offer).unwrap();
    assert_eq!(
        (read.net, read.tax, read.total),
        (usd("110.00"), usd("6.05"), usd("116.05"))
    );
    let order = json!({
        "estimate": {"totals": totals},
        "change": {"title": "t", "net_before": money("120.00"), "total_before": money("127.50")},
    });
    let read = Amounts::of_document(&order.to_string()).unwrap();
    assert_eq!(
        (read.net, read.tax, read.total),
        (usd("-10.00"), usd("-1.45"), usd("-11.45"))
    );
    assert!(Amounts::of_document("{}").is_err());
}

#[test]
fn entries_have_the_number_of_the_quote_and_of_the_change_order() {
    for (name, number, read) in [
        ("2031-00042-R2", "2031-00042", ("2031-00042", 0)),
        ("2031-00042-C3-R1", "2031-00042-C3", ("2031-00042", 3)),
    ] {
        assert_eq!(entry_number(&RevisionName::parse(name).unwrap()), number);
        assert_eq!(read_entry_number(number), read);
    }
    for other in ["2031-C0", "2031-C01", "2031-C", "2031-Cx"] {
        assert_eq!(read_entry_number(other), (other, 0));
    }
}

#[test]
fn the_journal_balances_under_the_companys_accounts() {
    let offer = accepted(&taxed_job());
    let book = journal(&offer, &settings()).unwrap();
    assert!(book.proof.len() >= 7 && book.proof.iter().all(|proof| proof.whole == proof.parts));
    let total = |of: fn(&estimate::handoff::journal::Posting) -> Money| {
        Money::sum(offer.currency(), book.postings.iter().map(of)).unwrap()
    };
    assert_eq!(
        (total(|p| p.debit), total(|p| p.credit)),
        (offer.amounts.total, offer.amounts.total)
    );
    assert_eq!(book.without_account, Vec::<String>::new());
    let account = |purpose: &Purpose| {
        let posting = book.postings.iter().find(|posting| posting.purpose == *purpose);
        String::from(posting.unwrap().account.clone().unwrap())
    };
    assert_eq!(account(&Purpose::Receivable), "1200");
    assert_eq!(account(&Purpose::LabourClass("lead_mechanic".to_owned())), "4110");
    assert_eq!(account(&Purpose::CostCode("EQP".to_owned())), "4010");
    assert_eq!(account(&Purpose::CostCode("INS".to_owned())), "4000");
    assert_eq!(account(&Purpose::TaxCategory("goods".to_owned())), "2300");
    let hours = book.budget.hours.value + book.budget.hours_by_rounding.value;
    assert_eq!(hours, offer.sheet.totals.hours.value);
    assert_eq!(book.budget.cost, offer.sheet.totals.cost);
    let bare = journal(&offer, &LedgerSettings::default()).unwrap();
    assert!(bare.without_account.contains(&"receivable".to_owned()));
    assert!(bare.postings.iter().all(|posting| posting.account.is_none()));
}

#[test]
fn the_journal_of_an_omission_stands_on_the_other_side() {
    let omitted = json!({"job": {"controller": {"probe": {"wanted": false, "route": null}}}});
    let (_, order) = changed(&taxed_job(), omitted);
    let book = journal(&order, &settings()).unwrap();
    let receivable = book
        .postings
        .iter()
        .find(|posting| posting.purpose == Purpose::Receivable)
        .unwrap();
    assert_eq!(receivable.credit.minor(), -order.amounts.total.minor());
    assert!(receivable.debit.is_zero());
    // What stays as it was is no row of it.
    for row in book.cost_codes.iter().chain(&book.labour_classes) {
        let moved = (row.net.is_zero(), row.cost.is_zero(), row.hours.value.is_zero());
        assert_ne!(moved, (true, true, true), "{}", row.name);
    }
    assert!(book.cost_codes.len() < order.sheet.lines.len());
    assert!(book.tax_categories.iter().all(|row| !row.base.is_zero()));
    assert!(
        book.postings
            .iter()
            .all(|posting| posting.debit.is_zero() != posting.credit.is_zero())
    );
}

#[test]
fn instalments_are_those_of_the_schedule_with_their_part_of_each_tax() {
    let offer = accepted(&taxed_job());
    let all = instalments(&offer).unwrap();
    let amounts: Vec<Money> = all.list.iter().map(|one| one.amount).collect();
    let wanted: Vec<Money> = offer
        .sheet
        .payment_schedule
        .iter()
        .map(|payment| payment.amount)
        .collect();
    assert_eq!(amounts, wanted);
    let kinds: Vec<InvoiceKind> = all.list.iter().map(|one| one.kind).collect();
    assert_eq!(
        kinds,
        [InvoiceKind::Deposit, InvoiceKind::Progress, InvoiceKind::Final]
    );
    // Something on it is not taxed, so that every instalment but the last comes out without a rounding.
    assert!(all.list[..2].iter().all(|one| one.rounding.is_zero()));
    assert!(all.list[2].rounding.minor().abs() <= 2);
    assert_eq!(all.sums.payable, offer.amounts.total);
}

#[test]
fn a_due_day_follows_from_the_acceptance() {
    let mut offer = accepted(&taxed_job());
    offer.sheet.payment_schedule[0].due_after_days = Some(0);
    offer.sheet.payment_schedule[1].due_after_days = Some(30);
    let all = instalments(&offer).unwrap();
    let days: Vec<_> = all.list.iter().map(|one| one.due_on).collect();
    assert_eq!(days, [Some(day("2031-03-04")), Some(day("2031-04-03")), None]);
    offer.sheet.payment_schedule[1].due_after_days = Some(u32::MAX);
    assert_eq!(instalments(&offer), Err(HandoffFault::BeyondCalendar(u32::MAX)));
}

#[test]
fn instalments_of_a_change_order_are_what_it_moves() {
    let (offer, order) = changed(&taxed_job(), longer());
    let (first, moved) = (instalments(&offer).unwrap(), instalments(&order).unwrap());
    assert_eq!(moved.sums.payable, order.amounts.total);
    let after = first.sums.payable.plus(moved.sums.payable).unwrap();
    assert_eq!(after, order.change.unwrap().after.total);
}

/// Common practice, no source: 10 % of each progress payment is kept back and paid last.
#[test]
fn retainage_is_kept_back_behind_the_deposit_and_paid_last() {
    let mut policy = Policy {
        schedule: schedule(&["10", "50", "40"]),
        ..plain_policy()
    };
    assert_eq!(
        paid(&fees(policy.clone(), &["1000.01"]).priced().unwrap()),
        ["106.25", "531.26", "425.00"]
    );
    policy.retainage = Some(Retainage {
        label: "Retainage".to_owned(),
        percent: dec("10"),
        due_after_days: Some(60),
    });
    let case = fees(policy.clone(), &["1000.01"]);
    let priced = case.priced().unwrap();
    assert_eq!(paid(&priced), ["106.25", "478.13", "382.50", "95.63"]);
    let last = priced.payment_schedule.last().unwrap();
    assert_eq!(
        (last.label, last.share, last.due_after_days),
        ("Retainage", dec("9"), Some(60))
    );
    policy.schedule = schedule(&["100"]);
    assert_eq!(
        paid(&fees(policy.clone(), &["1000.01"]).priced().unwrap()),
        ["956.26", "106.25"]
    );
    policy.retainage.as_mut().unwrap().percent = dec("100.5");
    policy.schedule[0].due_after_days = Some(3_651);
    let faults = CheckedPolicy::new(policy, Currency::parse("USD").unwrap()).unwrap_err();
    let pointers: Vec<&str> = faults.iter().map(|fault| fault.pointer.as_str()).collect();
    assert_eq!(pointers, ["/retainage/percent", "/schedule/0/due_after_days"]);
}

/// A policy that was stored before there was retainage, or days of instalments, has the bytes that it had.
#[test]
fn a_policy_without_retainage_is_written_as_before() {
    let text = serde_json::to_string(&plain_policy()).unwrap();
    assert!(
        !text.contains("retainage") && !text.contains("due_after_days"),
        "{text}"
    );
    let read: Policy = serde_json::from_str(&text).unwrap();
    assert_eq!(Frozen::of(&read).unwrap(), Frozen::of(&plain_policy()).unwrap());
}

#[test]
fn csv_has_a_row_a_line_and_defuses_formulas() {
    let (_, mut order) = changed(&taxed_job(), longer());
    order.customer.name = "=HYPERLINK(\"http://x\",\"y\")".to_owned();
    order.sheet.lines[0].description = "Coil, 1/2\" \r\nsecond line".to_owned();
    order.sheet.lines[1].description = " @SUM(A1)".to_owned();
    order.sheet.lines[2].description = "-2 + 3".to_owned();
    order.sheet.lines[3].description = "\u{200b}\u{feff}=1+1".to_owned();
    let text = lines(&order).unwrap();
    assert!(text.ends_with("\r\n") && text.starts_with("number,revision,accepted_on,"));
    // A general reader of RFC 4180 reads it back.
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header: Vec<_> = COLUMNS.iter().map(|(name, _)| *name).collect();
    assert_eq!(reader.headers().unwrap(), header);
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), order.lines().unwrap().len());
    let place = |name: &str| header.iter().position(|column| *column == name).unwrap();
    assert!(
        rows.iter()
            .all(|row| row[place("customer")] == *"'=HYPERLINK(\"http://x\",\"y\")")
    );
    assert_eq!(&rows[0][place("description")], "Coil, 1/2\" \r\nsecond line");
    assert_eq!(&rows[1][place("description")], "' @SUM(A1)");
    assert_eq!(&rows[2][place("description")], "'-2 + 3");
    assert_eq!(&rows[3][place("description")], "'\u{200b}\u{feff}=1+1");
    let sum: Decimal = rows.iter().map(|row| dec(&row[place("net_moved")])).sum();
    assert_eq!(sum, order.amounts.net.decimal());
    let costs: Decimal = rows.iter().map(|row| dec(&row[place("cost")])).sum();
    assert_eq!(costs, order.sheet.totals.cost.decimal());
}

#[test]
fn a_line_that_a_change_takes_away_is_told_with_what_it_was() {
    let omitted = json!({"job": {"controller": {"probe": {"wanted": false, "route": null}}}});
    let (_, order) = changed(&taxed_job(), omitted);
    let moved = order.lines().unwrap();
    let gone: Vec<_> = moved.iter().filter(|line| !line.stands).collect();
    assert!(!gone.is_empty());
    assert!(
        gone.iter()
            .all(|line| line.net.is_zero() && line.net_moved.minor() < 0)
    );
}

#[test]
fn the_report_counts_and_sums_by_state_month_estimator_and_receipt() {
    let zone = Zone::parse("America/New_York").unwrap();
    let happening =
        |state: State, at: &str, estimator: &str, total: &str, receipt: ReceiptStanding| Happening {
            state,
            at: at.parse().unwrap(),
            estimator: estimator.to_owned(),
            amounts: Amounts {
                net: usd(total),
                tax: usd("0.00"),
                total: usd(total),
            },
            receipt,
        };
    use ReceiptStanding::{Refused, WithReceipt, WithoutReceipt};
    let all = [
        happening(
            State::Issued,
            "2031-01-31T15:00:00Z",
            "Ines",
            "100.00",
            WithoutReceipt,
        ),
        // Still January where the company is.
        happening(
            State::Accepted,
            "2031-02-01T03:00:00Z",
            "Ines",
            "100.00",
            WithReceipt,
        ),
        happening(State::Accepted, "2031-02-01T15:00:00Z", "Bram", "50.05", Refused),
        happening(
            State::Accepted,
            "2031-02-02T15:00:00Z",
            "Bram",
            "-0.05",
            WithoutReceipt,
        ),
    ];
    let report = reconcile(&all, Currency::parse("USD").unwrap(), zone).unwrap();
    let told = |rows: &[estimate::handoff::reconciliation::Grouped]| {
        let row = |row: &estimate::handoff::reconciliation::Grouped| {
            format!(
                "{} {} {} {}",
                row.name,
                row.state.word(),
                row.sums.count,
                row.sums.amounts.total.text()
            )
        };
        rows.iter().map(row).collect::<Vec<_>>()
    };
    assert_eq!(
        told(&report.states),
        ["issued issued 1 100.00", "accepted accepted 3 150.00"]
    );
    assert_eq!(
        told(&report.months),
        [
            "2031-01 issued 1 100.00",
            "2031-01 accepted 1 100.00",
            "2031-02 accepted 2 50.00"
        ]
    );
    assert_eq!(
        told(&report.estimators),
        [
            "Bram accepted 2 50.00",
            "Ines issued 1 100.00",
            "Ines accepted 1 100.00"
        ]
    );
    assert_eq!(
        told(&report.receipts),
        [
            "refused accepted 1 50.05",
            "with_receipt accepted 1 100.00",
            "without_receipt accepted 1 -0.05"
        ]
    );
}

#[test]
fn settings_refuse_what_cannot_stand() {
    let faulty = json!({"receipt_days": 0, "country": "usa"});
    let faulty: LedgerSettings = serde_json::from_value(faulty).unwrap();
    let places: Vec<String> = faulty.faults().into_iter().map(|(pointer, _)| pointer).collect();
    assert_eq!(places, ["/receipt_days", "/country"]);
    assert_eq!(settings().faults(), []);
    for account in ["", " 12", "12\n", "=1+1", &"1".repeat(41)] {
        let tree = json!({"receivable": account});
        assert!(
            serde_json::from_value::<LedgerSettings>(tree).is_err(),
            "{account:?}"
        );
    }
}

proptest! {
    /// The instalments of any schedule add up to what was accepted; only cents are rounded.
    #[test]
    fn instalments_add_up(
        lines in prop::collection::vec((1_i64..500_000, 0_usize..4), 1..9),
        shares in prop::collection::vec(1_i64..60, 1..6),
    ) {
        let lines: Vec<_> = lines.into_iter().map(|(price, place)| (price, 0, place)).collect();
        let categories = [("S", "6.25"), ("S", "21"), ("E", "0"), ("S", "8.875")];
        let offer = made_up("USD", &lines, &categories, &shares);
        let all = instalments(&offer).unwrap();
        prop_assert_eq!(all.sums.net, offer.amounts.net);
        prop_assert_eq!(all.sums.payable, offer.amounts.total);
        for one in &all.list {
            prop_assert!(one.rounding.minor().abs() <= 1 + i64::try_from(shares.len()).unwrap());
        }
        let book = journal(&offer, &settings()).unwrap();
        prop_assert!(book.proof.iter().all(|proof| proof.whole == proof.parts));
    }
}

#[test]
fn jobs_without_tax_have_one_group_outside_the_scope() {
    let offer = accepted(&job("alderwick-closet"));
    let all = instalments(&offer).unwrap();
    assert_eq!(all.groups.len(), 1);
    assert_eq!(all.groups[0].code.letter(), "O");
    assert!(all.list.iter().all(|one| one.rounding.is_zero()));
}
