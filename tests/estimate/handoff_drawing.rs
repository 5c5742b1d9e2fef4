//! The elevation: to scale, with labels that stand on nothing, whatever the routes.

use std::sync::LazyLock;

use estimate::handoff::drawing::labels::Label;
use estimate::handoff::drawing::plane::{Area, Point};
use estimate::handoff::drawing::{Drawing, draw};
use estimate::handoff::figure::Reader;
use estimate::handoff::measures::Measures;
use estimate::handoff::words::Language;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::demo::Demo;

fn estimate_of(job: &str) -> Value {
    let demo = Demo::load();
    let request = demo.read(&Demo::job(job));
    let prices = demo.prices(&request);
    serde_json::to_value(demo.estimate(&request, &prices, false).unwrap()).unwrap()
}

fn drawn(
    estimate: &Value,
    language: Language,
) -> Result<Drawing, estimate::handoff::paper_fault::PaperFault> {
    let measures = Measures::Customary;
    draw(estimate, Reader { language, measures })
}

static PINFOLD: LazyLock<Value> = LazyLock::new(|| estimate_of("pinfold-basement.json"));

fn leg(direction: &str, feet: &str) -> Value {
    json!({"direction": direction, "length": {"value": feet, "unit": "ft"}, "space": "open", "bends": 0})
}

#[derive(Debug)]
struct Text {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    words: String,
}

fn attribute(element: &str, name: &str) -> Option<f64> {
    let from = element.find(&format!(" {name}=\""))? + name.len() + 3;
    let rest = &element[from..];
    rest[..rest.find('"')?].trim_end_matches("mm").parse().ok()
}

/// Every text with the room that its letters take: two fifths of their height each, under what the font's letters and digits
/// come to on average.
fn texts(svg: &str) -> Vec<Text> {
    let elements = svg.split("<text").skip(1);
    let read = |element: &str| {
        let words = &element[element.find('>').unwrap() + 1..element.find("</text>").unwrap()];
        let (left, base) = (attribute(element, "x").unwrap(), attribute(element, "y").unwrap());
        let letters = words
            .replace("&lt;", "<")
            .replace("&gt;", ">")
            .replace("&amp;", "&")
            .chars()
            .count();
        Text {
            left,
            right: left + letters as f64 * 100.0,
            top: base - 180.0,
            bottom: base,
            words: words.to_owned(),
        }
    };
    elements.map(read).collect()
}

fn clashes(svg: &str) -> Vec<String> {
    let texts = texts(svg);
    let height = attribute(svg, "height").unwrap() * 100.0;
    let mut found = Vec::new();
    for (at, one) in texts.iter().enumerate() {
        if one.left < 0.0 || one.right > 17_200.0 || one.top < 0.0 || one.bottom > height {
            found.push(format!("{one:?} is off the sheet"));
        }
        for other in &texts[at + 1..] {
            let meets = one.left < other.right
                && other.left < one.right
                && one.top < other.bottom
                && other.top < one.bottom;
            if meets {
                found.push(format!("{} on {}", one.words, other.words));
            }
        }
    }
    found
}

fn scale(svg: &str) -> f64 {
    let from = svg.find(" 1:").unwrap() + 3;
    svg[from..][..svg[from..].find('<').unwrap()].parse().unwrap()
}

#[test]
fn the_line_set_is_to_scale() {
    let mut estimate = PINFOLD.clone();
    for (feet, legs) in [
        (22.0, json!([leg("level", "22")])),
        (0.5, json!([leg("level", "0.5")])),
        (180.0, json!([leg("level", "180")])),
    ] {
        estimate["job"]["line_set"]["legs"] = legs;
        let svg = drawn(&estimate, Language::En).unwrap().svg;
        // The thickest stroke is the line set; the first of it is the drawing's, the other its name's.
        let line = svg
            .lines()
            .find(|line| line.contains("stroke-width=\"60\""))
            .unwrap();
        let points = line.split('"').nth(1).unwrap();
        let x: Vec<f64> = points
            .split(' ')
            .map(|point| point.split(',').next().unwrap().parse().unwrap())
            .collect();
        // 304.8 mm to the foot; hundredths of a mm on paper.
        let wanted = feet * 304.8 * 100.0 / scale(&svg);
        let drawn = x.last().unwrap() - x.first().unwrap();
        assert!(
            (drawn - wanted).abs() <= 2.0,
            "{feet} ft: {drawn}, wanted {wanted}"
        );
        assert_eq!(clashes(&svg), Vec::<String>::new(), "{feet} ft");
    }
}

