//! Every line of every job says whose word its price is and leads from cost to price, figure by figure.

use estimate::quantity::Decimal;
use serde_json::{Value, json};

use crate::demo::{Demo, job_files};

/// The demonstration's jobs, and one in which figures of every kind are put in by hand.
fn requests() -> Vec<(String, Value)> {
    let mut requests: Vec<(String, Value)> = job_files()
        .into_iter()
        .map(|file| (file.clone(), Demo::job(&file)))
        .collect();
    let mut by_hand = Demo::job("pinfold-basement.json");
    by_hand["manual_lines"] = json!([
        {"kind": "material", "description": "Owner's shelf", "quantity": {"value": "3", "unit": "each"},
         "unit_cost": "-12.345678", "cost_code": "FIN", "tax_category": "goods", "reason": "taken back"},
        {"kind": "labour", "description": "Move a rack", "hours": {"value": "1.1", "unit": "h"},
         "labour_class": "apprentice", "cost_code": "LAB", "tax_category": "services", "reason": "in the way"},
        {"kind": "subcontract", "description": "Crane", "quantity": {"value": "2", "unit": "h"},
         "unit_cost": "95", "cost_code": "SUB", "tax_category": "services", "reason": "no stairs"},
    ]);
    by_hand["overrides"] = json!([
        {"line": "material:TS-12", "unit_cost": "1.9", "reason": "offer by telephone"},
        {"line": "material:FX-ROD", "quantity": {"value": "0", "unit": "ft"}, "reason": "from stock"},
        {"line": "labour:MOBILISE/protect", "unit_cost": "41", "reason": "overtime"},
        {"line": "labour:DAILY/set_up", "hours": {"value": "2", "unit": "h"}, "reason": "short days"},
        {"line": "policy:freight", "unit_cost": "99.5", "reason": "own van"},
        {"line": "fee:TRAVEL/3", "price": {"amount": "1.00", "currency": "USD"}, "reason": "a courtesy"},
    ]);
    by_hand["discount"] = json!({"percent": "3"});
    requests.push(("by hand".to_owned(), by_hand));
    requests
}

fn with_every_estimate(mut check: impl FnMut(&str, &Value)) {
    let demo = Demo::load();
    for (name, request) in requests() {
        let request = demo.read(&request);
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, true);
        let estimate = estimate.unwrap_or_else(|fault| panic!("{name}: {fault}"));
        check(&name, &serde_json::to_value(&estimate).unwrap());
    }
}

fn lines(estimate: &Value) -> impl Iterator<Item = &Value> {
    estimate["lines"].as_array().unwrap().iter()
}

fn decimal(value: &Value) -> Decimal {
    let text = value.as_str().unwrap_or_else(|| panic!("{value} is no figure"));
    text.parse().unwrap()
}

/// A figure of an explanation, which has a unit, or an amount of the estimate, which has a currency.
fn figure(value: &Value) -> Decimal {
    decimal(value.get("value").unwrap_or(&value["amount"]))
}

fn step(formula: &Value, text: &str) -> Decimal {
    let steps = formula["steps"].as_array().unwrap();
    let step = steps.iter().find(|step| step["text"] == text);
    figure(&step.unwrap_or_else(|| panic!("no {text} in {formula}"))["value"])
}

fn cents(exact: Decimal) -> Decimal {
    use rust_decimal::RoundingStrategy::MidpointAwayFromZero;
    exact.round_dp_with_strategy(2, MidpointAwayFromZero)
}

/// A share is within a cent of its exact part.
fn is_share(given: Decimal, exact: Decimal) -> bool {
    (given - exact).abs() < Decimal::new(1, 2)
}

