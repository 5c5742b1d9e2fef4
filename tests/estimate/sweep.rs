//! One or two answers varied: each point is what the job costs by itself, and breaks are where something jumps.

use super::demo::Demo;
use estimate::catalogue::prices::PriceBook;
use estimate::job::Faults;
use estimate::sweep::{Ask, Break, Outcome, Sweep, SweepInputs, What, sweep};
use serde_json::{Value, json};
use std::collections::BTreeSet;

pub(super) fn ft(value: &str) -> Value {
    json!({"value": value, "unit": "ft"})
}

pub(super) struct Trial {
    demo: Demo,
    request: Value,
    prices: PriceBook,
}

impl Trial {
    pub(super) fn of(job: &str) -> Self {
        let demo = Demo::load();
        let request = Demo::job(job);
        let prices = demo.prices(&demo.read(&request));
        Self {
            demo,
            request,
            prices,
        }
    }

    fn ask(&self, vary: Value) -> Result<Ask, Faults> {
        let body = json!({"request": self.request, "vary": vary});
        Ask::read(self.demo.workbook.form(), &body)
    }

    pub(super) fn sweep(&self, vary: Value) -> Sweep<'_> {
        let ask = self.ask(vary).unwrap_or_else(|faults| panic!("{faults}"));
        self.run(&ask).unwrap_or_else(|faults| panic!("{faults}"))
    }

    fn run(&self, ask: &Ask) -> Result<Sweep<'_>, Faults> {
        let policy = self.demo.policy(&self.demo.read(&self.request));
        let inputs = SweepInputs {
            workbook: &self.demo.workbook,
            catalogue: &self.demo.catalogue,
            prices: &self.prices,
            policy,
            policy_version: 1,
        };
        sweep(ask, inputs)
    }

    /// The estimate with one answer exchanged, as it is made by itself.
    pub(super) fn alone(&self, answer: &str, value: Value) -> Value {
        let mut request = self.request.clone();
        *request["job"].pointer_mut(answer).unwrap() = value;
        let request = self.demo.read(&request);
        let estimate = self.demo.estimate(&request, &self.prices, false).unwrap();
        serde_json::to_value(&estimate).unwrap()
    }
}

/// What a sweep is asked to find, taken from an estimate's JSON by another way than the sweep takes.
fn steps_of(estimate: &Value) -> BTreeSet<String> {
    let mut steps = BTreeSet::new();
    for line in estimate["lines"].as_array().unwrap() {
        steps.insert(format!("{} {}", line["key"], line["bought"]["packs"]));
        // Hours by the clock of what is done every day, and on every day of brazing.
        let key = line["key"].as_str().unwrap();
        if key.ends_with("/set_up") || key.ends_with("/fire_watch") {
            steps.insert(format!("{key} {}", line["clock_hours"]["value"]));
        }
    }
    for name in [
        "unit.class",
        "unit.count",
        "wiring.conductor",
        "wiring.ground",
        "wiring.breaker",
    ] {
        let questions = estimate["sizing"]["questions"].as_array().unwrap();
        let results = questions
            .iter()
            .flat_map(|question| question["results"].as_array().unwrap());
        let result = results
            .filter(|result| result["name"] == name)
            .map(|result| &result["value"]);
        steps.insert(format!("{name} {:?}", result.collect::<Vec<_>>()));
    }
    for caution in estimate["cautions"].as_array().unwrap() {
        if caution["level"] == "stop" {
            steps.insert(caution["code"].to_string());
        }
    }
    steps
}

const PANEL: &str = "/electrical/panel_length";

#[test]
fn each_point_is_what_the_job_costs_by_itself() {
    let trial = Trial::of("pinfold-basement.json");
    let made = trial.sweep(json!([{"answer": PANEL, "from": ft("10"), "to": ft("170"), "step": ft("40")}]));
    assert_eq!(made.points.len(), 5);
    for (point, feet) in made.points.iter().zip(["10", "50", "90", "130", "170"]) {
        assert_eq!(point.at, [ft(feet)]);
        let alone = trial.alone(PANEL, ft(feet));
        let told = serde_json::to_value(point).unwrap();
        for name in ["net", "total", "cost", "hours"] {
            assert_eq!(told[name], alone["totals"][name], "{feet} {name}");
        }
        assert_eq!(told["unit"]["class"], alone["sizing"]["equipment"]["class"]);
        assert_eq!(told["may_be_issued"], alone["may_be_issued"]);
    }
}

