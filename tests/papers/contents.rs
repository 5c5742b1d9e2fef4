//! What papers say, to the cent, and what the customer's paper never says.

use std::collections::BTreeSet;

use estimate::handoff::figure;
use estimate::handoff::offer::Offer;
use estimate::quantity::Money;
use serde_json::{Value, json};

use crate::demo::Demo;
use crate::offers::{alternate, draft, issued};
use crate::page::{job_sheet, proposal, text};

const PINFOLD: &str = "pinfold-basement.json";
const DETAILS: [&str; 3] = ["lump_sum", "by_section", "all_lines"];

/// A job with everything in it that is the office's own business.
fn job_with_secrets() -> Value {
    let mut request = Demo::job(PINFOLD);
    request["manual_lines"] = json!([{
        "kind": "fee", "code": "GATE", "description": "Gate key of the estate", "unit_cost": "61.37",
        "quantity": {"value": "1", "unit": "each"}, "cost_code": "FIN", "tax_category": "services",
        "reason": "secretreason: the neighbour was paid in cash"
    }]);
    request["overrides"] = json!([{
        "line": "labour:MOUNT/hang", "hours": {"value": "3.1", "unit": "h"}, "reason": "secretoverride: they are slow"
    }]);
    request["job"]["basis"][0]["note"] = json!("secretnote: measured in the dark");
    request
}

/// Every text of the estimate that a customer must not read, and every amount.
fn secrets(offer: &Offer) -> (BTreeSet<String>, BTreeSet<String>) {
    let tree = offer.estimated.tree();
    let mut texts: BTreeSet<String> = ["secretreason", "secretoverride", "secretnote", "pricing policy"]
        .map(str::to_owned)
        .into();
    let mut amounts = BTreeSet::new();
    let shown = |amount: &Value| figure::grouped(amount["amount"].as_str().unwrap());
    for line in tree["lines"].as_array().unwrap() {
        amounts.insert(shown(&line["cost"]));
        if line["unit_cost"].is_object() {
            amounts.insert(shown(&line["unit_cost"]));
        }
        for pack in line["bought"]["packs"].as_array().into_iter().flatten() {
            amounts.insert(shown(&pack["unit_cost"]));
        }
        if let Some(source) = line["price_source"]["source"].as_str() {
            texts.insert(source.to_owned());
        }
        texts.extend(line["supplier"].as_str().map(str::to_owned));
    }
    for class in tree["labour"].as_array().unwrap() {
        amounts.extend([shown(&class["rate"]), shown(&class["cost"])]);
    }
    for name in [
        "cost",
        "contingency",
        "overhead",
        "full_cost",
        "warranty_reserve",
        "subcontract_markup",
        "profit",
    ] {
        amounts.insert(shown(&tree["totals"][name]));
    }
    for name in ["margin", "profit_margin"] {
        amounts.insert(tree["totals"][name].as_str().unwrap().to_owned());
    }
    (texts, amounts)
}

/// Amounts that the customer is told: a cost may happen to be the same.
fn told(offer: &Offer) -> BTreeSet<String> {
    let tree = offer.estimated.tree();
    let mut amounts: BTreeSet<String> = sections(offer).into_iter().map(figure::money).collect();
    amounts.extend(
        offer
            .estimated
            .figures()
            .lines
            .iter()
            .map(|line| figure::money(line.price)),
    );
    let schedule = tree["payment_schedule"].as_array().unwrap();
    amounts.extend(
        schedule
            .iter()
            .map(|part| figure::grouped(part["amount"]["amount"].as_str().unwrap())),
    );
    let totals = offer.estimated.totals();
    amounts.extend(
        [
            totals.net,
            totals.tax,
            totals.total,
            totals.price,
            totals.discount,
        ]
        .map(figure::money),
    );
    amounts
}

/// Prices of the sections, added up here.
fn sections(offer: &Offer) -> Vec<Money> {
    let figures = offer.estimated.figures();
    let trees = offer.estimated.tree()["lines"].as_array().unwrap();
    let mut sums: Vec<(String, Money)> = Vec::new();
    for (line, tree) in figures.lines.iter().zip(trees) {
        let section = tree["section"].as_str().unwrap_or_default();
        match sums.iter_mut().find(|(known, _)| known == section) {
            Some((_, sum)) => *sum = sum.plus(line.price).unwrap(),
            None => sums.push((section.to_owned(), line.price)),
        }
    }
    sums.into_iter().map(|(_, sum)| sum).collect()
}

fn words(text: &str) -> BTreeSet<&str> {
    text.split_whitespace()
        .map(|word| word.trim_matches([',', ';', '(', ')', ':']))
        .collect()
}

