//! The demonstration company's data: they hold together, are as large as promised, and every job that
//! comes with them runs. Figures of the company are invented; what is checked against the outside says so.

use estimate::catalogue::{Catalogue, Company};
use estimate::examples::Tried;
use estimate::handoff::ledger::LedgerSettings;
use estimate::pricing::policy::Policy;
use estimate::rules::rulebook::ExampleJob;
use rust_decimal::Decimal;
use serde_json::{Value, json};

use crate::demo::{Demo, catalogue, job_files, list, text};

/// The estimate of a request, as it goes out.
fn priced(demo: &Demo, request: &Value) -> Value {
    let request = demo.read(request);
    let prices = demo.prices(&request);
    let estimate = demo.estimate(&request, &prices, false);
    serde_json::to_value(estimate.unwrap_or_else(|fault| panic!("{fault:#?}"))).unwrap()
}

fn line<'v>(estimate: &'v Value, key: &str) -> Option<&'v Value> {
    let mut lines = estimate["lines"].as_array().unwrap().iter();
    lines.find(|line| line["key"] == key)
}

/// What of an item is needed, without waste, in the item's unit.
fn quantity(estimate: &Value, item: &str) -> Option<Decimal> {
    let found = line(estimate, &format!("material:{item}"))?;
    Some(decimal(&found["quantity"]["value"]))
}

fn decimal(value: &Value) -> Decimal {
    value.as_str().unwrap().parse().unwrap()
}

fn length(feet: &str) -> Value {
    json!({"value": feet, "unit": "ft"})
}

#[test]
fn every_pack_has_a_price_on_the_day_of_the_examples() {
    let catalogue = catalogue();
    assert!(
        catalogue.items().len() >= 110,
        "{} items",
        catalogue.items().len()
    );
    for item in catalogue.items() {
        for pack in &item.packs {
            let day = "2025-04-14".parse().unwrap();
            assert!(
                pack.price_on(day).is_some(),
                "{}: a pack of {} has no price",
                item.code,
                pack.size
            );
        }
    }
}

#[test]
fn tax_categories_and_the_named_policy_and_rulebook_exist() {
    let company: Company = toml::from_str(&text("company.toml")).unwrap();
    let policies = list::<Policy>("policy.toml", "policy");
    assert!(policies.iter().any(|policy| policy.id == company.policy));
    assert_eq!(Demo::load().workbook.rulebook().id.as_str(), company.rulebook);
    let catalogue = catalogue();
    for policy in &policies {
        let known = |code: &str| policy.tax.categories.iter().any(|category| category.code == code);
        for item in catalogue.items() {
            assert!(known(&item.tax_category), "{}: {}", item.code, item.tax_category);
        }
        for class in catalogue.labour() {
            assert!(
                known(&class.tax_category),
                "{}: {}",
                class.code,
                class.tax_category
            );
        }
    }
}

#[test]
fn the_ledger_names_what_there_is_and_can_make_out_an_invoice() {
    let ledger: LedgerSettings = toml::from_str(&text("ledger.toml")).unwrap();
    assert_eq!(ledger.faults(), []);
    let catalogue = catalogue();
    for class in ledger.labour_sales.by_name.keys() {
        assert!(catalogue.labour_place(class).is_some(), "{class}");
    }
    for code in ledger.sales.by_name.keys().chain(ledger.cost.by_name.keys()) {
        let known = catalogue.items().iter().any(|item| item.cost_code == *code)
            || text("equipment.toml").contains(&format!("cost_code = \"{code}\""));
        assert!(known, "{code}");
    }
    assert!(ledger.country.is_some() && ledger.tax_registration.is_some());
}

fn loaded(catalogue: &Catalogue, code: &str) -> (Decimal, String, String) {
    let class = &catalogue.labour()[catalogue.labour_place(code).unwrap()];
    let rate = class.rate_on("2025-04-14".parse().unwrap()).unwrap();
    let loaded = rate.loaded().unwrap();
    let (year, hour) = (loaded.cost_a_year, loaded.cost_an_hour);
    (loaded.productive_hours, year.to_string(), hour.to_string())
}

/// The worked loaded rates: wage 34.00 and 21.00, 2,080 hours paid and 1,736 productive. Payroll tax of
/// 7.65 % is statute (26 U.S.C. 3111); the other figures are the example's own. By hand: 92,809.88 / 1,736
/// = 53.46 and 60,591.72 / 1,736 = 34.90.
#[test]
fn the_worked_loaded_rates_come_out_to_the_cent() {
    let catalogue = catalogue();
    let hours = Decimal::from(1736);
    let lead = loaded(&catalogue, "lead_mechanic");
    assert_eq!(lead, (hours, "92809.88".to_owned(), "53.46".to_owned()));
    let apprentice = loaded(&catalogue, "apprentice");
    assert_eq!(apprentice, (hours, "60591.72".to_owned(), "34.90".to_owned()));
}

#[test]
fn the_rulebook_is_clean_and_as_large_as_promised() {
    let demo = Demo::load();
    let warnings = estimate::rules::render(demo.workbook.warnings(), "rulebook.toml", &text("rulebook.toml"));
    assert_eq!(warnings, "");
    let (rulebook, program) = (demo.workbook.rulebook(), demo.workbook.program());
    let at_least = [
        ("assemblies", rulebook.assemblies.len(), 30),
        ("lines", program.line_count(), 80),
        ("formulas", program.formula_count(), 150),
        ("tables", rulebook.tables.len(), 10),
        ("rules for unknown answers", rulebook.unknowns.len(), 12),
        ("subjects of completeness", rulebook.completeness.len(), 10),
        ("exclusions", rulebook.exclusions.len(), 10),
        ("worked examples", rulebook.examples.len(), 10),
        ("extra inputs", rulebook.inputs.len(), 4),
        ("jobs", job_files().len(), 7),
    ];
    for (what, count, least) in at_least {
        assert!(count >= least, "{count} {what}, {least} promised");
    }
}