/// The breaks that are found by halving are those that walking foot by foot finds.
fn breaks_are_those_of_a_walk(
    trial: &Trial,
    answer: &str,
    feet: std::ops::RangeInclusive<u32>,
    step: &str,
) -> usize {
    let (first, last) = (feet.start().to_string(), feet.end().to_string());
    let made = trial.sweep(json!([
        {"answer": answer, "from": ft(&first), "to": ft(&last), "step": ft(step), "resolution": ft("1")}
    ]));
    let mut walked = Vec::new();
    let mut before: Option<BTreeSet<String>> = None;
    for feet in feet {
        let now = steps_of(&trial.alone(answer, ft(&feet.to_string())));
        if before.is_some_and(|before| before != now) {
            walked.push((ft(&(feet - 1).to_string()), ft(&feet.to_string())));
        }
        before = Some(now);
    }
    let ends = |found: &Break| (found.from.clone(), found.to.clone());
    assert_eq!(made.breaks.iter().map(ends).collect::<Vec<_>>(), walked);
    assert!(
        made.breaks
            .iter()
            .all(|found| found.exact && found.answer == answer)
    );
    walked.len()
}

#[test]
fn breaks_are_exactly_where_something_jumps() {
    let trial = Trial::of("pinfold-basement.json");
    let leg = "/line_set/legs/0/length";
    assert_eq!(breaks_are_those_of_a_walk(&trial, PANEL, 10..=170, "16"), 2);
    assert!(breaks_are_those_of_a_walk(&trial, leg, 4..=60, "7") > 8);
    let made = trial.sweep(json!([{"answer": PANEL, "values": [ft("10"), ft("170")]}]));
    let jumps = || made.breaks.iter().flat_map(|found| &found.jumps);
    assert!(jumps().any(|jump| jump.what == What::Size && jump.name == "wiring.conductor"));
    let made = trial.sweep(json!([{"answer": leg, "values": [ft("4"), ft("60")]}]));
    let mut jumps = made.breaks.iter().flat_map(|found| &found.jumps);
    let packs = jumps.find(|jump| jump.what == What::Packs).unwrap();
    assert!(packs.name.starts_with("material:") && packs.before != packs.after);
}

#[test]
fn a_larger_cellar_takes_a_larger_unit_and_the_place_is_told_to_the_last_decimal() {
    let trial = Trial::of("osierby-long-riser.json");
    let made = trial.sweep(json!([
        {"answer": "/cellar/length", "from": ft("8"), "to": ft("40"), "step": ft("8")}
    ]));
    let jump = made
        .breaks
        .iter()
        .find(|found| found.jumps.iter().any(|jump| jump.name == "unit.class"))
        .unwrap();
    let number = |value: &Value| {
        value["value"]
            .as_str()
            .unwrap()
            .parse::<rust_decimal::Decimal>()
            .unwrap()
    };
    assert_eq!(
        number(&jump.to) - number(&jump.from),
        rust_decimal::Decimal::new(1, 6)
    );
    let class =
        |value: &Value| trial.alone("/cellar/length", value.clone())["sizing"]["equipment"]["class"].clone();
    assert_ne!(class(&jump.from), class(&jump.to));
    let unit = jump.jumps.iter().find(|jump| jump.name == "unit.class").unwrap();
    assert_eq!(unit.what, What::Unit);
    assert_eq!(json!(unit.before), class(&jump.from));
    assert_eq!(json!(unit.after), class(&jump.to));
}

#[test]
fn two_answers_give_every_combination_and_the_threads_change_nothing() {
    let trial = Trial::of("pinfold-basement.json");
    let vary = json!([
        {"answer": "/site/hours", "values": ["day", "evening"]},
        {"answer": PANEL, "values": [ft("20"), ft("60"), ft("100")]},
    ]);
    let words = trial.demo.workbook.form().answer("/site/hours");
    let Some(estimate::job::form::Shape::Choice(words)) = words else {
        panic!()
    };
    let second = words.iter().nth(1).unwrap().to_owned();
    let vary: Value = serde_json::from_str(&vary.to_string().replace("evening", &second)).unwrap();
    let made = trial.sweep(vary.clone());
    let at: Vec<_> = made.points.iter().map(|point| point.at.clone()).collect();
    let expected: Vec<Vec<Value>> = ["day", &second]
        .iter()
        .flat_map(|word| ["20", "60", "100"].map(|feet| vec![json!(word), ft(feet)]))
        .collect();
    assert_eq!(at, expected);
    assert!(
        made.breaks
            .iter()
            .all(|found| found.answer == PANEL && found.other.is_some())
    );
    assert_eq!(trial.sweep(vary), made);
    let swapped = trial.sweep(json!([
        {"answer": PANEL, "values": [ft("20"), ft("100")]},
        {"answer": "/line_set/legs/0/length", "values": [ft("4"), ft("30")]},
    ]));
    let along: BTreeSet<&str> = swapped.breaks.iter().map(|found| found.answer.as_str()).collect();
    assert_eq!(along, BTreeSet::from([PANEL, "/line_set/legs/0/length"]));
}