#[test]
fn a_proposal_never_says_what_is_the_offices_own_business() {
    for detail in DETAILS {
        let offer = draft(&job_with_secrets(), json!({"prices": detail}));
        let offer = Offer {
            name: Some("2025-00001-R1".to_owned()),
            ..offer
        };
        let Some(text) = text(&proposal(&offer)) else {
            return;
        };
        let (texts, amounts) = secrets(&offer);
        assert!(
            text.contains("Gate key"),
            "{detail}: the line put in by hand is missing"
        );
        for secret in texts {
            assert!(!text.contains(&secret), "{detail}: {secret} stands in it");
        }
        let (words, told) = (words(&text), told(&offer));
        let leaked: Vec<&String> = amounts
            .difference(&told)
            .filter(|amount| words.contains(amount.as_str()))
            .collect();
        assert_eq!(leaked, Vec::<&String>::new(), "{detail}");
        for word in [
            "margin",
            "overhead",
            "profit",
            "markup",
            "wage",
            "contingency",
            "cost",
        ] {
            assert!(!words.contains(word), "{detail}: it speaks of {word}");
        }
    }
}

#[test]
fn a_proposal_says_the_figures_of_the_estimate_to_the_cent() {
    for (detail, language) in DETAILS.into_iter().zip(["en", "es", "en"]) {
        let mut offer = issued(PINFOLD, json!({"prices": detail, "language": language}));
        offer.alternates = vec![alternate(
            PINFOLD,
            "Fully exposed",
            "/job/unit/mounting",
            json!("exposed"),
        )];
        let Some(text) = text(&proposal(&offer)) else {
            return;
        };
        let words = words(&text);
        let mut wanted = vec![
            offer.estimated.totals().total,
            offer.alternates[0].estimated.totals().total,
        ];
        match detail {
            "by_section" => wanted.extend(sections(&offer)),
            "all_lines" => {
                let sold = offer.estimated.figures().lines.iter();
                wanted.extend(
                    sold.filter(|line| !line.key.starts_with("policy:"))
                        .map(|line| line.price),
                );
            }
            _ => {}
        }
        for amount in wanted {
            let shown = figure::money(amount);
            assert!(words.contains(shown.as_str()), "{detail}: {shown} is not in it");
        }
        let schedule = offer.estimated.tree()["payment_schedule"]
            .as_array()
            .unwrap()
            .clone();
        for part in schedule {
            let shown = figure::grouped(part["amount"]["amount"].as_str().unwrap());
            assert!(
                words.contains(shown.as_str()),
                "{detail}: instalment {shown} is not in it"
            );
        }
    }
}

#[test]
fn a_job_sheet_has_no_price_and_every_task() {
    let offer = draft(&job_with_secrets(), json!({}));
    let Some(text) = text(&job_sheet(&offer)) else {
        return;
    };
    let words = words(&text);
    let shown = |line: &Value| figure::grouped(line["price"]["amount"].as_str().unwrap());
    let tree = offer.estimated.tree();
    for line in tree["lines"].as_array().unwrap() {
        let price = shown(line);
        // Small amounts may be lengths or hours as well.
        assert!(
            price.len() < 6 || !words.contains(price.as_str()),
            "{price} stands in it"
        );
        if line["kind"] == "labour" {
            let first = line["description"]
                .as_str()
                .unwrap()
                .split_whitespace()
                .next()
                .unwrap();
            assert!(text.contains(first), "{first} is missing");
        }
    }
    for wanted in [
        "Commissioning record",
        "Anti-siphon device",
        "Superheat",
        "4.1 oz",
        "As built",
        "1/2",
    ] {
        assert!(text.contains(wanted), "{wanted} is missing");
    }
}

#[test]
fn words_of_a_user_are_never_markup() {
    let nasty = "#panic() *bold* $x$ [x] @ref <label> // /* \\ = `raw` {\"a\": 1} </text>";
    let mut offer = issued(PINFOLD, json!({"wording": {"terms": [nasty]}}));
    offer.customer.name = nasty.to_owned();
    let Some(text) = text(&proposal(&offer)) else {
        return;
    };
    assert!(
        text.matches("#panic() *bold* $x$ [x] @ref <label>").count() >= 2,
        "{text}"
    );
}

#[test]
fn the_same_paper_is_the_same_bytes_also_beside_others() {
    let offer = issued(PINFOLD, json!({}));
    let first = proposal(&offer);
    std::thread::scope(|scope| {
        let printed: Vec<_> = (0..4).map(|_| scope.spawn(|| proposal(&offer))).collect();
        for one in printed {
            assert!(one.join().unwrap() == first, "other bytes");
        }
    });
}

/// ISO 14289-1 and ISO 19005-2 as the metadata claims them; the library refuses to write what breaks them.
#[test]
fn a_paper_is_tagged_and_for_keeping_with_its_fonts_in_it() {
    let offer = issued(PINFOLD, json!({"language": "es"}));
    let pdf = proposal(&offer);
    let file = String::from_utf8_lossy(&pdf);
    for wanted in [
        "<pdfuaid:part>1</pdfuaid:part>",
        "<pdfaid:part>2</pdfaid:part>",
        "<pdfaid:conformance>A</pdfaid:conformance>",
        "/MarkInfo",
    ] {
        assert!(file.contains(wanted), "{wanted} is missing");
    }
}