#[test]
fn the_worked_examples_come_out() {
    let demo = Demo::load();
    let mut wrong = Vec::new();
    for example in &demo.workbook.rulebook().examples {
        let request = match &example.job {
            ExampleJob::File(file) => serde_json::from_str(&text(file)).unwrap(),
            ExampleJob::Request(request) => request.clone(),
        };
        let request = demo.read(&request);
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, true).unwrap();
        let tried = Tried::of(example, &estimate);
        if !tried.fits {
            wrong.push(format!("{}: {:#?}", tried.title, tried.differences()));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The first scheme of the dining room runs its lines too far; every other job may be offered.
#[test]
fn only_the_scheme_with_too_long_lines_is_stopped() {
    let demo = Demo::load();
    for file in job_files() {
        let estimate = priced(&demo, &Demo::job(&file));
        let may = estimate["may_be_issued"].as_bool().unwrap();
        assert_eq!(may, file != "wickerlamp-first-scheme.json", "{file}");
    }
}

/// Physics changes the bill: with the condensing unit on the ground the same lines need no trap, no loop
/// and no second tube size.
#[test]
fn a_long_riser_brings_traps_and_a_smaller_riser() {
    let demo = Demo::load();
    let mut request = Demo::job("osierby-long-riser.json");
    let tall = priced(&demo, &request);
    assert_eq!(quantity(&tall, "TR-12"), Some(Decimal::TWO));
    assert_eq!(quantity(&tall, "TS-12"), Some(Decimal::from(24)));
    assert!(line(&tall, "labour:RISER/traps").is_some());
    request["job"]["line_set"]["legs"][1]["direction"] = json!("level");
    let flat = priced(&demo, &request);
    assert!(line(&flat, "labour:RISER/traps").is_none());
    let tubes = |estimate: &Value| {
        let lines = estimate["lines"].as_array().unwrap().iter();
        lines
            .filter(|line| line["key"].as_str().unwrap().starts_with("material:TS-"))
            .count()
    };
    assert_eq!((tubes(&tall), tubes(&flat)), (3, 2));
}

/// Physics changes the bill: over a lift that the unit's own pump can do no other pump is bought.
#[test]
fn a_weak_pump_is_replaced_and_a_strong_one_is_not() {
    let demo = Demo::load();
    let mut request = Demo::job("thornfold-weak-pump.json");
    let pumps = |estimate: &Value| {
        let of = |item: &str| quantity(estimate, item).unwrap_or_default();
        of("PU-15") + of("PU-25") + of("PU-40")
    };
    let high = priced(&demo, &request);
    assert_eq!(pumps(&high), Decimal::ONE);
    assert_eq!(quantity(&high, "DR-ANTISIPHON"), Some(Decimal::ONE));
    request["job"]["drain"]["legs"][0]["length"] = length("4");
    request["job"]["drain"]["discharge_below_outlet"] = length("-2");
    let low = priced(&demo, &request);
    assert_eq!(pumps(&low), Decimal::ZERO);
    assert_eq!(quantity(&low, "DR-ANTISIPHON"), Some(Decimal::ONE));
}

/// Common practice, no source: 50 ft of control cable come with the unit, so a route of 62 ft buys 12 ft
/// or more and one of 48 ft buys none.
#[test]
fn a_cable_route_buys_what_the_included_cable_lacks() {
    let demo = Demo::load();
    let mut request = Demo::job("osierby-long-riser.json");
    for (route, bought) in [("48", None), ("50", None), ("62", Some("15")), ("72", Some("25"))] {
        request["job"]["controller"]["cable_route"] = length(route);
        let estimate = priced(&demo, &request);
        let cable = line(&estimate, "material:CT-EXT");
        let packs = cable.map(|line| line["bought"]["packs"].clone());
        let size = packs.map(|packs| {
            assert_eq!(packs.as_array().unwrap().len(), 1, "one piece over {route} ft");
            decimal(&packs[0]["size"]["value"])
        });
        assert_eq!(size, bought.map(|size| size.parse().unwrap()), "{route} ft");
    }
}

/// An unknown answer is an assumption, an allowance or a stop, never a silent zero.
#[test]
fn unknown_answers_are_told_and_priced() {
    let demo = Demo::load();
    let mut request = Demo::job("marlcombe-unknowns.json");
    let estimate = priced(&demo, &request);
    assert_eq!(estimate["assumptions"].as_array().unwrap().len(), 14);
    let lines = estimate["lines"].as_array().unwrap();
    let allowances = lines
        .iter()
        .filter(|line| line["key"].as_str().unwrap().starts_with("allowance:"));
    assert_eq!(allowances.count(), 3);
    let unit = request["job"]["unit"].as_object_mut().unwrap();
    unit.remove("framing");
    let basis = request["job"]["basis"].as_array_mut().unwrap();
    basis.push(json!({"answer": "/unit/framing", "known": "unknown"}));
    let stopped = priced(&demo, &request);
    assert_eq!(stopped["may_be_issued"], false);
}