#[test]
fn a_point_that_cannot_be_says_why_in_its_place() {
    let trial = Trial::of("pinfold-basement.json");
    // Part-recessed and flush units need the void, which this job does not tell of an exposed one.
    let mut request = trial.request.clone();
    request["job"]["unit"]["mounting"] = json!("exposed");
    request["job"]["unit"]
        .as_object_mut()
        .unwrap()
        .shift_remove("ceiling_void");
    let trial = Trial { request, ..trial };
    let made = trial.sweep(json!([{"answer": "/unit/mounting", "values": ["exposed", "flush"]}]));
    assert!(matches!(made.points[0].outcome, Outcome::Priced { .. }));
    let Outcome::Faulty { fault } = &made.points[1].outcome else {
        panic!("{:?}", made.points[1]);
    };
    assert!(
        fault
            .errors
            .iter()
            .any(|error| error.pointer == "/request/job/unit/ceiling_void"),
        "{fault:?}"
    );
    // Where no point can be read, the request itself is at fault.
    let mut request = trial.request.clone();
    request["job"]["site"]["parking"] = json!("on the moon");
    let faulty = Trial {
        request,
        ..Trial::of("pinfold-basement.json")
    };
    let ask = faulty
        .ask(json!([{"answer": PANEL, "values": [ft("20"), ft("30")]}]))
        .unwrap();
    let sound = Trial::of("pinfold-basement.json");
    let faults = sound.run(&ask).unwrap_err();
    assert_eq!(faults.list[0].pointer, "/request/job/site/parking");
}

#[test]
fn what_is_asked_wrongly_is_told_at_its_place() {
    let trial = Trial::of("pinfold-basement.json");
    let pointers = |vary: Value| -> Vec<String> {
        let faults = trial.ask(vary).unwrap_err();
        faults.list.into_iter().map(|fault| fault.pointer).collect()
    };
    let panel = |rest: Value| {
        let mut entry = json!({"answer": PANEL});
        entry
            .as_object_mut()
            .unwrap()
            .extend(rest.as_object().unwrap().clone());
        json!([entry])
    };
    assert_eq!(pointers(json!([])), ["/vary"]);
    assert_eq!(
        pointers(json!([{"answer": "/electrical/panel"}])),
        ["/vary/0/answer"]
    );
    assert_eq!(pointers(json!([{"answer": "/electrical"}])), ["/vary/0/answer"]);
    assert_eq!(
        pointers(json!([{"answer": "/line_set/legs/*/length"}])),
        ["/vary/0/answer"]
    );
    assert_eq!(
        pointers(json!([{"answer": "/line_set/legs/40/length", "values": [ft("2")]}])),
        ["/vary/0/answer"]
    );
    assert_eq!(pointers(panel(json!({}))), ["/vary/0"]);
    assert_eq!(
        pointers(panel(json!({"from": ft("1"), "to": ft("2")}))),
        ["/vary/0"]
    );
    assert_eq!(
        pointers(panel(json!({"from": ft("1"), "to": ft("2"), "step": ft("0")}))),
        ["/vary/0/step"]
    );
    assert_eq!(
        pointers(panel(json!({"from": ft("9"), "to": ft("2"), "step": ft("1")}))),
        ["/vary/0/to"]
    );
    assert_eq!(
        pointers(panel(
            json!({"from": ft("0"), "to": ft("2000"), "step": ft("0.1")})
        )),
        ["/vary/0/step"]
    );
    assert_eq!(
        pointers(panel(
            json!({"from": {"value": "1", "unit": "lb"}, "to": ft("5000"), "step": ft("1"), "by": 1})
        )),
        ["/vary/0/from/unit", "/vary/0/to", "/vary/0/by"]
    );
    assert_eq!(
        pointers(panel(json!({"values": [ft("5"), ft("5")]}))),
        ["/vary/0/values"]
    );
    assert_eq!(
        pointers(json!([{"answer": "/unit/mounting", "values": ["flushh"]}])),
        ["/vary/0/values/0"]
    );
    let twice = json!({"answer": PANEL, "values": [ft("5")]});
    assert_eq!(pointers(json!([twice, twice])), ["/vary/1/answer"]);
    let many = |answer: &str| json!({"answer": answer, "from": ft("1"), "to": ft("200"), "step": ft("1")});
    assert_eq!(
        pointers(json!([many(PANEL), many("/controller/cable_route")])),
        ["/vary"]
    );
}

