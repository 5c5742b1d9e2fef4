//! Every kind of page, with what is hard on it: no word stands on another or over the edge.

use estimate::handoff::measures::Measures;
use estimate::handoff::offer::Offer;
use serde_json::{Value, json};

use crate::demo::Demo;
use crate::offers::{alternate, bent, draft, issued, money};
use crate::page::{clashes, job_sheet, keep, proposal, words};

const LETTER: f64 = 612.0;
const A4: f64 = 595.3;
const PINFOLD: &str = "pinfold-basement.json";

fn looks_right(name: &str, pdf: &[u8], width: f64) {
    keep(name, pdf);
    assert!(pdf.starts_with(b"%PDF-"));
    if let Some(words) = words(pdf) {
        assert!(!words.is_empty(), "{name} is empty");
        assert_eq!(clashes(&words, width), Vec::<String>::new(), "{name}");
    }
}

#[test]
fn the_usual_papers() {
    let mut offer = issued(
        PINFOLD,
        json!({"wording": {
            "introduction": ["Thank you for showing us the cellar. This is what we propose."],
            "warranty": ["One year on our work; on the units as their maker warrants them."],
            "terms": ["Work begins when the deposit is in.", "Extra work is agreed in writing before it is done."],
        }}),
    );
    offer.alternates = vec![
        alternate(
            PINFOLD,
            "Fully exposed instead of partly recessed",
            "/job/unit/mounting",
            json!("exposed"),
        ),
        alternate(
            PINFOLD,
            "A cover instead of a frame",
            "/job/finishes/trim",
            json!("cover"),
        ),
    ];
    looks_right("usual.pdf", &proposal(&offer), LETTER);
    looks_right("usual-job-sheet.pdf", &job_sheet(&offer), LETTER);
}

#[test]
fn a4_in_spanish_with_every_line() {
    let style = json!({"paper": "a4", "language": "es", "prices": "all_lines", "accent": "#7a1f1f"});
    let offer = issued("quarrow-metric.json", style);
    looks_right("a4-es.pdf", &proposal(&offer), A4);
    looks_right("a4-es-job-sheet.pdf", &job_sheet(&offer), A4);
}

#[test]
fn every_job_of_the_demonstration() {
    for file in crate::demo::job_files() {
        let offer = issued(&file, json!({"prices": "lump_sum"}));
        let name = file.trim_end_matches(".json");
        looks_right(&format!("job-{name}.pdf"), &proposal(&offer), LETTER);
    }
}

/// In Spanish and on A4, and what is measured as if it had been surveyed in metres.
#[test]
fn every_job_sheet_of_the_demonstration() {
    for file in crate::demo::job_files() {
        let offer = Offer {
            measures: Measures::Metric,
            ..issued(&file, json!({"language": "es", "paper": "a4"}))
        };
        let name = file.trim_end_matches(".json");
        let pdf = job_sheet(&offer);
        looks_right(&format!("sheet-{name}.pdf"), &pdf, A4);
        // The legs of a route are read on one page; the drawing names them before.
        let words = words(&pdf).unwrap_or_default();
        for mark in ["L", "D"] {
            let is_leg = |text: &str| {
                text.strip_prefix(mark)
                    .is_some_and(|rest| rest.parse::<u8>().is_ok())
            };
            let legs = words.iter().filter(|word| is_leg(&word.text) && word.left < 60.0);
            let pages: std::collections::BTreeSet<usize> = legs.map(|word| word.page).collect();
            assert!(pages.len() <= 1, "{file}: {mark} on {pages:?}");
        }
    }
}

/// Each of four units has its column in the record; a draft with a stop says so on both papers.
#[test]
fn four_units_and_a_stop() {
    let mut four = Demo::job("wickerlamp-restaurant.json");
    four["job"]["unit"]["count"] = json!(4);
    let pdf = job_sheet(&draft(&four, json!({})));
    looks_right("four-units-job-sheet.pdf", &pdf, LETTER);
    if let Some(said) = crate::page::text(&pdf) {
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        for wanted in ["unit 4", "each of 4 units"] {
            assert!(said.contains(wanted), "{wanted}: {said}");
        }
    }
    let stopped = draft(&Demo::job("wickerlamp-first-scheme.json"), json!({}));
    for (name, pdf) in [("proposal", proposal(&stopped)), ("sheet", job_sheet(&stopped))] {
        looks_right(&format!("stopped-{name}.pdf"), &pdf, LETTER);
        let first = words(&pdf).unwrap_or_default();
        let top = |wanted: &str| {
            first
                .iter()
                .find(|word| word.page == 1 && word.text.contains(wanted))
        };
        let mark = if name == "proposal" { "settled" } else { "Stop:" };
        assert!(
            first.is_empty() || top(mark).is_some_and(|word| word.top < 396.0),
            "{name}"
        );
    }
}