#[test]
fn every_line_tells_whose_word_its_price_is_and_since_when() {
    with_every_estimate(|name, estimate| {
        for line in lines(estimate) {
            let (key, source) = (line["key"].as_str().unwrap(), &line["price_source"]);
            let said = source["source"]
                .as_str()
                .unwrap_or_else(|| panic!("{name} {key}"));
            let since = source["valid_from"].as_str().unwrap();
            assert!(source["age_days"].as_i64().unwrap() >= 0, "{name} {key}");
            let replaced = line["replaced"].as_array().map_or(&[][..], Vec::as_slice);
            let by_hand = replaced.iter().find(|figure| figure["figure"] == "unit_cost");
            let (kind, number) = key.split_once(':').unwrap();
            match (kind, by_hand) {
                (_, Some(figure)) => {
                    assert_eq!(said, format!("by hand: {}", figure["reason"].as_str().unwrap()))
                }
                ("manual", None) if line["kind"] != "labour" => {
                    assert_eq!(said, format!("by hand: {}", line["reason"].as_str().unwrap()));
                }
                ("policy", None) => {
                    assert!(
                        said.starts_with("policy ") && said.contains(" version 1, "),
                        "{name} {key}: {said}"
                    );
                    assert_eq!(since, "2025-01-03");
                }
                ("subcontract" | "fee", None) if line.get("bought").is_none() => {
                    let (assembly, number) = number.split_once('/').unwrap();
                    let place = format!("assembly {assembly}, line {number}");
                    assert_eq!(said, format!("rulebook hollowmoor-standard version 1, {place}"));
                    assert_eq!(since, "2025-01-02");
                }
                ("allowance", None) => assert!(said.ends_with(&format!("unknown {number}")), "{said}"),
                _ => assert!(!said.is_empty(), "{name} {key}"),
            }
        }
    });
}

#[test]
fn the_formulas_of_a_line_lead_to_its_cost_and_its_price() {
    with_every_estimate(|name, estimate| {
        let totals = &estimate["totals"];
        for line in lines(estimate) {
            let told = format!("{name} {}", line["key"]);
            let formulas = line["explanation"].as_array().unwrap_or_else(|| panic!("{told}"));
            let mut packs = Decimal::ZERO;
            let mut cost = None;
            let mut price = None;
            for formula in formulas {
                let result = &formula["result"];
                for step in formula["steps"].as_array().unwrap() {
                    let [start, end] = ["start", "end"].map(|of| step[of].as_u64().unwrap() as usize);
                    assert_eq!(
                        &formula["formula"].as_str().unwrap()[start..end],
                        step["text"],
                        "{told}"
                    );
                }
                match formula["place"].as_str().unwrap() {
                    pack if pack.starts_with("packs, ") => {
                        let exact = step(formula, "packs") * step(formula, "cost of a pack");
                        assert_eq!(figure(result), exact, "{told}");
                        packs += exact;
                    }
                    class if class.starts_with("labour class ") => {
                        let hours = step(formula, "hours of the class, as they are rounded");
                        assert_eq!(
                            figure(result),
                            cents(hours * step(formula, "cost of an hour")),
                            "{told}"
                        );
                    }
                    "line, cost" => {
                        cost = Some(figure(result));
                        match line.get("labour_class") {
                            Some(_) => {
                                let class = step(formula, "cost of the class");
                                let exact = class * step(formula, "hours of the line")
                                    / step(formula, "hours of all its lines");
                                assert!(is_share(figure(result), exact), "{told}");
                            }
                            None if line.get("bought").is_some() => {
                                assert_eq!(figure(result), cents(packs), "{told}");
                            }
                            None if line.get("quantity").is_some() => {
                                let exact = step(formula, "quantity") * step(formula, "cost of one");
                                assert_eq!(figure(result), cents(exact), "{told}");
                            }
                            None => assert_eq!(figure(result), cents(step(formula, "amount")), "{told}"),
                        }
                    }
                    "line, share of the price" | "line, price"
                        if formula["formula"]
                            .as_str()
                            .unwrap()
                            .starts_with("price by full cost") =>
                    {
                        let exact = step(formula, "price by full cost") * step(formula, "cost of the line")
                            / step(formula, "direct cost");
                        assert_eq!(step(formula, "direct cost"), figure(&totals["cost"]), "{told}");
                        assert!(is_share(figure(result), exact), "{told}");
                        price = Some(figure(result));
                    }
                    "line, price with markup" | "line, price" => match formula["formula"].as_str().unwrap() {
                        "the price that was put in by hand" => price = Some(figure(result)),
                        _ => {
                            let sum = step(formula, "share of the price")
                                + step(formula, "share of the markup on subcontracts");
                            assert_eq!(
                                (price, sum),
                                (Some(step(formula, "share of the price")), figure(result))
                            );
                            price = Some(sum);
                        }
                    },
                    _ => {}
                }
            }
            assert_eq!(cost, Some(figure(&line["cost"])), "{told}");
            assert_eq!(price, Some(figure(&line["price"])), "{told}");
            assert_eq!(formulas.last().unwrap()["place"], "line, price", "{told}");
        }
    });
}