#[test]
fn a_temperature_is_stepped_by_a_difference_and_a_count_by_wholes() {
    let trial = Trial::of("pinfold-basement.json");
    let degrees = |value: &str| json!({"value": value, "unit": "degF"});
    let made = trial.sweep(
        json!([{"answer": "/condenser/design_temperature", "from": degrees("80"),
        "to": degrees("90"), "step": {"value": "5", "unit": "F_diff"}}]),
    );
    assert_eq!(made.points.len(), 3);
    let made = trial.sweep(json!([{"answer": "/cellar/bottles", "from": 100, "to": 1000, "step": 300}]));
    let at: Vec<_> = made.points.iter().map(|point| point.at[0].clone()).collect();
    assert_eq!(at, [json!(100), json!(400), json!(700), json!(1000)]);
}

#[test]
fn two_points_far_apart_are_enough_to_find_every_break_exactly() {
    let trial = Trial::of("pinfold-basement.json");
    let leg = "/line_set/legs/0/length";
    let few = trial.sweep(json!([{"answer": leg, "values": [ft("4"), ft("60")]}]));
    let many = trial.sweep(json!([{"answer": leg, "from": ft("4"), "to": ft("60"), "step": ft("1")}]));
    assert!(few.breaks.len() > 8 && few.breaks.iter().all(|found| found.exact));
    let ends = |sweep: &Sweep<'_>| -> Vec<(Value, Value)> {
        sweep
            .breaks
            .iter()
            .map(|found| (found.from.clone(), found.to.clone()))
            .collect()
    };
    assert_eq!(ends(&few), ends(&many));
}

#[test]
fn what_is_asked_in_a_unit_is_answered_in_it() {
    let trial = Trial::of("pinfold-basement.json");
    let metres = |value: &str| json!({"value": value, "unit": "m"});
    let made = trial.sweep(json!([
        {"answer": PANEL, "from": metres("3"), "to": metres("51"), "step": metres("12"), "resolution": metres("0.0001")}
    ]));
    let at: Vec<Value> = made.points.iter().map(|point| point.at[0].clone()).collect();
    assert_eq!(at, ["3", "15", "27", "39", "51"].map(metres));
    let in_feet = trial.sweep(json!([{"answer": PANEL, "values": [ft("10"), ft("170")]}]));
    assert_eq!(made.breaks.len(), in_feet.breaks.len());
    let number = |value: &Value| {
        value["value"]
            .as_str()
            .unwrap()
            .parse::<rust_decimal::Decimal>()
            .unwrap()
    };
    for (found, feet) in made.breaks.iter().zip(&in_feet.breaks) {
        assert_eq!(
            (&found.from["unit"], &found.to["unit"]),
            (&json!("m"), &json!("m"))
        );
        assert_eq!(found.jumps, feet.jumps);
        // A foot is 0.3048 m: SP 811, appendix B.
        let foot = rust_decimal::Decimal::new(3048, 4);
        assert!(
            number(&found.from) <= number(&feet.to) * foot && number(&found.to) >= number(&feet.from) * foot
        );
    }
    let degrees = |value: &str| json!({"value": value, "unit": "degC"});
    let made = trial.sweep(json!([
        {"answer": "/condenser/design_temperature", "from": degrees("28"), "to": degrees("32"), "step": {"value": "2", "unit": "K"}}
    ]));
    assert_eq!(made.points[1].at, [degrees("30")]);
    // Asked in several units it is answered in the form's.
    let made = trial.sweep(json!([{"answer": PANEL, "values": [ft("10"), metres("15.24")]}]));
    assert_eq!(made.points[1].at, [ft("50")]);
}
