//! Charts of an estimate: all of it is in them, in the reader's language.

use estimate::handoff::charts;
use estimate::handoff::figure::Reader;
use estimate::handoff::measures::Measures;
use estimate::handoff::words::Language;
use estimate::quote::estimated::Estimated;
use estimate::sizing::cellar_load::LoadKind;
use serde_json::{Value, json};

use crate::demo::Demo;
use crate::sweep::Trial;

const ENGLISH: Reader = Reader {
    language: Language::En,
    measures: Measures::Customary,
};

const SPANISH: Reader = Reader {
    language: Language::Es,
    measures: Measures::Customary,
};

fn estimate_of(job: &Value) -> Value {
    let demo = Demo::load();
    let request = demo.read(job);
    let prices = demo.prices(&request);
    serde_json::to_value(demo.estimate(&request, &prices, false).unwrap()).unwrap()
}

/// The texts under the title of a chart, in their order.
fn texts(svg: &str) -> Vec<String> {
    let texts = svg.split("<text").skip(2);
    let words = texts.map(|text| text[text.find('>').unwrap() + 1..text.find("</text>").unwrap()].to_owned());
    words.collect()
}

/// Labels of a bar chart with the figures behind its bars.
fn bars(svg: &str) -> Vec<(String, String)> {
    let texts = texts(svg);
    let pairs = texts.chunks(2).map(|pair| (pair[0].clone(), pair[1].clone()));
    pairs.collect()
}

fn heat(written: &str) -> i64 {
    let digits = written.strip_suffix(" Btu/h").unwrap().replace(',', "");
    digits.parse().unwrap()
}

/// What the sizing report says of the load: the sum of its parts, and the average load.
fn reported(estimate: &Value) -> (i64, i64) {
    let questions = estimate["sizing"]["questions"].as_array().unwrap();
    let load = questions
        .iter()
        .find(|question| question["name"] == "cellar_load");
    let results = load.unwrap()["results"].as_array().unwrap();
    let heat = |result: &Value| result["value"]["value"].as_str().unwrap().parse::<i64>().unwrap();
    let of = |name: &str| {
        results
            .iter()
            .filter(|result| result["name"] == name)
            .map(heat)
            .sum::<i64>()
    };
    (of("through") + of("part"), of("load.average"))
}

#[test]
fn the_bars_of_a_cellar_of_many_faces_add_up_to_its_load() {
    let mut job = Demo::job("alderwick-closet.json");
    let face = |at: usize| {
        json!({"name": format!("wall {at}"), "kind": "wall", "area": {"value": (4 + at).to_string(), "unit": "ft2"},
            "r_value": {"value": "11", "unit": "h*ft2*F_diff/Btu"}, "beyond": {"value": "80", "unit": "degF"}})
    };
    job["job"]["cellar"]["surfaces"] = (0..30).map(face).collect();
    let estimate = estimate_of(&job);
    let (parts, average) = reported(&estimate);
    for (reader, others) in [(ENGLISH, "others"), (SPANISH, "otros")] {
        let bars = bars(&charts::cellar_load(&estimate, reader).unwrap());
        let sum: i64 = bars.iter().map(|(_, written)| heat(written)).sum();
        assert_eq!((bars.len(), sum), (24, parts));
        let (label, _) = bars.last().unwrap();
        assert!(label.ends_with(others), "{label}");
        // Each part is told to a whole Btu/h.
        assert!((parts - average).abs() <= 20, "{parts} and {average}");
    }
}

#[test]
fn every_part_of_a_load_is_named_in_the_language_of_the_paper() {
    let load = crate::sizing_load::with_every_part();
    let parts = load
        .components
        .iter()
        .filter(|part| part.kind != LoadKind::Conduction);
    let names: Vec<&str> = parts.map(|part| part.name.as_str()).collect();
    assert_eq!(names.len(), 7, "{names:?}");
    for name in names {
        assert_ne!(Language::Es.load_part(name), name);
        assert_eq!(Language::En.load_part(name), name);
    }
    // A cellar that was surveyed by its construction has the program's own faces.
    let estimate = estimate_of(&Demo::job("osierby-long-riser.json"));
    let english = bars(&charts::cellar_load(&estimate, ENGLISH).unwrap());
    let spanish = bars(&charts::cellar_load(&estimate, SPANISH).unwrap());
    assert_eq!(english.len(), spanish.len());
    for ((english, _), (spanish, _)) in english.iter().zip(&spanish) {
        assert_ne!(english, spanish);
    }
    for face in ["paredes", "puertas", "acristalamiento", "techo", "suelo"] {
        assert!(
            spanish.iter().any(|(label, _)| label == face),
            "{face}: {spanish:?}"
        );
    }
}

/// The curve of the demonstration's basement over one answer.
fn curve(trial: &Trial, answer: &str, values: &Value, reader: Reader) -> String {
    let sweep = trial.sweep(json!([{"answer": answer, "values": values}]));
    charts::price_curve(&sweep.vary[0], &sweep.points, reader).unwrap()
}