/// The text beside a logo begins behind it, however it is shaped.
#[test]
fn logos_very_tall_and_very_wide() {
    let picture = |width: u32, height: u32| {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\"><rect width=\"{width}\" \
             height=\"{height}\" fill=\"#456\"/></svg>"
        );
        json!({"media_type": "image/svg+xml", "data": base64(svg.as_bytes()), "alt": "A bar"})
    };
    for (name, width, height) in [("tall", 20, 2000), ("wide", 3000, 30), ("square", 600, 600)] {
        for (paper, edge) in [("letter", LETTER), ("a4", A4)] {
            let mut offer = issued(PINFOLD, json!({"paper": paper, "logo": picture(width, height)}));
            offer.company.name =
                "Tarn-Hestley, Brackwater and Daughters, Cellar Cooling and Joinery".to_owned();
            looks_right(&format!("logo-{name}-{paper}.pdf"), &proposal(&offer), edge);
        }
    }
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    let letters: Vec<char> = ('A'..='Z')
        .chain('a'..='z')
        .chain('0'..='9')
        .chain(['+', '/'])
        .collect();
    let mut out = String::new();
    for three in bytes.chunks(3) {
        let of = |at: usize| u32::from(three.get(at).copied().unwrap_or(0));
        let bits = of(0) << 16 | of(1) << 8 | of(2);
        for at in 0..4 {
            out.push(if at > three.len() {
                '='
            } else {
                letters[(bits >> (18 - 6 * at) & 63) as usize]
            });
        }
    }
    out
}

#[test]
fn a_change_order_and_alternates_of_a_draft() {
    let before = Demo::job(PINFOLD);
    let mut now = before.clone();
    now["job"]["line_set"]["legs"][0]["length"] = json!({"value": "31", "unit": "ft"});
    now["job"]["finishes"]["trim"] = json!("cover");
    for (name, prices) in [
        ("lines", "all_lines"),
        ("sections", "by_section"),
        ("sum", "lump_sum"),
    ] {
        let offer = estimate::handoff::offer::Offer {
            name: Some("2025-00042-C1-R1".to_owned()),
            change: Some(estimate::handoff::offer::Changed {
                title: "A longer way for the lines".to_owned(),
                before: crate::offers::estimated(&before),
            }),
            ..draft(&now, json!({"prices": prices}))
        };
        looks_right(&format!("change-{name}.pdf"), &proposal(&offer), LETTER);
    }
}

/// A line of the bill that is as long and as dear as one may be.
fn long_line(number: usize, price: &str) -> Value {
    json!({
        "key": format!("material:LONG-{number}"), "kind": "material", "section": "A section whose name goes on for longer than anyone would write it on purpose",
        "assembly": "LONG", "assembly_title": "An assembly with a title that is nearly as long as the name of its section",
        "description": "Unbreakablewordofanitemthatisverylongindeedandhasnospaceinit and then some more words behind it",
        "code": "LONG", "quantity": {"value": "123456.75", "unit": "ft"}, "cost": money("0.00"), "price": money(price),
    })
}

#[test]
fn two_hundred_lines_and_ten_digit_prices() {
    let offer = bent(issued(PINFOLD, json!({"prices": "all_lines"})), |tree| {
        tree["lines"] = (0..200).map(|number| long_line(number, "12345678.90")).collect();
        let sum = money("2469135780.00");
        for name in ["price", "net", "total"] {
            tree["totals"][name] = sum.clone();
        }
        tree["totals"]["cost"] = money("0.00");
    });
    let pdf = proposal(&offer);
    looks_right("many-lines.pdf", &pdf, LETTER);
    // The title of a section is not the last of a page: its first line stands below it.
    if let Some(words) = words(&pdf) {
        let page = |text: &str| words.iter().find(|word| word.text == text).unwrap().page;
        assert_eq!(page("2,469,135,780.00"), page("12,345,678.90"));
    }
    looks_right("many-lines-job-sheet.pdf", &job_sheet(&offer), LETTER);
}

