//! Alternates: single differences, the combined job, clashes.

use estimate::quantity::Money;
use estimate::quote::alternates::{AlternateFault, Choice, PricedAlternate, choose, price_alternates};
use estimate::quote::draft::Draft;
use estimate::quote::estimated::Estimated;
use estimate::quote::moved::LineFate;
use serde_json::{Value, json};

use crate::quote_office::{Office, job};

/// An offer with alternates of every kind; `conduit` and `owner` set the same answers.
fn offer(office: &Office) -> (Draft, Estimated, Vec<PricedAlternate>) {
    let alternate = |name: &str, change: Value| json!({"name": name, "title": name, "change": change});
    let shelf = json!({
        "kind": "material", "description": "Oak shelf", "quantity": {"value": "1.5", "unit": "m"},
        "unit_cost": "80.00", "cost_code": "FIN", "tax_category": "goods", "reason": "asked for on site",
    });
    let draft = office.draft(&json!({
        "request": job("alderwick-closet"),
        "alternates": [
            alternate("conduit", json!({"job": {"electrical": {"method": "conduit"}}})),
            alternate("no-probe", json!({"job": {"controller": {"probe": {"wanted": false, "route": null}}}})),
            alternate("cover", json!({"extra": {"labour_cover_years": {"value": "4", "unit": "each"}}})),
            alternate("shelf", json!({"manual_lines": [shelf]})),
            alternate("owner", json!({"job": {"electrical": {"by": "owner", "method": "cable"}}})),
            alternate("long-run", json!({"job": {"electrical": {"panel_length": {"value": "75", "unit": "ft"}}}})),
        ],
    }));
    let base = office.estimate(&draft.request).unwrap();
    let priced = price_alternates(&draft.request, &base, &draft.alternates, |r| office.estimate(r)).unwrap();
    (draft, base, priced)
}

fn chosen(office: &Office, names: &[&str]) -> Choice {
    let (draft, base, priced) = offer(office);
    let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
    choose(&draft.request, &base, &priced, &names, |r| office.estimate(r)).unwrap()
}

#[test]
fn each_alternate_says_what_it_moves() {
    let office = Office::usual();
    let (_, base, priced) = offer(office);
    for alternate in &priced {
        let (moved, own) = (&alternate.moved, alternate.estimated.totals());
        assert_eq!(moved.total.from, base.totals().total);
        assert_eq!(moved.total.to, own.total);
        assert_eq!(moved.total.from.plus(moved.total.moved).unwrap(), own.total);
        assert_eq!(
            moved.hours.moved.value,
            own.hours.value - base.totals().hours.value
        );
        assert!(!moved.lines.is_empty(), "{}", alternate.alternate.name);
    }
    let keys = |name: &str, fate| {
        let found = priced
            .iter()
            .find(|priced| priced.alternate.name == name)
            .unwrap();
        let lines = found.moved.lines.iter().filter(|line| line.fate == fate);
        lines.map(|line| line.key.clone()).collect::<Vec<_>>()
    };
    assert!(keys("no-probe", LineFate::Removed).contains(&"labour:PROBE/probe".to_owned()));
    assert_eq!(keys("shelf", LineFate::Added), ["manual:1"]);
    assert!(keys("conduit", LineFate::Removed).contains(&"labour:CIRCUIT-CABLE/circuit".to_owned()));
    assert!(keys("cover", LineFate::Changed).contains(&"fee:LABOUR-COVER/1".to_owned()));
}

#[test]
fn the_prices_moved_in_the_lines_add_up_to_the_price_moved() {
    let office = Office::usual();
    for alternate in offer(office).2 {
        let moved = &alternate.moved;
        let currency = moved.price.moved.currency();
        let sum = |of: fn(&estimate::quote::moved::MovedLine) -> Money| {
            Money::sum(currency, moved.lines.iter().map(of)).unwrap()
        };
        assert_eq!(sum(|line| line.price.moved), moved.price.moved);
        assert_eq!(sum(|line| line.cost.moved), moved.cost.moved);
    }
}

#[test]
fn a_choice_is_one_job_and_not_a_sum() {
    let office = Office::usual();
    let choice = chosen(office, &["long-run", "conduit"]);
    // The order is that of the offer, whatever the customer's.
    assert_eq!(choice.chosen, ["conduit", "long-run"]);
    assert_eq!(choice.request["job"]["electrical"]["method"], "conduit");
    assert_eq!(choice.request["job"]["electrical"]["panel_length"]["value"], "75");
    assert_eq!(choice.estimated, office.estimate(&choice.request).unwrap());
    // Thirty more feet of conduit cost more than thirty more feet of cable: the sum would be wrong.
    assert!(choice.beyond.total.moved.minor() != 0 && !choice.beyond.is_nothing());
    let (_, base, priced) = offer(office);
    let singles = priced
        .iter()
        .filter(|priced| choice.chosen.contains(&priced.alternate.name));
    let sum = singles.fold(base.totals().total, |sum, priced| {
        sum.plus(priced.moved.total.moved).unwrap()
    });
    assert_eq!(choice.beyond.total.from, sum);
    assert_eq!(choice.beyond.total.to, choice.estimated.totals().total);
    assert!(choice.clashes.is_empty());
}

#[test]
fn no_choice_is_the_base_job_and_one_choice_is_its_own_estimate() {
    let office = Office::usual();
    let (draft, base, priced) = offer(office);
    let none = chosen(office, &[]);
    assert_eq!((none.estimated, &none.request), (base, &draft.request));
    assert!(none.beyond.is_nothing() && none.moved.lines.is_empty());
    let one = chosen(office, &["cover"]);
    assert_eq!(one.estimated, priced[2].estimated);
    assert!(one.beyond.is_nothing());
}

#[test]
fn alternates_that_set_the_same_place_are_told_and_the_later_wins() {
    let office = Office::usual();
    let choice = chosen(office, &["conduit", "owner", "shelf"]);
    assert_eq!(choice.clashes.len(), 1);
    let clash = &choice.clashes[0];
    assert_eq!((clash.first.as_str(), clash.then.as_str()), ("conduit", "owner"));
    assert_eq!(clash.places, ["/job/electrical/method"]);
    assert_eq!(choice.request["job"]["electrical"]["method"], "cable");
}

#[test]
fn an_unknown_name_a_name_twice_and_a_job_without_a_price_are_refused() {
    let office = Office::usual();
    let (draft, base, priced) = offer(office);
    let ask = |names: &[&str]| {
        let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
        choose(&draft.request, &base, &priced, &names, |_| Err("no".to_owned()))
    };
    assert_eq!(
        ask(&["attic"]).unwrap_err(),
        AlternateFault::Unknown("attic".to_owned())
    );
    assert_eq!(
        ask(&["shelf", "shelf"]).unwrap_err(),
        AlternateFault::Twice("shelf".to_owned())
    );
    assert_eq!(
        ask(&["shelf"]).unwrap_err(),
        AlternateFault::Combined("no".to_owned())
    );
    let fault =
        price_alternates(&draft.request, &base, &draft.alternates, |_| Err("no".to_owned())).unwrap_err();
    assert_eq!(fault.to_string(), "alternate conduit: no");
}
