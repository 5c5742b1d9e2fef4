//! What is told of a job's answers is what matters on it: as usual answers, and in the form as conditions of extra inputs.

use estimate::estimate::{facts, sized};
use estimate::job::Request;
use estimate::job::form::Shape;
use estimate::quantity::{Decimal, Quantity};
use serde_json::{Value, json};

use crate::demo::{Demo, job_files};

/// Puts an answer into a job; groups on the way are made.
fn put(job: &mut Value, pointer: &str, value: Value) {
    let mut at = job;
    for token in pointer.split('/').skip(1) {
        at = match token.parse::<usize>() {
            Ok(index) => &mut at[index],
            Err(_) => &mut at[token],
        };
    }
    *at = value;
}

/// Other answers to a question: all words, both flags, figures over the whole of its bounds.
fn others(demo: &Demo, answer: &str) -> Vec<Value> {
    let between = |min: Decimal, max: Decimal| {
        let shares = ["0", "0.01", "0.05", "0.2", "0.5", "0.8", "1"];
        shares.map(|share| min + (max - min) * share.parse::<Decimal>().unwrap())
    };
    match demo.workbook.form().answer(answer) {
        Some(Shape::Choice(words)) => words.iter().map(|word| json!(word)).collect(),
        Some(Shape::Flag) => vec![json!(true), json!(false)],
        Some(Shape::Count { min, max }) => {
            let all = [0, 1, 2, 3, 10, 40, 1950, 2020].into_iter();
            all.filter(|count| (min..=max).contains(&count))
                .map(Value::from)
                .collect()
        }
        Some(Shape::Number { min, max, .. }) => {
            let all = between(*min, *max);
            all.map(|figure| json!(figure.round_dp(2).to_string())).to_vec()
        }
        Some(Shape::Measure { unit, min, max }) => {
            let all = between(*min, *max);
            all.map(|figure| json!({"value": figure.round_dp(2).to_string(), "unit": unit.symbol()}))
                .to_vec()
        }
        _ => Vec::new(),
    }
}

/// Another answer in the place of one that is told as usual makes another offer.
#[test]
fn what_is_told_as_usual_moves_something() {
    let demo = Demo::load();
    let (mut idle, mut told) = (Vec::new(), 0);
    for file in job_files() {
        let job = Demo::job(&file);
        let request = demo.read(&job);
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, false).unwrap();
        let before = demo.offered(&job).unwrap();
        for one in &estimate.usual_answers {
            let mut others = others(&demo, &one.answer).into_iter().peekable();
            if others.peek().is_none() {
                continue;
            }
            told += 1;
            let moves = |other: Value| {
                let mut request = job.clone();
                put(&mut request["job"], &one.answer, other);
                demo.offered(&request).is_some_and(|after| after != before)
            };
            if !others.any(moves) {
                idle.push(format!("{file} {}", one.answer));
            }
        }
    }
    assert!(idle.is_empty(), "{}", idle.join("\n"));
    assert!(told > 100, "{told}");
}

/// What a form on a screen does with `x-matters`, with the answers as understood; nothing while one of them is not known.
fn shown(all: &[Value], job: &Value) -> Option<bool> {
    let tests: Option<Vec<bool>> = all.iter().map(|test| holds(test, job)).collect();
    tests.map(|tests| tests.into_iter().all(|holds| holds))
}

fn holds(test: &Value, job: &Value) -> Option<bool> {
    let answer = job.pointer(test["when"].as_str().unwrap())?;
    if let Some(words) = test.get("is") {
        return Some(words.as_array().unwrap().contains(answer));
    }
    let members = test.as_object().unwrap();
    let (how, bound) = members.iter().find(|(name, _)| *name != "when").unwrap();
    let (answer, bound) = match bound {
        Value::String(digits) => (answer.to_string().parse().unwrap(), digits.parse().unwrap()),
        bound => {
            let read = |value: &Value| -> Quantity { serde_json::from_value(value.clone()).unwrap() };
            let (answer, bound) = (read(answer), read(bound));
            (
                answer.value,
                bound.unit.convert(bound.value, &answer.unit).unwrap(),
            )
        }
    };
    let (answer, bound): (Decimal, Decimal) = (answer, bound);
    Some(match how.as_str() {
        "equal" => answer == bound,
        "not_equal" => answer != bound,
        "under" => answer < bound,
        "at_most" => answer <= bound,
        "over" => answer > bound,
        "at_least" => answer >= bound,
        other => panic!("{other}"),
    })
}

/// Whether the rulebook says that an answer is needed on a job.
fn needed(demo: &Demo, request: &Request, answer: &str) -> bool {
    let sized = sized(request, &demo.workbook, &demo.catalogue).unwrap();
    let facts = facts(&request.job.spec, &sized.sizing, &demo.catalogue);
    let spared = demo.workbook.program().not_needed(&facts, &[answer]).unwrap();
    spared.is_empty()
}

