//! Which drafts need a second pair of eyes, and which approval counts.

use estimate::pricing::policy::ApprovalLimits;
use estimate::quantity::decimal::parse;
use estimate::quote::approval::{
    Approval, ApprovalFault, ApprovalReason, counting, may_approve, reasons, reasons_of_change,
    reasons_of_choice, subject,
};
use estimate::quote::canonical::Digest;
use estimate::quote::estimated::Estimated;
use serde_json::json;

use crate::quote_office::{Office, job, moment};

/// An estimate of one line: cost, price and discount in dollars.
fn estimated(cost: &str, price: &str, discount: &str) -> Estimated {
    let dollars = |text: &str| parse(text, 2).unwrap();
    let usd = |text: &str| json!({"amount": format!("{:.2}", dollars(text)), "currency": "USD"});
    let net = (dollars(price) - dollars(discount)).to_string();
    Estimated::read(json!({
        "currency": "USD",
        "lines": [{"key": "manual:1", "kind": "fee", "description": "Fee", "cost": usd(cost), "price": usd(price)}],
        "totals": {
            "cost": usd(cost), "price": usd(price), "discount": usd(discount), "net": usd(&net), "tax": usd("0"),
            "total": usd(&net), "hours": {"value": "0", "unit": "h"}, "margin": null,
        },
        "may_be_issued": true,
    }))
    .unwrap()
}

fn limits() -> ApprovalLimits {
    let percent = |text: &str| Some(parse(text, 4).unwrap());
    ApprovalLimits {
        price_over: percent("15000"),
        margin_under_percent: percent("22"),
        discount_over_percent: percent("5"),
    }
}

fn words(found: &[ApprovalReason]) -> String {
    let word = |reason: &ApprovalReason| match reason {
        ApprovalReason::Price { .. } => "price",
        ApprovalReason::Margin { .. } => "margin",
        ApprovalReason::Discount { .. } => "discount",
    };
    found.iter().map(word).collect::<Vec<_>>().join(" ")
}

#[test]
fn a_limit_that_is_met_is_kept_and_a_cent_more_is_not() {
    let cases = [
        ("7800", "10000", "0", ""),
        ("7800.01", "10000", "0", "margin"),
        ("1000", "15000", "0", ""),
        ("1000", "15000.01", "0", "price"),
        ("1000", "10000", "500", ""),
        ("1000", "10000", "500.01", "discount"),
        ("9000", "20000", "4000", "price discount"),
        ("16000", "20000", "2000", "price margin discount"),
        ("0", "0", "0", ""),
        ("1", "0", "0", "margin"),
    ];
    for (cost, price, discount, wanted) in cases {
        let found = reasons(&limits(), &estimated(cost, price, discount));
        assert_eq!(words(&found), wanted, "{cost} {price} {discount}");
    }
}

/// A change of a contract (cost, price, discount) into another: the change's own price, and the contract that it makes.
#[test]
fn a_change_order_is_judged_by_its_own_price_and_by_the_contract_that_it_makes() {
    let cases = [
        // A small addition to a contract that was over the price, and was approved so.
        (("20000", "30000", "0"), ("20300", "30500", "0"), ""),
        // An addition that is over the price by itself.
        (("20000", "30000", "0"), ("30000", "45000.01", "0"), "price"),
        (("20000", "30000", "0"), ("30000", "45000", "0"), ""),
        // The addition that takes the contract over the price.
        (("7000", "14900", "0"), ("7050", "15000", "0"), ""),
        (("7000", "14900", "0"), ("7050", "15000.01", "0"), "price"),
        // An omission never has a price that is over one; what is left of the margin counts.
        (("20000", "30000", "0"), ("10000", "16000", "0"), ""),
        (("7000", "10000", "0"), ("6900", "8800", "0"), "margin"),
        // A margin that was too thin, and was approved so, counts where it is thinner yet.
        (("8500", "10000", "0"), ("8600", "10200", "0"), ""),
        (("8500", "10000", "0"), ("8500", "10000", "0"), ""),
        (("8500", "10000", "0"), ("8700", "10200", "0"), "margin"),
        // A discount likewise.
        (("1000", "10000", "800"), ("1100", "10500", "800"), ""),
        (("1000", "10000", "800"), ("1100", "10500", "900"), "discount"),
        (("1000", "10000", "400"), ("1000", "9000", "451"), "discount"),
        // All of the contract is omitted.
        (("1000", "10000", "0"), ("0", "0", "0"), ""),
        (("1000", "10000", "0"), ("1", "0", "0"), "margin"),
    ];
    for (before, after, wanted) in cases {
        let of = |(cost, price, discount)| estimated(cost, price, discount);
        let found = reasons_of_change(&limits(), &of(before), &of(after));
        assert_eq!(words(&found), wanted, "{before:?} {after:?}");
    }
    let none = ApprovalLimits {
        price_over: None,
        margin_under_percent: None,
        discount_over_percent: None,
    };
    let (before, after) = (estimated("1", "2", "0"), estimated("90000", "70000", "9000"));
    assert_eq!(reasons_of_change(&none, &before, &after), []);
}

