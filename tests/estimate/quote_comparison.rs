//! The comparison of two estimates, and the causes of what moved.

use chrono::NaiveDate;
use estimate::quantity::{Decimal, Money};
use estimate::quote::causes::{Cause, Causes, Differing, Mix, Side};
use estimate::quote::comparison::{Compared, Comparison, mixed_request, requests_differ};
use estimate::quote::estimated::{EstimateShape, Estimated};
use estimate::quote::moved::{Moved, MovedFault};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::demo::text;
use crate::quote_office::{Office, Versions, job};

fn newer_rules() -> String {
    let before = "max_factor = \"2.0\"";
    let rules = text("rulebook.toml");
    assert!(rules.contains(before));
    let probe = "[[assembly.line]]\nkind = \"labour\"\ntask = \"probe\"";
    assert!(rules.contains(probe));
    let start = rules.find(probe).unwrap();
    let hours = rules[start..].find("hours = \"").unwrap() + start + "hours = \"".len();
    let end = rules[hours..].find('"').unwrap() + hours;
    format!("{}2 h{}", &rules[..hours], &rules[end..])
}

/// The office a month earlier, when everything cost 4 % less, and the same with other rules, today's prices and
/// more overhead.
fn offices() -> (Office, Office) {
    let old = Office::of(Versions {
        price_level: Decimal::new(96, 2),
        day: NaiveDate::from_ymd_opt(2025, 3, 10).unwrap(),
        ..Versions::default()
    });
    let new = Office::of(Versions {
        rulebook: (2, newer_rules()),
        policy: (2, Decimal::from(4)),
        ..Versions::default()
    });
    (old, new)
}

fn changed_request() -> Value {
    let mut request = job("alderwick-closet");
    request["job"]["electrical"]["panel_length"] = json!({"value": "62.5", "unit": "ft"});
    request["discount"] = json!({"percent": "3"});
    request
}

fn walk(old: (&Office, &Value), new: (&Office, &Value)) -> (Causes, Estimated, Estimated) {
    let (from, to) = (old.0.estimate(old.1).unwrap(), new.0.estimate(new.1).unwrap());
    let differing = Differing {
        rulebook: true,
        prices: true,
        policy: true,
        ..requests_differ(old.1, new.1)
    };
    let causes = Causes::walk(&from, &to, differing, |mix: Mix| {
        let of = |side| if side == Side::Old { old } else { new };
        let request = mixed_request(of(mix.job).1, of(mix.by_hand).1);
        Ok::<_, MovedFault>(
            Office::mixed(of(mix.rulebook).0, of(mix.prices).0, of(mix.policy).0, &request).ok(),
        )
    });
    (causes.unwrap(), from, to)
}

fn adds_up(causes: &Causes, from: &Estimated, to: &Estimated) {
    let mut net = from.totals().net;
    let mut total = from.totals().total;
    let mut hours = from.totals().hours.value;
    for step in causes.steps() {
        assert_eq!(
            (step.net.from, step.total.from, step.hours.from.value),
            (net, total, hours)
        );
        net = net.plus(step.net.moved).unwrap();
        total = total.plus(step.total.moved).unwrap();
        hours += step.hours.moved.value;
    }
    assert_eq!(
        (net, total, hours),
        (to.totals().net, to.totals().total, to.totals().hours.value)
    );
}

#[test]
fn every_cause_has_its_share_and_the_shares_add_up() {
    let (old, new) = offices();
    let (request, changed) = (job("alderwick-closet"), changed_request());
    let (causes, from, to) = walk((&old, &request), (&new, &changed));
    let told: Vec<_> = causes
        .steps()
        .iter()
        .flat_map(|step| step.causes.clone())
        .collect();
    assert_eq!(
        told,
        [
            Cause::Job,
            Cause::ByHand,
            Cause::Rulebook,
            Cause::Prices,
            Cause::Policy
        ]
    );
    adds_up(&causes, &from, &to);
    let step = |cause| causes.steps().iter().find(|step| step.causes == [cause]).unwrap();
    // A longer circuit costs more and takes longer; a discount only costs, and prices move no hours.
    assert!(step(Cause::Job).net.moved.minor() > 0 && step(Cause::Job).hours.moved.value > 0.into());
    assert!(step(Cause::ByHand).net.moved.minor() < 0 && step(Cause::ByHand).hours.moved.value.is_zero());
    assert!(step(Cause::Rulebook).hours.moved.value > 0.into());
    assert!(step(Cause::Prices).net.moved.minor() > 0 && step(Cause::Prices).hours.moved.value.is_zero());
    assert!(step(Cause::Policy).net.moved.minor() > 0);
}