#[test]
fn every_job_of_the_demonstration_is_drawn_the_same_each_time() {
    for file in crate::demo::job_files() {
        let estimate = estimate_of(&file);
        for language in Language::ALL {
            let drawing = drawn(&estimate, language).unwrap();
            assert_eq!(drawing, drawn(&estimate, language).unwrap());
            assert_eq!(clashes(&drawing.svg), Vec::<String>::new(), "{file}");
            let words = language.words();
            for wanted in [
                words.ceiling_unit,
                words.condensing_unit,
                words.controller,
                words.discharge,
                words.cellar,
            ] {
                let mut labels = drawing.labels.iter().map(text_of);
                assert!(
                    labels.any(|label| label.contains(wanted)),
                    "{file}: {wanted} is missing"
                );
            }
        }
        let needed = estimate["sizing"]["questions"]
            .as_array()
            .unwrap()
            .iter()
            .any(|question| {
                question["results"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .any(|result| result["name"] == "drain.antisiphon_needed" && result["value"] == true)
            });
        let svg = drawn(&estimate, Language::En).unwrap().svg;
        assert_eq!(svg.contains("Anti-siphon device"), needed, "{file}");
    }
}

#[test]
fn a_cellar_of_which_only_the_volume_is_known_is_drawn() {
    let mut estimate = PINFOLD.clone();
    for side in ["length", "width", "height"] {
        estimate["job"]["cellar"].as_object_mut().unwrap().remove(side);
    }
    estimate["job"]["cellar"]["volume"] = json!({"value": "918", "unit": "ft3"});
    let svg = drawn(&estimate, Language::En).unwrap().svg;
    assert!(svg.contains("Cellar 918 ft³"), "{svg}");
}

/// How far two rectangles are apart, by the distance of their sides.
fn apart(one: &Area, other: &Area) -> f64 {
    let gap = |from: i64, to: i64| (from - to).max(0) as f64;
    let x = gap(one.left, other.right).max(gap(other.left, one.right));
    let y = gap(one.top, other.bottom).max(gap(other.top, one.bottom));
    x.hypot(y)
}

/// Whether a line goes through a rectangle: looked at in a thousand places.
fn goes_through((from, to): (Point, Point), area: &Area) -> bool {
    (0..=1_000).any(|step| {
        let at = |from: i64, to: i64| from as f64 + (to - from) as f64 * f64::from(step) / 1_000.0;
        let (x, y) = (at(from.x, to.x), at(from.y, to.y));
        let inside =
            |value: f64, least: i64, most: i64| value > least as f64 + 1.0 && value < most as f64 - 1.0;
        inside(x, area.left, area.right) && inside(y, area.top, area.bottom)
    })
}

fn touches(area: &Area, point: Point) -> bool {
    (area.left..=area.right).contains(&point.x) && (area.top..=area.bottom).contains(&point.y)
}

/// Whether two lines cross: the ends of each lie on both sides of the other.
fn lines_cross(one: (Point, Point), other: (Point, Point)) -> bool {
    let side = |(from, to): (Point, Point), at: Point| {
        ((to.x - from.x) * (at.y - from.y) - (to.y - from.y) * (at.x - from.x)) as f64
    };
    side(one, other.0) * side(one, other.1) < 0.0 && side(other, one.0) * side(other, one.1) < 0.0
}

fn text_of(label: &Label) -> String {
    label.lines.join(" ")
}

/// What is wrong with a label: it stands nearer to something else than to what it names, and no leader joins the two; or its
/// leader goes through another label or crosses another's leader.
fn strays(drawing: &Drawing) -> Vec<String> {
    let wrong = |at: usize, label: &Label| {
        let others = || {
            drawing
                .labels
                .iter()
                .enumerate()
                .filter(move |(other, _)| *other != at)
        };
        match label.leader {
            None => others()
                .find(|(_, other)| apart(&label.area, &other.of) <= apart(&label.area, &label.of))
                .map(|(_, other)| format!("{} is nearer to that of {}", text_of(label), text_of(other))),
            Some(leader) if !touches(&label.area, leader.0) || !touches(&label.of, leader.1) => {
                Some(format!("the leader of {} joins nothing", text_of(label)))
            }
            Some(leader) => others()
                .find(|(_, other)| {
                    let crossed = other.leader.is_some_and(|theirs| lines_cross(leader, theirs));
                    goes_through(leader, &other.area) || crossed
                })
                .map(|(_, other)| format!("the leader of {} crosses {}", text_of(label), text_of(other))),
        }
    };
    let labels = drawing.labels.iter().enumerate();
    labels.filter_map(|(at, label)| wrong(at, label)).collect()
}

/// The strokes of the picture: routes and the walls of the cellar.
fn strokes(svg: &str) -> Vec<(Point, Point)> {
    let mut found = Vec::new();
    for line in svg.lines() {
        if line.starts_with("<polyline") && !line.contains("stroke-width=\"12\"") {
            let points = line.split('"').nth(1).unwrap().split(' ').map(|point| {
                let (x, y) = point.split_once(',').unwrap();
                Point {
                    x: x.parse().unwrap(),
                    y: y.parse().unwrap(),
                }
            });
            let points: Vec<Point> = points.collect();
            found.extend(points.windows(2).map(|pair| (pair[0], pair[1])));
        }
        if line.starts_with("<rect") && line.contains("stroke-width=\"35\"") {
            let at = |name: &str| attribute(line, name).unwrap() as i64;
            let (left, top) = (at("x"), at("y"));
            let (right, bottom) = (left + at("width"), top + at("height"));
            let corner = |x, y| Point { x, y };
            found.extend([
                (corner(left, top), corner(right, top)),
                (corner(left, bottom), corner(right, bottom)),
                (corner(left, top), corner(left, bottom)),
                (corner(right, top), corner(right, bottom)),
            ]);
        }
    }
    found
}

/// Leaders of texts of which more than two millimetres lie in a stroke, or more than half.
fn hidden(drawing: &Drawing) -> Vec<String> {
    let strokes = strokes(&drawing.svg);
    let in_stroke = |(from, to): (Point, Point), stroke: &(Point, Point)| {
        let length = ((to.x - from.x) as f64).hypot((to.y - from.y) as f64);
        let room = Area::between(stroke.0, stroke.1, 45);
        let at = |step: i64| Point {
            x: from.x + (to.x - from.x) * step / 200,
            y: from.y + (to.y - from.y) * step / 200,
        };
        let inside = (0..200).filter(|step| touches(&room, at(*step))).count() as f64 / 200.0;
        inside * length > 200.0 || (inside > 0.5 && length > 200.0)
    };
    let texts = drawing
        .labels
        .iter()
        .filter(|label| text_of(label).parse::<usize>().is_err());
    let leaders = texts.filter_map(|label| Some((label, label.leader?)));
    let lost = leaders.filter(|(_, leader)| strokes.iter().any(|stroke| in_stroke(*leader, stroke)));
    lost.map(|(label, _)| format!("the leader of {} runs in a stroke", text_of(label)))
        .collect()
}

/// A riser of 40 ft and a drain whose first leg lies beside the line of the ceiling.
#[test]
fn a_leader_does_not_hide_in_the_line_of_the_ceiling() {
    let mut estimate = estimate_of("osierby-long-riser.json");
    estimate["job"]["line_set"]["legs"][1]["length"] = json!({"value": "40", "unit": "ft"});
    for language in Language::ALL {
        assert_eq!(hidden(&drawn(&estimate, language).unwrap()), Vec::<String>::new());
    }
}

/// The labels that are told are those of the picture.
fn shown(drawing: &Drawing) {
    let texts = texts(&drawing.svg);
    for label in &drawing.labels {
        for line in &label.lines {
            let there = texts.iter().any(|text| {
                let (x, y) = (text.left as i64, text.bottom as i64);
                text.words == *line && touches(&label.area, Point { x, y })
            });
            assert!(there, "{line} is not where it is said to be");
        }
    }
}

#[test]
fn every_label_of_the_demonstration_is_plainly_of_one_thing() {
    for file in crate::demo::job_files() {
        let estimate = estimate_of(&file);
        for language in Language::ALL {
            for measures in [Measures::Customary, Measures::Metric] {
                let drawing = draw(&estimate, Reader { language, measures }).unwrap();
                assert_eq!(strays(&drawing), Vec::<String>::new(), "{file}");
                assert_eq!(hidden(&drawing), Vec::<String>::new(), "{file}");
                shown(&drawing);
            }
        }
    }
}

/// Routes very long and very short, each as directions and lengths: line set, drain.
const ROUTES: [(&str, &str); 12] = [
    ("level 140, rise 9, level 15", "rise 7, level 24, drop 4"),
    ("level 22, rise 9, level 140", "rise 7, level 24, drop 4"),
    ("level 140, rise 9, level 15", "rise 7, level 124, drop 4"),
    ("level 5, rise 60, level 4", "drop 3, level 10"),
    ("level 2, drop 45, level 90", "drop 0.5, level 6"),
    ("level 0.5", "drop 0.25"),
    ("level 1, rise 1", "level 1, drop 1"),
    ("rise 0.5, level 0.5", "rise 0.5, level 0.5, drop 0.3"),
    ("rise 0.1", "drop 0.1"),
    ("level 1", "rise 16, level 60, drop 1"),
    ("rise 1, level 90, drop 1", "level 0.3, drop 12"),
    ("level 600, rise 40", "drop 1, level 300"),
];

fn route(told: &str) -> Value {
    let legs = told.split(", ").map(|told| told.split_once(' ').unwrap());
    legs.map(|(direction, feet)| leg(direction, feet)).collect()
}

#[test]
fn every_label_of_very_long_and_very_short_routes_is_plainly_of_one_thing() {
    let mut keys = 0;
    for (line_set, drain) in ROUTES {
        let mut estimate = PINFOLD.clone();
        estimate["job"]["line_set"]["legs"] = route(line_set);
        estimate["job"]["drain"]["legs"] = route(drain);
        for language in Language::ALL {
            for measures in [Measures::Customary, Measures::Metric] {
                let drawing = draw(&estimate, Reader { language, measures }).unwrap();
                assert_eq!(strays(&drawing), Vec::<String>::new(), "{line_set} and {drain}");
                assert_eq!(hidden(&drawing), Vec::<String>::new(), "{line_set} and {drain}");
                assert_eq!(
                    clashes(&drawing.svg),
                    Vec::<String>::new(),
                    "{line_set} and {drain}"
                );
                shown(&drawing);
                keys += usize::from(text_of(&drawing.labels[0]) == "1");
            }
        }
    }
    // Texts are read with less trouble than a key.
    assert!(keys < ROUTES.len(), "{keys} of them are numbers with a key");
}

#[test]
fn many_legs_are_numbers_with_a_key_under_them() {
    let mut estimate = PINFOLD.clone();
    let short = |at: usize| leg(["level", "rise", "level", "drop"][at % 4], "0.7");
    estimate["job"]["line_set"]["legs"] = (0..16).map(short).collect();
    let drawing = drawn(&estimate, Language::En).unwrap();
    assert_eq!(strays(&drawing), Vec::<String>::new());
    assert!(
        drawing
            .labels
            .iter()
            .all(|label| text_of(label).parse::<usize>().is_ok())
    );
    let texts = texts(&drawing.svg);
    for wanted in ["Ceiling unit", "L1 0.7 ft", "L16 0.7 ft down"] {
        assert!(
            texts.iter().any(|text| text.words == wanted),
            "{wanted} is not in the key"
        );
    }
    assert_eq!(clashes(&drawing.svg), Vec::<String>::new());
}

/// 3 m are 9.8425 ft: 1 ft is 0.3048 m (NIST SP 811, appendix B).
#[test]
fn a_reader_of_metres_reads_no_feet() {
    let estimate = estimate_of("quarrow-metric.json");
    let measures = Measures::of(&Demo::job("quarrow-metric.json"));
    assert_eq!(measures, Measures::Metric);
    for language in Language::ALL {
        let drawing = draw(&estimate, Reader { language, measures }).unwrap();
        for text in texts(&drawing.svg) {
            assert!(
                !text.words.contains(" ft") && !text.words.contains(" in"),
                "{}",
                text.words
            );
        }
        assert!(drawing.svg.contains("L1 6.5 m"), "{}", drawing.svg);
        assert!(!drawing.alt.contains(" ft"), "{}", drawing.alt);
    }
    assert_eq!(
        Measures::of(&Demo::job("pinfold-basement.json")),
        Measures::Customary
    );
}

proptest! {
    #[test]
    fn labels_stand_on_nothing_whatever_the_routes(
        line_set in proptest::collection::vec((0..3usize, 1..2_000u32), 1..16),
        drain in proptest::collection::vec((0..3usize, 1..2_000u32), 1..8),
    ) {
        let legs = |list: &[(usize, u32)]| -> Value {
            let leg = |(direction, length): &(usize, u32)| leg(["level", "rise", "drop"][*direction], &format!("{}.{:02}", length / 100, length % 100));
            list.iter().map(leg).collect()
        };
        let mut estimate = PINFOLD.clone();
        estimate["job"]["line_set"]["legs"] = legs(&line_set);
        estimate["job"]["drain"]["legs"] = legs(&drain);
        let drawing = drawn(&estimate, Language::Es).unwrap();
        prop_assert_eq!(clashes(&drawing.svg), Vec::<String>::new());
        prop_assert_eq!(strays(&drawing), Vec::<String>::new());
        prop_assert_eq!(hidden(&drawing), Vec::<String>::new());
    }
}