#[test]
fn the_total_of_the_job_is_explained_from_its_price() {
    with_every_estimate(|name, estimate| {
        let totals = &estimate["totals"];
        let all = estimate["explanation"].as_array().unwrap();
        let find = |figure: &str| {
            let place = format!("job, {figure}");
            all.iter().find(|formula| formula["place"] == place.as_str())
        };
        let of = |figure: &str| find(figure).unwrap_or_else(|| panic!("{name}: {figure}"));
        let total = |member: &str| figure(&totals[member]);
        let part =
            |whole: &Value, of: &str| cents(step(whole, of) * step(whole, "percent") / Decimal::ONE_HUNDRED);
        let price = |name: &str| {
            let named = of("price")["steps"]
                .as_array()
                .unwrap()
                .iter()
                .any(|step| step["text"] == name);
            if named {
                step(of("price"), name)
            } else {
                Decimal::ZERO
            }
        };
        let reserve = of("warranty reserve");
        assert_eq!(
            part(reserve, "price by full cost"),
            total("warranty_reserve"),
            "{name}"
        );
        if !total("subcontract_markup").is_zero() {
            let markup = of("markup on subcontracts");
            let subcontracts = lines(estimate).filter(|line| line["kind"] == "subcontract");
            let cost: Decimal = subcontracts.map(|line| figure(&line["cost"])).sum();
            assert_eq!(step(markup, "cost of subcontracts"), cost, "{name}");
            assert_eq!(
                part(markup, "cost of subcontracts"),
                total("subcontract_markup"),
                "{name}"
            );
        }
        let sum = price("price by full cost")
            + price("markup on subcontracts")
            + price("what prices by hand change");
        assert_eq!(
            (sum, figure(&of("price")["result"])),
            (total("price"), total("price")),
            "{name}"
        );
        if !total("discount").is_zero() {
            assert_eq!(part(of("discount"), "price"), total("discount"), "{name}");
        }
        let net = of("net");
        assert_eq!(step(net, "price") - step(net, "discount"), total("net"), "{name}");
        for tax in totals["taxes"].as_array().unwrap() {
            let told = of(&format!("tax, category {}", tax["category"].as_str().unwrap()));
            assert_eq!(
                part(told, "net of the category"),
                figure(&tax["amount"]),
                "{name}"
            );
        }
        let whole = of("total");
        assert_eq!(step(whole, "net") + step(whole, "tax"), total("total"), "{name}");
        let profit = of("profit");
        let left = step(profit, "net") - step(profit, "full cost") - step(profit, "warranty reserve");
        assert_eq!(
            (left, figure(&profit["result"])),
            (total("profit"), total("profit")),
            "{name}"
        );
    });
}

#[test]
fn the_price_of_the_job_is_explained_from_direct_cost() {
    with_every_estimate(|name, estimate| {
        let totals = &estimate["totals"];
        let of = |figure: &str| {
            let formulas = estimate["explanation"].as_array().unwrap().iter();
            let place = format!("job, {figure}");
            let mut found = formulas.filter(|formula| formula["place"] == place.as_str());
            found.next().unwrap_or_else(|| panic!("{name}: {figure}"))
        };
        for (place, total) in [
            ("contingency", "contingency"),
            ("overhead", "overhead"),
            ("full cost", "full_cost"),
        ] {
            assert_eq!(figure(&of(place)["result"]), figure(&totals[total]), "{name}");
        }
        let price = of("price by full cost");
        let hundred = Decimal::ONE_HUNDRED;
        let reserve = step(price, "warranty reserve") / hundred;
        let full = step(price, "full cost");
        let exact = match price["formula"].as_str().unwrap().contains("margin") {
            true => full / (Decimal::ONE - step(price, "margin") / hundred - reserve),
            false => full * (Decimal::ONE + step(price, "markup") / hundred) / (Decimal::ONE - reserve),
        };
        assert_eq!(figure(&price["result"]), cents(exact), "{name}");
        let computed = figure(&totals["price"]) - figure(&totals["price_changes"]);
        assert_eq!(
            cents(exact),
            computed - figure(&totals["subcontract_markup"]),
            "{name}"
        );
    });
}