#[test]
fn what_did_not_change_is_no_cause() {
    let (old, _) = offices();
    let request = job("alderwick-closet");
    let (causes, from, to) = walk((&old, &request), (&old, &request));
    assert_eq!(causes.steps(), []);
    assert_eq!(from, to);
    let (causes, from, to) = walk((&old, &request), (&old, &changed_request()));
    let told: Vec<_> = causes
        .steps()
        .iter()
        .flat_map(|step| step.causes.clone())
        .collect();
    assert_eq!(told, [Cause::Job, Cause::ByHand]);
    adds_up(&causes, &from, &to);
}

#[test]
fn a_mix_that_has_no_price_is_told_with_the_next_cause() {
    // The new job answers a question that only the new rulebook asks.
    let old = Office::usual();
    let question = "[[input]]\nname = \"cork_tiles\"\ntitle = \"Cork tiles\"\ntype = \"quantity\"\nunit = \"each\"\n\
                    min = \"0\"\nmax = \"900\"\ndefault = \"0\"\n\n[[input]]\nname = \"rack_cover_area\"";
    let rules = newer_rules().replacen("[[input]]\nname = \"rack_cover_area\"", question, 1);
    let new = Office::of(Versions {
        rulebook: (2, rules),
        ..Versions::default()
    });
    let mut changed = changed_request();
    changed["job"]["extra"]["cork_tiles"] = json!({"value": "40", "unit": "each"});
    let (causes, from, to) = walk((old, &job("alderwick-closet")), (&new, &changed));
    let told: Vec<_> = causes.steps().iter().map(|step| step.causes.clone()).collect();
    assert_eq!(told, [vec![Cause::Job, Cause::ByHand, Cause::Rulebook]]);
    adds_up(&causes, &from, &to);
}

#[test]
fn a_program_that_computes_otherwise_than_before_is_a_cause() {
    let office = Office::usual();
    let request = job("alderwick-closet");
    let now = office.estimate(&request).unwrap();
    let stored = with_cents(&now, 700);
    let none = Differing {
        job: false,
        by_hand: false,
        rulebook: false,
        prices: false,
        policy: false,
    };
    let causes = Causes::walk(&stored, &now, none, |_| {
        office.estimate(&request).map(Some).map_err(|_| MovedFault::Hours)
    });
    let steps = causes.unwrap();
    assert_eq!(steps.steps().len(), 1);
    assert_eq!(steps.steps()[0].causes, [Cause::Program]);
    assert_eq!(steps.steps()[0].total.moved.minor(), -700);
}

/// The same estimate with its first line, and all sums above it, so many cents dearer.
fn with_cents(estimated: &Estimated, cents: i64) -> Estimated {
    let mut tree = estimated.tree().clone();
    let add = |amount: &mut Value| {
        let money: Money = serde_json::from_value(amount.clone()).unwrap();
        *amount = serde_json::to_value(money.plus(money.currency().minor(cents)).unwrap()).unwrap();
    };
    add(&mut tree["lines"][0]["price"]);
    for total in ["price", "net", "total"] {
        add(&mut tree["totals"][total]);
    }
    Estimated::read(tree).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Whatever the estimates on the way say, or whether there is one, the shares add up to the difference.
    #[test]
    fn the_shares_add_up_whatever_lies_between(
        cents in prop::collection::vec(prop::option::of(-1_000_000_i64..1_000_000), 6),
        end in -1_000_000_i64..1_000_000,
        differs in prop::array::uniform5(any::<bool>()),
    ) {
        let from = plain();
        let to = with_cents(&from, end);
        let [job, by_hand, rulebook, prices, policy] = differs;
        let mut between = cents.into_iter();
        let causes = Causes::walk(&from, &to, Differing { job, by_hand, rulebook, prices, policy }, |_| {
            Ok::<_, MovedFault>(between.next().flatten().map(|cents| with_cents(&from, cents)))
        });
        adds_up(&causes.unwrap(), &from, &to);
    }
}