#[test]
fn a_curve_is_told_in_the_words_of_the_form_and_of_its_reader() {
    let trial = Trial::of("pinfold-basement.json");
    let cases = [
        (
            "/unit/class",
            json!(["auto", "c30"]),
            ["Class of unit", "auto", "class 30"],
            ["Clase de unidad", "automática", "clase 30"],
        ),
        (
            "/electrical/connection",
            json!(["hard_wired"]),
            ["Connection", "Hard-wired", "Total with tax, USD"],
            ["Conexión", "Conexión fija", "Total con impuestos, USD"],
        ),
        (
            "/line_set/legs/1/length",
            json!([{"value": "9", "unit": "ft"}, {"value": "10", "unit": "ft"}]),
            ["Length, 2", "9 ft", "10 ft"],
            ["Longitud, 2", "9 ft", "10 ft"],
        ),
    ];
    for (answer, values, english, spanish) in cases {
        for (reader, wanted) in [(ENGLISH, english), (SPANISH, spanish)] {
            let svg = curve(&trial, answer, &values, reader);
            for text in wanted {
                let told =
                    svg.contains(&format!(">{text}</text>")) || svg.contains(&format!(": {text}</text>"));
                assert!(told, "{text} is not in\n{svg}");
            }
        }
    }
}

/// The first and the last value stand under a curve, and none on another.
#[test]
fn the_ends_of_a_curve_have_their_values() {
    let trial = Trial::of("pinfold-basement.json");
    for (count, step) in [(2, 140), (8, 20), (15, 10), (29, 5), (141, 1)] {
        let lengths = (0..count).map(|at| json!({"value": (20 + at * step).to_string(), "unit": "ft"}));
        let svg = curve(&trial, "/electrical/panel_length", &lengths.collect(), ENGLISH);
        let values: Vec<(i64, i64)> = svg
            .split("<text x=\"")
            .filter(|text| text.contains(" ft</text>"))
            .map(|text| {
                let from: i64 = text.split('"').next().unwrap().parse().unwrap();
                let written = text.split(['>', '<']).nth(1).unwrap();
                // No digit of the font is wider than 0.6 of its size, 250.
                (from, from + 150 * written.len() as i64)
            })
            .collect();
        for wanted in [">20 ft<", ">160 ft<"] {
            assert!(svg.contains(wanted), "{count}: {wanted} is not in\n{svg}");
        }
        assert!(
            values.windows(2).all(|pair| pair[0].1 <= pair[1].0 + 250),
            "{count}: {values:?}"
        );
    }
}

#[test]
fn one_price_stands_beside_its_dot() {
    let trial = Trial::of("pinfold-basement.json");
    let lengths = |feet: &[&str]| -> Value {
        feet.iter()
            .map(|feet| json!({"value": feet, "unit": "ft"}))
            .collect()
    };
    for feet in [&["40"][..], &["40", "40.000001"]] {
        let svg = curve(&trial, "/electrical/panel_length", &lengths(feet), ENGLISH);
        let at = |element: &str, name: &str| -> i64 {
            let from = element.find(&format!(" {name}=\"")).unwrap() + name.len() + 3;
            element[from..].split('"').next().unwrap().parse().unwrap()
        };
        let dots: Vec<i64> = svg.split("<circle").skip(1).map(|dot| at(dot, "cy")).collect();
        let amounts = svg
            .split("<text")
            .skip(1)
            .filter(|text| text.contains(".") && !text.contains(" ft<") && text.contains("x=\""));
        let amounts: Vec<i64> = amounts.map(|text| at(text, "y")).collect();
        assert_eq!((dots.len(), amounts.len()), (feet.len(), 1), "{svg}");
        for dot in dots {
            assert!((dot - amounts[0]).abs() <= 100, "{svg}");
        }
    }
}

/// A part of the price that takes away lies on the other side of nothing, as long as one that adds as much.
#[test]
fn a_part_below_nothing_has_its_bar() {
    let estimate = estimate_of(&Demo::job("alderwick-closet.json"));
    let mut tree = estimate;
    let amount = |minor: &str| json!({"amount": minor, "currency": "USD"});
    tree["totals"]["profit"] = amount("-1000.00");
    tree["totals"]["overhead"] = amount("1000.00");
    let estimated = Estimated::read(tree).unwrap();
    let svg = charts::cost_breakdown(&estimated, Language::En).unwrap();
    let at = |element: &str, name: &str| -> i64 {
        let from = element.find(&format!(" {name}=\"")).unwrap() + name.len() + 3;
        element[from..].split('"').next().unwrap().parse().unwrap()
    };
    let of = |name: &str| {
        let rest = &svg[svg.find(&format!(">{name}<")).unwrap()..];
        let bar = &rest[rest.find("<rect").unwrap()..];
        (at(bar, "x"), at(bar, "width"))
    };
    let (loss, gain) = (of("Profit"), of("Overhead"));
    assert!(loss.1 > 0 && (loss.1 - gain.1).abs() <= 1, "{svg}");
    assert!((loss.0 + loss.1 - gain.0).abs() <= 1, "{svg}");
}

#[test]
fn faces_that_the_surveyor_named_keep_their_names() {
    let mut job = Demo::job("alderwick-closet.json");
    job["job"]["cellar"]["surfaces"][0]["name"] = json!("walls");
    let estimate = estimate_of(&job);
    let spanish = bars(&charts::cellar_load(&estimate, SPANISH).unwrap());
    for own in ["walls", "slab", "luces"] {
        assert!(
            spanish.iter().any(|(label, _)| label == own),
            "{own}: {spanish:?}"
        );
    }
}
