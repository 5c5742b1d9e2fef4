//! The formula language: what formulas give, and how wrong ones are told.

use super::rules_sample::{facts, findings, program, quoted, reopened, run, unit, values, with_head};
use estimate::quantity::unit::Unit;
use estimate::rules::Severity;
use estimate::rules::formula::{MAX_DEPTH, MAX_LENGTH, MAX_NODES, parse};
use estimate::rules::trace::{FormulaTrace, Shown, What};

/// A rulebook whose derived value `result` has this unit and formula, and is needed.
fn rulebook(sort: &str, formula: &str) -> String {
    with_head(&format!(
        "[[derived]]\nname = 'result'\nunit = '{sort}'\nformula = {}\n\
         [[check]]\ncode = 'show'\nlevel = 'caution'\nwhen = 'true'\nmessage = 'It is {{result}}.'\n",
        quoted(formula)
    ))
}

/// What a formula gives on the sample job: its result as shown, or `! code`.
fn outcome(sort: &str, formula: &str) -> String {
    let text = rulebook(sort, formula);
    let found = findings(&text);
    if let Some(error) = found.iter().find(|finding| finding.severity == Severity::Error) {
        assert_eq!(error.part, "derived value result", "{error:?}");
        return format!("! {}", error.code);
    }
    let (program, values) = (program(&text), values());
    match run(&program, &values) {
        Ok(outcome) => {
            let trace = outcome.trace.unwrap();
            match trace.of_derived("result").unwrap().result {
                Shown::Number(value, own) => {
                    assert_eq!(own, unit(sort), "{formula}");
                    Shown::Number(value, Unit::ONE).to_string()
                }
                other => other.to_string(),
            }
        }
        Err(fault) => panic!("{formula} has passed the check: {fault}"),
    }
}