/// The head of a PNG of 2 by 2 with nothing behind it, and an SVG that ends in its middle: an older program took both into a
/// house style.
#[test]
fn a_logo_that_cannot_be_read_is_left_out_and_told() {
    for (kind, data) in [
        ("image/png", "iVBORw0KGgoAAAANSUhEUgAAAAIAAAACCAYAAABytg0k"),
        (
            "image/svg+xml",
            "PHN2ZyB4bWxucz0iaHR0cDovL3d3dy53My5vcmcvMjAwMC9zdmciPjxyZWN0IHc9",
        ),
    ] {
        let offer = issued(
            PINFOLD,
            json!({"logo": {"media_type": kind, "data": data, "alt": "A gate"}}),
        );
        let paper = estimate::handoff::proposal::proposal(&offer).unwrap();
        let printed = papers::print(&paper).unwrap();
        assert!(printed.logo_left_out.is_some(), "{kind}");
        assert!(
            printed.notes()[0].starts_with("the logo was left out"),
            "{:?}",
            printed.notes()
        );
        assert!(
            printed.bytes == proposal(&issued(PINFOLD, json!({}))),
            "{kind}: other bytes than without a logo"
        );
        let proof = estimate::handoff::proof::proof(&offer.style, &offer.company, offer.date).unwrap();
        assert!(papers::print(&proof).unwrap().logo_left_out.is_some(), "{kind}");
    }
    // A square, drawn whole.
    let data = "PHN2ZyB4bWxucz0iaHR0cDovL3d3dy53My5vcmcvMjAwMC9zdmciIHdpZHRoPSI5IiBoZWlnaHQ9IjkiPjxyZWN0IHdpZHRoPSI5IiBoZWlnaHQ9IjkiLz48L3N2Zz4=";
    let offer = issued(
        PINFOLD,
        json!({"logo": {"media_type": "image/svg+xml", "data": data, "alt": "A square"}}),
    );
    let proof = estimate::handoff::proof::proof(&offer.style, &offer.company, offer.date).unwrap();
    let printed = papers::print(&proof).unwrap();
    assert_eq!(printed.notes(), Vec::<String>::new());
    crate::page::keep("proof.pdf", &printed.bytes);
}

#[test]
fn letters_that_no_font_has_are_named() {
    let mut offer = issued(PINFOLD, json!({}));
    offer.customer.name = "漢字 Müller \u{1f377}".to_owned();
    let printed = papers::print(&estimate::handoff::proposal::proposal(&offer).unwrap()).unwrap();
    let letters: Vec<char> = printed
        .unprintable
        .iter()
        .flat_map(|one| one.letters.clone())
        .collect();
    assert_eq!(letters, ['漢', '字', '\u{1f377}']);
    let unprinted = papers::unprintable(&estimate::handoff::proposal::proposal(&offer).unwrap());
    assert_eq!(unprinted, printed.unprintable);
    let whole = estimate::handoff::unprintable::told(&printed.unprintable);
    assert!(
        whole.contains("漢 U+6F22") && whole.contains("the customer's name") && whole.contains("字 Müller"),
        "{whole}"
    );
    let told = printed.notes().join("");
    assert!(
        told.contains("U+6F22") && told.contains("U+1F377") && !told.contains("U+00FC"),
        "{told}"
    );
}

#[test]
fn what_is_copied_from_a_paper_is_what_was_written() {
    let code = "LW-CU45-7-EXTRALONGPARTNUMBER-0042";
    let offer = crate::offers::bent(draft(&Demo::job(PINFOLD), json!({})), |tree| {
        let lines = tree["lines"].as_array_mut().unwrap();
        let line = lines.iter_mut().find(|line| line["kind"] == "material").unwrap();
        line["code"] = json!(code);
    });
    let Some(text) = text(&job_sheet(&offer)) else {
        return;
    };
    let unseen = |sign: char| matches!(u32::from(sign), 0xad | 0x200b..=0x200f | 0x2060..=0x206f);
    assert!(!text.contains(unseen), "a sign that nobody wrote stands in it");
    assert!(
        text.contains("EQ-CU-45") && text.contains("DR-ANTISIPHON"),
        "{text}"
    );
}

/// Unicode Standard Annex 9, rule P2: the first letter gives a paragraph its direction, so the number that stands before it
/// is read first, at its right.
#[test]
fn a_house_number_stands_where_its_reader_looks_for_it() {
    let mut offer = issued(PINFOLD, json!({}));
    offer.customer.address = vec!["12 רחוב הגפן, כפר".to_owned(), "14 شارع الكرمة".to_owned()];
    let Some(words) = crate::page::words(&proposal(&offer)) else {
        return;
    };
    let left = |wanted: &str| {
        words
            .iter()
            .find(|word| word.text.contains(wanted))
            .map(|word| word.left)
    };
    let number = left("12").unwrap();
    let before = |words: &[crate::page::Word]| -> Vec<f64> {
        let line = words.iter().find(|word| word.text == "12").unwrap();
        let same = words
            .iter()
            .filter(|word| word.page == line.page && (word.top - line.top).abs() < 3.0);
        same.filter(|word| word.text != "12" && word.left > 120.0)
            .map(|word| word.left)
            .collect()
    };
    let others = before(&words);
    assert!(others.len() >= 2, "{others:?}");
    assert!(others.iter().all(|left| *left < number), "{number}: {others:?}");
}
