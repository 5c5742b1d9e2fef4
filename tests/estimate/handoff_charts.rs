//! Charts of an estimate: all of it is in them, in the reader's language.

use estimate::handoff::charts;
use estimate::handoff::figure::Reader;
use estimate::handoff::measures::Measures;
use estimate::handoff::words::Language;
use serde_json::{Value, json};

use crate::demo::Demo;

const ENGLISH: Reader = Reader {
    language: Language::En,
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
    for (language, others) in [(Language::En, "others"), (Language::Es, "otros")] {
        let bars = bars(&charts::cellar_load(&estimate, Reader { language, ..ENGLISH }).unwrap());
        let sum: i64 = bars.iter().map(|(_, written)| heat(written)).sum();
        assert_eq!((bars.len(), sum), (24, parts));
        let (label, _) = bars.last().unwrap();
        assert!(label.ends_with(others), "{label}");
        // Each part is told to a whole Btu/h.
        assert!((parts - average).abs() <= 20, "{parts} and {average}");
    }
}