/// The form says as much as the rulebook's conditions do, on every job and on those with another answer to what they ask.
#[test]
fn the_form_says_on_which_jobs_an_extra_input_matters() {
    let demo = Demo::load();
    let schema = demo.workbook.form().request_schema();
    let inputs = schema["$defs"]["job"]["properties"]["extra"]["properties"]
        .as_object()
        .unwrap();
    let conditions = inputs
        .iter()
        .filter_map(|(name, input)| Some((name, input.get("x-matters")?)));
    let (mut seen, mut both) = (0, [0, 0]);
    for (name, matters) in conditions {
        assert!(!matters["formula"].as_str().unwrap().is_empty(), "{name}");
        let all = matters["all"]
            .as_array()
            .unwrap_or_else(|| panic!("{name}: {matters}"));
        seen += 1;
        for file in job_files() {
            let job = Demo::job(&file);
            let asked = all.iter().map(|test| test["when"].as_str().unwrap());
            let mut jobs = vec![job.clone()];
            for answer in asked {
                jobs.extend(others(&demo, answer).into_iter().map(|other| {
                    let mut job = job.clone();
                    put(&mut job["job"], answer, other);
                    job
                }));
            }
            for job in jobs {
                let Ok(request) = demo.workbook.read(&job) else {
                    continue;
                };
                let needed = needed(&demo, &request, &format!("/extra/{name}"));
                let Some(shown) = shown(all, &request.job.tree) else {
                    continue;
                };
                assert_eq!(shown, needed, "{file} {name} {matters}");
                both[usize::from(needed)] += 1;
            }
        }
    }
    assert_eq!(seen, 4);
    assert!(both.iter().all(|count| *count > 10), "{both:?}");
    let of = |name: &str| &inputs[name]["x-matters"];
    assert_eq!(
        of("parking_cost")["all"],
        json!([{"when": "/site/parking", "is": ["paid"]}])
    );
    assert_eq!(
        of("ceiling_sample"),
        &json!({"formula": "suspect_ceiling", "all": [
            {"when": "/site/built_year", "under": "1981"}, {"when": "/site/ceiling_open", "is": [false]},
            {"when": "/site/ceiling_construction", "is": ["drywall", "plaster", "tile", "wood"]}]})
    );
    assert_eq!(inputs["crane_hours"].get("x-matters"), None);
}

/// Conditions of another rulebook's extra input as the form tells them.
fn told(demo: &Demo, when: &str) -> Value {
    let rules = crate::demo::text("rulebook.toml");
    let changed = rules.replacen("when = \"site.parking = paid\"", &format!("when = '{when}'"), 1);
    let tax: Vec<&str> = demo.policies[0]
        .tax_categories()
        .iter()
        .map(String::as_str)
        .collect();
    let workbook = estimate::workbook::Workbook::compile(&changed, 1, &demo.catalogue, &tax).unwrap();
    let schema = workbook.form().schema();
    let told = &schema["properties"]["extra"]["properties"]["parking_cost"]["x-matters"];
    assert_eq!(told["formula"], when);
    told.get("all").cloned().unwrap_or_default()
}

#[test]
fn a_condition_is_told_by_answers_where_it_asks_for_no_more() {
    let demo = Demo::load();
    for (when, all) in [
        (
            "not site.occupied and site.distance >= 30 km",
            json!([{"when": "/site/occupied", "is": [false]},
                   {"when": "/site/distance", "at_least": {"value": "30", "unit": "km"}}]),
        ),
        (
            "not (site.storeys > 2 each or site.parking = paid)",
            json!([{"when": "/site/storeys", "at_most": "2"},
                   {"when": "/site/parking", "is": ["on_site", "street"]}]),
        ),
        (
            "90 degF > condenser.design_temperature or site.occupied",
            Value::Null,
        ),
        (
            "95 degF < condenser.design_temperature",
            json!([{"when": "/condenser/design_temperature",
                   "over": {"value": "95", "unit": "degF"}}]),
        ),
        // What is worked out, is no answer as it stands, or need not be answered, is left to the formula.
        ("drain.pumped", Value::Null),
        ("unit.count > 1 each", Value::Null),
        ("line_set.length > 30 ft", Value::Null),
        ("cellar.humidity > 70 %", Value::Null),
        ("condenser.winter_temperature < 20 degF", Value::Null),
        ("site.parking = paid and line_set.bends > 3 each", Value::Null),
        (
            "input.crane_hours > 0 h",
            json!([{"when": "/extra/crane_hours", "over": {"value": "0", "unit": "h"}}]),
        ),
    ] {
        assert_eq!(told(&demo, when), all, "{when}");
    }
}