/// What was shown to whoever approved the offer, whether somebody did, and what the customer chose together.
#[test]
fn a_choice_goes_no_further_than_what_was_approved() {
    let shown = [
        (vec![("7000", "10000", "0"), ("7500", "10000", "0")], false),
        (vec![("7000", "10000", "0"), ("8500", "10000", "0")], true),
        (vec![("12000", "16000", "0")], true),
        (vec![("5000", "10000", "800")], true),
    ];
    let cases = [
        // Within the limits, whoever approved what.
        (0, ("7800", "10000", "0"), ""),
        // Nobody approved anything: every limit counts.
        (0, ("7801", "10000", "0"), "margin"),
        (0, ("11000", "15001", "0"), "price"),
        (0, ("5000", "10000", "501"), "discount"),
        // A margin that was approved thinner, and one that is thinner yet.
        (1, ("8400", "10000", "0"), ""),
        (1, ("8500", "10000", "0"), ""),
        (1, ("8501", "10000", "0"), "margin"),
        // Approved for its price: a higher one is no news, a margin that was never under its limit is.
        (2, ("12500", "17000", "0"), ""),
        (2, ("14000", "17000", "0"), "margin"),
        // A discount likewise.
        (3, ("5000", "10000", "700"), ""),
        (3, ("5000", "10000", "801"), "discount"),
    ];
    let of = |(cost, price, discount)| estimated(cost, price, discount);
    for (place, chosen, wanted) in cases {
        let (figures, approved) = &shown[place];
        let figures: Vec<Estimated> = figures.iter().copied().map(of).collect();
        let figures: Vec<&Estimated> = figures.iter().collect();
        let found = reasons_of_choice(&limits(), &figures, *approved, &of(chosen));
        assert_eq!(words(&found), wanted, "{place} {chosen:?}");
    }
}

#[test]
fn a_reason_says_the_figure_and_the_limit() {
    let found = reasons(&limits(), &estimated("16000", "20000", "2000"));
    assert_eq!(
        serde_json::to_value(found).unwrap(),
        json!([
            {"reason": "price", "net": {"amount": "18000.00", "currency": "USD"}, "limit": "15000"},
            {"reason": "margin", "percent": "11.11", "limit": "22"},
            {"reason": "discount", "percent": "10", "limit": "5"},
        ])
    );
    // A figure that misses its limit by less than it is usually told is told so that it shows.
    let close = serde_json::to_value(reasons(&limits(), &estimated("7410.40", "10000", "500.01"))).unwrap();
    assert_eq!(
        close,
        json!([
            {"reason": "margin", "percent": "21.996", "limit": "22"},
            {"reason": "discount", "percent": "5.0001", "limit": "5"},
        ])
    );
    let none = ApprovalLimits {
        price_over: None,
        margin_under_percent: None,
        discount_over_percent: None,
    };
    assert_eq!(reasons(&none, &estimated("16000", "20000", "2000")), []);
}

fn approval(subject: Digest, by: &str) -> Approval {
    Approval {
        subject,
        by: by.to_owned(),
        at: moment(),
        note: None,
    }
}

#[test]
fn an_approval_is_by_another_person_and_for_exactly_this_content() {
    let [this, earlier] = [b"this", b"that"].map(|bytes| Digest::of(bytes));
    let authors = ["Ines".to_owned(), "Bertil".to_owned()];
    let own = ApprovalFault::OwnWork {
        by: "Bertil".to_owned(),
    };
    let changed = ApprovalFault::Changed {
        by: "Odile".to_owned(),
    };
    let same = |one: &str, other: &str| one == other;
    assert_eq!(counting(this, &authors, &[], same), Err(ApprovalFault::None));
    assert_eq!(
        counting(this, &authors, &[approval(this, "Bertil")], same),
        Err(own.clone())
    );
    assert_eq!(
        counting(this, &authors, &[approval(earlier, "Odile")], same),
        Err(changed.clone())
    );
    let given = [
        approval(this, "Odile"),
        approval(earlier, "Odile"),
        approval(this, "Bertil"),
    ];
    assert_eq!(counting(this, &authors, &given, same), Ok(&given[0]));
    assert_eq!(
        counting(this, &authors, &given[1..], same),
        Err(own.clone()),
        "the last one given is told"
    );
    assert_eq!(may_approve("Odile", &authors, same), Ok(()));
    assert_eq!(may_approve("Bertil", &authors, same), Err(own));
}

#[test]
fn an_edit_and_other_figures_void_an_approval_and_nothing_else_does() {
    let office = Office::usual();
    let tree = json!({"request": job("alderwick-closet")});
    let draft = office.draft(&tree);
    let estimated = office.estimate(&draft.request).unwrap();
    let approved = subject(&draft, &estimated).unwrap();
    assert_eq!(
        subject(&office.draft(&tree), &office.estimate(&draft.request).unwrap()).unwrap(),
        approved
    );
    let mut edited = tree.clone();
    edited["exclusions"] = json!(["Painting."]);
    assert_ne!(subject(&office.draft(&edited), &estimated).unwrap(), approved);
    let mut discounted = draft.request.clone();
    discounted["discount"] = json!({"percent": "1"});
    assert_ne!(
        subject(&draft, &office.estimate(&discounted).unwrap()).unwrap(),
        approved
    );
}

#[test]
fn the_demonstration_asks_for_approval_of_a_deep_discount() {
    let office = Office::usual();
    let limits = office.policy().approval.clone().unwrap();
    let mut request = job("alderwick-closet");
    assert_eq!(reasons(&limits, &office.estimate(&request).unwrap()), []);
    request["discount"] = json!({"percent": "8"});
    let found = reasons(&limits, &office.estimate(&request).unwrap());
    assert!(
        found
            .iter()
            .any(|reason| matches!(reason, ApprovalReason::Discount { .. })),
        "{found:?}"
    );
}
