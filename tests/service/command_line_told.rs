//! What the command line tells: days, exit codes, figures and hints as a person reads them.

use std::fs;

use serde_json::{Value, json};

use super::command_line::{folder, job, out, piped_in, run_in, seed, told};
use crate::harness::project;

/// A word that is a day such as 2025-04-14.
fn days(text: &str) -> Vec<&str> {
    let is_day = |word: &&str| {
        word.len() == 10
            && word.bytes().enumerate().all(|(at, sign)| match at {
                4 | 7 => sign == b'-',
                _ => sign.is_ascii_digit(),
            })
    };
    text.split(|sign: char| !sign.is_ascii_digit() && sign != '-')
        .filter(is_day)
        .collect()
}

/// The same is printed on any day: nothing in it is of the day on which the program runs.
#[test]
fn what_is_printed_of_a_seed_has_no_day_behind_the_one_that_is_priced() {
    let seed = seed();
    let folder = folder();
    for name in ["pinfold-basement", "saltgate-replacement"] {
        let text = fs::read_to_string(job(name)).unwrap();
        let request: Value = serde_json::from_str(&text).unwrap();
        let priced_on = request["priced_on"].as_str().unwrap();
        for format in ["table", "json"] {
            let job = job(name);
            let arguments = ["price", &job, "--seed", &seed, "--explain", "--format", format];
            let printed = out(&run_in(&folder, &arguments));
            let days = days(&printed);
            assert!(days.len() > 20, "{name}, {format}: {days:?}");
            let later: Vec<_> = days.iter().filter(|day| **day > priced_on).collect();
            assert!(later.is_empty(), "{name}, {format}: {later:?}");
            if format == "table" {
                assert!(printed.contains("price by rulebook hollowmoor-standard version 1, "));
                assert!(!printed.contains("0001-01-01"), "{name}");
            }
        }
    }
}

/// Two jobs without tax on the sale are without it for two reasons.
#[test]
fn why_there_is_no_tax_on_the_sale_is_told() {
    for (name, said) in [
        (
            "pinfold-basement",
            "\nNo tax on the sale: we pay it on what we purchase, and it is in the cost.\n",
        ),
        (
            "saltgate-replacement",
            "\nNo tax on the sale: it is exempt, certificate EX-2025-0417 (demonstration).\n",
        ),
    ] {
        let printed = out(&run_in(&folder(), &["price", &job(name), "--seed", &seed()]));
        assert!(printed.contains(said), "{printed}");
    }
}

/// Hours stand under one another with two decimals each.
#[test]
fn hours_of_classes_have_two_decimals() {
    let printed = out(&run_in(
        &folder(),
        &["price", &job("pinfold-basement"), "--seed", &seed()],
    ));
    let (_, table) = printed.split_once("\nLabour\n").unwrap();
    let (table, _) = table.split_once("\nThe hours of a class").unwrap();
    let figures: Vec<&str> = table
        .lines()
        .filter(|line| line.contains('.'))
        .flat_map(|line| line.split_whitespace().filter(|word| word.contains('.')))
        .collect();
    assert!(figures.len() > 6, "{table}");
    for figure in figures {
        let (_, decimals) = figure.split_once('.').unwrap();
        assert_eq!(decimals.len(), 2, "{figure} in {table}");
    }
}

/// How a command ends is told where its commands are.
#[test]
fn help_tells_the_exit_codes() {
    let help = out(&run_in(&folder(), &["--help"]));
    for line in [
        "Exit codes of every command:",
        "\n  1  a fault, told on standard error",
    ] {
        assert!(help.contains(line), "{help}");
    }
}