#[test]
fn formulas_give_what_the_table_says() {
    let rows: Vec<&str> = include_str!("data/formulas.tsv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .collect();
    assert!(rows.len() > 150);
    let mut wrong = Vec::new();
    for row in rows {
        let cells: Vec<&str> = row.split('\t').collect();
        let [sort, formula, expected] = cells[..] else {
            panic!("three cells: {row}")
        };
        let got = outcome(sort, formula);
        if got != expected {
            wrong.push(format!("{formula}\n    gives {got}, not {expected}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_mistyped_name_is_told_with_its_place_and_the_nearest() {
    let text = rulebook("ft", "2 * line_set.lenght + 1 ft");
    let [finding] = &findings(&text)[..] else {
        panic!("one finding")
    };
    assert_eq!(
        (finding.code, finding.field.as_str()),
        ("unknown_name", "formula")
    );
    assert_eq!(finding.span.of(&text), "line_set.lenght");
    assert_eq!(finding.suggestion.as_deref(), Some("line_set.length"));
    let line = text.lines().nth(finding.line - 1).unwrap();
    assert_eq!(&line[finding.column - 1..][..15], "line_set.lenght");
}

#[test]
fn every_flaw_of_a_formula_is_told_at_once() {
    let text = rulebook("ft", "lenght + (2 h + 1 ft) + unit.mounting");
    let codes: Vec<&str> = findings(&text).iter().map(|finding| finding.code).collect();
    assert_eq!(codes, ["unknown_name", "dimension", "type"]);
}

#[test]
fn places_hold_in_strings_with_escapes_and_in_several_lines() {
    let bodies = [
        r#"formula = "if line_set.suction_size = \"5/8\" then lenght else 1 ft""#,
        "formula = \"\"\"\nif line_set.suction_size = \\\n   \\u0022\\x355/8\\\" then lenght else 1 ft\"\"\"",
        "formula = '''\nif line_set.suction_size = \"5/8\"\nthen lenght else 1 ft'''",
        r#"formula = "\u0069f line_set.suction_size = \"5/8\" then lenght else 1 ft""#,
    ];
    for body in bodies {
        let text = with_head(&format!("[[derived]]\nname = 'result'\nunit = 'ft'\n{body}\n"));
        let found = findings(&text);
        let place = found.iter().find(|finding| finding.code == "unknown_name");
        assert_eq!(
            place.map(|finding| finding.span.of(&text)),
            Some("lenght"),
            "{body}: {found:?}"
        );
    }
}

#[test]
fn bounds_hold_on_length_depth_and_number_of_parts() {
    let code = |formula: &str| parse(formula).map(|_| "fine").unwrap_or_else(|flaw| flaw.code);
    let sum = |count: usize| vec!["1"; count].join(" + ");
    assert_eq!(code(&sum(MAX_DEPTH - 1)), "fine");
    assert_eq!(code(&sum(MAX_DEPTH + 1)), "too_large");
    let wide = format!("min({})", vec!["1"; MAX_NODES].join(","));
    assert_eq!(code(&wide), "too_large");
    for open in ["(", "-", "not ", "if ", "abs(", "t["] {
        let deep = format!("{}1", open.repeat(MAX_LENGTH / open.len() - 1));
        assert_eq!(code(&deep), "too_large", "{open}");
    }
    assert_eq!(code(&" ".repeat(MAX_LENGTH + 1)), "too_long");
}

#[test]
fn a_trace_tells_values_with_units_cells_and_only_the_branch_taken() {
    let text = rulebook(
        "h",
        "if unit.mounting = flush then mount_hours[unit.mounting, 100 in] + lines * 0.01 h/ft else 1 h / 0.5",
    );
    let (program, values) = (program(&text), values());
    let outcome = run(&program, &values).unwrap();
    let trace = outcome.trace.unwrap();
    let steps = |formula: &FormulaTrace<'_>| -> Vec<(String, String)> {
        formula
            .steps
            .iter()
            .map(|step| (step.text.to_owned(), step.value.to_string()))
            .collect()
    };
    let result = trace.of_derived("result").unwrap();
    let expected = [
        ("unit.mounting", "flush"),
        ("unit.mounting = flush", "yes"),
        ("unit.mounting", "flush"),
        ("mount_hours[unit.mounting, 100 in]", "4.5 h"),
        ("lines", "62 ft"),
        ("lines * 0.01 h/ft", "0.62 h"),
        ("mount_hours[unit.mounting, 100 in] + lines * 0.01 h/ft", "5.12 h"),
    ];
    let told = steps(result);
    for (text, value) in expected {
        assert!(
            told.contains(&(text.to_owned(), value.to_owned())),
            "{text} = {value} in {told:?}"
        );
    }
    assert!(!told.iter().any(|(text, _)| text == "1 h / 0.5"), "{told:?}");
    let cells = result.steps.iter().filter_map(|step| match step.what {
        What::Cell { table, row } => Some((table, row)),
        _ => None,
    });
    assert_eq!(cells.collect::<Vec<_>>(), [("mount_hours", 5)]);
    // What it reads was computed before it.
    let order: Vec<String> = trace
        .formulas
        .iter()
        .map(|formula| formula.place.to_string())
        .collect();
    assert_eq!(
        order,
        [
            "check show, when",
            "derived value lines",
            "derived value result",
            "check show, message"
        ]
    );
}

#[test]
fn a_conversion_is_told_as_a_step() {
    let text = rulebook("in", "line_set.length");
    let (program, values) = (program(&text), values());
    let outcome = run(&program, &values).unwrap();
    let trace = outcome.trace.unwrap();
    let steps = &trace.of_derived("result").unwrap().steps;
    let told: Vec<_> = steps
        .iter()
        .map(|step| (step.what, step.value.to_string()))
        .collect();
    assert_eq!(
        told,
        [
            (What::Fact, "62 ft".to_owned()),
            (What::Conversion, "744 in".to_owned())
        ]
    );
}

#[test]
fn a_trace_is_json_that_a_person_can_follow() {
    let text = rulebook("h", "lift_share[9 ft] * 10 h");
    let (program, values) = (program(&text), values());
    let outcome = run(&program, &values).unwrap();
    let trace = outcome.trace.unwrap();
    let json = serde_json::to_value(trace.of_derived("result").unwrap()).unwrap();
    let expected = serde_json::json!({
        "place": "derived value result",
        "formula": "lift_share[9 ft] * 10 h",
        "steps": [
            {"text": "lift_share[9 ft]", "start": 0, "end": 16, "kind": "cell", "table": "lift_share", "row": 1,
             "value": {"value": "0.15", "unit": "1"}},
            {"text": "lift_share[9 ft] * 10 h", "start": 0, "end": 23, "kind": "result",
             "value": {"value": "1.5", "unit": "h"}},
        ],
        "result": {"value": "1.5", "unit": "h"},
    });
    assert_eq!(json, expected);
}

#[test]
fn a_message_has_the_values_of_the_job_in_it() {
    let text = with_head(
        "[[check]]\ncode = 'long'\nlevel = 'stop'\nwhen = 'lines > 50 ft'\n\
         message = 'The {unit.mounting} unit has {line_set.length / 3} of {lines} for {unit.count} system.'\n\
         source = 'common practice, no source'\n\
         [[check]]\ncode = 'short'\nlevel = 'caution'\nwhen = 'lines < 50 ft'\nmessage = 'Short.'\n",
    );
    let (program, values) = (program(&text), values());
    let outcome = run(&program, &values).unwrap();
    let messages: Vec<&str> = outcome
        .raised
        .iter()
        .map(|raised| raised.message.as_str())
        .collect();
    assert_eq!(messages, ["The flush unit has 20.67 ft of 62 ft for 1 system."]);
    let wrong = text.replace("{lines}", "{line}");
    let [finding] = &findings(&wrong)[..] else {
        panic!("one finding")
    };
    assert_eq!((finding.code, finding.span.of(&wrong)), ("unknown_name", "line"));
}

#[test]
fn facts_that_do_not_fit_are_refused() {
    let program = program(&rulebook("1", "1"));
    let mut values = values();
    values.pop();
    assert!(run(&program, &values).is_err(), "one too few");
    values.push(values[0]);
    values.push(values[0]);
    assert!(run(&program, &values).is_err(), "one too many");
    values.pop();
    values.swap(0, 6);
    let fault = run(&program, &values).unwrap_err();
    assert!(fault.to_string().contains("line_set.length"), "{fault}");
}

#[test]
fn a_value_that_nothing_needs_is_not_computed() {
    let text = with_head("[[derived]]\nname = 'broken'\nunit = '1'\nformula = '1 / (1 - 1)'\n");
    let (program, values) = (reopened(&text), values());
    assert!(run(&program, &values).is_ok());
    assert_eq!(facts().len() + 1, program.facts().len());
}
