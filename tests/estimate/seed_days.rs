//! Days on site follow what the bill has for the crew's lead: nobody works more hours in a day than there are.
//!
//! A day has 7.5 h of work, one of limited or night hours 6 h, beside setting up and cleaning up: common practice, no
//! source.

use rust_decimal::Decimal;
use serde_json::{Value, json};

use crate::demo::{Demo, job_files};

/// What the lead does elsewhere, or on visits of their own, or once a day.
const NOT_IN_THE_DAYS: [&str; 7] = [
    "labour:PREPARE/pick_load",
    "labour:DAILY/set_up",
    "labour:TRAVEL/drive",
    "labour:PERMIT-MECHANICAL/apply_permit",
    "labour:INSPECTION/attend",
    "labour:OLD-CEILING/take_sample",
    "labour:FOLLOW-UP/follow_up",
];

/// The lead's hours on site, the days that the bill has for them, and the hours of a day; none for a job that is refused.
fn lead(demo: &Demo, job: &Value) -> Option<[Decimal; 3]> {
    let request = demo.workbook.read(job).ok()?;
    let prices = demo.prices(&request);
    let estimate = demo.estimate(&request, &prices, false).ok()?;
    let days = estimate.counts.iter().find(|count| count.name == "crew_days")?;
    let told = serde_json::to_value(&estimate).unwrap();
    let work = told["lines"].as_array().unwrap().iter().filter(|line| {
        let elsewhere = NOT_IN_THE_DAYS.iter().any(|key| line["key"] == *key);
        line["labour_class"] == "lead_mechanic" && !elsewhere
    });
    let hours = work.map(|line| {
        line["hours"]["value"]
            .as_str()
            .unwrap()
            .parse::<Decimal>()
            .unwrap()
    });
    let day = match told["job"]["site"]["hours"].as_str() {
        Some("day") => Decimal::new(75, 1),
        _ => Decimal::from(6),
    };
    Some([hours.sum(), days.value, day])
}

/// No day too few and none too many. Hours of a line are rounded to four decimals, those of the rule are not.
fn fits([hours, days, day]: [Decimal; 3]) -> bool {
    let rounding = Decimal::new(5, 3);
    hours <= days * day + rounding && (days == Decimal::ONE || hours > (days - Decimal::ONE) * day - rounding)
}

/// A demonstration job without hours by hand: the days are those of the rules.
fn by_rule(file: &str) -> Value {
    let mut job = Demo::job(file);
    job.as_object_mut().unwrap().shift_remove("overrides");
    job
}

/// What makes work longer, or adds some.
fn changes() -> Vec<(&'static str, Value)> {
    let ft = |feet: &str| json!({"value": feet, "unit": "ft"});
    let degrees = |value: &str| json!({"value": value, "unit": "degF"});
    vec![
        ("/site/ceiling_height", ft("14")),
        ("/site/occupied", json!(true)),
        ("/site/hours", json!("limited")),
        ("/site/hours", json!("night")),
        ("/site/attic_temperature", degrees("118")),
        ("/site/carry_distance", ft("320")),
        ("/site/replaces_old_unit", json!(true)),
        ("/site/ceiling_construction", json!("plaster")),
        ("/site/ceiling_open", json!(true)),
        ("/site/built_year", json!(1950)),
        ("/unit/count", json!(2)),
        ("/unit/count", json!(3)),
        ("/unit/mounting", json!("exposed")),
        ("/unit/mounting", json!("flush")),
        ("/unit/service_access", json!("above")),
        ("/condenser/support", json!("wall")),
        ("/condenser/support", json!("roof")),
        ("/drain/discharge", json!("sink_tail")),
        ("/drain/discharge", json!("condensate_receptor")),
        ("/controller/probe", json!({"wanted": true, "route": ft("30")})),
        ("/humidity", json!({"wanted": true, "supply_length": ft("25")})),
        ("/finishes/trim", json!("frame")),
        ("/finishes/trim", json!("cover")),
        (
            "/line_set/penetrations",
            json!([{"construction": "masonry", "count": 2}, {"construction": "roof"},
                   {"construction": "wood", "count": 3, "fire_rated": true}]),
        ),
        (
            "/line_set/legs",
            json!([{"direction": "rise", "length": ft("22"), "space": "crawl", "bends": 2},
                   {"direction": "level", "length": ft("58"), "space": "attic", "bends": 4}]),
        ),
    ]
}

fn with(job: &Value, (pointer, value): &(&str, Value)) -> Value {
    let mut job = job.clone();
    let (parent, name) = pointer.rsplit_once('/').unwrap();
    if let Some(Value::Object(group)) = job["job"].pointer_mut(parent) {
        group.insert(name.to_owned(), value.clone());
    }
    job
}

#[test]
fn the_lead_works_no_longer_days_than_there_are() {
    let demo = Demo::load();
    let changes = changes();
    let (mut wrong, mut tried) = (Vec::new(), 0);
    for file in job_files() {
        let job = by_rule(&file);
        let plain = lead(&demo, &job).unwrap();
        if !fits(plain) {
            wrong.push(format!("{file}: {plain:?}"));
        }
        for (at, first) in changes.iter().enumerate() {
            let once = with(&job, first);
            // Two at a time, with one of the others: each meets different company on each job.
            let second = &changes[(at + 3 + file.len()) % changes.len()];
            for (job, what) in [(with(&once, second), second.0), (once, "")] {
                let Some(figures) = lead(&demo, &job) else {
                    continue;
                };
                tried += 1;
                if !fits(figures) {
                    wrong.push(format!("{file} {} {what}: {figures:?}", first.0));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(tried > 200, "{tried} variants");
}

/// A new line of work for the lead counts in the days or is named here, so that it is thought of.
#[test]
fn what_does_not_fill_days_is_on_some_bill() {
    let demo = Demo::load();
    let mut left: Vec<&str> = NOT_IN_THE_DAYS.to_vec();
    for file in job_files() {
        let request = demo.read(&Demo::job(&file));
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, false).unwrap();
        left.retain(|key| {
            !estimate
                .priced
                .lines
                .iter()
                .any(|line| line.bill.key.to_string() == *key)
        });
    }
    assert!(left.is_empty(), "{left:?}");
}