/// An estimate of lines with few different keys, so that keys meet and are there twice.
fn random_estimate() -> impl Strategy<Value = Estimated> {
    let line = ("[abc]", 0..3_u8, -5_000_i64..50_000, -5_000_i64..50_000);
    prop::collection::vec(line, 0..8).prop_map(|lines| {
        let usd = |cents: i64| json!({"amount": Decimal::new(cents, 2).to_string(), "currency": "USD"});
        let sum = |of: fn(&(String, u8, i64, i64)) -> i64| lines.iter().map(of).sum::<i64>();
        let (cost, price) = (sum(|line| line.2), sum(|line| line.3));
        let tree: Vec<_> = lines
            .iter()
            .map(|(key, feet, cost, price)| {
                let quantity = json!({"value": feet.to_string(), "unit": "ft"});
                json!({
                    "key": key, "kind": "material", "description": "Tube", "quantity": quantity,
                    "cost": usd(*cost), "price": usd(*price),
                })
            })
            .collect();
        Estimated::read(json!({
            "currency": "USD",
            "lines": tree,
            "totals": {
                "cost": usd(cost), "price": usd(price), "discount": usd(0), "net": usd(price), "tax": usd(0),
                "total": usd(price), "hours": {"value": "0", "unit": "h"}, "margin": null,
            },
            "may_be_issued": true,
        }))
        .unwrap()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn moved_lines_add_up_and_turn_round(from in random_estimate(), to in random_estimate()) {
        let forth = Moved::between(&from, &to).unwrap();
        let back = Moved::between(&to, &from).unwrap();
        let sum = |moved: &Moved| moved.lines.iter().map(|line| line.price.moved.minor()).sum::<i64>();
        prop_assert_eq!(sum(&forth), forth.price.moved.minor());
        prop_assert_eq!(sum(&forth), -sum(&back));
        prop_assert_eq!(forth.lines.len(), back.lines.len());
        prop_assert!(Moved::between(&from, &from).unwrap().lines.is_empty());
    }
}

/// The smallest estimate there is.
fn plain() -> Estimated {
    let usd = |amount: &str| json!({"amount": amount, "currency": "USD"});
    Estimated::read(json!({
        "currency": "USD",
        "lines": [{"key": "manual:1", "kind": "fee", "description": "Fee", "cost": usd("60.00"), "price": usd("100.00")}],
        "totals": {
            "cost": usd("60.00"), "price": usd("100.00"), "discount": usd("0.00"), "net": usd("100.00"),
            "tax": usd("5.00"), "total": usd("105.00"), "hours": {"value": "0", "unit": "h"}, "margin": "0.4",
        },
        "may_be_issued": true,
    }))
    .unwrap()
}

#[test]
fn an_estimate_that_does_not_add_up_is_refused() {
    let broken = |pointer: &str, amount: &str| {
        let mut tree = plain().into_tree();
        *tree.pointer_mut(pointer).unwrap() = json!({"amount": amount, "currency": "USD"});
        Estimated::read(tree)
    };
    for (pointer, what) in [
        ("/totals/cost", "cost"),
        ("/totals/price", "price"),
        ("/totals/net", "net"),
        ("/totals/total", "total"),
    ] {
        match broken(pointer, "101.00") {
            Err(EstimateShape::Sum { what: told, .. }) => assert_eq!(told, what),
            other => panic!("{pointer}: {other:?}"),
        }
    }
    let mut euro = plain().into_tree();
    euro["lines"][0]["cost"]["currency"] = json!("EUR");
    assert_eq!(
        Estimated::read(euro),
        Err(EstimateShape::Currencies("USD".to_owned(), "EUR".to_owned()))
    );
    assert!(matches!(
        Estimated::read(json!({})),
        Err(EstimateShape::Unreadable(_))
    ));
}

#[test]
fn a_comparison_names_everything_that_differs() {
    let (old, new) = offices();
    let (request, changed) = (job("alderwick-closet"), changed_request());
    let (from, to) = (old.estimate(&request).unwrap(), new.estimate(&changed).unwrap());
    let by_hand = ["Moving the washing machine.".to_owned()];
    let told = Comparison::between(
        Compared {
            request: &request,
            estimated: &from,
            exclusions: &[],
        },
        Compared {
            request: &changed,
            estimated: &to,
            exclusions: &by_hand,
        },
    )
    .unwrap();
    assert_eq!(told.job.len(), 1);
    assert_eq!(told.job[0].pointer, "/electrical/panel_length");
    assert_eq!(told.job[0].to, Some(json!({"value": "62.5", "unit": "ft"})));
    assert_eq!(told.by_hand.len(), 1);
    assert_eq!(told.by_hand[0].pointer, "/discount");
    assert!(told.sizing.iter().all(|place| !place.pointer.is_empty()) && !told.sizing.is_empty());
    assert_eq!(told.made_from.rulebook.as_ref().unwrap().to["version"], 2);
    assert_eq!(told.made_from.policy.as_ref().unwrap().from["version"], 1);
    assert_eq!(told.made_from.priced_on.as_ref().unwrap().from, "2025-03-10");
    assert_eq!(told.exclusions.added, by_hand);
    let probe = told
        .moved
        .lines
        .iter()
        .find(|line| line.key == "labour:PROBE/probe")
        .unwrap();
    let hours = probe.hours.unwrap();
    assert!(hours.to.unwrap().value > hours.from.unwrap().value);
    let unit = told
        .moved
        .lines
        .iter()
        .find(|line| line.key == "material:EQ-CU-30")
        .unwrap();
    let cost = unit.unit_cost.as_ref().unwrap();
    assert_eq!(cost.from.as_ref().unwrap().amount, "1435.20");
    assert_eq!(cost.to.as_ref().unwrap().amount, "1495.00");
    assert_eq!(unit.quantity, None);
}

#[test]
fn a_side_compared_with_itself_differs_in_nothing() {
    let office = Office::usual();
    let request = job("alderwick-closet");
    let estimated = office.estimate(&request).unwrap();
    let side = Compared {
        request: &request,
        estimated: &estimated,
        exclusions: &[],
    };
    let told = Comparison::between(side, side).unwrap();
    assert!(told.job.is_empty() && told.by_hand.is_empty() && told.sizing.is_empty());
    assert!(told.moved.lines.is_empty() && told.moved.total.moved.is_zero());
    assert_eq!(serde_json::to_value(told.made_from).unwrap(), json!({}));
}

#[test]
fn two_currencies_are_not_compared() {
    let usd = plain();
    let euro = plain().into_tree().to_string().replace("USD", "EUR");
    let euro = Estimated::read(serde_json::from_str(&euro).unwrap()).unwrap();
    let fault = MovedFault::Currencies("USD".to_owned(), "EUR".to_owned());
    assert_eq!(Moved::between(&usd, &euro), Err(fault.clone()));
    let none = Differing {
        job: true,
        by_hand: true,
        rulebook: true,
        prices: true,
        policy: true,
    };
    assert_eq!(Causes::walk(&usd, &euro, none, |_| Ok(None)), Err(fault));
}

#[test]
fn a_mixed_request_has_the_job_of_one_and_the_hand_of_the_other() {
    let one = json!({"job": {"a": 1}, "rulebook": "r", "discount": {"percent": "1"}, "overrides": []});
    let other = json!({"job": {"a": 2}, "manual_lines": [{}]});
    assert_eq!(
        mixed_request(&one, &other),
        json!({"job": {"a": 1}, "rulebook": "r", "manual_lines": [{}]})
    );
    let same = requests_differ(&one, &json!({"job": {"a": 1}, "discount": {"percent": "1"}}));
    assert!(!same.job && !same.by_hand, "an empty list asks for nothing");
}