#[test]
fn no_lines_and_long_names_in_three_scripts() {
    let mut offer = bent(issued(PINFOLD, json!({})), |tree| {
        tree["lines"] = json!([]);
        for name in ["price", "net", "total", "cost", "tax"] {
            tree["totals"][name] = money("0.00");
        }
        tree["payment_schedule"] = json!([]);
        tree["job"]["title"] = json!("Ünïcödé ".repeat(24).trim_end());
    });
    offer.customer.name = "משפחת כהן־לוי עם שם ארוך מאוד שאינו נגמר בשורה אחת ועוד קצת".to_owned();
    offer.customer.address = vec![
        "12 רחוב הגפן, דירה 3".to_owned(),
        "عائلة الأندلسي، شارع طويل جدا رقم ١٢".to_owned(),
        "شارعطويل".repeat(25),
        "Señora Núñez-Ibáñez".repeat(8),
    ];
    offer.site.name = "漢字 and other letters that no font here has".to_owned();
    let pdf = proposal(&offer);
    looks_right("scripts.pdf", &pdf, LETTER);
    if let Some(words) = words(&pdf) {
        let heads = words.iter().any(|word| word.text == "Description");
        assert!(!heads, "a table of prices without a row");
    }
    looks_right("scripts-job-sheet.pdf", &job_sheet(&offer), LETTER);
}

/// Each line put in by hand is a work of its own: two hundred of them in one sentence are not read by anybody.
#[test]
fn two_hundred_lines_by_hand_are_a_list() {
    for prices in ["by_section", "lump_sum"] {
        let offer = bent(issued(PINFOLD, json!({"prices": prices})), |tree| {
            let line = |number: usize| {
                let mut line = long_line(number, "10.00");
                line["key"] = json!(format!("manual:{number}"));
                line["description"] = json!(format!("Hand line {number}."));
                line["section"] = Value::Null;
                line["assembly_title"] = Value::Null;
                line
            };
            tree["lines"] = (0..200).map(line).collect();
            for name in ["price", "net", "total"] {
                tree["totals"][name] = money("2000.00");
            }
            tree["totals"]["cost"] = money("0.00");
        });
        let pdf = proposal(&offer);
        looks_right(&format!("by-hand-{prices}.pdf"), &pdf, LETTER);
        if let Some(words) = words(&pdf) {
            let begins = words
                .iter()
                .filter(|word| word.text == "Hand")
                .map(|word| word.left as i64);
            let begins: Vec<i64> = begins.collect();
            assert_eq!(begins.len(), 200);
            assert!(
                begins.iter().all(|left| *left == begins[0]),
                "they do not stand under one another: {begins:?}"
            );
        }
    }
}

/// The lines of an alternate from right to left stand as close to one another as those of its neighbour.
#[test]
fn an_alternate_from_right_to_left_has_no_blank_line() {
    let titled = |title: &str, note: &str| {
        let plain = alternate(PINFOLD, title, "/job/finishes/trim", json!("cover"));
        estimate::handoff::offer::Alternative {
            note: Some(note.to_owned()),
            ..plain
        }
    };
    let mut offer = issued(PINFOLD, json!({}));
    offer.alternates = vec![
        titled("Coverone", "Covertwo"),
        titled("כיסוי Coverthree", "הצבע Coverfour"),
    ];
    let pdf = proposal(&offer);
    looks_right("alternate-rtl.pdf", &pdf, LETTER);
    let Some(words) = words(&pdf) else { return };
    let top = |wanted: &str| {
        words
            .iter()
            .find(|word| word.text.contains(wanted))
            .map(|word| word.bottom)
            .unwrap()
    };
    let latin = top("Covertwo") - top("Coverone");
    let hebrew = top("Coverfour") - top("Coverthree");
    assert!((latin - hebrew).abs() < 3.0, "{latin} and {hebrew}");
}

#[test]
fn routes_very_long_and_very_short() {
    let feet = |value: &str| json!({"value": value, "unit": "ft"});
    let leg = |direction: &str, length: &str| json!({"direction": direction, "length": feet(length), "space": "open", "bends": 1});
    let mut short = Demo::job(PINFOLD);
    short["job"]["line_set"]["legs"] = json!([leg("level", "0.5")]);
    short["job"]["drain"] = json!({"legs": [leg("drop", "0.25")], "discharge": "floor_drain"});
    looks_right("short.pdf", &proposal(&draft(&short, json!({}))), LETTER);
    let mut long = Demo::job(PINFOLD);
    let legs = ["level", "rise", "level", "drop", "level", "rise"].repeat(3);
    long["job"]["line_set"]["legs"] = legs.iter().map(|direction| leg(direction, "9.5")).collect();
    long["job"]["drain"]["legs"] = json!([
        leg("rise", "3"),
        leg("level", "90"),
        leg("drop", "2"),
        leg("level", "1"),
        leg("drop", "1")
    ]);
    long["job"]["drain"]
        .as_object_mut()
        .unwrap()
        .remove("discharge_below_outlet");
    looks_right("long.pdf", &proposal(&draft(&long, json!({}))), LETTER);
}