/// An amount that an example expects and one that came are amounts: 10.5 is written 10.50.
#[test]
fn amounts_that_do_not_come_out_have_all_their_digits() {
    let folder = folder();
    let text = fs::read_to_string(job("pinfold-basement")).unwrap();
    let mut request: Value = serde_json::from_str(&text).unwrap();
    let price = json!({"amount": "10.5", "currency": "USD"});
    request["overrides"] = json!([{"line": "fee:TRAVEL/3", "price": price, "reason": "a courtesy"}]);
    fs::write(folder.join("job.json"), request.to_string()).unwrap();
    let rules = fs::read_to_string(project().join("seed-data/rulebook.toml")).unwrap();
    let example = "[[example]]\ntitle = \"a price\"\njob = \"job.json\"\n\
                   expect = [{ line = \"fee:TRAVEL/3\", price = \"9.50\" }]\n";
    fs::write(folder.join("rules.toml"), format!("{rules}\n{example}")).unwrap();
    let output = run_in(&folder, &["check", "rules.toml", "--seed", &seed()]);
    let difference = "price of fee:TRAVEL/3: 9.50 is expected, 10.50 came";
    assert!(told(&output).contains(difference), "{}", told(&output));
}

/// A day that nobody means, a class without its letter, and what a box of a pound holds.
#[test]
fn faults_and_packs_are_told_in_words_that_help() {
    let folder = folder();
    let text = fs::read_to_string(job("pinfold-basement")).unwrap();
    let mut request: Value = serde_json::from_str(&text).unwrap();
    request["priced_on"] = "9999-12-31".into();
    request["job"]["unit"]["class"] = "45x".into();
    fs::write(folder.join("job.json"), request.to_string()).unwrap();
    let said = told(&run_in(&folder, &["price", "job.json", "--seed", &seed()]));
    for sentence in [
        "\n  /priced_on: Day whose prices apply is 9999-12-31; allowed is 1900-01-01 to 2199-12-31\n",
        "c140; did you mean c45?\n",
    ] {
        assert!(said.contains(sentence), "{said}");
    }
    let priced = out(&run_in(
        &folder,
        &["price", &job("wickerlamp-restaurant"), "--seed", &seed()],
    ));
    let words = priced.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(!words.contains("of a pound of"), "{priced}");
}

/// A job may come from another program.
#[test]
fn a_job_is_read_from_standard_input() {
    let text = fs::read_to_string(job("pinfold-basement")).unwrap();
    let folder = folder();
    for command in ["price", "size"] {
        let piped = piped_in(&folder, &[command, "-", "--seed", &seed()], &text);
        assert_eq!(piped.status.code(), Some(0), "{}", told(&piped));
        let named = run_in(&folder, &[command, &job("pinfold-basement"), "--seed", &seed()]);
        assert_eq!(out(&piped), out(&named));
    }
    let broken = piped_in(&folder, &["price", "-", "--seed", &seed()], "{");
    assert_eq!(broken.status.code(), Some(1));
    assert!(
        told(&broken).starts_with("standard input:1:"),
        "{}",
        told(&broken)
    );
}

/// A price that was left out and taken as usual stands in the company's currency, as every other does.
#[test]
fn usual_prices_are_in_the_companys_currency() {
    let job = job("wickerlamp-restaurant");
    let printed = |format: &str| {
        let arguments = ["price", &job, "--seed", &seed(), "--format", format];
        out(&run_in(&folder(), &arguments))
    };
    for format in ["table", "json"] {
        let words = printed(format);
        let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("24.00 USD"), "{format}");
        assert!(!words.contains("24 money"), "{format}: {words}");
    }
}

/// A year has no comma in it.
#[test]
fn a_year_is_told_as_one() {
    let arguments = ["price", &job("pinfold-basement"), "--seed", &seed(), "--explain"];
    let printed = out(&run_in(&folder(), &arguments));
    let (_, facts) = printed.split_once("\nFacts in the formulas\n").unwrap();
    let mut lines = facts.lines();
    let year = lines.find(|line| line.starts_with("site.built_year ")).unwrap();
    assert_eq!(year.split_whitespace().nth(1), Some("1974"));
}
