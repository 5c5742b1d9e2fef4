//! A small office of its own for the tests of the rules: facts, items, classes and a few tables.

use estimate::quantity::fact::{Bounds, Domain, FactDef, FactSource, FactValue};
use estimate::quantity::unit::Unit;
use estimate::rules::{
    Finding, Names, Outcome, Program, RunFault, RunInput, check_toml, parse_toml, render, reopen,
};
use rust_decimal::Decimal;
use std::str::FromStr;
use std::sync::Arc;

pub fn decimal(text: &str) -> Decimal {
    Decimal::from_str(text).unwrap()
}

pub fn unit(symbol: &str) -> Unit {
    Unit::parse(symbol).unwrap()
}

fn mounting() -> Domain {
    Domain::new("mounting", ["exposed", "partly_recessed", "flush"])
}

fn tube_size() -> Domain {
    Domain::new("tube_size", ["1/2", "5/8", "3/4", "7/8"])
}

/// Facts with their values on the sample job.
pub fn facts() -> Vec<(FactDef, FactValue)> {
    let number = |name: &str, symbol: &str, value: &str| {
        let def = FactDef::number(name, unit(symbol), FactSource::Job, "a measure of the sample job");
        let def = match symbol {
            "degF" => def,
            _ => def.within(Bounds::NOT_NEGATIVE),
        };
        (def, FactValue::Number(decimal(value)))
    };
    let choice = |name: &str, domain: &Domain, word: &str| {
        let value = FactValue::Choice(domain.number(word).unwrap());
        (
            FactDef::choice(name, domain, FactSource::Job, "a choice of the sample job"),
            value,
        )
    };
    let occupied = FactDef::flag("site.occupied", FactSource::Job, "whether people live there");
    vec![
        number("line_set.length", "ft", "62"),
        number("line_set.rise", "ft", "0"),
        number("site.ceiling_height", "ft", "9.5"),
        number("site.attic_temperature", "degF", "120"),
        number("cellar.volume", "ft3", "900"),
        number("unit.count", "each", "1"),
        (occupied, FactValue::Flag(true)),
        choice("unit.mounting", &mounting(), "flush"),
        choice("line_set.suction_size", &tube_size(), "5/8"),
    ]
}

pub fn names() -> Names {
    let items = [
        ("TUBE-58", "ft"),
        ("TUBE-78", "ft"),
        ("TUBE-M", "m"),
        ("CLAMP", "each"),
        ("GAS", "oz"),
        ("PAINT", "gal"),
    ];
    let texts = |list: &[&str]| {
        list.iter()
            .map(|text| Arc::from(*text))
            .collect::<Vec<Arc<str>>>()
    };
    Names {
        facts: facts().into_iter().map(|(def, _)| def).collect(),
        domains: vec![Domain::new("space", ["attic", "cellar", "outdoors"])],
        items: items
            .iter()
            .map(|(code, symbol)| (Arc::from(*code), unit(symbol)))
            .collect(),
        labour_classes: texts(&["lead_mechanic", "apprentice"]),
        cost_codes: texts(&["PERMIT", "SUB"]),
        tax_categories: texts(&["goods", "services"]),
        answers: texts(&["/electrical/panel_length", "/line_set/legs/*/length"]),
        may_be_left_out: Vec::new(),
    }
}

/// The head of every rulebook of the tests, with some tables and an input.
pub const HEAD: &str = r#"
[rulebook]
id = "sample"
title = "Sample rules"
adopted_codes = ["none"]

[[input]]
name = "bottles"
title = "Bottles to move"
type = "quantity"
unit = "each"
min = "0"
max = "5000"
default = "1200"

[[table]]
name = "mount_hours"
value = "h"
keys = [{ name = "mounting", of = "unit.mounting" }, { name = "height", unit = "ft", match = "up_to" }]
rows = [
  ["exposed", "9", "3"],
  ["exposed", "12", "4"],
  ["exposed", "above", "5"],
  ["partly_recessed", "above", "4.25"],
  ["flush", "9", "4.5"],
  ["flush", "above", "5.5"],
]

[[table]]
name = "needs_lift"
value = "flag"
keys = [{ name = "occupied", of = "site.occupied" }, { name = "mounting", of = "mounting" }]
rows = [["true", "any", false], [false, "exposed", "true"], ["false", "any", "false"]]

[[table]]
name = "size_up"
value = "tube_size"
keys = [{ name = "size", of = "tube_size" }]
rows = [["1/2", "5/8"], ["5/8", "3/4"], ["any", "7/8"]]

[[table]]
name = "tube"
value = "item"
keys = [{ name = "size", of = "tube_size" }]
rows = [["7/8", "TUBE-78"], ["any", "TUBE-58"]]

[[table]]
name = "lift_share"
value = "1"
keys = [{ name = "height", unit = "ft", match = "interpolate", clamp = true }]
rows = [["8", "10 %"], ["10", "20 %"], ["14", "0.5"]]

[[table]]
name = "patch_hours"
value = "h"
keys = [{ name = "area", unit = "ft2", match = "interpolate" }]
rows = [["4", "3"], ["16", "4.5"], ["64", "14"]]

[[derived]]
name = "lines"
unit = "ft"
formula = "unit.count * line_set.length / 1 each"
"#;

/// A rulebook of the head and more.
pub fn with_head(more: &str) -> String {
    format!("{HEAD}\n{more}")
}

pub fn program(text: &str) -> Program {
    match check_toml(text, &names()) {
        Ok((_, checked)) => checked.program,
        Err(findings) => panic!("{}", render(&findings, "sample.toml", text)),
    }
}

/// A rulebook that was published before the check knew what it knows now.
pub fn reopened(text: &str) -> Program {
    let rulebook = parse_toml(text).unwrap_or_else(|found| panic!("{}", render(&found, "sample.toml", text)));
    reopen(&rulebook, &names()).unwrap_or_else(|found| panic!("{}", render(&found, "sample.toml", text)))
}

/// The errors of a rulebook; none when it is fine.
pub fn findings(text: &str) -> Vec<Finding> {
    match check_toml(text, &names()) {
        Ok((_, checked)) => checked.warnings,
        Err(findings) => findings,
    }
}

/// The values of the sample job, the input's default last.
pub fn values() -> Vec<FactValue> {
    let mut values: Vec<FactValue> = facts().into_iter().map(|(_, value)| value).collect();
    values.push(FactValue::Number(decimal("1200")));
    values
}

pub fn run<'p>(program: &'p Program, values: &'p [FactValue]) -> Result<Outcome<'p>, Box<RunFault>> {
    program.run(RunInput {
        facts: values,
        unknown: &[],
        explain: true,
    })
}

/// A TOML string in single quotes where that is possible, so that positions are plain to see.
pub fn quoted(text: &str) -> String {
    if text.contains('\'') {
        format!("{text:?}")
    } else {
        format!("'{text}'")
    }
}
